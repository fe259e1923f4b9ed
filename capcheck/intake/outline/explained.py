"""What the board's edge, its cut-outs and its holes explain of the lines drawn, told by points along the lines.

Points half a millimetre apart are compared, and every corner: to cut thousands of lines with an edge of thousands of
corners would take minutes.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Final

import numpy as np
import shapely
from shapely import LineString, Polygon

from capcheck.intake.outline.contours import GAP_MM
from capcheck.model import Flags, Floats

if TYPE_CHECKING:
    from numpy.typing import NDArray

_LEAST_CORNERS: Final = 3
_STEP_MM: Final = 0.5
_ALONG_MM: Final = 0.2
"""What runs this near to the edge repeats it, or sticks out from a corner."""

Hole = tuple[float, float, float]
"""x, y and diameter in mm."""


class Explained:
    """The areas that answer for what is drawn on them: along the edge, outside it, in cut-outs and in holes."""

    def __init__(self, board: Polygon, holes: Sequence[Hole]) -> None:
        self.contour = Polygon(board.exterior)
        shapely.prepare(self.contour)
        corners = np.asarray(board.exterior.coords)[:, :2]
        segments = np.stack([corners[:-1], corners[1:]], axis=1)
        self._edge = shapely.STRtree(np.asarray(shapely.linestrings(segments), dtype=object))
        rims = np.array(holes, dtype=np.float64).reshape(-1, 3)
        middles = np.asarray(shapely.points(rims[:, :2]), dtype=object)
        discs = shapely.buffer(middles, rims[:, 2] / 2, quad_segs=4)
        self._rings = set(_shapes(np.array([board.exterior, *board.interiors], dtype=object)))
        self._open = shapely.STRtree(np.array([*map(Polygon, board.interiors), *discs], dtype=object))

    def left_of(self, lines: NDArray[np.object_]) -> dict[int, LineString]:
        """Return of each line, by its number, what lies on the board and is not explained; nothing where none is."""
        alike = np.array([shape in self._rings for shape in _shapes(lines)], dtype=np.bool_)
        numbers = np.flatnonzero(~alike)
        west, south, east, north = self.contour.bounds
        # A line may be longer than all boards: only so much is looked at as the board is wide.
        clipped = shapely.clip_by_rect(lines[numbers], west - 1.0, south - 1.0, east + 1.0, north + 1.0)
        pieces, number = shapely.get_parts(clipped, return_index=True)
        drawn = shapely.get_dimensions(pieces) == 1
        pieces, number = pieces[drawn], number[drawn]
        points, of = shapely.get_coordinates(shapely.segmentize(pieces, _STEP_MM), return_index=True)
        free = self._free(points)
        runs: dict[int, LineString] = {}
        for piece in np.unique(of[free]).tolist():
            own = np.arange(*np.searchsorted(of, (piece, piece + 1)))
            at = own[free[own]]
            # From the point before the first to the one behind the last: what is left is a line.
            first, last = max(int(at[0]) - 1, int(own[0])), min(int(at[-1]) + 1, int(own[-1]))
            run = LineString(points[first : last + 1])
            line = int(numbers[number[piece]])
            runs[line] = run if line not in runs or run.length > runs[line].length else runs[line]
        return runs

    def _free(self, points: Floats) -> Flags:
        """Whether points lie on the board, away from its edge and from its openings."""
        free: Flags = np.asarray(shapely.contains_xy(self.contour, points[:, 0], points[:, 1]), dtype=np.bool_)
        for tree, reach in ((self._edge, _ALONG_MM), (self._open, GAP_MM)):
            rows = np.flatnonzero(free)
            if len(rows) and len(tree):
                places = np.asarray(shapely.points(points[rows]), dtype=object)
                near, _ = tree.query(places, predicate="dwithin", distance=reach)
                free[rows[near]] = False
        return free


def _shapes(lines: NDArray[np.object_]) -> list[tuple[float, ...]]:
    """Return box, length and area of closed lines to a micrometre: what agrees in all of it is one line drawn twice."""
    closed = shapely.is_closed(lines) & (shapely.get_num_coordinates(lines) > _LEAST_CORNERS)
    area = np.full(len(lines), np.nan)
    points, of = shapely.get_coordinates(lines[closed], return_index=True)
    rings = shapely.linearrings(points, indices=of) if len(points) else np.array([], dtype=object)
    area[closed] = shapely.area(shapely.polygons(rings))
    return list(map(tuple, np.round(np.column_stack([shapely.bounds(lines), shapely.length(lines), area]), 3).tolist()))
