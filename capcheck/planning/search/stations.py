"""A line and a job as bare numbers: what the assignment works on.

A *unit* places one part after another: a head, with the gantry that carries it, picking from one *pool* of slots: a
feeder bank, or all slots of a machine that has none. A head that reaches several banks is a unit for each of them. A
*site* is one gantry of one machine. A *stand* is where one feeder serves: a bank for all that reach it, else a site.
"""

from __future__ import annotations

from functools import cached_property

import numpy as np
from msgspec import Struct, field
from msgspec.structs import replace

from capcheck.model import Flags, Floats, Ints


class Unit(Struct, frozen=True):
    """A head as numbers: *machine* and *gantry* carry it, *per_trip* parts go on one trip (0: times hold no trips).

    *trip* is the time of a trip besides the times of its parts, *trip_on_board* the share of it over the board;
    *change* is one nozzle change, *on_head* the nozzles on the head and *held* the kinds there can be (None: any).
    *pool* is where its feeders stand (None: that of its machine, where each has one pool), *shared* whether one feeder
    there serves other gantries too; units with the same *head* are one (None: a head of its own).
    """

    machine: int
    gantry: int = 1
    per_trip: int = 0
    trip: float = 0.0
    trip_on_board: float = 0.0
    change: float = 0.0
    on_head: int | None = None
    held: int | None = None
    pool: int | None = None
    shared: bool = False
    head: int | None = None


class Stations(Struct, frozen=True, dict=True):
    """The assignment's numbers, by type (rows), unit, machine or pool, and pass; times in seconds.

    *seconds* (types, units) is the time of one placement, NaN where the unit cannot; *on_board* the share over the
    board. *fixed* (machines, passes) comes on top of placing; *hidden* is board transfer that two lanes hide.
    *slots* and *trays* (types, pools) are what one feeder takes, *slots_there* and *trays_there* (pools) what
    there is, infinite where unknown; *tray_unit* the slots that a mounted tray unit takes. *kind* is the nozzle kind by
    type, −1 unknown. *after* are pairs (later type, earlier type) in the order along the line. *in_the_way* are triples
    (type, machine, later machine): placed there, the type keeps the later machine from placing anything in that pass.
    """

    counts: Ints
    weights: Floats
    units: tuple[Unit, ...]
    seconds: Floats
    on_board: Floats
    fixed: Floats
    hidden: Floats
    slots: Floats
    slots_there: Floats
    trays: Floats
    trays_there: Floats
    tray_unit: Floats
    kind: Ints
    split: bool = True
    after: tuple[tuple[int, int], ...] = ()
    in_the_way: tuple[tuple[int, int, int], ...] = field(default=())

    @property
    def machines(self) -> int:
        """How many machines the line has."""
        return len(self.fixed)

    @cached_property
    def sites(self) -> tuple[tuple[int, int], ...]:
        """The gantries as (machine, gantry), in order."""
        return tuple(sorted({(u.machine, u.gantry) for u in self.units}))

    @cached_property
    def site_of(self) -> tuple[int, ...]:
        """The site of each unit."""
        return tuple(self.sites.index((u.machine, u.gantry)) for u in self.units)

    @cached_property
    def pool_of(self) -> tuple[int, ...]:
        """The pool of slots of each unit."""
        return tuple(u.machine if u.pool is None else u.pool for u in self.units)

    @cached_property
    def stands(self) -> tuple[tuple[int, int, int], ...]:
        """Where a feeder serves, as (machine, pool, gantry), in order; gantry 0 where it serves all of them."""
        return tuple(sorted(set(self._stand_keys)))

    @cached_property
    def stand_of(self) -> tuple[int, ...]:
        """The stand of each unit."""
        return tuple(self.stands.index(key) for key in self._stand_keys)

    @property
    def _stand_keys(self) -> list[tuple[int, int, int]]:
        return [(u.machine, p, 0 if u.shared else u.gantry) for u, p in zip(self.units, self.pool_of, strict=True)]

    @cached_property
    def heads(self) -> tuple[tuple[int, ...], ...]:
        """The units of each head, heads in order."""
        found: dict[tuple[bool, int], list[int]] = {}
        for k, unit in enumerate(self.units):
            found.setdefault((unit.head is None, k if unit.head is None else unit.head), []).append(k)
        return tuple(map(tuple, found.values()))

    @cached_property
    def head_of(self) -> tuple[int, ...]:
        """The head of each unit, as an index of *heads*."""
        return tuple(next(h for h, units in enumerate(self.heads) if k in units) for k in range(len(self.units)))

    def by_head(self, placed: Ints) -> Ints:
        """Return placements by type, head and pass."""
        return np.stack([placed[:, list(units)].sum(axis=1) for units in self.heads], axis=1)

    def can(self) -> Flags:
        """Whether each unit can place each type: shape (types, units)."""
        return np.asarray(~np.isnan(self.seconds))

    def nowhere(self) -> list[int]:
        """Return the types that no unit can place."""
        return [int(j) for j in np.flatnonzero(~self.can().any(axis=1))]

    def keep(self, rows: list[int]) -> Stations:
        """Return the same line with these types alone; orders that name others are dropped."""
        where = {row: k for k, row in enumerate(rows)}
        return replace(
            self,
            counts=self.counts[rows],
            seconds=self.seconds[rows],
            on_board=self.on_board[rows],
            slots=self.slots[rows],
            trays=self.trays[rows],
            kind=self.kind[rows],
            after=tuple((where[a], where[b]) for a, b in self.after if a in where and b in where),
            in_the_way=tuple((where[j], m, k) for j, m, k in self.in_the_way if j in where),
        )

    def is_no_freer(self, other: Stations) -> bool:
        """Whether whatever fits here fits on the *other* stations of the same line and types, too."""
        return bool(
            (self.can() <= other.can()).all()
            and (self.slots >= other.slots).all()
            and (self.trays >= other.trays).all()
            and set(self.in_the_way) >= set(other.in_the_way)
        )

    def way_is_free(self, placed: Ints) -> bool:
        """Whether no pass places anything over a part that is too tall for the machine (types, units, passes)."""
        machine = np.array([u.machine for u in self.units])
        works = [placed[:, machine == m].any(axis=(0, 1)) for m in range(self.machines)]
        return not any((placed[j, machine == m].any(axis=0) & works[later]).any() for j, m, later in self.in_the_way)

    def trips(self, placed: Ints) -> Ints:
        """Return the trips by head and pass that the placements (types, units, passes) need."""
        sums = self.by_head(placed).sum(axis=0)
        size = np.array([self.units[units[0]].per_trip for units in self.heads], dtype=np.int64)[:, None]
        return np.asarray(np.where(size > 0, -(-sums // np.maximum(size, 1)), 0), dtype=np.int64)

    def changes(self, placed: Ints) -> Ints:
        """Return the nozzle changes by head and pass: the kinds in use beyond those that stay on the head.

        The order of work is reversed from board to board, so that a kind once brought on serves twice.
        """
        out = np.zeros((len(self.heads), self.counts.shape[1]), dtype=np.int64)
        placed = self.by_head(placed)
        for k, units in enumerate(self.heads):
            unit = self.units[units[0]]
            if unit.on_head is None or not unit.change:
                continue
            for p in range(out.shape[1]):
                used = {int(kind) for kind in self.kind[placed[:, k, p] > 0] if kind >= 0}
                out[k, p] = max(0, len(used) - unit.on_head)
        return out

    def most_changes(self, placed: Ints) -> Ints:
        """Return the nozzle changes by head and pass that there may be at most: each type of unknown kind needs one.

        The changer's number of kinds and the nozzles that stay on the head bound them.
        """
        out = np.zeros((len(self.heads), self.counts.shape[1]), dtype=np.int64)
        placed = self.by_head(placed)
        for k, units in enumerate(self.heads):
            unit = self.units[units[0]]
            if unit.on_head is None:
                continue
            for p in range(out.shape[1]):
                here = self.kind[placed[:, k, p] > 0]
                kinds = len({int(kind) for kind in here if kind >= 0}) + int((here < 0).sum())
                out[k, p] = max(0, (kinds if unit.held is None else min(kinds, unit.held)) - unit.on_head)
        return out

    def gantry_seconds(self, placed: Ints) -> tuple[Floats, Floats]:
        """Return the seconds by site and pass of a board's placements: all of them, and those over the board."""
        trips, changes = self.trips(placed), self.changes(placed)
        busy = np.zeros((len(self.sites), self.counts.shape[1]))
        above = np.zeros_like(busy)
        for k, site in enumerate(self.site_of):
            busy[site] += np.nan_to_num(self.seconds[:, k]) @ placed[:, k]
            above[site] += np.nan_to_num(self.on_board[:, k]) @ placed[:, k]
        for h, (first, *_) in enumerate(self.heads):
            unit, site = self.units[first], self.site_of[first]
            busy[site] += unit.trip * trips[h] + unit.change * changes[h]
            above[site] += unit.trip_on_board * trips[h]
        return busy, above

    def seconds_of(self, placed: Ints) -> Floats:
        """Return each machine's time by pass for placements (types, units, passes), by the sums themselves."""
        busy, above = self.gantry_seconds(placed)
        out = np.zeros((self.machines, self.counts.shape[1]))
        for machine in range(self.machines):
            rows = [k for k, (m, _) in enumerate(self.sites) if m == machine]
            placing = busy[rows].max(axis=0) if rows else np.zeros(out.shape[1])
            if len(rows) > 1:
                placing = np.maximum(placing, above[rows].sum(axis=0))
            seen = self.fixed[machine] + placing
            out[machine] = np.maximum(seen, (seen + self.hidden[machine]) / 2)
        return out
