"""Placing order by height: how much taller a neighbour is, and which parts can only come after a taller one."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from capcheck.geometry.found_pairs import Pairs
from capcheck.model import Flags, Floats

if TYPE_CHECKING:
    from numpy.typing import ArrayLike


def placed_after_taller(pairs: Pairs, height: tuple[ArrayLike, ArrayLike], first: ArrayLike, last: ArrayLike) -> Flags:
    """Return the pairs whose lower part is proved to come after the taller one.

    *first* and *last* are for each part the places in the line of the first and the last machine that may place it. A
    line places low parts first wherever it can; it cannot where the lower part's first machine stands behind the last
    one of the taller. Common practice, no source.
    """
    low, high = (np.asarray(h, float) for h in height)
    earliest, latest = np.asarray(first, float), np.asarray(last, float)
    i, j = pairs.i, pairs.j
    after: Flags = ((high[i] < low[j]) & (earliest[i] > latest[j])) | ((high[j] < low[i]) & (earliest[j] > latest[i]))
    return after


def tall_neighbour_gap(height: tuple[ArrayLike, ArrayLike], pairs: Pairs) -> tuple[Floats, Floats]:
    """Return for each pair the bounds of the height difference, which a gap beside a tall part should equal (1:1).

    That a gap should equal it is common practice, no source.
    """
    low, high = (np.asarray(h, float) for h in height)
    most = np.maximum(high[pairs.i] - low[pairs.j], high[pairs.j] - low[pairs.i])
    least = np.maximum(low[pairs.i] - high[pairs.j], low[pairs.j] - high[pairs.i])
    return np.maximum(least, 0.0), np.maximum(most, 0.0)
