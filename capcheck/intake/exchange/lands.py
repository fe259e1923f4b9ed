"""The lands that files of fabrication name by reference and pin, and what those of one part state together."""

from __future__ import annotations

from collections import Counter
from collections.abc import Hashable, Iterable, Mapping, Sequence
from math import atan2, degrees, hypot
from typing import Final, TypeVar

from msgspec import Struct
from msgspec.structs import replace

from capcheck.model import Mounting

_LEAST_HOLE_MM: Final = 0.4
"""A narrower hole is a via: leads need 0.15 mm more than they are thick (common practice, no source)."""
_LEAST_SHARE: Final = 0.25
"""A hole narrower than a quarter of its land is a via in it (measured on public boards)."""
_SLACK_MM: Final = 0.006
"""How far a distance may be off where both ends are rounded to a ten-thousandth of an inch."""
_GRIDS_MM: Final = (0.05, 0.3175)
"""Pitches are drawn to multiples of 0.05 mm or of an eightieth of an inch: 0.635, 1.27, 2.54 (common practice, no
source); a distance that is neither keeps its room."""
_LEAST_SIDE_MM, _GREATEST_SIDE_MM = 0.2, 300.0
"""Outlines of packages are longer and shorter than that: else the unit is wrong, or it is none."""
_EVEN_MM: Final = 0.02
"""So near to its mirror image lies a land: netlists round to 0.0025 mm."""
_NEXT: Final = (-1, 0, 1)
_SHARED_BY: Final = 3
_SHARED: Final = 0.25
_FEWEST_IN_A_ROW: Final = 3
_SHARE_SPACED: Final = 0.5


Package = TypeVar("Package", bound=Hashable)


class Land(Struct, frozen=True, array_like=True):
    """One land of a pin: where it lies in mm, None where that is unknown, and the hole in it."""

    ref: str
    pin: str
    line: int
    at: tuple[float, float] | None = None
    side: str = ""
    """``top`` or ``bottom``; blank where it is on both, or not known."""
    drilled: bool | None = False
    """Whether a plated hole for a lead is in it; None where that is not known."""
    size: str = ""
    """What its size is called, alike for lands of one size."""
    file: int = 0
    """Which of the files that are read together states it."""


class Netlist(Struct, frozen=True):
    """What a file says of lands, and whether it names pins that nothing is connected to."""

    lands: Sequence[Land]
    lists_open_pins: bool = False
    cut_at: int = 0
    """So many characters of a reference are kept at most; 0 where all are."""
    unit: str = ""
    unread: int = 0
    """Records that name a part and are damaged."""
    has_end: bool = True
    """Whether the file ends as its form asks: one that breaks off may have named more parts."""


class PartLands(Struct, frozen=True):
    """What the lands of one part, or a file about it, state: None or blank for what they leave open."""

    ref: str
    file: int
    line: int
    pins: int | None = None
    pitch: tuple[float, float] | None = None
    """Least and greatest distance of neighbouring leads in mm, where they are equally spaced."""
    mounting: Mounting | None = None
    side: str = ""
    middle: tuple[float, float] | None = None
    """The middle of the box of its lands, or the place that a file states."""
    is_pair: bool = False
    """Whether it has two lands of one size, in whose middle it lies."""
    height_mm: float | None = None
    turned_deg: float | None = None
    """How a file says that it is turned, counted as it counts, or else the direction of its lands."""
    number: str = ""
    value: str = ""
    """What a file says is bought for it, by the maker's part number, and its value."""
    outline: tuple[float, float] | None = None
    """The longer and the shorter side in mm of the outline that a file draws of its package; leads may be in it."""


def outline_of(corners: Sequence[tuple[float, float]]) -> tuple[float, float] | None:
    """Return the longer and the shorter side in mm of the box around corners; None where no body is so large."""
    if len(corners) < 3:
        return None
    xs, ys = zip(*corners, strict=True)
    sides = sorted((max(xs) - min(xs), max(ys) - min(ys)), reverse=True)
    if not all(_LEAST_SIDE_MM <= side <= _GREATEST_SIDE_MM for side in sides):
        return None
    return round(sides[0], 4), round(sides[1], 4)


def without_filled(
    outlines: Mapping[Package, tuple[float, float] | None],
) -> dict[Package, tuple[float, float]]:
    """Return the outlines of packages but for one that a quarter of all share: an export fills it in."""
    known = {name: sides for name, sides in outlines.items() if sides is not None}
    counts = Counter(known.values())
    filled = {sides for sides, count in counts.items() if count >= _SHARED_BY and count >= _SHARED * len(known)}
    return {name: sides for name, sides in known.items() if sides not in filled}


def hole_for_a_lead(hole_mm: float, land_mm: float) -> bool:
    """Whether a plated hole in a land takes a lead; a via in it does not."""
    return hole_mm >= max(_LEAST_HOLE_MM, _LEAST_SHARE * land_mm)


def joined(lands: Iterable[Land]) -> list[Land]:
    """Return each pin's lands at one spot as one land: on both sides and with a hole it is one joint."""
    found: dict[tuple[str, str, tuple[float, float] | None], Land] = {}
    for land in lands:
        key = land.ref, land.pin, land.at
        before = found.get(key)
        if before is None:
            found[key] = land
            continue
        drilled = True if True in {before.drilled, land.drilled} else None
        side = before.side if before.side == land.side else ""
        found[key] = replace(before, drilled=drilled if side == "" else before.drilled, side=side)
    return list(found.values())


def lands_of_parts(read: Netlist) -> dict[str, PartLands]:
    """Return what the lands of each reference state."""
    by_ref: dict[str, list[Land]] = {}
    for land in read.lands:
        by_ref.setdefault(land.ref, []).append(land)
    return {ref: _stated(ref, own, read) for ref, own in by_ref.items()}


def _stated(ref: str, lands: Sequence[Land], read: Netlist) -> PartLands:
    spots = {(land.pin, land.at) for land in lands}
    pins = {land.pin for land in lands}
    points = [land.at for land in lands if land.at is not None]
    sides = {land.side for land in lands}
    drilled = {land.drilled for land in lands}
    # With a pin in two places it is open which of them its lead goes to: alternatives, or a panel.
    one_each = len(spots) == len(pins) and None not in {land.at for land in lands}
    return PartLands(
        ref=ref,
        file=lands[0].file,
        line=lands[0].line,
        pins=len(pins) if one_each and _are_all(pins, read) else None,
        pitch=pitch_of(sorted({point for _, point in spots if point is not None})) if one_each else None,
        mounting=_mounting(drilled, one_each=one_each),
        side=sides.pop() if len(sides) == 1 and drilled == {False} else "",
        middle=middle_of(points) if one_each else None,
        turned_deg=_turned(lands) if one_each and len(spots) > 1 else None,
        is_pair=len(spots) == len(lands) == 2 and lands[0].size == lands[1].size,
    )


def _turned(lands: Sequence[Land]) -> float | None:
    """Return in which direction in degrees the land of the last pin lies from that of the first, by their names."""
    first, *_, last = sorted(lands, key=lambda land: (len(land.pin), land.pin))
    if first.at is None or last.at is None:
        return None
    return degrees(atan2(last.at[1] - first.at[1], last.at[0] - first.at[0]))


def _mounting(drilled: set[bool | None], *, one_each: bool) -> Mounting | None:
    """Return the mounting where every joint is in a hole, or none is."""
    if drilled == {True} and one_each:
        return Mounting.THROUGH_HOLE
    return Mounting.SURFACE if drilled == {False} else None


def _are_all(pins: set[str], read: Netlist) -> bool:
    """Whether no pin is missing: numbers without a gap, or any names in a file that lists what is not connected."""
    if "" in pins:
        return False
    numbers = {int(pin) for pin in pins if pin.isascii() and pin.isdigit() and len(pin) < 5}
    if len(numbers) == len(pins):
        return read.lists_open_pins or numbers == set(range(1, len(pins) + 1))
    return read.lists_open_pins


def middle_of(points: Iterable[tuple[float, float]]) -> tuple[float, float] | None:
    """Return the middle of the box around points; None where there are none."""
    xs, ys = zip(*points, strict=True) if (points := list(points)) else ((), ())
    return ((min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2) if xs else None


def lie_evenly(lands: Iterable[tuple[str, tuple[float, float]]], middle: tuple[float, float]) -> bool:
    """Whether each land, a size and a place in mm, has one of its size opposite: the body is in their *middle* then.

    That holds however it is turned.
    """
    known = list(lands)
    cells = {
        (size, round(x / _EVEN_MM) + i, round(y / _EVEN_MM) + j) for size, (x, y) in known for i in _NEXT for j in _NEXT
    }
    opposite = ((size, 2 * middle[0] - x, 2 * middle[1] - y) for size, (x, y) in known)
    return len(known) > 1 and all((size, round(x / _EVEN_MM), round(y / _EVEN_MM)) in cells for size, x, y in opposite)


def pitch_of(points: Sequence[tuple[float, float]]) -> tuple[float, float] | None:
    """Return the distance of neighbours where half of the lands and a row of three are spaced by the least of all."""
    if len(points) < _FEWEST_IN_A_ROW:
        return None
    nearest = _nearest(points)
    least = min(distance for distance, _ in nearest)
    spaced = [i for i, (distance, _) in enumerate(nearest) if distance <= least + 2 * _SLACK_MM]
    if least <= _SLACK_MM or len(spaced) < _SHARE_SPACED * len(points):
        return None
    known = _Grid(points)
    for i in spaced:
        (x, y), (u, v) = points[i], points[nearest[i][1]]
        if known.holds(2 * x - u, 2 * y - v) or known.holds(2 * u - x, 2 * v - y):
            rows = [(points[j], points[nearest[j][1]]) for j in spaced]
            pitch = _rounded(least)
            # What is rounded adds up over a long row, unless it is stepped by the pitch as it was drawn.
            step = pitch[0] if pitch[0] == pitch[1] else least
            apart = nearest[i][0]
            return None if _are_staggered(rows, ((u - x) / apart, (v - y) / apart), step) else pitch
    return None


_Line = tuple[tuple[float, float], tuple[float, float]]


def _are_staggered(rows: Iterable[_Line], along: tuple[float, float], pitch: float) -> bool:
    """Whether rows along a direction are shifted against each other: then leads lie closer than the lands of a row."""
    cos, sin = along
    parallel = [a for a, b in rows if abs((b[1] - a[1]) * cos - (b[0] - a[0]) * sin) <= 2 * _SLACK_MM]
    steps = [((x - parallel[0][0]) * cos + (y - parallel[0][1]) * sin) / pitch for x, y in parallel]
    return any(abs(step - round(step)) > _SHIFTED for step in steps)


_SHIFTED: Final = 0.1
"""Share of the pitch by which rows may be apart and still be one grid: roundings add up over a long row."""


def _rounded(distance: float) -> tuple[float, float]:
    for grid in _GRIDS_MM:
        value = round(round(distance / grid) * grid, 6)
        if abs(value - distance) <= _SLACK_MM:
            return value, value
    return distance - _SLACK_MM, distance + _SLACK_MM


class _Grid:
    """Points by cells, to find one that lies at a place."""

    def __init__(self, points: Iterable[tuple[float, float]]) -> None:
        self._cell = 4 * _SLACK_MM
        self._cells: dict[tuple[int, int], list[tuple[float, float]]] = {}
        for x, y in points:
            self._cells.setdefault((int(x // self._cell), int(y // self._cell)), []).append((x, y))

    def holds(self, x: float, y: float) -> bool:
        """Whether a point lies within what two distances may be off."""
        u, v = int(x // self._cell), int(y // self._cell)
        return any(
            hypot(x - a, y - b) <= 2 * _SLACK_MM
            for i in (u - 1, u, u + 1)
            for j in (v - 1, v, v + 1)
            for a, b in self._cells.get((i, j), ())
        )


def _nearest(points: Sequence[tuple[float, float]]) -> list[tuple[float, int]]:
    """Return the distance to the nearest other point, and which that is, for each of the points, no two alike."""
    import numpy as np

    array = np.array(points, dtype=np.float64)
    if len(array) > _FEW:
        import shapely

        dots = [shapely.Point(point) for point in points]
        (_, others), distances = shapely.STRtree(dots).query_nearest(
            dots, exclusive=True, return_distance=True, all_matches=False
        )
        return list(zip(distances.tolist(), others.tolist(), strict=True))
    apart = np.hypot(array[:, :1] - array[:, 0], array[:, 1:] - array[:, 1])
    np.fill_diagonal(apart, np.inf)
    others = np.argmin(apart, axis=1)
    return list(zip(apart[np.arange(len(array)), others].tolist(), others.tolist(), strict=True))


_FEW: Final = 100
"""Of so few points distances are taken of each to each."""
