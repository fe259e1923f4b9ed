"""One circuit stepped to the panel that board.toml describes: its placements and its outline.

Circuit 1 keeps its references, the others carry ``/2``, ``/3`` … behind theirs.
"""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from capcheck.model import Box, Floats, Ints, Outline, PanelSource, Stepping, say, stepping

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry as Geometry


class Stepped(Struct, frozen=True):
    """One circuit stepped to a panel: for each new row the row it copies, its place, angle and circuit."""

    source: Ints
    x: Floats
    y: Floats
    rotation_deg: Floats
    circuit: Ints


def step(x: Floats, y: Floats, rotation_deg: Floats, outline: Outline | None, panel: PanelSource) -> Stepped:
    """Return the placements of all circuits of *panel*, circuit by circuit from the lower left, along x first.

    A half turn turns a circuit about the middle of its box.
    """
    steps = stepping(_circuit_box(outline, x, y, panel), panel)
    all_x, all_y = steps.points(x, y)
    angles = np.where(steps.turned[:, None], np.mod(rotation_deg + 180.0, 360.0), rotation_deg)
    source, circuit = np.tile(np.arange(len(x)), len(steps)), np.repeat(np.arange(1, len(steps) + 1), len(x))
    return Stepped(source, all_x.ravel(), all_y.ravel(), angles.ravel(), circuit)


def step_outline(outline: Outline, panel: PanelSource) -> Outline:
    """Return the panel's outline: the box of all circuits with the rails, with every circuit's cut-outs and circles.

    An outline that already holds all circuits is the panel's own and is returned as it is, like that of a single
    circuit without rails.
    """
    import shapely

    circuit = outline.polygon.bounds
    steps = stepping(circuit, panel)
    if steps.box == circuit or _is_panel_outline(circuit, panel):
        return outline

    def circles(found: tuple[tuple[float, float, float], ...]) -> tuple[tuple[float, float, float], ...]:
        x, y, diameter = np.array(found, dtype=np.float64).reshape(-1, 3).T
        all_x, all_y = steps.points(x, y)
        every = zip(all_x.ravel().tolist(), all_y.ravel().tolist(), np.tile(diameter, len(steps)).tolist(), strict=True)
        return tuple(every)

    def in_each(shape: Geometry) -> list[Geometry]:
        return [shapely.transform(shape, partial(_of_circuit, steps, k)) for k in range(len(steps))]

    cuts = [cut for ring in outline.polygon.interiors for cut in in_each(shapely.Polygon(ring))]
    # Circuits that overlap by a wrong pitch are a finding of their own; their cut-outs run into one another.
    polygon = shapely.Polygon(
        shapely.box(*steps.box).exterior,
        [part.exterior for part in shapely.get_parts(shapely.unary_union(cuts)).tolist()],
    )
    key = "frame.stepped outline" if len(steps) > 1 else "frame.outline with rails"
    return replace(
        outline,
        polygon=polygon,
        holes=circles(outline.holes),
        marks=circles(outline.marks),
        stated_holes=tuple(
            replace(hole, x_mm=x, y_mm=y)
            for hole in outline.stated_holes
            for x, y, _ in circles(((hole.x_mm, hole.y_mm, hole.diameter_mm),))
        ),
        source=say(key, source=outline.source, columns=panel.columns, rows=panel.rows),
        doubts=tuple(
            replace(doubt, area=area)
            for doubt in outline.doubts
            for area in ([None] if doubt.area is None else in_each(doubt.area))
        ),
        # Of one circuit only: which contour it has is asked before any panel is drawn of it.
        rival=None,
    )


def _of_circuit(steps: Stepping, circuit: int, points: Floats) -> Floats:
    """Return points of the circuit in the file as they lie in a *circuit* of the panel, from 0."""
    x, y = steps.points(*points.T)
    return np.column_stack([x[circuit], y[circuit]])


def _circuit_box(outline: Outline | None, x: Floats, y: Floats, panel: PanelSource) -> Box:
    """Return the box of one circuit: the outline's, unless it already is the panel's; else that of the placements."""
    if outline is not None and not _is_panel_outline(outline.polygon.bounds, panel):
        return outline.polygon.bounds
    if not (np.isfinite(x).any() and np.isfinite(y).any()):
        return 0.0, 0.0, 0.0, 0.0
    return float(np.nanmin(x)), float(np.nanmin(y)), float(np.nanmax(x)), float(np.nanmax(y))


def _is_panel_outline(box: Box, panel: PanelSource) -> bool:
    """Whether an outline of this box holds all circuits: only pitches that are stated can tell."""
    if panel.columns == panel.rows == 1:
        return False
    width, height = box[2] - box[0], box[3] - box[1]
    wide = panel.columns == 1 or (panel.pitch_x is not None and width > panel.pitch_x * (panel.columns - 0.5))
    tall = panel.rows == 1 or (panel.pitch_y is not None and height > panel.pitch_y * (panel.rows - 0.5))
    return wide and tall
