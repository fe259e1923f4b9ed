"""Parts that lie at one spot of the board: alternates, of which one is fitted."""

from __future__ import annotations

from typing import Final

import numpy as np

from capcheck.model import Discrepancy, Kind, Placements, Severity, Topic, say

_SAME_SPOT_MM: Final = 0.05


def same_spot(placed: Placements) -> list[Discrepancy]:
    """Return the groups of parts on one side whose centres lie within 0.05 mm: alternates, of which one is fitted."""
    use = np.flatnonzero(np.isfinite(placed.x_mm) & np.isfinite(placed.y_mm) & (placed.kind == Kind.PART))
    if len(use) < 2:
        return []
    pairs: set[tuple[int, int]] = set()
    # Two points within one step of each other share a cell of at least one of four half-shifted grids of two steps.
    for dx, dy in ((0.0, 0.0), (0.5, 0.0), (0.0, 0.5), (0.5, 0.5)):
        u = np.floor(placed.x_mm[use] / (2 * _SAME_SPOT_MM) + dx).astype(np.int64)
        v = np.floor(placed.y_mm[use] / (2 * _SAME_SPOT_MM) + dy).astype(np.int64)
        key = (u * 2_000_003 + v) * 3 + placed.side[use]
        ordered = np.sort(key)
        if not np.any(ordered[1:] == ordered[:-1]):
            continue
        order = np.argsort(key, kind="stable")
        same = np.flatnonzero(key[order][1:] == key[order][:-1])
        for at in same[:10_000]:
            a, b = sorted((int(use[order[at]]), int(use[order[at + 1]])))
            if (
                np.hypot(placed.x_mm[a] - placed.x_mm[b], placed.y_mm[a] - placed.y_mm[b]) < _SAME_SPOT_MM
                and placed.side[a] == placed.side[b]
            ):
                pairs.add((a, b))
    found = []
    for a, b in sorted(pairs):
        if placed.ref[a] == placed.ref[b]:
            continue  # said already: one reference twice
        refs = (placed.ref[a], placed.ref[b])
        if placed.fitted[a] and placed.fitted[b]:
            said, severity = say("compare.both at one spot"), Severity.STOP
        else:
            said, severity = say("compare.alternates at one spot"), Severity.ADVICE
        found.append(Discrepancy(Topic.ONE_SPOT, said, refs, placed.place(b), severity))
    return found
