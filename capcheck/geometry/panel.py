"""Panels: one circuit stepped into columns and rows between rails."""

from __future__ import annotations

import math
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
from msgspec import Struct

from capcheck.geometry.bodies import Bodies
from capcheck.geometry.edges import Bounds, Box
from capcheck.model import Flags, Floats, Ints

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

    from capcheck.model import PanelSource


class Stepping(Struct, frozen=True):
    """How a circuit is stepped: shift and half turn of each circuit, and the panel's box, all mm.

    The circuit as the files describe it lies at the lower left. *shift* has shape (circuits, 2). A turned circuit is
    turned by 180 degrees about the centre of its own box, which keeps its place. *gap_x* and *gap_y* are the free
    widths between boxes of neighbouring circuits, infinite where there is one column or row; negative is an overlap.
    """

    circuit: Box
    shift: Floats
    turned: Flags
    box: Box
    gap_x: float
    gap_y: float

    def __len__(self) -> int:
        return len(self.shift)


def stepping(circuit: Box, panel: PanelSource) -> Stepping:
    """Return the stepping that board.toml states; *panel* has columns, rows, pitch_x, pitch_y, half_turns and rails.

    Without a pitch the circuits abut, as they do with a V-score between them.
    """
    left, bottom, right, top = circuit
    length, width = right - left, top - bottom
    pitch_x, pitch_y = panel.pitch_x or length, panel.pitch_y or width
    column, row = (g.ravel() for g in np.meshgrid(np.arange(panel.columns), np.arange(panel.rows)))
    odd = {"none": np.zeros(len(column), int), "columns": column, "rows": row, "alternate": column + row}[
        panel.half_turns
    ]
    rails = panel.rails
    box = (
        left - rails.left,
        bottom - rails.bottom,
        left + (panel.columns - 1) * pitch_x + length + rails.right,
        bottom + (panel.rows - 1) * pitch_y + width + rails.top,
    )
    return Stepping(
        circuit,
        np.stack([column * pitch_x, row * pitch_y], axis=-1).astype(float),
        odd % 2 == 1,
        box,
        pitch_x - length if panel.columns > 1 else math.inf,
        pitch_y - width if panel.rows > 1 else math.inf,
    )


def step_points(x_mm: ArrayLike, y_mm: ArrayLike, steps: Stepping) -> tuple[Floats, Floats, Ints]:
    """Return the points of all circuits and the circuit of each, circuit after circuit."""
    x, y = np.asarray(x_mm, float), np.asarray(y_mm, float)
    left, bottom, right, top = steps.circuit
    turned = steps.turned[:, None]
    all_x = np.where(turned, left + right - x, x) + steps.shift[:, :1]
    all_y = np.where(turned, bottom + top - y, y) + steps.shift[:, 1:]
    return all_x.ravel(), all_y.ravel(), np.repeat(np.arange(len(steps)), len(x))


def separation_lines(steps: Stepping) -> Floats:
    """Return the lines along which the panel is parted, rows (x1, y1, x2, y2): the middle of each gap, and each rail.

    Lines run through the whole panel, as a V-score does.
    """
    left, bottom, right, top = steps.circuit
    box = steps.box
    columns, rows = np.unique(steps.shift[:, 0]), np.unique(steps.shift[:, 1])
    xs = _cuts(columns, left, right, (box[0], box[2]))
    ys = _cuts(rows, bottom, top, (box[1], box[3]))
    lines = [(x, box[1], x, box[3]) for x in xs] + [(box[0], y, box[2], y) for y in ys]
    return np.array(lines, float).reshape(-1, 4)


def _cuts(shifts: Floats, low: float, high: float, ends: tuple[float, float]) -> list[float]:
    first, last = low + float(shifts[0]), high + float(shifts[-1])
    outer = [edge for edge, end in ((first, ends[0]), (last, ends[1])) if edge != end]
    between = [(high + a + low + b) / 2 for a, b in pairwise(shifts.tolist())]
    return sorted([*outer, *map(float, between)])


def line_distance(bodies: Bodies, lines: ArrayLike) -> Bounds:
    """Return each body's distance in mm to the nearest parting line, negative where it lies across one."""
    rows = np.asarray(lines, float).reshape(-1, 4)
    low, high = np.full(len(bodies), math.inf), np.full(len(bodies), math.inf)
    outer, inner = bodies.outer_corners(), bodies.inner_corners()
    for x1, y1, x2, y2 in rows:
        length = math.hypot(x2 - x1, y2 - y1)
        normal = np.array([y1 - y2, x2 - x1]) / length
        for corners, least in ((outer, low), (inner, high)):
            offset = (corners - np.array([x1, y1])) @ normal
            apart = np.maximum(offset.min(axis=1), -offset.max(axis=1))
            np.minimum(least, apart, out=least)
    return np.where(np.isnan(low), -np.inf, low), np.where(np.isnan(high), np.inf, high)


def lies_along(bodies: Bodies, lines: ArrayLike, *, within_deg: float = 30.0) -> Flags:
    """Whether each body's longer side is proved to lie along its nearest parting line, as ceramics near one should."""
    rows = np.asarray(lines, float).reshape(-1, 4)
    if not len(rows):
        return np.ones(len(bodies), bool)
    each = np.stack([line_distance(bodies, row)[1] for row in rows])
    nearest = rows[np.argmin(each, axis=0)]
    line = np.degrees(np.arctan2(nearest[:, 3] - nearest[:, 1], nearest[:, 2] - nearest[:, 0]))
    long_x = bodies.inner[:, 0] > bodies.outer[:, 1]
    long_y = bodies.inner[:, 1] > bodies.outer[:, 0]
    axis = bodies.angle_deg + np.where(long_y, 90.0, 0.0)
    off = np.abs(np.remainder(axis - line + 90.0, 180.0) - 90.0)
    along: Flags = (long_x | long_y) & (off <= within_deg)
    return along
