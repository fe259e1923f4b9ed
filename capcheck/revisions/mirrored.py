"""A side of which one revision is seen from the other face: its parts moved each by another way, about one line."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final, Literal

import numpy as np
from msgspec import Struct

from capcheck.model import Floats, Side
from capcheck.revisions.frame import SAME_MM, Motion
from capcheck.revisions.matching import Pair

_LEAST: Final = 3
"""So many parts must lie mirrored before it is told of the side, and not of them."""
_ENDS: Final[tuple[tuple[int, Literal["left", "right"]], ...]] = ((-1, "left"), (1, "right"))


class Mirrored(Struct, frozen=True):
    """A side whose parts lie mirrored: along *axis*, about *about_mm* of the later frame; *parts* of *of* do."""

    side: Side
    axis: Literal["x", "y"]
    about_mm: float
    parts: int
    of: int


def mirrored_sides(pairs: Sequence[Pair], motion: Motion) -> Iterator[Mirrored]:
    """Yield each side on which more than half of the parts lie mirrored, and moved by it."""
    for side in (Side.TOP, Side.BOTTOM):
        both = [
            (motion.place(pair.old), (pair.new.x_mm, pair.new.y_mm))
            for pair in pairs
            if pair.old is not None and pair.new is not None
            if pair.old.is_placed and pair.new.is_placed and pair.old.side == pair.new.side == side
        ]
        places = np.array(both, dtype=float).reshape(-1, 2, 2)
        for number, axis in enumerate(("x", "y")):
            sums = places[:, 0, number] + places[:, 1, number]
            kept = np.abs(places[:, 0, 1 - number] - places[:, 1, 1 - number]) <= SAME_MM
            about = _commonest(sums[kept])
            mirrored = kept & (np.abs(sums - about) <= 2 * SAME_MM)
            moved = mirrored & (np.abs(places[:, 0, number] - places[:, 1, number]) > SAME_MM)
            if moved.sum() >= _LEAST and 2 * mirrored.sum() > len(places):
                yield Mirrored(side, "x" if axis == "x" else "y", about / 2, int(mirrored.sum()), len(places))


def _commonest(values: Floats) -> float:
    """Return the value that most lie within the rounding of; NaN of none."""
    if not len(values):
        return float("nan")
    ordered = np.sort(values)
    first, behind = (np.searchsorted(ordered, ordered + way * 2 * SAME_MM, side) for way, side in _ENDS)
    at = int((behind - first).argmax())
    return float(np.median(ordered[first[at] : behind[at]]))
