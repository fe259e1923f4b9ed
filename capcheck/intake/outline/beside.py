"""A second drawing of one board: what only it states inside the contour, and whether its edge is another one.

Two drawings of a folder are two revisions, or a drawing of holes or cut-outs beside the outline. Neither is dropped:
what only the second one shows may be there.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Final

import numpy as np
import shapely
from msgspec import Struct
from msgspec.structs import replace

from capcheck.intake.outline import contour_choice as choice
from capcheck.intake.outline.contours import GAP_MM, Contour
from capcheck.intake.outline.drawing import MM_PER, Drawing
from capcheck.intake.outline.drawn_inside import SECOND_LINE, drawn_inside
from capcheck.intake.outline.forms import read_drawing
from capcheck.intake.outline.layer_contours import contours_of_layers
from capcheck.model import Doubt, Floats, Said, say

if TYPE_CHECKING:
    from shapely import Polygon
else:
    # Records are decoded by their annotations.
    Polygon = object

_SAME_MM: Final = 0.2
"""Boxes whose sides differ by less are of one contour."""
_ALIKE: Final = 0.01
"""A contour with the board's proportions to this share is the board in another unit or scale."""
_BOARD_SHARE: Final = 0.25
"""A contour of less than this share of the board's area is no other edge of it."""
_ROOM: Final = 1.1
"""The parts may reach over the edge by a tenth."""


class Beside(Struct, frozen=True):
    """What a second drawing says of the board: openings that only it shows, and its edge where that is another.

    *rival* is that edge's contour in mm, in the frame of the outline that it was compared with.
    """

    doubts: tuple[Doubt, ...] = ()
    drawn: Said | None = None
    edge: Said | None = None
    rival: Polygon | None = None


class Compared(Struct, frozen=True):
    """The outline that another drawing is compared with: rings in mm, the outer one first, holes, marks and unit."""

    rings: tuple[Floats, ...]
    holes: Floats
    marks: Floats
    unit: str
    points: Floats | None = None


def read_beside(path: Path, known: Compared) -> Beside:
    """Return what the drawing at *path* says that the outline *known* does not.

    Raises :class:`~capcheck.values.InputError` where it cannot be read.
    """
    drawing = read_drawing(path, None)
    if not drawing.strokes and not drawing.circles:
        return Beside()
    board = shapely.Polygon(known.rings[0], known.rings[1:])
    factor, same = _scale(drawing, board, known.unit)
    outer = shapely.Polygon(board.exterior)
    if same is not None:
        shift = np.array(board.bounds[:2]) - np.array(same.polygon.bounds[:2])
    else:
        shift = np.zeros(2)
        other = _other_edge(drawing, outer, factor, known.points, path)
        if other is not None:
            x, y = other.size()
            west, south = other.polygon.bounds[:2]
            return Beside(edge=say("outline.contour", x=x, y=y, west=west, south=south), rival=other.polygon)
    if choice.names_something_else(path.stem):
        return Beside()
    beneath = shapely.transform(board, lambda points: points - shift)
    holes, marks = _moved(known.holes, shift), _moved(known.marks, shift)
    inside = drawn_inside(drawing, beneath, holes, marks, factor=factor, explained=choice.names_something_else)
    if same is not None and _differs(same.polygon, shapely.Polygon(beneath.exterior)):
        box = same.polygon.bounds
        edge = say("outline.contour", x=box[2] - box[0], y=box[3] - box[1], west=box[0], south=box[1])
        return Beside(edge=edge, rival=shapely.transform(same.polygon, lambda points: points + shift))
    return Beside(
        tuple(replace(doubt, area=_back(doubt, shift)) for doubt in inside.doubts),
        inside.discrepancies[0].said if inside.doubts and isinstance(inside.discrepancies[0].said, Said) else None,
    )


def _back(doubt: Doubt, shift: Floats) -> object:
    return None if doubt.area is None else shapely.transform(doubt.area, lambda points: points + shift)


def _moved(circles: Floats, shift: Floats) -> tuple[tuple[float, float, float], ...]:
    return tuple((x - shift[0], y - shift[1], d) for x, y, d in circles.reshape(-1, 3).tolist())


def _differs(one: Polygon, other: Polygon) -> bool:
    """Whether two contours of one box are more than a line's inaccuracy apart somewhere."""
    return not (other.buffer(_SAME_MM).contains(one) and one.buffer(_SAME_MM).contains(other))


def _scale(drawing: Drawing, board: Polygon, unit: str) -> tuple[float, Contour | None]:
    """Return the mm in a unit of the drawing, and the contour in it that has the board's box.

    A drawing in another unit than it states, or in another scale, shows the board all the same.
    """
    west, south, east, north = board.bounds
    sides = np.array([east - west, north - south])
    stated = MM_PER[drawing.unit or unit]
    contours = [c for t in contours_of_layers(drawing, None, factor=stated, tolerance_mm=GAP_MM) for c in t.contours]
    boxes = np.array([c.polygon.bounds for c in contours]).reshape(-1, 4)
    own = boxes[:, 2:] - boxes[:, :2]
    near = np.flatnonzero((np.abs(own - sides) < _SAME_MM).all(axis=1))
    if len(near):
        return stated, contours[int(near[np.argmin(np.abs(boxes[near, :2] - (west, south)).sum(axis=1))])]
    if not contours:
        return stated, None
    largest = own[int(np.argmax(own.prod(axis=1)))]
    scale = float(sides[0] / largest[0]) if largest[0] > 0 else 1.0
    alike = abs(scale * float(largest[1]) - float(sides[1])) < _ALIKE * float(sides[1])
    whole = np.ptp(drawing.box(), axis=0) * stated
    if not alike or not float(largest.prod() / max(float(whole.prod()), 1e-9)) > 0.9 or not _plain(scale):
        return stated, None
    factor = stated * scale
    again = [c for t in contours_of_layers(drawing, None, factor=factor, tolerance_mm=GAP_MM) for c in t.contours]
    return factor, max(again, key=lambda c: float(c.polygon.area), default=None)


def _plain(scale: float) -> bool:
    """Whether a scale is one between two units, or one that drawings are printed in."""
    plain = [a / b for a in MM_PER.values() for b in MM_PER.values() if a != b]
    plain += [value for n in (2.0, 2.5, 4.0, 5.0, 10.0, 20.0) for value in (n, 1.0 / n)]
    return any(abs(scale / value - 1.0) < _ALIKE for value in plain)


def _other_edge(
    drawing: Drawing, board: Polygon, factor: float, points: Floats | None, path: Path
) -> choice.Candidate | None:
    """Return the contour of another edge of the board; None where the drawing shows openings, or none of this board."""
    if choice.names_cut_out(path.stem) or choice.names_hole(path.stem):
        return None
    traced = contours_of_layers(drawing, None, factor=factor, tolerance_mm=GAP_MM)
    ranked = choice.rank(traced, choice.Surroundings(points, drawing.texts() * factor, drawing.hidden_layers))
    if not ranked or ranked[0].contour is None or choice.names_something_else(ranked[0].layer):
        return None
    best = ranked[0]
    longer, shorter = sorted(best.size(), reverse=True)
    if points is not None and len(points) > 1:
        spread = sorted(np.ptp(points, axis=0).tolist(), reverse=True)
        if spread[0] > _ROOM * longer or spread[1] > _ROOM * shorter:
            return None
    if best.polygon.area < _BOARD_SHARE * board.area or best.drawing_frame:
        return None
    within = board.buffer(_SAME_MM).contains(best.polygon)
    if within and best.polygon.area < SECOND_LINE * board.area:
        return best if choice.names_edge(path.stem) else None
    return best
