"""The area within a closed line of straight and round pieces, and points on an arc.

A line that crosses itself is mended, which takes time for each crossing: of a thousand corners a star may have half a
million. How often pieces come near each other is counted first.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from capcheck.model import Floats

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry as Geometry

QUARTER: Final = 10
"""Straight pieces that a quarter of a circle is drawn with: its area is then 0.4 % short."""
_MOST_NEAR: Final = 10
"""Pieces of a line that a piece meets, itself and the next two among them, on average."""
_FEW: Final = 20_000
_FEW_CORNERS: Final = 2_000
_AT_ONCE: Final = 16
_Object = Any
"""A graphic object of the Gerber library, which has no types."""


class TangledError(Exception):
    """A closed line crosses itself so often that mending it would take long."""


def between(
    start: tuple[float, float], end: tuple[float, float], centre: tuple[float, float], *, clockwise: bool
) -> list[tuple[float, float]]:
    """Return points on an arc from *start* to *end*, a full turn where they are the same."""
    first = math.atan2(start[1] - centre[1], start[0] - centre[0])
    last = math.atan2(end[1] - centre[1], end[0] - centre[0])
    sweep = -((first - last) % math.tau) if clockwise else (last - first) % math.tau
    if math.dist(start, end) < 1e-9:
        sweep = -math.tau if clockwise else math.tau
    radius = math.dist(start, centre)
    count = max(1, math.ceil(abs(sweep) / (math.pi / 2 / QUARTER)))
    return [
        (
            centre[0] + radius * math.cos(first + sweep * k / count),
            centre[1] + radius * math.sin(first + sweep * k / count),
        )
        for k in range(1, count)
    ]


def area_within(outline: Sequence[_Object], arcs: Sequence[_Object] | None, factor: float) -> list[Geometry]:
    """Return the area within a closed line of straight and round pieces, mended where it crosses itself.

    Raises :class:`TangledError` where it does so too often.
    """
    import shapely

    corners = [(float(x), float(y)) for x, y in outline]
    if len(corners) < 2:
        return []
    if math.dist(corners[0], corners[-1]) > 1e-9:
        corners.append(corners[0])
    centres = [*(arcs or ()), *[None] * len(corners)]
    points = [corners[0]]
    for start, end, arc in zip(corners[:-1], corners[1:], centres, strict=False):
        if arc is not None and arc[0] is not None:
            points += between(start, end, (float(arc[1][0]), float(arc[1][1])), clockwise=bool(arc[0]))
        points.append(end)
    ring = np.array(points) * factor
    if len(ring) < 4 or not np.isfinite(ring).all():
        return []
    polygon = shapely.Polygon(ring)
    # Of few corners it is quickly told whether they cross; of many, as many crossings make that itself take long.
    if len(ring) <= _FEW_CORNERS and polygon.is_valid:
        return [polygon]
    if _is_tangled(ring):
        raise TangledError
    return [polygon if len(ring) > _FEW_CORNERS and polygon.is_valid else shapely.make_valid(polygon)]


def _is_tangled(ring: Floats) -> bool:
    """Whether the boxes of so many pieces of a closed line meet as those of no drawing do."""
    import shapely

    boxes: Any = shapely.box(*np.minimum(ring[:-1], ring[1:]).T, *np.maximum(ring[:-1], ring[1:]).T)
    tree = shapely.STRtree(boxes)
    left = _FEW + _MOST_NEAR * len(boxes)
    for start in range(0, len(boxes), _AT_ONCE):
        left -= tree.query(boxes[start : start + _AT_ONCE]).shape[1]
        if left < 0:
            return True
    return False
