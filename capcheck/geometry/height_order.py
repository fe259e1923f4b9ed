"""Placing order by height: what is already on the board when a part comes, and which neighbours shut a nozzle out."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from msgspec import Struct

from capcheck.geometry.spacing import Pairs
from capcheck.model import Flags, Floats, Ints

if TYPE_CHECKING:
    from numpy.typing import ArrayLike


def low_parts_first(height_high: ArrayLike, *, group: ArrayLike | None = None) -> Ints:
    """Return the rank of each part when lower ones come first; *group* (a machine's place in the line) goes before.

    A part of unknown height comes last of its group. Equal heights keep the files' order.
    """
    height = np.asarray(height_high, float)
    height = np.where(np.isnan(height), np.inf, height)
    first = np.zeros(len(height)) if group is None else np.asarray(group, float)
    rank = np.empty(len(height), np.int64)
    rank[np.lexsort((np.arange(len(height)), height, first))] = np.arange(len(height))
    return rank


def carried_over(
    height: tuple[ArrayLike, ArrayLike], rank: Ints, side: ArrayLike, *, margin_mm: float = 0.0
) -> tuple[Floats, Floats]:
    """Return the bounds of the free height that each part needs under the head, in mm.

    The part's own height, plus the tallest part placed before it on the same side, plus a margin: a head carries a part
    over all that is on the board. Common practice, no source.
    """
    low, high = (np.asarray(h, float) for h in height)
    sides = np.asarray(side)
    needed_low, needed_high = low + margin_mm, high + margin_mm
    for code in np.unique(sides):
        rows = np.flatnonzero(sides == code)
        rows = rows[np.argsort(rank[rows], kind="stable")]
        for ends, needed in ((low, needed_low), (high, needed_high)):
            before = np.concatenate([[0.0], np.maximum.accumulate(ends[rows])[:-1]])
            needed[rows] += np.maximum(before, 0.0)
    return needed_low, needed_high


class ShutOut(Struct, frozen=True):
    """Pairs whose *late* part comes after a taller *early* neighbour that leaves it too little room.

    *proved* is False where the bounds leave it possible only. Gaps and heights in mm; *over_low* and *over_high* bound
    how far the neighbour stands above the nozzle's free reach.
    """

    late: Ints
    early: Ints
    proved: Flags
    gap_low: Floats
    gap_high: Floats
    over_low: Floats
    over_high: Floats


def shut_out(
    pairs: Pairs,
    height: tuple[ArrayLike, ArrayLike],
    rank: Ints,
    needed_gap: tuple[ArrayLike, ArrayLike],
    *,
    reach_mm: float,
) -> ShutOut:
    """Return the pairs in which an earlier, taller neighbour stands in the nozzle's way.

    *needed_gap* holds for each part the bounds of :func:`capcheck.geometry.spacing.nozzle_gap`. *reach_mm* is how far a
    nozzle reaches below the wider holder: a neighbour matters that stands higher above the late part's top than that.
    """
    low, high = (np.asarray(h, float) for h in height)
    need_low, need_high = (np.asarray(g, float) for g in needed_gap)
    i_late = rank[pairs.i] > rank[pairs.j]
    late, early = np.where(i_late, pairs.i, pairs.j), np.where(i_late, pairs.j, pairs.i)
    over_low = low[early] - high[late] - reach_mm
    over_high = high[early] - low[late] - reach_mm
    proved = (over_low > 0) & (pairs.gap_high < need_low[late])
    possible = (over_high > 0) & (pairs.gap_low < need_high[late])
    keep = proved | possible
    return ShutOut(
        late[keep], early[keep], proved[keep], pairs.gap_low[keep], pairs.gap_high[keep],
        over_low[keep], over_high[keep],
    )  # fmt: skip


def tall_neighbour_gap(height: tuple[ArrayLike, ArrayLike], pairs: Pairs) -> tuple[Floats, Floats]:
    """Return for each pair the bounds of the height difference, which a gap beside a tall part should equal (1:1).

    Source of the 1:1 rule: an assembler's guideline.
    """
    low, high = (np.asarray(h, float) for h in height)
    most = np.maximum(high[pairs.i] - low[pairs.j], high[pairs.j] - low[pairs.i])
    least = np.maximum(low[pairs.i] - high[pairs.j], low[pairs.j] - high[pairs.i])
    return np.maximum(least, 0.0), np.maximum(most, 0.0)
