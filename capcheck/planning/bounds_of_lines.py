"""Bounds of the cycle of composed lines that no plan beats, from the least seconds of each profile alone."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np
from msgspec import Struct

from capcheck.machines import Line
from capcheck.model import Floats, Ints
from capcheck.planning.job import Job
from capcheck.planning.stations_of_line import Strictness, stations_of
from capcheck.planning.stock import Stock


class Bounder(Struct, frozen=True):
    """Bounds the cycle of any set of machines from below, from one row of least seconds by profile."""

    each: tuple[Floats, ...]
    counts: Ints
    weights: Floats
    fixed: tuple[Floats, ...]

    def bound(self, chosen: tuple[int, ...]) -> float:
        """Return the weighted cycle that no assignment beats: for any shares λ, Σ λ·fixed + Σ count·min λ·seconds."""
        seconds = np.stack([self.each[k] for k in chosen])
        fixed = np.stack([self.fixed[k] for k in chosen])
        return float(sum(self.weights[p] * self._pass(seconds, fixed[:, p], p) for p in range(len(self.weights))))

    def quick(self, candidates: Sequence[tuple[int, ...]]) -> Floats:
        """Return such a bound of each candidate, all of one size, by equal shares: thousands of them at once."""
        chosen = np.array(candidates, dtype=np.int64)
        each, fixed = np.stack(self.each), np.stack(self.fixed)
        found = np.empty(len(chosen))
        for begun in range(0, len(chosen), _AT_ONCE):
            some = chosen[begun : begun + _AT_ONCE]
            least = each[some[:, 0]]
            for k in range(1, some.shape[1]):
                least = np.minimum(least, each[some[:, k]])
            passes = (fixed[some].sum(axis=1) + least @ self.counts) / some.shape[1]
            found[begun : begun + _AT_ONCE] = passes @ self.weights
        return found

    def _pass(self, seconds: Floats, fixed: Floats, p: int) -> float:
        share = np.full(len(seconds), 1.0 / len(seconds))
        best = 0.0
        for step in range(_STEPS):
            weighted = share[:, None] * seconds
            takes = weighted.argmin(axis=0)
            best = max(best, float(share @ fixed + self.counts[:, p] @ weighted.min(axis=0)))
            load = fixed + np.bincount(
                takes, self.counts[:, p] * np.minimum(seconds[takes, np.arange(len(takes))], _FAR), len(seconds)
            )
            # Machines with more than the mean load get a greater share; any shares give a bound.
            share = share * np.exp((load / max(load.mean(), 1e-9) - 1.0) / (1.0 + step))
            share /= share.sum()
        return best


_STEPS: Final = 12
_AT_ONCE: Final = 5000
"""Candidates that are bounded at once."""
_FAR: Final = 1e9


def bounder_of(job: Job, stock: Stock) -> Bounder | None:
    """Return the bounder, or None where some profile has no times."""
    each, fixed = [], []
    for profile, can in zip(stock.profiles, stock.can, strict=True):
        line = Line(profile.name, (profile,), None)
        stations, heads = stations_of(job, line, can, strictness=Strictness.ALL_OPEN)
        if heads.untimed:
            return None
        units = stations.units
        # Heads of several gantries work at once: each placement counts for its share of the machine, trips full.
        at_once = len({u.gantry for u in units})
        trip = np.array([min(u.trip, 0.0) + max(u.trip, 0.0) / u.per_trip if u.per_trip else 0.0 for u in units])
        least = np.where(np.isnan(stations.seconds), _FAR, stations.seconds + trip)
        each.append(np.minimum(least.min(axis=1) / at_once, _FAR).clip(0.0))
        fixed.append(stations.fixed[0])
    return Bounder(tuple(each), job.counts(), np.array(job.weights()), tuple(fixed))
