"""Whether print lies in the frame of the lands: it reaches about as far as they do, and it leaves them free.

Print in another unit, or from another origin, says of no place that it is free. Measured on 53 sides of public boards:
print spans 0.7 to 2.6 times what the lands span in one direction at least, and reaches 32 mm beyond them at most, on a
board of 172 mm.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from capcheck.intake.layers.misread import REMEDY
from capcheck.intake.layers.openings import unit_factor
from capcheck.model import Floats
from capcheck.values import InputError

if TYPE_CHECKING:
    from shapely import STRtree

_Object = Any
"""A graphic object of the Gerber library, which has no types."""
_BEYOND: Final = 0.25
_BEYOND_MM: Final = 5.0
"""So far beyond the lands, and a share of what they span, may lie titles and the texts of connectors at an edge."""
_LEAST_SPAN: Final = 0.25
"""An inch taken for a millimetre leaves 0.04 of the span: what spans less than this may be in another unit."""
_MOVED_MM: Final = (1.7, 2.9)
_BY_CHANCE: Final = 0.5
"""Print is kept off lands. Where it meets them half as often as it does when it is moved, or more often than by one of
the moves, it lies on them by chance; but not where it does so at few places of lands of one size, as a dot that a
footprint prints on its land. Measured on 39 sides of public boards, by this rule alone: of print of other boards, laid
at the same corner, 1,202 of 1,501 pairs are told; print of the board itself is refused on 6 sides, of which nothing is
then proved, but for the five of these that state the frame of their masks."""
_SAME_MM: Final = 0.1
"""Places and sizes of lands that are one."""
_FEWEST: Final = 10
_MOST_POINTS: Final = 3_000
_STEPS: Final = 4
"""Pieces of a line between the points that are looked at."""


def refuse_beside_lands(file: str, objects: Sequence[_Object], lands: Floats, *, shares_frame: bool = False) -> None:
    """Raise :class:`InputError` where print does not lie with the *lands*, boxes of shape (n, 4), for certain.

    Print that meets lands may do so by its designer's will: where it *shares the frame* that the lands' file states, it
    is held to their extent alone.
    """
    ink = _ink(objects)
    if not len(ink):
        return
    low, high = lands[:, :2].min(axis=0), lands[:, 2:].max(axis=0)
    span = high - low
    beyond = np.maximum(low - ink.min(axis=0), ink.max(axis=0) - high).max()
    if beyond > _BEYOND * span.max() + _BEYOND_MM:
        what = f"it prints {beyond:,.0f} mm beyond the lands"
    elif (np.ptp(ink, axis=0) < _LEAST_SPAN * span).all():
        what = "it prints on a small part of the board alone"
    elif not shares_frame and _is_by_chance(ink, lands):
        what = "it prints on lands as often as it would if it were moved"
    else:
        return
    raise InputError.at(file, what, "it may be in another unit, or count from another origin, than the lands", REMEDY)


def _is_by_chance(ink: Floats, lands: Floats) -> bool:
    import shapely

    boxes: Any = shapely.box(*lands.T)
    tree = shapely.STRtree(boxes)
    turns = np.arange(8) * np.pi / 4
    moves = [far * np.array([np.cos(turn), np.sin(turn)]) for far in _MOVED_MM for turn in turns]
    ink = ink[:: math.ceil(len(ink) / _MOST_POINTS)]
    points, kinds = _on_lands(tree, lands, ink)
    moved = [_on_lands(tree, lands, ink + move) for move in moves]
    moved_points, moved_kinds = zip(*moved, strict=True)
    is_enough = float(np.mean(moved_points)) >= _FEWEST
    return is_enough and _is_as_often(points, moved_points) and _is_as_often(kinds, moved_kinds)


def _is_as_often(count: int, moved: Sequence[int]) -> bool:
    return count > min(_BY_CHANCE * float(np.mean(moved)), *moved)


def _on_lands(tree: STRtree, lands: Floats, ink: Floats) -> tuple[int, int]:
    """Return how much of print meets lands, and at how many places of lands of one size it does."""
    import shapely

    point, land = tree.query(shapely.points(ink), predicate="intersects")
    corner = lands[land, :2]
    kinds = np.round(np.hstack([lands[land, 2:] - corner, ink[point] - corner]) / _SAME_MM).astype(np.int64)
    return len(np.unique(point)), len(np.unique(kinds, axis=0))


def _ink(objects: Sequence[_Object]) -> Floats:
    """Return printed points, shape (n, 2) in mm: some along each line, ends of arcs, corners of areas, flashes."""
    found: list[tuple[float, float]] = []
    lines: list[tuple[float, float, float, float]] = []
    for one in objects:
        name, factor = type(one).__name__, unit_factor(one.unit)
        if not one.polarity_dark:
            continue
        if name == "Region":
            found += [(float(x) * factor, float(y) * factor) for x, y in one.outline]
        elif name == "Flash":
            found.append((one.x * factor, one.y * factor))
        elif name == "Line":
            lines.append((one.x1 * factor, one.y1 * factor, one.x2 * factor, one.y2 * factor))
        else:
            found += [(one.x1 * factor, one.y1 * factor), (one.x2 * factor, one.y2 * factor)]
    start, end = np.hsplit(np.array(lines, dtype=np.float64).reshape(-1, 4), 2)
    along = [start + (end - start) * step / _STEPS for step in range(_STEPS + 1)]
    return np.concatenate([np.array(found, dtype=np.float64).reshape(-1, 2), np.stack(along, axis=1).reshape(-1, 2)])
