"""Holes that a board may be held or pinned by: without metal, of a usual diameter, near an edge, or stated to be so.

A hole for a screw looks the same: what is found may serve as a tooling hole, and nothing but an outline in IDF or
IPC-2581 says that it does. A drilling whose file does not say whether it is plated is none for certain.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from capcheck.lands.layer_set import LayerSet
from capcheck.model import Flags, Floats, HoleUse, Kind, LayerSide, Mark, Outline, Placements

if TYPE_CHECKING:
    from shapely import Polygon

_DIAMETERS_MM: Final = (1.5, 6.5)
"""Pins of 2 to 6 mm, 3.2 mm (an eighth of an inch) most often: common practice, no source."""
_NEAR_MM: Final = 10.0
"""So near to an edge lies what a board is held by: common practice, no source."""
_LISTED_MM: Final = 0.2
_ROUNDED: Final = 4


def tooling_holes(layers: LayerSet | None, placed: Placements, outline: Outline | None) -> tuple[Mark, ...]:
    """Return the holes, each once; *certain* where a file says that it is without metal, or for tooling.

    Those of drill files count where *layers* lie on the placements. A hole is *listed* where the placements have
    something there that is not placed, or a file says that it is for tooling.
    """
    if outline is None:
        return ()
    stated = list(_stated(outline))
    side: LayerSide | None = None
    if layers is not None and layers.registered:
        side = "top" if "top" in layers.registered else "bottom"
    drilled = [] if layers is None or side is None else list(_near_edges(layers, side, placed, outline.polygon))
    return tuple(stated + [hole for hole in drilled if not any(_same(hole, other) for other in stated)])


def _same(one: Mark, other: Mark) -> bool:
    return math.hypot(one.x_mm - other.x_mm, one.y_mm - other.y_mm) <= _LISTED_MM


def _stated(outline: Outline) -> Iterator[Mark]:
    """Yield the holes that the outline's file says to be for tooling, and those without metal near an edge."""
    holes = outline.stated_holes
    at = np.array([(hole.x_mm, hole.y_mm) for hole in holes], dtype=np.float64).reshape(-1, 2)
    near = _are_near(at, np.array([hole.diameter_mm for hole in holes], dtype=np.float64), outline.polygon)
    for hole, is_near in zip(holes, near.tolist(), strict=True):
        is_tooling = hole.use is HoleUse.TOOLING
        if is_tooling or (is_near and not hole.plated):
            x, y, diameter = (round(value, _ROUNDED) for value in (hole.x_mm, hole.y_mm, hole.diameter_mm))
            yield Mark(x, y, "top", diameter, certain=True, listed=is_tooling, kind=Kind.MECHANICAL)


def _are_near(at: Floats, diameter: Floats, contour: Polygon) -> Flags:
    """Whether places, shape (n, 2), are in the board near an edge of it, and have a usual *diameter* to hold it by."""
    import shapely

    points: Any = shapely.points(at)

    least, most = _DIAMETERS_MM
    inside = shapely.intersects(contour, points) & (shapely.distance(contour.boundary, points) <= _NEAR_MM)
    found: Flags = inside & (diameter >= least) & (diameter <= most)
    return found


def _near_edges(layers: LayerSet, side: LayerSide, placed: Placements, contour: Polygon) -> Iterator[Mark]:

    holes = layers.holes(side)
    rows = np.flatnonzero(holes.plated != 1.0)
    near = _are_near(holes.at[rows], holes.diameter[rows], contour)
    apart = placed.kind == Kind.MECHANICAL
    listed = np.column_stack([placed.x_mm[apart], placed.y_mm[apart]])
    seen: set[tuple[float, float]] = set()
    for row in rows[near].tolist():
        x, y = (round(float(value), _ROUNDED) for value in holes.at[row])
        if (x, y) not in seen:
            seen.add((x, y))
            yield Mark(
                x,
                y,
                side,
                round(float(holes.diameter[row]), _ROUNDED),
                certain=bool(holes.plated[row] == 0.0),
                listed=bool((np.hypot(*(listed - (x, y)).T) <= _LISTED_MM).any()),
                kind=Kind.MECHANICAL,
            )
