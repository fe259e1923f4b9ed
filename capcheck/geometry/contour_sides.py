"""The sides of a board's box as its contour follows them: straight, notched, round at the corners; holes near them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Final

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from capcheck.geometry.edges import BOX_SIDES, BoxSide, ring_distance
from capcheck.model import Floats, Said, say

if TYPE_CHECKING:
    from shapely import Polygon

FLATNESS_MM: Final = 0.05
"""A contour that stays this near to a side of the board's box counts as lying on it."""
LIGHT_HOLE_MM: Final = 2.0
"""A sensor's light passes holes from this diameter on: from memory; common practice, no source."""
CARRIED_MM: Final = 1.0
"""A contour that stays this near to a side lies on the rail there, even where it bends: common practice, no source."""
_PARALLEL_SLOPE: Final = 0.02
"""Steeper pieces near a side belong to a rounded corner: the first chords of its arc."""

Holes = Sequence[tuple[float, float, float]]
"""Round holes: x, y and diameter in mm."""


class SideProfile(Struct, frozen=True):
    """One side of a board's box and how much of it the contour follows; lengths in mm.

    *notch* is the longest stretch between two straight ones where the contour leaves the side; *start_gap* and
    *end_gap* are the stretches up to the corners (a rounded corner, a chamfer or a missing corner). *carried_share* is
    the share of the side along which the contour strays from it by no more than :data:`CARRIED_MM`, *carried_reach*
    the share from the first of these stretches to the last.
    """

    length: float
    straight_share: float
    notch: float
    start_gap: float
    end_gap: float
    carried_share: float = 0.0
    carried_reach: float = 0.0


def side_profiles(polygon: Polygon) -> dict[BoxSide, SideProfile]:
    """Return the profile of each side of the board's box, seen along x or y."""
    points = np.asarray(polygon.exterior.coords)[:, :2]
    left, bottom, right, top = polygon.bounds
    lines = {"left": (0, left), "right": (0, right), "bottom": (1, bottom), "top": (1, top)}
    profiles: dict[BoxSide, SideProfile] = {}
    for side in BOX_SIDES:
        axis, value = lines[side]
        span = (bottom, top) if axis == 0 else (left, right)
        share, reach = _carried(polygon, axis, value, span)
        profiles[side] = replace(_profile(points, axis, value, span), carried_share=share, carried_reach=reach)
    return profiles


def _carried(polygon: Polygon, axis: int, value: float, span: tuple[float, float]) -> tuple[float, float]:
    """Return which share of a side has the contour within :data:`CARRIED_MM` of it, and from the first to the last."""
    import shapely

    near = (value - CARRIED_MM, value + CARRIED_MM)
    (x1, x2), (y1, y2) = (near, span) if axis == 0 else (span, near)
    pieces = shapely.bounds(shapely.get_parts(polygon.exterior.intersection(shapely.box(x1, y1, x2, y2))))
    runs = pieces[:, [1 - axis, 3 - axis]]
    length = span[1] - span[0]
    return _covered(runs) / length, float(np.ptp(runs)) / length


def _covered(runs: Floats) -> float:
    """Return the length of an axis that these stretches cover, shape (n, 2)."""
    covered, end = 0.0, -math.inf
    for low, high in sorted(map(tuple, runs.tolist())):
        covered += max(0.0, high - max(low, end))
        end = max(end, high)
    return covered


def _profile(points: Floats, axis: int, value: float, span: tuple[float, float]) -> SideProfile:
    on_line = np.abs(points[:, axis] - value) <= FLATNESS_MM
    step = np.abs(np.diff(points, axis=0))
    both = on_line[:-1] & on_line[1:] & (step[:, axis] <= _PARALLEL_SLOPE * step[:, 1 - axis])
    runs = np.sort(np.stack([points[:-1, 1 - axis], points[1:, 1 - axis]], axis=1)[both], axis=1)
    length = span[1] - span[0]
    if not len(runs):
        return SideProfile(length, 0.0, 0.0, length, length)
    notch, start = 0.0, float(runs[:, 0].min())
    end = start
    for low, high in sorted(map(tuple, runs.tolist())):
        notch = max(notch, low - end)
        end = max(end, high)
    return SideProfile(length, _covered(runs) / length, notch, start - span[0], span[1] - end)


def corner_radius(profiles: dict[BoxSide, SideProfile]) -> float:
    """Return the least radius or chamfer, in mm, of the four corners of the board's box; 0 for a square corner."""
    left, right, bottom, top = (profiles[s] for s in BOX_SIDES)
    corners = (
        (left.start_gap, bottom.start_gap),
        (right.start_gap, bottom.end_gap),
        (left.end_gap, top.start_gap),
        (right.end_gap, top.end_gap),
    )
    return min(min(pair) for pair in corners)


def cutout_behind_edge(polygon: Polygon, side: BoxSide, holes: Holes = ()) -> float:
    """Return the distance in mm from a side of the board's box to the nearest cut-out or hole; infinite without one.

    A stop or a sensor that meets one near the leading edge sees the board end too early. Holes narrower than
    :data:`LIGHT_HOLE_MM` do not count.
    """
    left, bottom, right, top = polygon.bounds
    boxes = [ring.bounds for ring in polygon.interiors]
    boxes += [(x - d / 2, y - d / 2, x + d / 2, y + d / 2) for x, y, d in holes if d >= LIGHT_HOLE_MM]
    distances = {
        "left": [b[0] - left for b in boxes],
        "right": [right - b[2] for b in boxes],
        "bottom": [b[1] - bottom for b in boxes],
        "top": [top - b[3] for b in boxes],
    }
    return min(distances[side], default=math.inf)


def hole_at_edge(polygon: Polygon, holes: Holes) -> tuple[float, Said] | None:
    """Return the narrowest web in mm between a hole or cut-out and the outer contour, and which one; None without any.

    Negative where a round hole breaks through the contour. Webs too wide to matter may come out a little too narrow
    (:func:`~capcheck.geometry.edges.ring_distance`).
    """
    import shapely

    round_ones = np.array([h for h in holes if all(map(math.isfinite, h))], float).reshape(-1, 3)
    rings = np.array(list(polygon.interiors), dtype=object)
    if not len(round_ones) and not len(rings):
        return None
    shapes = np.concatenate([shapely.points(round_ones[:, :2]), rings])
    webs = ring_distance(shapes, [polygon.exterior])[0]
    webs[: len(round_ones)] -= round_ones[:, 2] / 2
    nearest = int(np.argmin(webs))
    if nearest < len(round_ones):
        x, y, diameter = round_ones[nearest].tolist()
        return float(webs[nearest]), say("geometry.hole", diameter=diameter, x=x, y=y)
    left, bottom, right, top = shapely.bounds(shapes[nearest]).tolist()
    return float(webs[nearest]), say("geometry.cut-out", x=(left + right) / 2, y=(bottom + top) / 2)
