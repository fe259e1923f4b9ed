"""Proposals for a panel: how many circuits may lie on one that every machine of a line takes.

A panel keeps its way of travel through the whole line, because machines stand one behind the other.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

import numpy as np
from msgspec import Struct

from capcheck.geometry.travel import TransportLimits
from capcheck.model import Flags, Floats
from capcheck.values import Interval

MOST: Final = 100
"""Circuits tried each way; no panel holds more in a row."""
_ROUNDING_MM: Final = 1e-6
"""A panel exactly as long as the limit fits, in spite of rounding in the last digit."""


class Layout(Struct, frozen=True):
    """What lies between and around the circuits, in mm.

    Gaps lie between circuits along the circuit's x and y; rails lie at both edges that are transported, ends at the
    two others; each is the sum of both edges.
    """

    gap_x: float = 0.0
    gap_y: float = 0.0
    rails: float = 0.0
    ends: float = 0.0


class PanelProposal(Struct, frozen=True):
    """A panel of *columns* along the circuit's x and *rows* along its y, with its sizes in mm.

    *turned* means that the circuit's own y lies along the way of travel.
    """

    columns: int
    rows: int
    x_mm: float
    y_mm: float
    turned: bool

    @property
    def circuits(self) -> int:
        """Circuits on the panel."""
        return self.columns * self.rows


class Proposals(Struct, frozen=True):
    """The fitting panel with the most circuits, and the one with the fewest, which cures a board that is too small."""

    largest: PanelProposal
    smallest: PanelProposal


def propose_panels(
    length_mm: float,
    width_mm: float,
    machines: Sequence[Sequence[TransportLimits]],
    layout: Layout,
    greatest_mm: tuple[float, float] = (math.inf, math.inf),
) -> Proposals | None:
    """Return the largest and the smallest panel that all *machines* take, each in one of its lane modes.

    No panel is longer or wider than *greatest_mm*, its longer and its shorter side. None where not one panel passes
    them all. Of equal counts the smaller panel wins, then the one with its long edge along the conveyor. Checked by
    trying all of up to 100 × 100 circuits, both ways of travel.
    """
    if not (length_mm > 0 and width_mm > 0):
        return None
    found = [
        p
        for turned in (False, True)
        for p in _ends((length_mm, width_mm), machines, layout, greatest_mm, turned=turned)
    ]
    if not found:
        return None
    return Proposals(
        min(found, key=lambda p: (-p.circuits, *_preferred(p))), min(found, key=lambda p: (p.circuits, *_preferred(p)))
    )


def states_its_largest(modes: Sequence[TransportLimits]) -> bool:
    """Whether a lane mode states the largest board: what a machine does not state is no room for a panel."""
    return any(math.isfinite(m.along.high) and math.isfinite(m.across.high) for m in modes)


def _preferred(panel: PanelProposal) -> tuple[float, bool, bool]:
    along, across = (panel.y_mm, panel.x_mm) if panel.turned else (panel.x_mm, panel.y_mm)
    return round(panel.x_mm * panel.y_mm, 6), along < across, panel.turned


def _ends(
    circuit_mm: tuple[float, float],
    machines: Sequence[Sequence[TransportLimits]],
    layout: Layout,
    greatest_mm: tuple[float, float],
    *,
    turned: bool,
) -> list[PanelProposal]:
    """Return the best panels of the most and of the fewest circuits for one way of travel."""
    sides = (layout.rails, layout.ends) if turned else (layout.ends, layout.rails)
    count = np.arange(1, MOST + 1)
    x: Floats = count * circuit_mm[0] + (count - 1) * layout.gap_x + sides[0]
    y: Floats = count * circuit_mm[1] + (count - 1) * layout.gap_y + sides[1]
    along, across = (y[None, :], x[:, None]) if turned else (x[:, None], y[None, :])
    longer, shorter = np.maximum(along, across), np.minimum(along, across)
    fits: Flags = (longer <= greatest_mm[0] + _ROUNDING_MM) & (shorter <= greatest_mm[1] + _ROUNDING_MM)
    for modes in machines:
        fits &= np.logical_or.reduce([_between(along, m.along) & _between(across, m.across) for m in modes])
    columns, rows = np.nonzero(fits)
    if not len(columns):
        return []
    circuits, area = (columns + 1) * (rows + 1), np.round(x[columns] * y[rows], 6)
    chosen = {int(np.lexsort((area, circuits))[0]), int(np.lexsort((area, -circuits))[0])}
    return [
        PanelProposal(int(columns[k]) + 1, int(rows[k]) + 1, float(x[columns[k]]), float(y[rows[k]]), turned)
        for k in chosen
    ]


def _between(size: Floats, limit: Interval) -> Flags:
    fits: Flags = (size >= limit.low - _ROUNDING_MM) & (size <= limit.high + _ROUNDING_MM)
    return fits
