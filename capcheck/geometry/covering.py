"""What lies on the board altogether, told quickly for contours of thousands of corners."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from capcheck.model import Flags, Floats

if TYPE_CHECKING:
    from numpy.typing import NDArray
    from shapely import Polygon

_MUCH: Final = 2.0
"""Turning all shapes costs time too, so it must pay."""


class Covering:
    """An area without holes that tells which shapes and points lie on it.

    The geometry library casts a horizontal ray from each point and looks at every segment at its height: at all teeth
    of a contour like a comb. Where vertical rays meet far fewer, x and y are exchanged, which changes no answer.
    """

    def __init__(self, area: Polygon) -> None:
        import shapely

        corners = np.asarray(area.exterior.coords)[:, :2]
        across, (width, height) = np.abs(np.diff(corners, axis=0)).sum(axis=0), np.ptp(corners, axis=0)
        # Segments that a line meets on average: their extent across it, as a share of the whole.
        self.exchanged = bool(across[1] * width > _MUCH * across[0] * height)
        self._area = shapely.Polygon(corners[:, ::-1] if self.exchanged else corners)
        shapely.prepare(self._area)

    def covers(self, shapes: NDArray[np.object_]) -> Flags:
        """Return which shapes lie on the area with all of theirs, its edge included."""
        import shapely

        turned = shapely.transform(shapes, lambda c: c[:, ::-1]) if self.exchanged else shapes
        return shapely.covers(self._area, turned)

    def meets(self, shapes: NDArray[np.object_]) -> Flags:
        """Return which shapes lie on the area with some part of theirs."""
        import shapely

        turned = shapely.transform(shapes, lambda c: c[:, ::-1]) if self.exchanged else shapes
        return shapely.intersects(self._area, turned)

    def contains_xy(self, x: Floats, y: Floats) -> Flags:
        """Return which points lie within the area, its edge not included."""
        import shapely

        return shapely.contains_xy(self._area, *((y, x) if self.exchanged else (x, y)))
