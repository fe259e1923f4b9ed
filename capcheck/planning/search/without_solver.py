"""A plan without a solver: each type whole where it ends soonest.

It stands in where time is too short for a search, and is what a search of a large line begins with.
"""

from __future__ import annotations

import math
from collections import defaultdict
from typing import Final

import numpy as np

from capcheck.model import Floats, Ints
from capcheck.planning.search.stations import Stations

_NOTHING: Final = 1e-6


class _Filling:
    """Stations as they fill up: slots and tray places left, nozzle kinds in use, seconds of each site by pass.

    *used* are the machines that place something in a pass, *blocked* those that can no longer do so.
    """

    def __init__(self, stations: Stations) -> None:
        self.stations = stations
        self.slots = stations.slots_there.astype(np.float64).copy()
        self.trays = stations.trays_there.astype(np.float64).copy()
        self.mounted = np.zeros(len(self.slots), dtype=np.bool_)
        self.kinds: list[set[int]] = [set() for _ in stations.heads]
        self.busy = np.zeros((len(stations.sites), stations.counts.shape[1]))
        self.site = np.array(stations.site_of)
        trip = np.array([u.trip / u.per_trip if u.per_trip else 0.0 for u in stations.units])
        self.cost: Floats = stations.counts[:, None, :] * (stations.seconds + trip)[:, :, None]
        self.fixed = stations.fixed[[u.machine for u in stations.units]]
        self.passes = [np.flatnonzero(row).tolist() for row in stations.counts]
        self.blocked: set[tuple[int, int]] = set()
        self.used: set[tuple[int, int]] = set()
        self.behind: dict[tuple[int, int], set[int]] = defaultdict(set)
        for j, machine, later in stations.in_the_way:
            self.behind[j, machine].add(later)

    def takes(self, j: int, u: int) -> bool:
        """Whether a type still has its places, its nozzle and a free way on a unit."""
        st = self.stations
        unit, kind = st.units[u], int(st.kind[j])
        machine, pool = unit.machine, st.pool_of[u]
        unit_slots = st.tray_unit[pool] if st.trays[j, pool] and not self.mounted[pool] else 0.0
        if st.slots[j, pool] + unit_slots > self.slots[pool] or st.trays[j, pool] > self.trays[pool]:
            return False
        if kind >= 0 and unit.held is not None and len(self.kinds[st.head_of[u]] | {kind}) > unit.held:
            return False
        if any((machine, p) in self.blocked for p in self.passes[j]):
            return False
        return not self.in_the_way_of(j, machine) & self.used

    def in_the_way_of(self, j: int, machine: int) -> set[tuple[int, int]]:
        """Return the later machines, by pass, that a type keeps from placing if it is placed on a machine."""
        return {(later, p) for later in self.behind.get((j, machine), ()) for p in self.passes[j]}

    def put(self, j: int, u: int) -> None:
        """Let a unit place a type."""
        st = self.stations
        machine, pool = st.units[u].machine, st.pool_of[u]
        if st.trays[j, pool] and not self.mounted[pool]:
            self.slots[pool] -= st.tray_unit[pool]
            self.mounted[pool] = True
        self.slots[pool] -= st.slots[j, pool]
        self.trays[pool] -= st.trays[j, pool]
        if st.kind[j] >= 0:
            self.kinds[st.head_of[u]].add(int(st.kind[j]))
        self.used |= {(machine, p) for p in self.passes[j]}
        self.blocked |= self.in_the_way_of(j, machine)
        self.busy[self.site[u]] += self.cost[j, u]

    def ends(self, j: int) -> Floats:
        """Return by unit the weighted time at which its gantry would end with a type; NaN where it may not stand.

        The trips that the type's parts fill are included.
        """
        return np.asarray((self.fixed + self.busy[self.site] + self.cost[j]) @ self.stations.weights)


def first_fit(stations: Stations, *, partly: bool = False, near: Floats | None = None) -> Ints | None:
    """Return placements by type, unit and pass that fit, or None where this simple way finds none.

    With *partly*, types that find no place are left out instead.

    Types with the fewest units come first, then those with the most work; each goes where it ends soonest. *near* are
    the shares of each type's placements by unit (types, units) in another plan, whose places are kept to where they
    are free.
    """
    if stations.after or (stations.nowhere() and not partly):
        return None
    can, filling = stations.can(), _Filling(stations)
    choice = can if near is None else (near > _NOTHING) & can
    work = np.nan_to_num(stations.seconds).max(axis=1) * stations.counts.sum(axis=1)
    placed = np.zeros((*can.shape, stations.counts.shape[1]), dtype=np.int64)
    for j in sorted(range(len(can)), key=lambda k: (int(choice[k].sum()), -float(work[k]), k)):
        fits = [u for u in np.flatnonzero(can[j]).tolist() if filling.takes(j, u)]
        ends = filling.ends(j).tolist()
        best = min(fits, key=lambda u: (not choice[j, u], ends[u], u), default=None)
        if best is None and not partly:
            return None
        if best is None:
            continue
        filling.put(j, best)
        placed[j, best] = stations.counts[j]
    return placed


def simple_bound(stations: Stations) -> float:
    """Return a cycle that no plan beats, without a solver: each pass's work shared evenly over all gantries."""
    sites = max(len(stations.sites), 1)
    trip = np.array([min(u.trip, 0.0) + max(u.trip, 0.0) / u.per_trip if u.per_trip else 0.0 for u in stations.units])
    least = np.nanmin(np.where(stations.can(), stations.seconds + trip, math.inf), axis=1).clip(0.0)
    gantries = np.array([sum(m == k for m, _ in stations.sites) for k in range(stations.machines)])
    shared = (gantries @ stations.fixed + least @ stations.counts) / sites
    return float(np.maximum(shared, stations.fixed.max(axis=0)) @ stations.weights)
