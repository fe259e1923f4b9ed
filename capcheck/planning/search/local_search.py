"""A plan of whole types made better step by step: each step moves the one type that saves most to where it does.

A step looks at all moves at once; a line of six machines and 600 types takes some 200 steps and a second.
"""

from __future__ import annotations

from typing import Final

import numpy as np

from capcheck.model import Flags, Floats, Ints
from capcheck.planning.search.deadline import Deadline
from capcheck.planning.search.stations import Stations

_LEAST_SAVING: Final = 1e-6
"""Of the cycle: less is not worth a step, and may be rounding."""


def improved(stations: Stations, placed: Ints, deadline: Deadline) -> Ints:
    """Return placements by type, unit and pass, as good as *placed* or better.

    *placed* has each type whole on one unit; where a type is split, or the line has an order of types, it is returned
    as it is. Steps count trips by their share and not what two gantries of a machine do over the board, so that the
    result is taken only where the sums themselves say that it is better.
    """
    if stations.after or ((placed.sum(axis=2) > 0).sum(axis=1) != 1).any():
        return placed
    moves = _Moves(stations, placed.sum(axis=2).argmax(axis=1))
    while not deadline.passed and moves.make_the_best():
        pass
    after = np.zeros_like(placed)
    after[np.arange(len(placed)), moves.at] = stations.counts
    return after if weighted_cycle(stations, after) < weighted_cycle(stations, placed) else placed


def weighted_cycle(stations: Stations, placed: Ints) -> float:
    """Return the weighted mean over the passes of the slowest machine's time, by the sums themselves."""
    return float(stations.seconds_of(placed).max(axis=0) @ stations.weights)


class _Moves:
    """Whole types on units, *at* by type, with seconds of each site by pass and free slots as types are moved."""

    def __init__(self, stations: Stations, at: Ints) -> None:
        st, types = stations, np.arange(len(at))
        self.at, self.weights, self.slots = at, st.weights, st.slots
        self.machine, self.pool = np.array([u.machine for u in st.units]), np.array(st.pool_of)
        self.site = np.array(st.site_of)
        trip = np.array([u.trip / u.per_trip if u.per_trip else 0.0 for u in st.units])
        self.cost: Floats = st.counts[:, None, :] * (np.nan_to_num(st.seconds) + trip)[:, :, None]
        machine_of_site = [machine for machine, _ in st.sites]
        self.busy: Floats = st.fixed[machine_of_site].copy()
        self.hidden: Floats = st.hidden[machine_of_site]
        np.add.at(self.busy, self.site[at], self.cost[types, at])
        pools = self.pool[at]
        self.free: Floats = st.slots_there.astype(np.float64).copy()
        np.subtract.at(self.free, pools, st.slots[types, pools])
        for pool in np.flatnonzero(st.tray_unit):
            if st.trays[pools == pool, pool].any():
                self.free[pool] -= st.tray_unit[pool]
        self.may_stand = _may_stand(st, at, self.machine)

    def make_the_best(self) -> bool:
        """Move the type that saves most to where it does; whether there is such a move."""
        cycles = self._cycles(self.busy, self.hidden)
        now = float(cycles.max(axis=0) @ self.weights)
        most, best = _LEAST_SAVING * now, None
        for u in range(len(self.machine)):
            here = np.flatnonzero(self.at == u)
            for v in range(len(self.machine)):
                types = here[self.may_stand[here, v] & self._has_room(here, u, v)]
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

    def _has_room(self, types: Ints, u: int, v: int) -> Flags:
        if self.pool[u] == self.pool[v]:
            return np.ones(len(types), dtype=np.bool_)
        return np.asarray(self.slots[types, self.pool[v]] <= self.free[self.pool[v]])

    def _after(self, types: Ints, u: int, v: int, cycles: Floats) -> Floats:
        """Return the weighted cycle after moving each of *types* from one unit to another: shape (types,)."""
        a, b = self.site[u], self.site[v]
        others = np.delete(cycles, [a, b], axis=0)
        slowest = others.max(axis=0) if len(others) else np.zeros(cycles.shape[1])
        left, come = self.busy[a] - self.cost[types, u], self.busy[b] + self.cost[types, v]
        if a == b:
            left = come = left + self.cost[types, v]
        pair = np.maximum(self._cycles(left, self.hidden[a]), self._cycles(come, self.hidden[b]))
        return np.asarray(np.maximum(pair, slowest) @ self.weights)

    def _move(self, j: int, u: int, v: int) -> None:
        self.busy[self.site[u]] -= self.cost[j, u]
        self.busy[self.site[v]] += self.cost[j, v]
        self.free[self.pool[u]] += self.slots[j, self.pool[u]]
        self.free[self.pool[v]] -= self.slots[j, self.pool[v]]
        self.at[j] = v


def _may_stand(stations: Stations, at: Ints, machine: Ints) -> Flags:
    """Return which type may be moved to which unit whatever else is moved: shape (types, units).

    Types in trays stay, as do types that are too tall for a later machine; no type goes where one of those, or the
    nozzles in use, stand against it.
    """
    st = stations
    may = st.can()
    may[(st.trays > 0).any(axis=1)] = False
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
