"""What a layer draws around a place: how far the copper, or print, at the place reaches, and how far off the next is.

Tracks and areas join most copper of a layer to a few pieces, and merging them all takes long; of a few places only what
is near is drawn, merged and measured. Of print it is looked at whether it lies in the frame of the lands at all.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import numpy as np
from msgspec import Struct

from capcheck.intake.confined import Reader, SharedTime, decoded
from capcheck.intake.layers.misread import REMEDY
from capcheck.intake.layers.openings import Shapes, drawn_in_turn, objects_of, unit_factor
from capcheck.intake.layers.print_frame import refuse_beside_lands
from capcheck.intake.layers.time_allowed import seconds_a_megabyte
from capcheck.model import Floats

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry as Geometry

_Object = Any
"""A graphic object of the Gerber library, which has no types."""
_AT_MM: Final = 0.02
"""Copper that begins so near to a place is the copper at it."""


class Windows(Struct, frozen=True):
    """Places in mm in a layer's own frame, and how far around each is looked.

    *lands* are boxes, *left, low, right, high*, that print is held to: what does not lie with them is refused.
    """

    places: list[tuple[float, float]]
    reach: list[float]
    lands: list[tuple[float, float, float, float]] = []
    shares_frame: bool = False
    """Whether the print states the frame that the lands' file states."""


def drawn_around(file: Path, windows: Windows, shared: SharedTime | None = None) -> list[tuple[float, float]]:
    """Return for each place how far what is drawn at it reaches, and how far off more begins, both in mm.

    Neither is more than the reach of its window: what lies beyond is not looked at. A place without any has a reach
    of 0. Read in the reading process, while *shared* time is left. Raises :class:`~capcheck.values.InputError`, also
    for print in another frame than the lands.
    """
    if not windows.places:
        return []
    reader = Reader(f"{__name__}:{around_here.__name__}", REMEDY, ("gerbonara", "shapely"), seconds_a_megabyte(file))
    return reader.read(str(file), list[tuple[float, float]], windows, shared)


def around_here(file: str, argument: bytes) -> list[tuple[float, float]]:
    """Return the same, read in this process. Raises :class:`~capcheck.values.InputError`."""
    import shapely

    windows = decoded(argument, Windows)
    places, reach = np.array(windows.places, dtype=np.float64), np.array(windows.reach, dtype=np.float64)
    boxes = np.column_stack([places - reach[:, None], places + reach[:, None]])
    objects = objects_of(Path(file))
    if windows.lands and objects:
        refuse_beside_lands(file, objects, np.array(windows.lands), shares_frame=windows.shares_frame)
    shapes = Shapes()
    drawn = np.array(drawn_in_turn(file, list(_near(objects, boxes)), shapes), dtype=object)
    tree = shapely.STRtree(drawn)
    found = []
    for place, far in zip(places, reach, strict=True):
        centre = shapely.Point(place)
        window = centre.buffer(far)
        pieces = shapely.intersection(drawn[tree.query(window, predicate="intersects")], window)
        found.append(_measured(shapely.get_parts(shapely.union_all(pieces)), centre, float(far)))
    return found


def _measured(parts: Iterable[Geometry], centre: Geometry, far: float) -> tuple[float, float]:
    import shapely

    own, other = 0.0, far
    for part in parts:
        off = float(shapely.distance(part, centre))
        if off <= _AT_MM:
            own = max(own, float(shapely.hausdorff_distance(part, centre)))
        else:
            other = min(other, off)
    return round(min(own, far), 5), round(other, 5)


def _near(objects: Sequence[Any], boxes: Floats) -> Iterator[Any]:
    """Yield the objects that may reach into one of the boxes, in the order in which they are drawn."""
    if not objects:
        return
    half: dict[int, float] = {}
    ends = np.array([_ends(one, half) for one in objects], dtype=np.float64)
    hit = np.zeros(len(objects), dtype=np.bool_)
    for left, low, right, high in boxes.tolist():
        hit |= (ends[:, 0] <= right) & (ends[:, 2] >= left) & (ends[:, 1] <= high) & (ends[:, 3] >= low)
    yield from (one for one, near in zip(objects, hit.tolist(), strict=True) if near)


def _ends(one: _Object, half: dict[int, float]) -> tuple[float, float, float, float]:
    """Return a box in mm that an object does not leave: half an aperture's diagonal is around its way."""
    name, factor = type(one).__name__, unit_factor(one.unit)
    if name == "Region":
        xs, ys = [p[0] for p in one.outline], [p[1] for p in one.outline]
        for (x, y), arc in zip(one.outline, one.arc_centers or (), strict=False):
            if arc and arc[0] is not None:  # none of its points leaves the circle
                (cx, cy), radius = arc[1], math.dist(arc[1], (x, y))
                xs += [cx - radius, cx + radius]
                ys += [cy - radius, cy + radius]
        return min(xs) * factor, min(ys) * factor, max(xs) * factor, max(ys) * factor
    key = id(one.aperture)
    if key not in half:
        (left, low), (right, high) = one.aperture.bounding_box("mm")
        half[key] = max(abs(left), abs(low), abs(right), abs(high))
    room = half[key]
    if name == "Flash":
        return one.x * factor - room, one.y * factor - room, one.x * factor + room, one.y * factor + room
    x1, y1, x2, y2 = one.x1 * factor, one.y1 * factor, one.x2 * factor, one.y2 * factor
    if name == "Arc":
        cx, cy = (float(value) * factor for value in one.center)
        radius = float(np.hypot(x1 - cx, y1 - cy))
        return cx - radius - room, cy - radius - room, cx + radius + room, cy + radius + room
    return min(x1, x2) - room, min(y1, y2) - room, max(x1, x2) + room, max(y1, y2) + room
