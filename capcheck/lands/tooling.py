"""Holes that a board may be held or pinned by: without metal, of a usual diameter, near an edge.

A hole for a screw looks the same: what is found may serve as a tooling hole, and nothing says that it does. A drilling
whose file does not say whether it is plated is none for certain.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Final

import numpy as np

from capcheck.lands.layer_set import LayerSet
from capcheck.model import Kind, LayerSide, Mark, Placements

if TYPE_CHECKING:
    from shapely import Polygon

_DIAMETERS_MM: Final = (1.5, 6.5)
"""Pins of 2 to 6 mm, 3.2 mm (an eighth of an inch) most often: common practice, no source."""
_NEAR_MM: Final = 10.0
"""So near to an edge lies what a board is held by: common practice, no source."""
_LISTED_MM: Final = 0.2
_ROUNDED: Final = 4


def tooling_holes(layers: LayerSet, placed: Placements, contour: Polygon | None) -> tuple[Mark, ...]:
    """Return the holes, each once; *certain* where the drill file says that it is without metal.

    A hole is *listed* where the placements have something there that is not placed.
    """
    side: LayerSide | None = "top" if "top" in layers.registered else "bottom" if layers.registered else None
    return () if side is None or contour is None else tuple(_near_edges(layers, side, placed, contour))


def _near_edges(layers: LayerSet, side: LayerSide, placed: Placements, contour: Polygon) -> Iterator[Mark]:
    import shapely

    holes = layers.holes(side)
    least, most = _DIAMETERS_MM
    rows = np.flatnonzero((holes.plated != 1.0) & (holes.diameter >= least) & (holes.diameter <= most))
    points = shapely.points(holes.at[rows])
    near = shapely.intersects(contour, points) & (shapely.distance(contour.boundary, points) <= _NEAR_MM)
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
