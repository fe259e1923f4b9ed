"""Proportions, area and mass of a bare board, and what a stated bow or twist lets it lift off a flat table.

Bow and twist: IPC-TM-650 method 2.4.22C, 5.1.2 for bow and 5.2.2 for twist.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from capcheck.values import UNKNOWN_SIZE, Interval

if TYPE_CHECKING:
    from shapely import Polygon


def ratio(numerator: Interval, denominator: Interval) -> Interval:
    """Return the bounds of a quotient of two sizes, none negative; a denominator that may be 0 leaves it open."""
    if not math.isfinite(numerator.low):
        return UNKNOWN_SIZE
    low = numerator.low / denominator.high if denominator.high > 0 else 0.0
    high = numerator.high / denominator.low if denominator.low > 0 else math.inf
    return Interval(low, max(low, high))


def aspect(length: Interval, width: Interval) -> Interval:
    """Return long side over short side, 1 or more, whichever of the two is which."""
    one, other = ratio(length, width), ratio(width, length)
    return Interval(max(1.0, one.low, other.low), max(1.0, one.high, other.high))


def board_area(polygon: Polygon | None, length: Interval, width: Interval) -> Interval:
    """Return the area in mm²: of the contour with its cut-outs, else at most that of the box."""
    if polygon is not None:
        return Interval.exactly(float(polygon.area))
    return Interval.at_most(math.inf if math.inf in (length.high, width.high) else length.high * width.high)


def bare_mass(area_mm2: Interval, thickness_mm: Interval, density_g_mm3: Interval) -> Interval:
    """Return the mass of the bare board in gram, area × thickness × density; parts come on top."""
    lows = (area_mm2.low, thickness_mm.low, density_g_mm3.low)
    highs = (area_mm2.high, thickness_mm.high, density_g_mm3.high)
    return Interval(math.prod(lows), math.inf if math.inf in highs else math.prod(highs))


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
