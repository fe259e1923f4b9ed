"""Fiducials: gathered from all that names them, and measured as SMEMA 3.1 asks.

A fiducial in the placement data or in board.toml is certain, and a circle of copper that the layers prove to be one; a
circle of the outline drawing or of copper that nothing else names is a candidate and only widens the count. Lengths in
mm.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Final, Literal

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from capcheck.geometry.bodies import Bodies
from capcheck.geometry.edges import point_distance
from capcheck.geometry.nearby import Nearby
from capcheck.model import Box, Codes, Fiducial, Flags, Floats, Kind, Mark, Outline, Placements, Said, Side, say
from capcheck.values import UNKNOWN_SIZE, Interval, Place

if TYPE_CHECKING:
    from shapely import Polygon

SAME_FIDUCIAL_MM: Final = 0.2
"""A circle of the outline whose centre is this near to a placement row is that row's fiducial."""
_LOCAL_MM: Final = 3.0
"""A fiducial this near to a part of fine pitch may serve that part alone: common practice, no source."""


class FoundFiducial(Struct, frozen=True):
    """One fiducial of the board: its place, its diameter, and what names it.

    *certain* is False for a circle that may be something else; *row* is its row in the placements, −1 if it has none;
    *shape* is empty where nothing states it. *sized_by* is the outline, or the layer of copper,
    whose circle the diameter is.
    """

    x_mm: float
    y_mm: float
    side: Side
    diameter: Interval = UNKNOWN_SIZE
    certain: bool = True
    role: Literal["panel", "board", "local"] = "board"
    name: str = ""
    row: int = -1
    place: Place | None = None
    sized_by: Said | str = ""
    shape: str = ""
    bare_ring: Interval = UNKNOWN_SIZE
    """Width around the rim that neither mask nor other copper reaches into, where layers show it."""

    @property
    def diameter_source(self) -> Said:
        """Where the fiducial is named, and where its diameter comes from if that is another place."""
        key = "geometry.diameter from the outline" if self.sized_by else "geometry.named"
        return say(key, source=str(self.place or ""), outline=self.sized_by)

    def is_at(self, x: float, y: float) -> bool:
        """Whether what lies at this place is the same fiducial."""
        return math.hypot(self.x_mm - x, self.y_mm - y) <= SAME_FIDUCIAL_MM


def collect_fiducials(
    placements: Placements, outline: Outline | None, stated: Iterable[Fiducial] = (), drawn: Iterable[Mark] = ()
) -> tuple[FoundFiducial, ...]:
    """Return all fiducials: those that board.toml states, rows of the placements, *drawn* in copper, bare circles.

    Rows without a place are left out; one at the place of a stated fiducial gives it its name. A circle at the place
    of another fiducial gives it its diameter, that of copper before that of the outline.
    """
    found = _Found([_as_stated(number, f) for number, f in enumerate(stated, 1)])
    _add_rows(found, placements)
    _add_copper(found, drawn)
    if outline is not None:
        _add_circles(found, outline)
    return tuple(found.all)


class _Found:
    """The fiducials found so far, and which of them lie at a place, without a look at all others."""

    def __init__(self, stated: Iterable[FoundFiducial]) -> None:
        self.all: list[FoundFiducial] = []
        self._cells: dict[tuple[int, int], list[int]] = {}
        for fiducial in stated:
            self.append(fiducial)

    def append(self, fiducial: FoundFiducial) -> None:
        """Add a fiducial at a place of its own."""
        self._cells.setdefault(_cell(fiducial.x_mm, fiducial.y_mm), []).append(len(self.all))
        self.all.append(fiducial)

    def at(self, x: float, y: float) -> list[int]:
        """Return the numbers of those at a place, in the order in which they were found."""
        column, row = _cell(x, y)
        near = (self._cells.get((column + i, row + j), ()) for i in (-1, 0, 1) for j in (-1, 0, 1))
        return sorted(n for numbers in near for n in numbers if self.all[n].is_at(x, y))


def _cell(x: float, y: float) -> tuple[int, int]:
    """Return a square as wide as two places of one fiducial may lie apart."""
    return math.floor(x / SAME_FIDUCIAL_MM), math.floor(y / SAME_FIDUCIAL_MM)


def _as_stated(number: int, stated: Fiducial) -> FoundFiducial:
    return FoundFiducial(
        stated.x,
        stated.y,
        Side.BOTTOM if stated.side == "bottom" else Side.TOP,
        UNKNOWN_SIZE if stated.diameter is None else Interval.exactly(stated.diameter),
        role=stated.kind,
        name=f"fiducial {number}",
        place=Place("board.toml"),
        shape=stated.shape or "",
    )


def _add_rows(found: _Found, placements: Placements) -> None:
    for row in np.flatnonzero(placements.kind == Kind.FIDUCIAL).tolist():
        x, y, side = float(placements.x_mm[row]), float(placements.y_mm[row]), Side(int(placements.side[row]))
        if not (math.isfinite(x) and math.isfinite(y)):
            continue
        same = next((n for n in found.at(x, y) if found.all[n].side == side), None)
        if same is None:
            place = Place(placements.files[placements.file[row]], int(placements.row[row]))
            found.append(FoundFiducial(x, y, side, name=placements.ref[row], row=row, place=place))
        elif found.all[same].row < 0:
            found.all[same] = replace(found.all[same], name=placements.ref[row], row=row)


def _add_copper(found: _Found, drawn: Iterable[Mark]) -> None:
    every = found.all
    sizes: dict[tuple[Side, str], tuple[Interval, str, Interval]] = {}
    for mark in drawn:
        side, size = Side.BOTTOM if mark.side == "bottom" else Side.TOP, Interval.exactly(mark.diameter_mm)
        ring = UNKNOWN_SIZE if mark.ring is None else Interval(*mark.ring)
        there = [n for n in found.at(mark.x_mm, mark.y_mm) if every[n].side == side]
        for n in there:
            if every[n].row >= 0:
                sizes[side, every[n].name.partition("/")[0]] = size, mark.file, ring
            if not every[n].diameter.is_known:
                every[n] = replace(every[n], diameter=size, sized_by=mark.file)
            every[n] = replace(every[n], bare_ring=ring)
        if not there and not mark.listed:
            name, place = f"fiducial at {mark.x_mm:.2f}, {mark.y_mm:.2f}", Place(mark.file)
            told = FoundFiducial(mark.x_mm, mark.y_mm, side, size, certain=mark.certain, name=name, place=place)
            found.append(replace(told, bare_ring=ring))
    # The further circuits of a panel, whose layers show one, repeat the first.
    for n, one in enumerate(every):
        if one.row >= 0 and "/" in one.name and not one.diameter.is_known:
            size, file, ring = sizes.get((one.side, one.name.partition("/")[0]), (one.diameter, "", UNKNOWN_SIZE))
            every[n] = replace(one, diameter=size, sized_by=file, bare_ring=ring)


def _add_circles(found: _Found, outline: Outline) -> None:
    for x, y, diameter in outline.marks:
        if not all(map(math.isfinite, (x, y, diameter))):
            continue
        size, there = Interval.exactly(diameter), found.at(x, y)
        for n in there:
            if not found.all[n].diameter.is_known:
                found.all[n] = replace(found.all[n], diameter=size, sized_by=outline.source)
        if not there:
            found.append(FoundFiducial(x, y, Side.UNKNOWN, size, certain=False, name=f"circle {x:g}, {y:g}"))


def shown_on(
    fiducials: Iterable[FoundFiducial], side: Side
) -> tuple[tuple[FoundFiducial, ...], tuple[FoundFiducial, ...]]:
    """Return the fiducials that are certain on this side, and those that may be there."""
    fiducials = tuple(fiducials)
    sure = tuple(m for m in fiducials if m.certain and m.side == side)
    # An uncertain one, or one whose side is not known, may be there.
    return sure, tuple(m for m in fiducials if m.side in {side, Side.UNKNOWN} and not (m.certain and m.side == side))


def are_local(fiducials: Sequence[FoundFiducial], bodies: Bodies, fine: Flags) -> list[bool]:
    """Return of each fiducial whether it serves one fine-pitch part: said so, or near to the least body of one."""
    some = bodies.take(np.asarray(fine, bool))
    near = Nearby(some)

    def beside_one(fiducial: FoundFiducial) -> bool:
        rows = near.within(fiducial.x_mm, fiducial.y_mm, _LOCAL_MM)
        close = some.take(rows[some.side[rows] == fiducial.side])
        return bool(np.any(point_distance(close, fiducial.x_mm, fiducial.y_mm)[1] <= _LOCAL_MM))

    return [f.role == "local" or (f.role != "panel" and beside_one(f)) for f in fiducials]


def clear_rings(fiducials: tuple[FoundFiducial, ...], bodies: Bodies) -> list[Interval]:
    """Return for each fiducial the free ring around its rim, to the nearest body on its side and the nearest other one.

    SMEMA 3.1 asks for the radius of the fiducial at least, its diameter for preference. Bodies stand for all that is
    printed or soldered there: copper and legend are not in the placement data.
    """
    on_sides = {side: _on_side(bodies, side) for side in {fiducial.side for fiducial in fiducials}}
    others = _Others.of(fiducials)
    rings: list[Interval] = []
    for number, fiducial in enumerate(fiducials):
        low, high = others.free_of(number)
        for maybe, (some, near) in zip((True, False), on_sides[fiducial.side], strict=True):
            rows = near.nearest(fiducial.x_mm, fiducial.y_mm)
            greatest, least = point_distance(some.take(rows), fiducial.x_mm, fiducial.y_mm)
            low = min(low, float(np.min(greatest, initial=math.inf))) if maybe else low
            high = high if maybe else min(high, float(np.min(least, initial=math.inf)))
        low, high = low - fiducial.diameter.high / 2, high - fiducial.diameter.low / 2
        rings.append(Interval(-math.inf if math.isnan(low) else low, high))
    return rings


def _on_side(bodies: Bodies, side: Side) -> tuple[tuple[Bodies, Nearby], tuple[Bodies, Nearby]]:
    """Return the bodies that may lie on a side, and those that surely do."""
    sure = bodies.located & (bodies.side == side)
    maybe = bodies.located & ((bodies.side == side) | (bodies.side == Side.UNKNOWN) | (side == Side.UNKNOWN))
    some, certain = bodies.take(maybe), bodies.take(sure)
    return (some, Nearby(some)), (certain, Nearby(certain))


class _Others(Struct, frozen=True):
    """The fiducials as columns, to measure how far the others lie from one."""

    x_mm: Floats
    y_mm: Floats
    side: Codes
    certain: Flags
    least: Floats
    greatest: Floats

    @classmethod
    def of(cls, fiducials: Sequence[FoundFiducial]) -> _Others:
        """Return the columns, with radii in mm."""
        return cls(
            np.array([f.x_mm for f in fiducials]),
            np.array([f.y_mm for f in fiducials]),
            np.array([f.side for f in fiducials], dtype=np.int8),
            np.array([f.certain for f in fiducials], dtype=bool),
            np.array([f.diameter.low / 2 for f in fiducials]),
            np.array([f.diameter.high / 2 for f in fiducials]),
        )

    def free_of(self, number: int) -> tuple[float, float]:
        """Return the least distance from the centre of one to the rim of another, of those that may be on its side.

        The high end is that to those which surely are.
        """
        apart = np.hypot(self.x_mm - self.x_mm[number], self.y_mm - self.y_mm[number])
        same = self.side == self.side[number]
        maybe = same | (self.side == Side.UNKNOWN) | (self.side[number] == Side.UNKNOWN)
        same[number] = maybe[number] = False
        return (
            float(np.min((apart - self.greatest)[maybe], initial=math.inf)),
            float(np.min((apart - self.least)[same & self.certain], initial=math.inf)),
        )


def ring_needed(diameter: Interval) -> Interval:
    """Return the free ring that SMEMA 3.1 asks for: the fiducial's radius."""
    return diameter.scaled(0.5)


def edge_distances(fiducials: Iterable[FoundFiducial], polygon: Polygon) -> list[Interval]:
    """Return the distance of each fiducial's rim to the board's outer contour, notches included; negative beyond it."""
    import shapely

    fiducials = tuple(fiducials)
    centres = shapely.points(np.array([(m.x_mm, m.y_mm) for m in fiducials]).reshape(-1, 2))
    free = shapely.distance(polygon.exterior, centres)
    free = np.where(shapely.covers(shapely.Polygon(polygon.exterior), centres), free, -free).tolist()
    return [Interval(f - m.diameter.high / 2, f - m.diameter.low / 2) for f, m in zip(free, fiducials, strict=True)]


class Arrangement(Struct, frozen=True):
    """How fiducials lie on a board. Shares run from 0 to 1.

    *diagonal_share* is the distance of the two farthest apart over the board's diagonal; *across_both* the lesser of
    their shares of length and width, 0 for fiducials along one edge. *half_turn_offset_mm* is how far the pattern,
    turned by 180 degrees about the board's centre, comes to lie from itself: 0 means that a board loaded the wrong way
    round looks right.
    """

    diagonal_share: float
    across_both: float
    half_turn_offset_mm: float


def arrangement(fiducials: Iterable[FoundFiducial], box: Box) -> Arrangement:
    """Return the arrangement of one side's fiducials on the board's box; shares of zero for fewer than two."""
    left, bottom, right, top = box
    length, width = right - left, top - bottom
    places: Floats = np.array([(f.x_mm, f.y_mm) for f in fiducials]).reshape(-1, 2)
    offset = _half_turn_offset(places, box)
    if len(places) < 2 or not length > 0 or not width > 0:
        return Arrangement(0.0, 0.0, offset)
    apart = np.hypot(*(places[:, None] - places[None]).transpose(2, 0, 1))
    i, j = np.unravel_index(int(apart.argmax()), apart.shape)
    dx, dy = np.abs(places[i] - places[j])
    return Arrangement(
        float(apart[i, j]) / math.hypot(length, width), min(float(dx) / length, float(dy) / width), offset
    )


def _half_turn_offset(places: Floats, box: Box) -> float:
    if not len(places):
        return 0.0
    turned = np.array([box[0] + box[2], box[1] + box[3]]) - places
    apart = np.hypot(*(turned[:, None] - places[None]).transpose(2, 0, 1))
    return float(apart.min(axis=1).max())


def diameter_spread(fiducials: Iterable[FoundFiducial]) -> Interval:
    """Return the difference between the largest and the smallest fiducial, which SMEMA 3.1 limits to 0.025 mm."""
    sizes = [m.diameter for m in fiducials]
    if len(sizes) < 2:
        return Interval.exactly(0.0)
    least = max(0.0, max(s.low for s in sizes) - min(s.high for s in sizes))
    return Interval(least, max(s.high for s in sizes) - min(s.low for s in sizes))


def local_fiducials(fiducials: Iterable[FoundFiducial], bodies: Bodies, fine: Flags) -> tuple[Floats, Floats]:
    """Return for each body how many fiducials may serve it alone, low and high. Rows outside *fine* get zeros.

    A fiducial serves a part on its side if it lies within 3 mm of the greatest body (of the least body, for the low
    count).
    """
    low, high = np.zeros(len(bodies)), np.zeros(len(bodies))
    rows = np.flatnonzero(np.asarray(fine, bool) & bodies.located)
    some = bodies.take(rows)
    nearby = Nearby(some)
    for fiducial in fiducials:
        close = nearby.within(fiducial.x_mm, fiducial.y_mm, _LOCAL_MM)
        near, far = point_distance(some.take(close), fiducial.x_mm, fiducial.y_mm)
        same = some.side[close] == fiducial.side
        maybe = same | (some.side[close] == Side.UNKNOWN) | (fiducial.side == Side.UNKNOWN)
        low[rows[close]] += same & fiducial.certain & (far <= _LOCAL_MM)
        high[rows[close]] += maybe & (near <= _LOCAL_MM)
    return low, high
