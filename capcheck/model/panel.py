"""A panel as board.toml states it: one circuit stepped into columns and rows between rails."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
from msgspec import Struct

from capcheck.model.parts import Flags, Floats

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

    from capcheck.model.stated import PanelSource

Box = tuple[float, float, float, float]
"""x min, y min, x max, y max in mm."""


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

    def points(self, x_mm: ArrayLike, y_mm: ArrayLike) -> tuple[Floats, Floats]:
        """Return points of the circuit in all circuits, as arrays of one row a circuit."""
        x, y = np.asarray(x_mm, float), np.asarray(y_mm, float)
        left, bottom, right, top = self.circuit
        turned = self.turned[:, None]
        all_x: Floats = np.where(turned, left + right - x, x) + self.shift[:, :1]
        all_y: Floats = np.where(turned, bottom + top - y, y) + self.shift[:, 1:]
        return all_x, all_y


class OrderedPanel(Struct, frozen=True):
    """The panel that would be ordered of a single board, with its sides, rails and gaps in mm."""

    source: PanelSource
    length_mm: float
    width_mm: float
    rail_mm: float
    gap_mm: float


def stepping(circuit: Box, panel: PanelSource) -> Stepping:
    """Return how *panel* steps the circuit in this box, circuit by circuit from the lower left, along x first.

    Without a pitch the circuits abut, as they do with a V-score between them.
    """
    left, bottom, right, top = circuit
    length, width = right - left, top - bottom
    pitch_x, pitch_y = panel.pitch_x or length, panel.pitch_y or width
    column, row = (g.ravel() for g in np.meshgrid(np.arange(panel.columns), np.arange(panel.rows)))
    odd = {"none": 0 * column, "columns": column, "rows": row, "alternate": column + row}[panel.half_turns]
    rails = panel.rails
    box = (
        left - rails.left,
        bottom - rails.bottom,
        right + (panel.columns - 1) * pitch_x + rails.right,
        top + (panel.rows - 1) * pitch_y + rails.top,
    )
    return Stepping(
        circuit,
        np.stack([column * pitch_x, row * pitch_y], axis=-1).astype(float),
        odd % 2 == 1,
        box,
        pitch_x - length if panel.columns > 1 else math.inf,
        pitch_y - width if panel.rows > 1 else math.inf,
    )
