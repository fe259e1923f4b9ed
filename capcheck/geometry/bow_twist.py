"""Bow and twist: what a stated percentage lets a board lift off a flat table, in mm.

Formulas: IPC-TM-650 method 2.4.22C, 5.1.2 for bow and 5.2.2 for twist.
"""

from __future__ import annotations

import math

from capcheck.values import Interval


def bow_height(side_mm: Interval, percent: Interval) -> Interval:
    """Return the greatest rise in mm of an edge of this length, R = L·B/100."""
    return _product(side_mm, percent, 0.01)


def twist_height(length_mm: Interval, width_mm: Interval, percent: Interval) -> Interval:
    """Return the lift in mm of one corner while another is held down, R = 2·D·T/100, D being the diagonal."""
    diagonal = Interval(math.hypot(length_mm.low, width_mm.low), math.hypot(length_mm.high, width_mm.high))
    return _product(diagonal, percent, 0.02)


def _product(size: Interval, percent: Interval, factor: float) -> Interval:
    # Infinity times zero is not a number; an unknown size with no bow at all still may not rise.
    high = 0.0 if percent.high == 0 else size.high * percent.high * factor
    return Interval(size.low * percent.low * factor, high)
