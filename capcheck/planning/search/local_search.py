"""A plan of whole types made better step by step: each step moves the one type that saves most to where it does.

Then shares of types are moved, each to one more feeder. A step looks at all moves at once; a line of six machines and
600 types takes some hundred steps of both kinds and two seconds.
"""

from __future__ import annotations

from typing import Final

import numpy as np

from capcheck.model import Flags, Floats, Ints
from capcheck.planning.search.deadline import Deadline
from capcheck.planning.search.stations import Stations

_LEAST_SAVING: Final = 1e-6
"""Of the cycle: less is not worth a step, and may be rounding."""
_LEAST_SECONDS: Final = 1e-9
_NORM: Final = 12.0
"""Power of the mean by which machines are evened at first: of several that are slowest no single move helps all."""


def improved(stations: Stations, placed: Ints, deadline: Deadline) -> Ints:
    """Return placements by type, unit and pass, as good as *placed* or better.

    *placed* has each type whole on one unit; where a type is split, or the line has an order of types, it is returned
    as it is. Whole types are moved first, then, where the line may split them, shares of them: until machines are as
    even as single moves make them, then as long as the slowest gains. Steps count trips by their share and not what two
    gantries of a machine do over the board, so that a result is taken only where the sums
    themselves say that it is better.
    """
    if stations.after or ((placed.sum(axis=2) > 0).sum(axis=1) != 1).any():
        return placed
    whole = _Moves(stations, placed.sum(axis=2).argmax(axis=1))
    ways = [placed, whole.made_until(deadline)]
    if stations.split:
        ways.append(_Shares(stations, whole.at).made_until(deadline))
    return min(ways, key=lambda way: weighted_cycle(stations, way))


def weighted_cycle(stations: Stations, placed: Ints) -> float:
    """Return the weighted mean over the passes of the slowest machine's time, by the sums themselves."""
    return float(stations.seconds_of(placed).max(axis=0) @ stations.weights)


class _Moves:
    """Whole types on units, *at* by type, with seconds of each site by pass and free places as types are moved."""

    def __init__(self, stations: Stations, at: Ints) -> None:
        st, types = stations, np.arange(len(at))
        self.at, self.weights, self.slots, self.trays = at, st.weights, st.slots, st.trays
        self.machine, self.pool = np.array([u.machine for u in st.units]), np.array(st.pool_of)
        self.site = np.array(st.site_of)
        trip = np.array([u.trip / u.per_trip if u.per_trip else 0.0 for u in st.units])
        self.each: Floats = np.nan_to_num(st.seconds) + trip
        self.placed = np.zeros((*self.each.shape, st.counts.shape[1]), dtype=np.int64)
        self.placed[types, at] = st.counts
        machine_of_site = [machine for machine, _ in st.sites]
        self.busy: Floats = st.fixed[machine_of_site].copy()
        self.hidden: Floats = st.hidden[machine_of_site]
        np.add.at(self.busy, self.site[at], st.counts * self.each[types, at][:, None])
        pools = self.pool[at]
        self.free: Floats = st.slots_there.astype(np.float64).copy()
        np.subtract.at(self.free, pools, st.slots[types, pools])
        self.tray_places: Floats = st.trays_there.astype(np.float64).copy()
        np.subtract.at(self.tray_places, pools, st.trays[types, pools])
        # A unit that is mounted stays, so that its slots are not counted on where its last tray goes.
        mounted = np.array([st.trays[pools == pool, pool].any() for pool in range(len(self.free))], dtype=np.bool_)
        self.free[mounted] -= st.tray_unit[mounted]
        self.unit: Floats = np.where(mounted, 0.0, st.tray_unit)
        self.may_stand = _may_stand(st, at, self.machine)
        self.power = np.inf

    def made_until(self, deadline: Deadline) -> Ints:
        """Make step after step, as long as one saves something and time is left, and return the placements."""
        for self.power in (_NORM, np.inf):
            while not deadline.passed and self.make_the_best():
                pass
        return self.placed

    def make_the_best(self) -> bool:
        """Move the type that saves most to where it does; whether there is such a move."""
        cycles = self._cycles(self.busy, self.hidden)
        now = float(self._level(cycles[:, None])[0] @ self.weights)
        most, best = _LEAST_SAVING * now, None
        for u in range(len(self.machine)):
            here = np.flatnonzero(self.placed[:, u].any(axis=1))
            for v in range(len(self.machine)):
                types = here[self.may_stand[here, v] & self._has_room(here, v)]
                if u == v or not types.size:
                    continue
                saved = now - self._after(types, u, v, cycles)
                k = int(saved.argmax())
                if saved[k] > most:
                    most, best = float(saved[k]), (int(types[k]), u, v)
        if best is None:
            return False
        self._move(*best)
        return True

    @staticmethod
    def _cycles(busy: Floats, hidden: Floats) -> Floats:
        return np.asarray(np.maximum(busy, (busy + hidden) / 2))

    def _has_room(self, types: Ints, v: int) -> Flags:
        here = self.pool[self.at[types]] == self.pool[v]
        return np.asarray(here | self._finds_places(types, self.pool[v]))

    def _finds_places(self, types: Ints, pool: int) -> Flags:
        trays = self.trays[types, pool]
        slots = self.slots[types, pool] + np.where(trays > 0, self.unit[pool], 0.0)
        return np.asarray((slots <= self.free[pool]) & (trays <= self.tray_places[pool]))

    def _moved(self, types: Ints, u: int, _v: int) -> Ints:
        """Return how many placements of *types* a move takes along, by pass: shape (types, passes)."""
        return np.asarray(self.placed[types, u])

    def _after(self, types: Ints, u: int, v: int, cycles: Floats) -> Floats:
        """Return the weighted cycle after moving each of *types* from one unit to another: shape (types,)."""
        a, b = self.site[u], self.site[v]
        others = np.delete(cycles, [a, b], axis=0)
        rest = self._level(others[:, None])[0] if len(others) else np.zeros(cycles.shape[1])
        moved = self._moved(types, u, v)
        go, come = (moved * self.each[types, unit][:, None] for unit in (u, v))
        left, right = self.busy[a] - go, self.busy[b] + come
        if a == b:
            left, right = left + come, np.zeros_like(left)
        hidden = np.zeros_like(self.hidden[b]) if a == b else self.hidden[b]
        pair = self._cycles(left, self.hidden[a]), self._cycles(right, hidden)
        return np.asarray(self._level(np.stack(np.broadcast_arrays(*pair, rest))) @ self.weights)

    def _level(self, cycles: Floats) -> Floats:
        """Return the power mean of the sites' cycles, without a division by their number: shape (types, passes)."""
        most: Floats = cycles.max(axis=0)
        if np.isinf(self.power):
            return most
        least = np.maximum(most, _LEAST_SECONDS)
        return np.asarray(least * ((cycles / least) ** self.power).sum(axis=0) ** (1.0 / self.power))

    def _move(self, j: int, u: int, v: int) -> None:
        moved = self._moved(np.array([j]), u, v)[0]
        self.busy[self.site[u]] -= moved * self.each[j, u]
        self.busy[self.site[v]] += moved * self.each[j, v]
        self.placed[j, u] -= moved
        self.placed[j, v] += moved
        self._move_places(j, u, v)

    def _move_places(self, j: int, u: int, v: int) -> None:
        if self.pool[u] != self.pool[v]:
            self._give_back(j, self.pool[u])
            self._take(j, self.pool[v])
        self.at[j] = v

    def _take(self, j: int, pool: int) -> None:
        self.free[pool] -= self.slots[j, pool]
        self.tray_places[pool] -= self.trays[j, pool]
        if self.trays[j, pool]:
            self.free[pool] -= self.unit[pool]
            self.unit[pool] = 0.0

    def _give_back(self, j: int, pool: int) -> None:
        self.free[pool] += self.slots[j, pool]
        self.tray_places[pool] += self.trays[j, pool]


class _Shares(_Moves):
    """Types that begin whole and are shared out: of each pass, so many placements move as make both sites even."""

    def __init__(self, stations: Stations, at: Ints) -> None:
        super().__init__(stations, at)
        self.stand = np.array(stations.stand_of)
        self.feeders: Flags = np.zeros((len(at), len(stations.stands)), dtype=np.bool_)
        self.feeders[np.arange(len(at)), self.stand[at]] = True

    def _has_room(self, types: Ints, v: int) -> Flags:
        return np.asarray(self.feeders[types, self.stand[v]] | self._finds_places(types, self.pool[v]))

    def _moved(self, types: Ints, u: int, v: int) -> Ints:
        here = self.placed[types, u]
        if self.site[u] == self.site[v]:
            return np.asarray(here)
        over = self.busy[self.site[u]] - self.busy[self.site[v]]
        both = self.each[types, u] + self.each[types, v]
        return np.asarray(np.clip(np.round(over / np.maximum(both, _LEAST_SECONDS)[:, None]), 0, here).astype(np.int64))

    def _move_places(self, j: int, u: int, v: int) -> None:
        if not self.feeders[j, self.stand[v]]:
            self._take(j, self.pool[v])
            self.feeders[j, self.stand[v]] = True
        if not self.placed[j, self.stand == self.stand[u]].any():
            self._give_back(j, self.pool[u])
            self.feeders[j, self.stand[u]] = False


def _may_stand(stations: Stations, at: Ints, machine: Ints) -> Flags:
    """Return which type may be moved to which unit whatever else is moved: shape (types, units).

    Types that are too tall for a later machine stay; no type goes where one of those, or the nozzles in use, stand
    against it.
    """
    st = stations
    may = st.can()
    may[sorted({j for j, _, _ in st.in_the_way})] = False
    shut = np.zeros(st.fixed.shape, dtype=np.bool_)
    for j, before, later in st.in_the_way:
        if machine[at[j]] == before:
            shut[later] |= st.counts[j] > 0
    closed: Flags = (st.counts > 0)[:, None, :] & shut[machine][None, :, :]
    may &= ~closed.any(axis=2)
    for u, unit in enumerate(st.units):
        if unit.held is not None or (unit.on_head is not None and unit.change):
            own = np.isin(at, st.heads[st.head_of[u]])
            may[:, u] &= (st.kind < 0) | np.isin(st.kind, st.kind[own])
    return may
