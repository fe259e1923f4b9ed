"""What is drawn inside the board's contour: cut-outs, round holes, circles that may be fiducials, and the rest."""

from __future__ import annotations

from typing import Final

import numpy as np
import shapely
from msgspec import Struct
from msgspec.structs import replace
from shapely import Polygon

from capcheck.intake.outline.contour_choice import Candidate, names_cut_out, names_hole, names_something_else
from capcheck.intake.outline.contours import Contour, Traced
from capcheck.intake.outline.drawing import Drawing
from capcheck.intake.outline.drawn_inside import SECOND_LINE, drawn_inside
from capcheck.intake.outline.layer_contours import ALL_LAYERS
from capcheck.model import Discrepancy, Floats, Outline, Said, say

_FIDUCIAL_MM: Final = (0.5, 3.3)
"""Diameters of circles that may be fiducials: SMEMA 3.1 has 1 to 3 mm, local fiducials are smaller."""
_CAP_MM: Final = 1.0
"""A circle smaller than this on the end of a line is the line's round end, drawn."""
_ON_END_MM: Final = 0.002
_INSET_MM: Final = 0.5
"""A second line nearer to the edge than this, at both sides together, is the edge drawn twice."""

_Circle = tuple[float, float, float]
"""x, y and diameter in mm."""


class Opened(Struct, frozen=True):
    """The board with all that lies inside its contour, notes on what was mended, and records of what is not clear."""

    outline: Outline
    notes: list[Said]
    discrepancies: tuple[Discrepancy, ...]
    named: tuple[Polygon, ...]
    """Openings that lie on a layer of their own, whose name says what they are."""
    second_lines: tuple[Polygon, ...]
    """Closed lines along the inside of the edge, each of which may be the edge itself."""


def outline_with_openings(
    best: Candidate, traced: list[Traced], drawing: Drawing, *, factor: float, tolerance_mm: float
) -> Opened:
    """Return the board with all that is drawn inside its contour."""
    board = best.polygon
    shapely.prepare(board)
    cuts: list[Polygon] = []
    holes: list[_Circle] = []
    marks: list[_Circle] = []
    named: list[Polygon] = []
    second: list[Polygon] = []
    layers = _layers_of(best, drawing, factor, tolerance_mm)
    for contour in _inside(board, traced):
        cut = contour.layer in layers or names_cut_out(contour.layer)
        if contour.layer not in layers and (cut or names_hole(contour.layer)):
            named.append(contour.polygon)
        if contour.polygon.area >= SECOND_LINE * board.area:
            if (cut or not names_something_else(contour.layer)) and _inset(board, contour.polygon) > _INSET_MM:
                second.append(contour.polygon)
        elif contour.circle is not None:
            if cut or names_hole(contour.layer):
                holes.append(contour.circle)
            elif _FIDUCIAL_MM[0] <= contour.circle[2] <= _FIDUCIAL_MM[1]:
                marks.append(contour.circle)
        elif cut:
            cuts.append(contour.polygon)
    caps = _on_ends([h for h in holes if h[2] < _CAP_MM and _on_edge(board, h)], _ends_of(drawing, factor))
    source = say("outline.layer" if best.layer else "outline.file", file=drawing.file, layer=best.layer)
    polygon, kept = _with_cuts(board, cuts), _without_doubles([h for h in holes if h not in caps])
    outline = Outline(polygon, kept, _without_doubles(marks), source)
    inside = drawn_inside(
        drawing,
        polygon,
        kept,
        outline.marks,
        factor=factor,
        explained=lambda layer: layer not in layers and names_something_else(layer),
    )
    notes = [say("outline.drawn ends", count=len(caps))] if caps else []
    return Opened(replace(outline, doubts=inside.doubts), notes, inside.discrepancies, tuple(named), tuple(second))


def _inset(board: Polygon, inner: Polygon) -> float:
    """Return how much less, in mm, the box of an inner contour measures than the board's, along x or y."""
    outer_box, inner_box = np.array(board.bounds), np.array(inner.bounds)
    return float(np.max((outer_box - inner_box)[2:] - (outer_box - inner_box)[:2]))


def _on_edge(board: Polygon, circle: _Circle) -> bool:
    return bool(shapely.distance(board.exterior, shapely.Point(circle[:2])) < circle[2] / 2)


def _layers_of(best: Candidate, drawing: Drawing, factor: float, tolerance_mm: float) -> set[str]:
    """Return the layers that the board's contour is drawn on: its own, or those with lines along it."""
    if best.layer != ALL_LAYERS:
        return {best.layer}
    border = best.polygon.exterior
    shapely.prepare(border)
    strokes = drawing.strokes
    middles = [
        shapely.line_interpolate_point(shapely.linestrings(line), 0.5, normalized=True)
        for line in drawing.lines(factor)
    ]
    on_border = shapely.dwithin(border, np.array(middles), tolerance_mm)
    return {s.layer for s, on in zip(strokes, on_border, strict=True) if on}


def _inside(board: Polygon, traced: list[Traced]) -> list[Contour]:
    """Return the contours that share an area with *board*, in part or altogether."""
    every = [c for t in traced for c in t.contours]
    shapes = np.array([c.polygon for c in every], dtype=object)
    smaller = np.flatnonzero(shapely.area(shapes) < board.area)
    every, shapes = [every[i] for i in smaller.tolist()], shapes[smaller]
    on_board = shapely.intersects(board, shapes) & ~shapely.touches(board, shapes)
    return [contour for contour, on in zip(every, on_board, strict=True) if on]


def _ends_of(drawing: Drawing, factor: float) -> Floats:
    if not drawing.strokes:
        return np.zeros((0, 2))
    return np.concatenate([s.vertices[[0, -1]] for s in drawing.strokes]) * factor


def _on_ends(circles: list[_Circle], ends: Floats) -> set[_Circle]:
    """Return the circles whose middle is an end of a line."""
    if not circles or len(ends) == 0:
        return set()
    middles = np.asarray(shapely.points(np.array(circles)[:, :2]), dtype=object)
    tree = shapely.STRtree(np.asarray(shapely.points(ends), dtype=object))
    hits, _ = tree.query(middles, predicate="dwithin", distance=_ON_END_MM)
    return {circles[i] for i in hits.tolist()}


def _without_doubles(circles: list[_Circle]) -> tuple[_Circle, ...]:
    """Return the circles without repeats of one drawn twice."""
    return tuple({(round(x, 3), round(y, 3), round(d, 3)): (x, y, d) for x, y, d in circles}.values())


def _with_cuts(board: Polygon, cuts: list[Polygon]) -> Polygon:
    """Return the board less its cut-outs; one that lies in another is part of it."""
    if not cuts:
        return board
    shapes = np.array(cuts)
    first, second = shapely.STRtree(shapes).query(shapes, predicate="intersects")
    # Joining thousands of cut-outs that touch nothing would take half of the whole time.
    merged = shapes if (first == second).all() else shapely.get_parts(shapely.unary_union(shapes))
    if shapely.contains_properly(board, merged).all():
        return Polygon(board.exterior, [cut.exterior for cut in merged])
    remaining = shapely.get_parts(board.difference(shapely.unary_union(merged)))
    largest: Polygon = remaining[int(np.argmax(shapely.area(remaining)))]
    return largest
