"""The assignment as a mixed-integer program.

Variables: y(type, stand) whether a feeder of the type stands there; n(type, unit, pass) its placements, whole
numbers; K(head, pass) trips; C(pass) the slowest machine's time. Minimise Σ weight·C subject to

1. Σ n = count;  2. n ≤ count·y for each stand and pass (tight);  3. slots and tray places of each pool;
4. for each gantry: fixed + Σ seconds·n + trip·K + changes ≤ C; gantries of one machine are never over the board
   together: fixed + Σ time over the board ≤ C; with two lanes half of everything, transfer included, ≤ C;
5. without splitting Σ y = 1;  6. order along the line, nozzle kinds.

A type that is placed once, or not split, at a stand with one unit needs no n: its placements are count·y.

A coarse program lets n be any number where a type is placed more than a few times, and settles it afterwards: in
large programs the solver's own rounding of many whole numbers takes seconds in which it looks at no clock.
"""

from __future__ import annotations

import math
from collections import defaultdict
from itertools import product
from typing import Final

import numpy as np
from msgspec import Struct, field

from capcheck.model import Floats, Ints
from capcheck.planning.search.milp import Program
from capcheck.planning.search.stations import Stations

_NOTHING: Final = 1e-6
_FEW: Final = 6
"""Placements of a type up to which a coarse program keeps them whole."""
_LARGE_TYPES: Final = 40
"""Types, most placements first, for which the row that bounds the cycle from below is written out."""

Terms = list[tuple[int, float]]
"""A linear expression as (variable, coefficient)."""


class Slack(Struct):
    """What a reason for infeasibility may relax: the variables that stand for it, by type or by pool."""

    left_out: dict[int, int] = field(default_factory=dict)
    more_slots: dict[int, int] = field(default_factory=dict)
    more_trays: dict[int, int] = field(default_factory=dict)


class Formulation:
    """The program of a line and a job, with the way back from its variables to placements.

    With *may_leave_out*, each type may be left out at the cost of its placements; with *may_add*, each pool may
    be given slots and tray places that are not there. Both serve the search for the reason of infeasibility; times are
    then left out of the program.
    """

    def __init__(
        self, stations: Stations, *, may_leave_out: bool = False, may_add: bool = False, coarse: bool = False
    ) -> None:
        self.stations = stations
        self.program = Program()
        self.slack = Slack()
        self.timed = not (may_leave_out or may_add)
        self.whole_to = _FEW if coarse else math.inf
        self.y: dict[tuple[int, int], int] = {}
        self.n: dict[tuple[int, int, int], tuple[int, float]] = {}
        self.trips: dict[tuple[int, int], int] = {}
        self.where_any: dict[int, list[int]] = {}
        """Variables that are 1 where any of others is more than 0."""
        self.beyond: dict[int, tuple[list[int], int]] = {}
        """Variables that are the sum of others less a number, and not less than 0."""
        passes = stations.counts.shape[1]
        self.cycle = [
            self.program.variable(cost=float(stations.weights[p]) if self.timed else 0.0) for p in range(passes)
        ]
        self._feeders()
        if may_leave_out:
            self._leave_out()
        self._placements()
        self._places(may_add=may_add)
        self._nozzles_held()
        if self.timed:
            self._times()
        self._orders()

    def _row(self, terms: Terms, lower: float = -math.inf, upper: float = math.inf) -> None:
        self.program.row([c for c, _ in terms], [v for _, v in terms], lower, upper)

    def _feeders(self) -> None:
        can = self.stations.can()
        for j in range(len(can)):
            for stand in sorted({self.stations.stand_of[u] for u in np.flatnonzero(can[j])}):
                self.y[j, stand] = self.program.variable(0, 1, integer=True)

    def _leave_out(self) -> None:
        # Fewest placements by hand first, then fewest part numbers: a placement outweighs all part numbers.
        share = 1.0 / (len(self.stations.counts) + 1)
        for j, row in enumerate(self.stations.counts):
            self.slack.left_out[j] = self.program.variable(0, 1, cost=float(row.sum()) + share, integer=True)

    def _stands_of(self, j: int) -> list[int]:
        return [stand for stand in range(len(self.stations.stands)) if (j, stand) in self.y]

    def _units_of(self, j: int, stand: int) -> list[int]:
        each = self.stations.seconds[j]
        return [u for u, s in enumerate(self.stations.stand_of) if s == stand and not math.isnan(each[u])]

    def _machine_of(self, stand: int) -> int:
        return self.stations.stands[stand][0]

    def _placements(self) -> None:
        for j, row in enumerate(self.stations.counts):
            stands = self._stands_of(j)
            # A type of several passes may stand at several places where splitting is allowed.
            whole = not self.stations.split or (len(row) == 1 and row.max() <= 1)
            out = self.slack.left_out.get(j)
            once: Terms = [(self.y[j, s], 1.0) for s in stands] + ([(out, 1.0)] if out is not None else [])
            self._row(once, 1.0, 1.0 if whole else math.inf)
            for p, count in enumerate(row):
                if count:
                    self._placements_of_pass(j, p, int(count), stands, whole=whole)

    def _placements_of_pass(self, j: int, p: int, count: int, stands: list[int], *, whole: bool) -> None:
        every: Terms = []
        free = False
        for stand in stands:
            units = self._units_of(j, stand)
            if whole and len(units) == 1:
                self.n[j, units[0], p] = (self.y[j, stand], float(count))
                every.append((self.y[j, stand], float(count)))
                continue
            free = True
            here: Terms = []
            for u in units:
                column = self.program.variable(0, count, integer=count <= self.whole_to)
                self.n[j, u, p] = (column, 1.0)
                here.append((column, 1.0))
            every.extend(here)
            self._row([*here, (self.y[j, stand], -float(count))], upper=0.0)
        out = self.slack.left_out.get(j)
        if free:
            left: Terms = [(out, float(count))] if out is not None else []
            self._row([*every, *left], float(count), float(count))

    def _places(self, *, may_add: bool) -> None:
        st = self.stations
        for pool in range(len(st.slots_there)):
            here = [(j, col) for (j, s), col in self.y.items() if st.stands[s][1] == pool]
            slots: Terms = [(col, float(st.slots[j, pool])) for j, col in here if st.slots[j, pool]]
            trays: Terms = [(col, float(st.trays[j, pool])) for j, col in here if st.trays[j, pool]]
            if trays and st.tray_unit[pool]:
                mounted = self.program.variable(0, 1, integer=True)
                self.where_any[mounted] = [col for col, _ in trays]
                slots.append((mounted, float(st.tray_unit[pool])))
                for col, _ in trays:
                    self._row([(col, 1.0), (mounted, -1.0)], upper=0.0)
            for terms, there, more in (
                (slots, st.slots_there[pool], self.slack.more_slots),
                (trays, st.trays_there[pool], self.slack.more_trays),
            ):
                if not terms or math.isinf(there):
                    continue
                if may_add:
                    more[pool] = self.program.variable(cost=1.0)
                    terms.append((more[pool], -1.0))
                self._row(terms, upper=float(there))

    def _times(self) -> None:
        st = self.stations
        for p in range(st.counts.shape[1]):
            loads: dict[int, tuple[Terms, Terms]] = {s: ([], []) for s in range(len(st.sites))}
            for h, units in enumerate(st.heads):
                unit = st.units[units[0]]
                busy, above = loads[st.site_of[units[0]]]
                mine = [(j, u, *self.n[j, u, p]) for u in units for j in range(len(st.counts)) if (j, u, p) in self.n]
                busy.extend((col, factor * float(st.seconds[j, u])) for j, u, col, factor in mine)
                above.extend((col, factor * float(st.on_board[j, u])) for j, u, col, factor in mine)
                busy.extend(self._nozzle_changes(h, p))
                if unit.per_trip and mine:
                    trips = self._trips(h, p, [(col, factor) for *_, col, factor in mine])
                    busy.append((trips, unit.trip))
                    above.append((trips, unit.trip_on_board))
            for machine in range(st.machines):
                rows = [s for s, (m, _) in enumerate(st.sites) if m == machine]
                for s in rows:
                    self._within_cycle(_merged(loads[s][0]), machine, p)
                if len(rows) > 1:
                    self._within_cycle(_merged([t for s in rows for t in loads[s][1]]), machine, p)
            if not st.split:
                self._largest_types(p)

    def _largest_types(self, p: int) -> None:
        """Tighten the bound: the stand that takes a whole type needs its fixed time and that type's work."""
        st = self.stations
        for j in np.argsort(-st.counts[:, p], kind="stable")[:_LARGE_TYPES]:
            terms: Terms = []
            for stand in self._stands_of(int(j)):
                units = self._units_of(int(j), stand)
                if len(units) > 1:
                    break
                unit, count = st.units[units[0]], int(st.counts[j, p])
                trips = -(-count // unit.per_trip) if unit.per_trip else 0
                work = float(st.seconds[j, units[0]]) * count + unit.trip * trips
                terms.append((self.y[int(j), stand], work + float(st.fixed[self._machine_of(stand), p])))
            else:
                self._row([*terms, (self.cycle[p], -1.0)], upper=0.0)

    def _trips(self, head: int, p: int, placements: Terms) -> int:
        unit = self.stations.units[self.stations.heads[head][0]]
        full = float(unit.per_trip)
        # An open end costs the solver's rounding many steps of propagation, in which it looks at no clock.
        most = sum(factor * self.program.upper[column] for column, factor in placements)
        trips = self.program.variable(upper=math.ceil(most / full), integer=True)
        self.trips[head, p] = trips
        self._row([*placements, (trips, -full)], upper=0.0)
        if unit.trip < 0 or unit.trip_on_board < 0:
            # Without this row a trip that saves time would be made for its own sake.
            self._row([*placements, (trips, -full)], lower=-(full - 1.0))
        return trips

    def _within_cycle(self, placing: Terms, machine: int, p: int) -> None:
        fixed, hidden = float(self.stations.fixed[machine, p]), float(self.stations.hidden[machine, p])
        self._row([*placing, (self.cycle[p], -1.0)], upper=-fixed)
        if hidden:
            self._row([*placing, (self.cycle[p], -2.0)], upper=-fixed - hidden)

    def _by_kind(self, head: int, p: int | None) -> dict[int, list[tuple[int, float]]]:
        """Return a head's placement variables in one pass, or in all, with their greatest values, by nozzle kind."""
        out: dict[int, list[tuple[int, float]]] = {}
        for (j, unit, q), (col, _) in self.n.items():
            if unit in self.stations.heads[head] and p in (None, q) and self.stations.kind[j] >= 0:
                out.setdefault(int(self.stations.kind[j]), []).append((col, self.program.upper[col]))
        return out

    def _kinds_in_use(self, kinds: dict[int, list[tuple[int, float]]]) -> Terms:
        in_use: Terms = []
        for columns in kinds.values():
            used = self.program.variable(0, 1, integer=True)
            self.where_any[used] = [col for col, _ in columns]
            in_use.append((used, 1.0))
            for col, most in columns:
                self._row([(col, 1.0), (used, -most)], upper=0.0)
        return in_use

    def _nozzles_held(self) -> None:
        for h, units in enumerate(self.stations.heads):
            unit, kinds = self.stations.units[units[0]], self._by_kind(h, None)
            if unit.held is not None and len(kinds) > unit.held:
                self._row(self._kinds_in_use(kinds), upper=float(unit.held))

    def _nozzle_changes(self, head: int, p: int) -> Terms:
        """Return the time of nozzle changes: kinds in use beyond those that stay on the head."""
        unit = self.stations.units[self.stations.heads[head][0]]
        if unit.on_head is None or unit.change <= 0:
            return []
        kinds = self._by_kind(head, p)
        if len(kinds) <= unit.on_head:
            return []
        changes, in_use = self.program.variable(), self._kinds_in_use(kinds)
        self.beyond[changes] = [col for col, _ in in_use], unit.on_head
        self._row([*in_use, (changes, -1.0)], upper=float(unit.on_head))
        return [(changes, unit.change)]

    def _orders(self) -> None:
        if self.stations.in_the_way:
            self._ways_free()
        for after, before in self.stations.after:
            self._order(after, before)

    def _ways_free(self) -> None:
        """Keep a machine from placing in a pass where what stands on the board already is too tall for it.

        A feeder that waits there for another pass does not matter: only placements of this one do. Where placements
        are no variable of their own, the feeder stands for them.
        """
        placed: dict[tuple[int, int], list[tuple[int, int]]] = defaultdict(list)
        for (j, u, p), (col, _) in self.n.items():
            placed[self.stations.units[u].machine, p].append((j, col))
        before: dict[int, dict[int, set[int]]] = defaultdict(lambda: defaultdict(set))
        for j, machine, later in self.stations.in_the_way:
            before[later][machine].add(j)
        for later, p in product(before, range(len(self.cycle))):
            tall = [col for m, types in before[later].items() for j, col in placed[m, p] if j in types]
            if tall and placed[later, p]:
                works = self.program.variable(0, 1, integer=True)
                self.where_any[works] = [col for _, col in placed[later, p]]
                for _, col in placed[later, p]:
                    self._row([(col, 1.0), (works, -self.program.upper[col])], upper=0.0)
                for col in tall:
                    self._row([(col, 1.0), (works, self.program.upper[col])], upper=self.program.upper[col])

    def _order(self, after: int, before: int) -> None:
        st = self.stations
        late, early = self._stands_of(after), self._stands_of(before)
        if not st.split:
            for machine in range(st.machines - 1):
                terms: Terms = [(self.y[after, s], 1.0) for s in late if self._machine_of(s) <= machine]
                terms += [(self.y[before, s], -1.0) for s in early if self._machine_of(s) <= machine]
                self._row(terms, upper=0.0)
            return
        for s in late:
            for e in early:
                if self._machine_of(s) < self._machine_of(e):
                    self._row([(self.y[after, s], 1.0), (self.y[before, e], 1.0)], upper=1.0)

    def shares(self, values: Floats) -> Floats:
        """Return the share of each type's placements by unit, over all passes: shape (types, units)."""
        sums = np.zeros((len(self.stations.counts), len(self.stations.units)))
        for (j, u, _), (col, factor) in self.n.items():
            sums[j, u] += float(values[col]) * factor
        return np.asarray(sums / self.stations.counts.sum(axis=1)[:, None])

    def start(self, placed: Ints) -> Floats:
        """Return the solution that placements by type, unit and pass are."""
        st = self.stations
        values = np.zeros(len(self.program.cost))
        for (j, stand), col in self.y.items():
            values[col] = float(any(placed[j, u].any() for u in self._units_of(j, stand)))
        for (j, u, p), (col, factor) in self.n.items():
            if factor == 1.0:
                values[col] = float(placed[j, u, p])
        trips = st.trips(placed)
        for (head, p), col in self.trips.items():
            values[col] = float(trips[head, p])
        for col, others in self.where_any.items():
            values[col] = float((values[others] > 0).any())
        for col, (others, less) in self.beyond.items():
            values[col] = max(0.0, float(values[others].sum()) - less)
        values[self.cycle] = st.seconds_of(placed).max(axis=0)
        return values

    def held_upper(self, relaxed: Floats, free_types: int) -> Floats:
        """Return upper bounds that hold most types where the relaxation puts them.

        Free stay the types that the relaxation splits, the largest, and some more evenly over the sizes of their work.
        """
        upper = np.array(self.program.upper)
        shares: dict[int, list[tuple[int, float]]] = {}
        for (j, _), col in self.y.items():
            shares.setdefault(j, []).append((col, float(relaxed[col])))
        settled = [j for j, cols in shares.items() if sum(v > _NOTHING for _, v in cols) == 1]
        work = self.stations.counts.sum(axis=1)
        settled.sort(key=lambda j: (-int(work[j]), j))
        step = max(1, 2 * len(settled) // max(1, free_types))
        free = {*settled[: free_types // 2], *settled[::step]}
        for j in settled:
            if j not in free:
                for col, value in shares[j]:
                    upper[col] = 1.0 if value > _NOTHING else 0.0
        return upper

    def settle(self, values: Floats) -> Floats:
        """Make all placements whole again, and return upper bounds that leave feeders as they are.

        With those held, what is left is to share types out among their feeders, with a trip more at most where whole
        numbers fill the others less well: a program that is quickly solved.
        """
        for column, _ in self.n.values():
            self.program.integer[column] = True
        upper = np.array(self.program.upper)
        for column in self.y.values():
            upper[column] = round(float(values[column]))
        for column in self.trips.values():
            upper[column] = math.ceil(float(values[column]) - _NOTHING) + 1
        return upper

    def placed(self, values: Floats) -> Ints:
        """Return the placements by type, unit and pass that a solution stands for, whole and summing to the counts."""
        st = self.stations
        exact = np.zeros((len(st.counts), len(st.units), st.counts.shape[1]))
        for (j, u, p), (col, factor) in self.n.items():
            exact[j, u, p] = float(values[col]) * factor
        exact[np.abs(exact) < _NOTHING] = 0.0
        out = np.floor(exact + _NOTHING).astype(np.int64)
        short = np.rint(exact.sum(axis=1)).astype(np.int64) - out.sum(axis=1)
        for j, p in zip(*np.nonzero(short), strict=True):
            # The units with the largest remainders place one more.
            largest = np.argsort(-(exact[j, :, p] - out[j, :, p]), kind="stable")[: int(short[j, p])]
            out[j, largest, p] += 1
        return out


def choices_of(stations: Stations) -> int:
    """Return how many yes-or-no choices the program of these stations has: stands by type."""
    can = stations.can()
    return sum(len({stations.stand_of[u] for u in np.flatnonzero(row).tolist()}) for row in can)


def _merged(terms: Terms) -> Terms:
    sums: dict[int, float] = {}
    for col, value in terms:
        sums[col] = sums.get(col, 0.0) + value
    return [(col, value) for col, value in sums.items() if value]
