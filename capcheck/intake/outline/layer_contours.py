"""The contours of a drawing, of each layer by itself, and of all together where none holds most of the drawing."""

from __future__ import annotations

import math
from typing import Final

import numpy as np
import shapely
from msgspec.structs import replace
from shapely import Polygon

from capcheck.intake.outline.contours import Contour, Traced, circle_of, trace
from capcheck.intake.outline.drawing import SAGITTA_MM, Circle, Drawing, arc_angles
from capcheck.model import Floats

ALL_LAYERS: Final = "all layers together"
"""What contours across layers have instead of a layer's name."""
_ROUND_POINTS: Final = 12
_DRILL_MM: Final = 3.3
_MOST_OF_IT: Final = 0.6


def contours_of_layers(drawing: Drawing, layer: str | None, *, factor: float, tolerance_mm: float) -> list[Traced]:
    """Return the contours of each layer, or of *layer* alone; the drawing's unit is *factor* mm.

    Gaps up to *tolerance_mm* are closed. Where no line closes, borders of hatched areas count.
    """
    lines: dict[str, list[Floats]] = {}
    hatched: dict[str, list[Floats]] = {}
    rounds = _round_contours(drawing.circles, factor)
    for stroke, line in zip(drawing.strokes, drawing.lines(factor), strict=True):
        closed = len(line) > _ROUND_POINTS and (line[0] == line[-1]).all()
        circle = circle_of(line[:-1]) if closed else None
        if circle is None:
            (hatched if stroke.hatched else lines).setdefault(stroke.layer, []).append(line)
        else:
            # By itself, so that a drill that cuts the edge, or a dot on a line's end, does not bend the contour.
            rounds.append(Contour(Polygon(line), stroke.layer, circle))
    wanted = [layer] if layer is not None else drawing.layers()
    traced = []
    for name in wanted:
        found = trace(lines.get(name, []), name, tolerance_mm)
        traced.append(replace(found, contours=found.contours + tuple(c for c in rounds if c.layer == name)))
    if layer is None and len(lines) > 1 and not _one_layer_suffices(traced, lines):
        drawn = [line.copy() for own in lines.values() for line in own]
        traced.append(trace(drawn, ALL_LAYERS, tolerance_mm))
    if not any(t.contours for t in traced):
        for name in wanted:
            filled = trace(hatched.get(name, []), name, tolerance_mm)
            traced.append(replace(filled, contours=tuple(replace(c, hatched=True) for c in filled.contours)))
    return traced


def _one_layer_suffices(traced: list[Traced], lines: dict[str, list[Floats]]) -> bool:
    """Return whether a single layer closes a contour that spans most of what is drawn."""
    boxes = [c.polygon.bounds for t in traced for c in t.contours]
    if not boxes:
        return False
    drawn = np.concatenate([line for own in lines.values() for line in own])
    whole = float(np.prod(np.ptp(drawn, axis=0)))
    largest = max((b[2] - b[0]) * (b[3] - b[1]) for b in boxes)
    return bool(largest > _MOST_OF_IT * whole)


def _round_contours(circles: list[Circle], factor: float) -> list[Contour]:
    """Return circles as contours. Where one may be a board its polygon is within 1 µm; drills are coarser."""
    if not circles:
        return []
    table = np.array([(c.x, c.y, c.diameter / 2) for c in circles]) * factor
    polygons = np.empty(len(circles), dtype=object)
    drill = table[:, 2] <= _DRILL_MM
    polygons[drill] = shapely.polygons(table[drill, None, :2] + table[drill, 2, None, None] * _unit_ring(0.01)[None])
    for i in np.flatnonzero(~drill):
        polygons[i] = Polygon(table[i, :2] + table[i, 2] * _unit_ring(SAGITTA_MM / table[i, 2]))
    return [
        Contour(polygon, c.layer, (x, y, 2 * r))
        for polygon, c, (x, y, r) in zip(polygons, circles, table.tolist(), strict=True)
    ]


def _unit_ring(sagitta: float) -> Floats:
    """Return the corners of a polygon in the unit circle, its chords at most *sagitta* inside."""
    angles = np.array(arc_angles(0.0, math.tau, 1.0, sagitta)[:-1])
    return np.column_stack((np.cos(angles), np.sin(angles)))
