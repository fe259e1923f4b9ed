"""What is drawn inside the board's contour: cut-outs, round holes and circles that may be fiducials."""

from __future__ import annotations

from typing import Final

import numpy as np
import shapely
from shapely import Polygon

from capcheck.intake.outline.contour_choice import Candidate, names_cut_out, names_hole
from capcheck.intake.outline.contours import Contour, Traced
from capcheck.intake.outline.drawing import Drawing
from capcheck.intake.outline.layer_contours import ALL_LAYERS
from capcheck.model import Floats, Outline, Said, say

_FIDUCIAL_MM: Final = (0.5, 3.3)
"""Diameters of circles that may be fiducials: SMEMA 3.1 has 1 to 3 mm, local fiducials are smaller."""
_CAP_MM: Final = 1.0
"""A circle smaller than this on the end of a line is the line's round end, drawn."""
_ON_END_MM: Final = 0.002
_SECOND_LINE: Final = 0.8

_Circle = tuple[float, float, float]
"""x, y and diameter in mm."""


def outline_with_openings(
    best: Candidate, traced: list[Traced], drawing: Drawing, *, factor: float, tolerance_mm: float
) -> tuple[Outline, list[Said]]:
    """Return the board with all that lies inside its contour, and notes on what is left out."""
    board = best.polygon
    shapely.prepare(board)
    notes: list[Said] = []
    cuts: list[Polygon] = []
    holes: list[_Circle] = []
    fiducials: list[_Circle] = []
    layers = _layers_of(best, drawing, factor, tolerance_mm)
    for contour in _inside(board, traced):
        cut = contour.layer in layers or names_cut_out(contour.layer)
        if contour.circle is not None:
            if cut or names_hole(contour.layer):
                holes.append(contour.circle)
            elif _FIDUCIAL_MM[0] <= contour.circle[2] <= _FIDUCIAL_MM[1]:
                fiducials.append(contour.circle)
        elif cut and contour.polygon.area < _SECOND_LINE * board.area:
            cuts.append(contour.polygon)
        else:
            notes.append(say("outline.second line left out", area=contour.polygon.area))
    caps = _on_ends([h for h in holes if h[2] < _CAP_MM], _ends_of(drawing, factor))
    if caps:
        notes.append(say("outline.drawn ends", count=len(caps)))
    source = say("outline.layer" if best.layer else "outline.file", file=drawing.file, layer=best.layer)
    kept = _without_doubles([h for h in holes if h not in caps])
    return Outline(_with_cuts(board, cuts), kept, _without_doubles(fiducials), source), notes


def _layers_of(best: Candidate, drawing: Drawing, factor: float, tolerance_mm: float) -> set[str]:
    """Return the layers that the board's contour is drawn on: its own, or those with lines along it."""
    if best.layer != ALL_LAYERS:
        return {best.layer}
    border = best.polygon.exterior
    shapely.prepare(border)
    strokes = drawing.strokes
    middles = [
        shapely.line_interpolate_point(shapely.linestrings(s.points(factor)), 0.5, normalized=True) for s in strokes
    ]
    on_border = shapely.dwithin(border, np.array(middles), tolerance_mm)
    return {s.layer for s, on in zip(strokes, on_border, strict=True) if on}


def _inside(board: Polygon, traced: list[Traced]) -> list[Contour]:
    """Return the contours whose middle lies on *board*."""
    every = [c for t in traced for c in t.contours]
    shapes = np.array([c.polygon for c in every], dtype=object)
    smaller = np.flatnonzero(shapely.area(shapes) < board.area)
    every, shapes = [every[i] for i in smaller.tolist()], shapes[smaller]
    on_board = shapely.contains(board, shapely.point_on_surface(shapes))
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
