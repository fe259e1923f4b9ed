"""One circuit stepped to the panel that board.toml describes: its placements and its outline.

Circuit 1 keeps its references, the others carry ``/2``, ``/3`` … behind theirs.
"""

from __future__ import annotations

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from capcheck.model import Box, Floats, Ints, Outline, PanelSource, say, stepping


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

    cuts = [
        np.column_stack(corners)
        for ring in outline.polygon.interiors
        for corners in zip(*steps.points(*np.asarray(ring.coords)[:, :2].T), strict=True)
    ]
    polygon = shapely.Polygon(shapely.box(*steps.box).exterior, cuts)
    if not polygon.is_valid:
        # Circuits that overlap by a wrong pitch are a finding of their own; their cut-outs make no contour.
        polygon = shapely.Polygon(polygon.exterior)
    key = "frame.stepped outline" if len(steps) > 1 else "frame.outline with rails"
    return replace(
        outline,
        polygon=polygon,
        holes=circles(outline.holes),
        marks=circles(outline.marks),
        source=say(key, source=outline.source, columns=panel.columns, rows=panel.rows),
    )


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
