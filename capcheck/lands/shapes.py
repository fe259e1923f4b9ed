"""What openings measure: middles and sizes of their boxes, the circles among them, their areas, and trees to find them.

A box is *left, low, right, high* in mm.
"""

from __future__ import annotations

from itertools import chain
from typing import TYPE_CHECKING, Any, Final

import numpy as np
from numpy.typing import NDArray

from capcheck.model import Flags, Floats, Openings

if TYPE_CHECKING:
    from shapely import STRtree

Areas = NDArray[np.object_]
"""Polygons, one a place."""
_ROUND: Final = 0.02
"""Share by which an area may differ from that of the circle in its box: circles are drawn with straight pieces."""
_WHOLE: Final = 0.98


def middles(box: Floats) -> Floats:
    """Return the middle of each box of shape (n, 4), shape (n, 2)."""
    found: Floats = (box[:, :2] + box[:, 2:]) / 2
    return found


def sizes(box: Floats) -> Floats:
    """Return width and height of each box of shape (n, 4), shape (n, 2)."""
    found: Floats = box[:, 2:] - box[:, :2]
    return found


def circles(openings: Openings) -> tuple[Flags, Floats]:
    """Return which openings are full circles, and the diameter that each has if it is one.

    An eight-sided land has 5 % more than a circle between its flat sides, and a square 27 %.
    """
    size = sizes(openings.box)
    diameter = size.mean(axis=1)
    full = np.pi / 4 * diameter**2
    is_round = (np.abs(size[:, 0] - size[:, 1]) <= _ROUND * diameter) & (np.abs(openings.area - full) <= _ROUND * full)
    return is_round, diameter


def areas_of(openings: Openings) -> Areas:
    """Return the areas within the outer lines of openings, mended where rounding made one cross itself."""
    import shapely

    corners = np.array(list(chain.from_iterable(openings.rings)), dtype=np.float64).reshape(-1, 2)
    of = np.repeat(np.arange(len(openings)), [len(ring) // 2 for ring in openings.rings])
    areas: Areas = np.asarray(shapely.polygons(shapely.linearrings(corners, indices=of)), dtype=object)
    crossed = ~shapely.is_valid(areas)
    areas[crossed] = shapely.make_valid(areas[crossed])
    return areas


def share_within(at: Floats, openings: Openings) -> float:
    """Return the share of some places (n, 2), of which there is one at least, that lie in an opening.

    One with panes, as an opening along the whole edge, has the others within its outer line, and what lies there is in
    none of it.
    """
    import shapely

    areas = areas_of(openings)
    without_panes = openings.area >= _WHOLE * shapely.area(areas)
    tree = shapely.STRtree(areas[without_panes])
    return len(set(tree.query(shapely.points(at), predicate="intersects")[0].tolist())) / len(at)


def tree_of(places: Floats) -> STRtree:
    """Return a tree to find the nearest of *places*, shape (n, 2)."""
    import shapely

    points: Any = shapely.points(places)
    return shapely.STRtree(points)


def tree_of_boxes(box: Floats) -> STRtree:
    """Return a tree to find what lies in one of the boxes, shape (n, 4)."""
    import shapely

    boxes: Any = shapely.box(*box.T)
    return shapely.STRtree(boxes)
