"""How far bodies stay from the board's edges, cut-outs and holes: signed distances, negative where a body reaches over.

The transported edges are sides of the board's box, because the rails grip there whatever the contour does in between;
all else is measured to the contour itself.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Final, Literal

import numpy as np

from capcheck.geometry.bodies import Bodies
from capcheck.geometry.covering import Covering
from capcheck.model import LARGEST_SCREW_HOLE_MM, Box, Flags, Floats

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray
    from shapely import LinearRing, Polygon
    from shapely.geometry.base import BaseGeometry as Geometry

    Shapes = NDArray[np.object_]

Bounds = tuple[Floats, Floats]
"""Low and high ends, arrays of equal length, in mm."""
BoxSide = Literal["left", "right", "bottom", "top"]
BOX_SIDES: Final[tuple[BoxSide, ...]] = ("left", "right", "bottom", "top")
_MANY: Final = 500
"""A contour of more segments is measured exactly only near it: drawn arcs and splines have thousands."""
_NEAR_MM: Final = 20.0
"""No strip, ring or clearance of a machine or a rule is wider."""
_MOST_NOTCHED: Final = 2_000
"""Bodies across the edge that are measured one by one; of more only bounds are told: such an outline is none of a board
that is built."""
_PIECES: Final = 16
"""Points along a line at which its depth is measured."""
_SLIVER_MM: Final = 1e-6
"""Of a thinner piece the library finds no circle."""
_COARSE_MM: Final = (0.25, 1.0, 4.0)
"""How far the coarser line may leave the contour, tried in turn."""


def transported_distance(bodies: Bodies, box: Box, *, turned: bool) -> Bounds:
    """Return each body's distance to the nearer transported side of the board's box, negative where it overhangs.

    *turned*: the board travels along its y, so that the sides at its left and right are carried.
    """
    axis = 0 if turned else 1

    def free(corners: Floats) -> Floats:
        places = corners[:, :, axis]
        nearer: Floats = np.minimum(places.min(axis=1) - box[axis], box[axis + 2] - places.max(axis=1))
        return nearer

    low, high = free(bodies.outer_corners()), free(bodies.inner_corners())
    low, high = np.where(np.isnan(low), -np.inf, low), np.where(np.isnan(high), np.inf, high)
    return np.minimum(low, high), high


def rail_width_needed(distance: Bounds, strip_mm: ArrayLike, *, rail_gap_mm: float = 0.5) -> Bounds:
    """Return the rail, in mm, that gives each body the strip it lacks; 0 where it needs none.

    A body that overhangs also needs *rail_gap_mm* between itself and the rail's relief: 0.5 mm, common practice, no
    source. The rail carries the strip alone, so an overhang adds its whole depth.
    """
    strip = np.asarray(strip_mm, float)

    def needed(free: Floats) -> Floats:
        over = np.where(free < 0, rail_gap_mm, 0.0)
        return np.where(free < strip, strip - free + over, 0.0)

    low, high = distance
    return needed(high), needed(low)


def contour_distance(bodies: Bodies, polygon: Polygon) -> Bounds:
    """Return each body's signed distance to the board's outer contour; negative: how far it reaches beyond it."""
    from shapely import Polygon as Shape

    board = Shape(polygon.exterior)
    return _both(bodies, lambda shapes: _within(shapes, board))


def reaching_over(bodies: Bodies, polygon: Polygon, by_mm: float) -> tuple[Flags, Flags]:
    """Return which bodies may reach over the board's outer contour by more than *by_mm*, and which certainly do.

    The same as :func:`contour_distance` says, without measuring how far inside the others lie.
    """
    from shapely import Polygon as Shape

    board = Shape(polygon.exterior)
    covering = Covering(board)

    def within(shapes: Shapes) -> Bounds:
        low, high = np.full(len(shapes), math.inf), np.full(len(shapes), math.inf)
        over = np.flatnonzero(~covering.covers(shapes)) if len(shapes) else np.empty(0, np.int64)
        low[over], high[over] = _within(shapes[over], board, enough_mm=by_mm)
        return low, high

    low, high = _both(bodies, within)
    return low < -by_mm, high < -by_mm


def cutout_distance(bodies: Bodies, polygon: Polygon, holes: Sequence[tuple[float, float, float]] = ()) -> Bounds:
    """Return each body's signed distance to the nearest cut-out; negative: how far it reaches into one.

    Round *holes* (x, y, diameter in mm) that are too large for a screw are cut-outs as well. Without a cut-out all
    distances are infinite.
    """
    from shapely import Point, Polygon as Shape

    openings = [Shape(ring) for ring in polygon.interiors]
    openings += [Point(x, y).buffer(d / 2, quad_segs=64) for x, y, d in holes if d > LARGEST_SCREW_HOLE_MM]
    if not openings:
        nowhere = np.full(len(bodies), math.inf)
        return nowhere, nowhere
    return _both(bodies, lambda shapes: _clear_of(shapes, openings))


def hole_distance(bodies: Bodies, holes: Sequence[tuple[float, float, float]]) -> Bounds:
    """Return each body's signed distance to the nearest hole of *holes* (x, y, diameter in mm) that a screw could fill.

    Negative: how far it reaches over one; infinite without a hole.
    """
    from shapely import Point

    small = [Point(x, y).buffer(d / 2, quad_segs=16) for x, y, d in holes if d <= LARGEST_SCREW_HOLE_MM]
    if not small:
        nowhere = np.full(len(bodies), math.inf)
        return nowhere, nowhere
    return _both(bodies, lambda shapes: _clear_of(shapes, small))


def least_distance(bodies: Bodies, areas: Sequence[Geometry]) -> Floats:
    """Return the least distance that each body may have to *areas* of any kind; where it may meet one, as if all in it.

    Infinite without areas, minus infinite for bodies of which no greatest size or no place is known.
    """
    import shapely

    low = np.full(len(bodies), math.inf)
    if not areas:
        return low
    bounded = bodies.bounded
    shapes = _shapes(bodies.take(bounded).outer_corners())
    tree = shapely.STRtree(shapely.get_parts(np.array(areas, dtype=object)))
    (row, _), distance = tree.query_nearest(shapes, return_distance=True, all_matches=False)
    free = np.full(len(shapes), math.inf)
    free[row] = distance
    over = np.unique(tree.query(shapes, predicate="intersects")[0])
    free[over] = -2.0 * np.asarray(shapely.minimum_bounding_radius(shapes[over]))
    low[bounded], low[~bounded] = free, -math.inf
    return low


def point_distance(bodies: Bodies, x_mm: float, y_mm: float) -> Bounds:
    """Return each body's distance to a point, 0 where it covers the point."""
    angle = np.radians(bodies.angle_deg)
    dx, dy = x_mm - bodies.x_mm, y_mm - bodies.y_mm
    along = np.abs(dx * np.cos(angle) + dy * np.sin(angle))[:, None]
    across = np.abs(dy * np.cos(angle) - dx * np.sin(angle))[:, None]
    offset = np.hstack([along, across])
    low, high = (np.hypot(*np.maximum(offset - half, 0).T) for half in (bodies.outer, bodies.inner))
    return np.where(np.isnan(low), 0.0, low), np.where(np.isnan(high), np.inf, high)


def _both(bodies: Bodies, measure: Callable[[Shapes], Bounds]) -> Bounds:
    """Return what *measure* says of the greatest and of the least bodies, open-ended where there is no shape."""
    low, high = np.full(len(bodies), -math.inf), np.full(len(bodies), math.inf)
    bounded, located = bodies.bounded, bodies.located
    low[bounded] = measure(_shapes(bodies.take(bounded).outer_corners()))[0]
    high[located] = measure(_shapes(bodies.take(located).inner_corners()))[1]
    return np.minimum(low, high), high


def _shapes(corners: Floats) -> Shapes:
    """Return rectangles as polygons, or as lines and points where a side is zero."""
    import shapely

    shapes = np.asarray(shapely.polygons(corners), dtype=object)
    area = np.abs(np.cross(_three(corners[:, 1] - corners[:, 0]), _three(corners[:, 3] - corners[:, 0]))[:, 2])
    flat = area == 0
    shapes[flat] = shapely.linestrings(corners[flat][:, [0, 2]])
    point = (corners == corners[:, :1]).all(axis=(1, 2))
    shapes[point] = shapely.points(corners[point][:, 0])
    return shapes


def _three(vectors: Floats) -> Floats:
    return np.pad(vectors, ((0, 0), (0, 1)))


def ring_distance(shapes: Shapes, rings: Sequence[LinearRing]) -> Bounds:
    """Return bounds of the distance of shapes to the nearest of closed contours.

    Both are equal, but for shapes beyond :data:`_NEAR_MM` of a contour with many corners: those are measured to a
    coarser line, because every segment of a finely divided arc is as near to its middle as any other.
    """
    import shapely

    points = [np.asarray(ring.coords)[:, :2] for ring in rings]
    segments = np.concatenate([np.stack([p[:-1], p[1:]], axis=1) for p in points])
    if len(segments) <= _MANY:  # an index would only cost time
        found: Floats = shapely.distance(shapely.MultiLineString([shapely.LineString(p) for p in points]), shapes)
        return found, found.copy()
    tree = shapely.STRtree(np.asarray(shapely.linestrings(segments), dtype=object))
    (row, _), distance = tree.query_nearest(shapes, max_distance=_NEAR_MM, return_distance=True, all_matches=False)
    low, high = np.full(len(shapes), _NEAR_MM), np.full(len(shapes), math.inf)
    low[row] = high[row] = distance
    coarse = _coarse(points) if len(row) < len(shapes) else None
    if coarse is not None:
        line, tolerance = coarse
        far = np.isinf(high)
        shapely.prepare(line)
        distance = shapely.distance(line, shapes[far])
        low[far], high[far] = np.maximum(low[far], distance - tolerance), distance + tolerance
    return low, high


def _coarse(rings: list[Floats]) -> tuple[Geometry, float] | None:
    """Return the contours with few corners, and how far from the true ones they run at most (Douglas and Peucker)."""
    import shapely

    lines = shapely.MultiLineString([shapely.LineString(ring) for ring in rings])
    for tolerance in _COARSE_MM:
        simple = lines.simplify(tolerance, preserve_topology=False)
        if shapely.get_num_coordinates(simple) <= _MANY:
            return simple, tolerance
    return None


def _within(shapes: Shapes, board: Polygon, *, enough_mm: float = math.inf) -> Bounds:
    """Return the distances to the contour; of what is known to reach over by *enough_mm* no exact depth is asked."""
    import shapely

    if not len(shapes):
        return np.empty(0), np.empty(0)
    covering = Covering(board)
    low, high = ring_distance(shapes, [board.exterior])
    over = np.flatnonzero(~covering.covers(shapes))
    # A whole board in a wrong frame lies outside, so corners off the board are measured all together.
    places, owner = shapely.get_coordinates(shapes[over], return_index=True)
    corners = np.asarray(shapely.points(places), dtype=object)
    outside = ~covering.covers(corners)
    deep = np.zeros((2, len(over)))
    if outside.any():
        for depth, measured in zip(deep, ring_distance(corners[outside], [board.exterior]), strict=True):
            np.maximum.at(depth, owner[outside], measured)
    high[over], low[over] = -deep
    # A body with a corner beside the board may lie across a notch as well, and deeper there than at its corner.
    partly = over[np.maximum(low, high)[over] >= -enough_mm]
    partly = partly[covering.meets(shapes[partly])]
    exact, rest = partly[:_MOST_NOTCHED], partly[_MOST_NOTCHED:]
    for row in exact.tolist():
        near = _around(board, shapes[row])
        reached = -_depth(shapely.difference(shapes[row], near), near)
        low[row], high[row] = min(low[row], reached), min(high[row], reached)
    # No point of a rectangle is farther from the board than its corners are, and its middle from them.
    low[rest] -= shapely.minimum_bounding_radius(shapes[rest])
    return low, high


def _around(board: Polygon, shape: Geometry) -> Geometry:
    """Return the part of the board that matters near a shape: the whole contour may have thousands of corners."""
    import shapely

    left, bottom, right, top = shapely.bounds(shape)
    return shapely.clip_by_rect(board, left - 1.0, bottom - 1.0, right + 1.0, top + 1.0)


def _clear_of(shapes: Shapes, holes: Sequence[Polygon]) -> Bounds:
    import shapely

    if not holes or not len(shapes):
        return np.full(len(shapes), math.inf), np.full(len(shapes), math.inf)
    low, high = ring_distance(shapes, [h.exterior for h in holes])
    row, hole = shapely.STRtree(holes).query(shapes, predicate="intersects")
    for r, h in zip(row, hole, strict=True):
        part = shapely.intersection(shapes[r], holes[h])
        solid = shapely.difference(shapely.envelope(holes[h]).buffer(1.0), holes[h])
        low[r] = high[r] = min(low[r], -_depth(part, solid))
    return low, high


def _depth(piece: Geometry, board: Geometry) -> float:
    """Return how deep a piece of a body lies outside the board: its farthest corner, or the circle it holds.

    Whatever reaches over has a depth above 0: no corner of the piece a round opening cuts off lies deeper than its rim.
    """
    import shapely

    if piece.is_empty:
        return 0.0
    line = piece.area <= 0 < piece.length
    # Of a line across an opening only what lies between its ends is off the board.
    corners = shapely.points(shapely.get_coordinates(piece.segmentize(piece.length / _PIECES) if line else piece))
    depth = float(np.max(shapely.distance(corners, board)))
    if piece.area > 0:
        # The radius of the largest circle in a piece is at least its area by its circumference.
        depth = max(depth, float(piece.area / piece.length))
    # No circle in it is wider than its box: of what reaches straight over an edge the corners lie deeper.
    left, bottom, right, top = piece.bounds
    if _SLIVER_MM < depth < min(right - left, top - bottom) / 2 and piece.area > 0:
        with np.errstate(all="ignore"):  # inside the library, where a side has next to no slope
            (radius,) = shapely.maximum_inscribed_circle([piece])
        depth = max(depth, float(radius.length))
    return depth
