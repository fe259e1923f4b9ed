"""Fiducial marks: gathered from all that names them, and measured as SMEMA 3.1 asks.

A mark in the placement data or in board.toml is certain; a circle of the outline drawing that nothing else names is
a candidate and only widens the count. Lengths in mm.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import TYPE_CHECKING, Any, Final

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from capcheck.geometry.bodies import Bodies
from capcheck.geometry.edges import Box, point_distance
from capcheck.model import Flags, Floats, Kind, Outline, Placements, Side
from capcheck.values import UNKNOWN_SIZE, Interval, Place

if TYPE_CHECKING:
    from shapely import Polygon

SAME_MARK_MM: Final = 0.2
"""A circle of the outline whose centre is this near to a placement row is that row's mark."""


class Mark(Struct, frozen=True):
    """One fiducial: where it lies, its diameter, what names it. *role* is ``panel``, ``board`` or ``local``.

    *certain* is False for a circle that may be something else; *row* is its row in the placements, −1 if it has none;
    *shape* is empty where nothing states it. *diameter_from* names the drawing that the diameter was taken from.
    """

    x_mm: float
    y_mm: float
    side: Side
    diameter: Interval = UNKNOWN_SIZE
    certain: bool = True
    role: str = "board"
    name: str = ""
    row: int = -1
    place: Place | None = None
    diameter_from: str = ""
    shape: str = ""


def collect_marks(placements: Placements, outline: Outline | None, stated: Iterable[Any] = ()) -> tuple[Mark, ...]:
    """Return all marks: stated ones (objects with x, y, diameter, side, kind, shape), then rows, then bare circles.

    Rows without a place are left out; one at the place of a stated mark gives it its name. A circle at the place of
    another mark gives it its diameter.
    """
    circles = [c for c in (outline.marks if outline else ()) if all(map(math.isfinite, c))]
    marks = [
        Mark(
            x_mm=f.x,
            y_mm=f.y,
            side=Side.BOTTOM if f.side == "bottom" else Side.TOP,
            diameter=UNKNOWN_SIZE if f.diameter is None else Interval.exactly(f.diameter),
            role=f.kind,
            name=f"mark {n}",
            place=Place("board.toml"),
            shape=f.shape or "",
        )
        for n, f in enumerate(stated, 1)
    ]
    for row in np.flatnonzero(placements.kind == Kind.FIDUCIAL).tolist():
        x, y, side = float(placements.x_mm[row]), float(placements.y_mm[row]), Side(int(placements.side[row]))
        if not (math.isfinite(x) and math.isfinite(y)):
            continue
        same = _same_place(marks, x, y, side)
        if same is not None:
            if marks[same].row < 0:
                marks[same] = replace(marks[same], name=placements.ref[row], row=row)
            continue
        place = Place(placements.files[placements.file[row]], int(placements.row[row]))
        marks.append(Mark(x, y, side, name=placements.ref[row], row=row, place=place))
    source = outline.source if outline else ""
    for x, y, diameter in circles:
        there = [n for n, m in enumerate(marks) if math.hypot(m.x_mm - x, m.y_mm - y) <= SAME_MARK_MM]
        for n in there:
            if not marks[n].diameter.is_known:
                marks[n] = replace(marks[n], diameter=Interval.exactly(diameter), diameter_from=source)
        if not there:
            circle = Interval.exactly(diameter)
            name = f"circle {x:g}, {y:g}"
            marks.append(Mark(x, y, Side.UNKNOWN, circle, certain=False, name=name, diameter_from=source))
    return tuple(marks)


def _same_place(marks: list[Mark], x: float, y: float, side: Side) -> int | None:
    near = (n for n, m in enumerate(marks) if m.side == side and math.hypot(m.x_mm - x, m.y_mm - y) <= SAME_MARK_MM)
    return next(near, None)


def shown_on(marks: Iterable[Mark], side: Side) -> tuple[tuple[Mark, ...], tuple[Mark, ...]]:
    """Return the marks that are certain on this side, and those that may be there."""
    marks = tuple(marks)
    sure = tuple(m for m in marks if m.certain and m.side == side)
    return sure, tuple(m for m in marks if m not in sure and m.side in {side, Side.UNKNOWN})


def is_local(mark: Mark, bodies: Bodies, fine: Flags, *, within_mm: float = 3.0) -> bool:
    """Whether a mark serves one fine-pitch part: said so, or it lies this near to the least body of one."""
    if mark.role == "local":
        return True
    if mark.role == "panel" or not np.any(fine):
        return False
    near = bodies.take(np.asarray(fine, bool) & (bodies.side == mark.side))
    return bool(np.any(point_distance(near, mark.x_mm, mark.y_mm)[1] <= within_mm))


def clear_rings(marks: tuple[Mark, ...], bodies: Bodies, present: Flags | None = None) -> list[Interval]:
    """Return for each mark the free ring around its rim, to the nearest body on its side and the nearest other mark.

    SMEMA 3.1 asks for the radius of the mark at least, its diameter for preference. Bodies stand for all that is
    printed or soldered there: copper and legend are not in the placement data.
    """
    counted = bodies.located if present is None else bodies.located & np.asarray(present, bool)
    rings: list[Interval] = []
    for mark in marks:
        sides = bodies.side == mark.side
        sure = bodies.take(counted & sides)
        maybe = bodies.take(counted & (sides | (bodies.side == Side.UNKNOWN) | (mark.side == Side.UNKNOWN)))
        low = float(np.min(point_distance(maybe, mark.x_mm, mark.y_mm)[0], initial=math.inf))
        high = float(np.min(point_distance(sure, mark.x_mm, mark.y_mm)[1], initial=math.inf))
        for other in marks:
            if other is mark or (other.side != mark.side and Side.UNKNOWN not in {other.side, mark.side}):
                continue
            apart = math.hypot(other.x_mm - mark.x_mm, other.y_mm - mark.y_mm)
            low = min(low, apart - other.diameter.high / 2)
            if other.certain and other.side == mark.side:
                high = min(high, apart - other.diameter.low / 2)
        low, high = low - mark.diameter.high / 2, high - mark.diameter.low / 2
        rings.append(Interval(-math.inf if math.isnan(low) else low, high))
    return rings


def ring_needed(diameter: Interval, *, preferred: bool = False) -> Interval:
    """Return the free ring that SMEMA 3.1 asks for: the mark's radius, or for preference its diameter."""
    return diameter.scaled(1.0 if preferred else 0.5)


def edge_distances(marks: Iterable[Mark], polygon: Polygon) -> list[Interval]:
    """Return the distance of each mark's rim to the board's outer contour, notches included; negative beyond it."""
    import shapely

    marks = tuple(marks)
    centres = shapely.points(np.array([(m.x_mm, m.y_mm) for m in marks]).reshape(-1, 2))
    free = shapely.distance(polygon.exterior, centres)
    free = np.where(shapely.covers(shapely.Polygon(polygon.exterior), centres), free, -free).tolist()
    return [Interval(f - m.diameter.high / 2, f - m.diameter.low / 2) for f, m in zip(free, marks, strict=True)]


class Arrangement(Struct, frozen=True):
    """How marks lie on a board. Shares run from 0 to 1; *first* and *second* are the pair farthest apart.

    *diagonal_share* is their distance over the board's diagonal; *across_both* the lesser of their shares of length and
    width, 0 for marks along one edge. *half_turn_miss_mm* is how far the pattern, turned by 180 degrees
    about the board's centre, misses itself: 0 means that a board loaded the wrong way round looks right.
    """

    first: Mark | None
    second: Mark | None
    diagonal_share: float
    across_both: float
    half_turn_miss_mm: float


def arrangement(marks: Iterable[Mark], box: Box) -> Arrangement:
    """Return the arrangement of one side's marks on the board's box; all zero for fewer than two."""
    marks = tuple(marks)
    left, bottom, right, top = box
    length, width = right - left, top - bottom
    places: Floats = np.array([(m.x_mm, m.y_mm) for m in marks]).reshape(-1, 2)
    if len(places) < 2 or not length > 0 or not width > 0:
        return Arrangement(marks[0] if marks else None, None, 0.0, 0.0, _half_turn_miss(places, box))
    apart = np.hypot(*(places[:, None] - places[None]).transpose(2, 0, 1))
    i, j = np.unravel_index(int(apart.argmax()), apart.shape)
    dx, dy = np.abs(places[i] - places[j])
    return Arrangement(
        marks[int(i)],
        marks[int(j)],
        float(apart[i, j]) / math.hypot(length, width),
        min(float(dx) / length, float(dy) / width),
        _half_turn_miss(places, box),
    )


def _half_turn_miss(places: Floats, box: Box) -> float:
    if not len(places):
        return 0.0
    turned = np.array([box[0] + box[2], box[1] + box[3]]) - places
    apart = np.hypot(*(turned[:, None] - places[None]).transpose(2, 0, 1))
    return float(apart.min(axis=1).max())


def diameter_spread(marks: Iterable[Mark]) -> Interval:
    """Return the difference between the largest and the smallest mark, which SMEMA 3.1 limits to 0.025 mm."""
    sizes = [m.diameter for m in marks]
    if len(sizes) < 2:
        return Interval.exactly(0.0)
    least = max(0.0, max(s.low for s in sizes) - min(s.high for s in sizes))
    return Interval(least, max(s.high for s in sizes) - min(s.low for s in sizes))


def local_marks(
    marks: Iterable[Mark], bodies: Bodies, fine: Flags, *, within_mm: float = 3.0
) -> tuple[Floats, Floats, Flags]:
    """Return for each body the count of marks that may serve it (low, high) and whether two lie diagonally across it.

    A mark serves a part on its side if it lies within *within_mm* of the greatest body (of the least body, for the low
    count). Rows outside *fine* get zeros.
    """
    low, high = np.zeros(len(bodies)), np.zeros(len(bodies))
    quadrants = np.zeros((len(bodies), 4), bool)
    rows = np.flatnonzero(np.asarray(fine, bool) & bodies.located)
    some = bodies.take(rows)
    for mark in marks:
        far, near = point_distance(some, mark.x_mm, mark.y_mm)[::-1]
        same = (some.side == mark.side) & mark.certain
        maybe = (some.side == mark.side) | (some.side == Side.UNKNOWN) | (mark.side == Side.UNKNOWN)
        served = same & (far <= within_mm)
        low[rows] += served
        high[rows] += maybe & (near <= within_mm)
        angle = np.degrees(np.arctan2(mark.y_mm - some.y_mm, mark.x_mm - some.x_mm)) - some.angle_deg
        quadrants[rows[served], (np.remainder(angle, 360.0) // 90).astype(int)[served] % 4] = True
    return low, high, (quadrants[:, 0] & quadrants[:, 2]) | (quadrants[:, 1] & quadrants[:, 3])
