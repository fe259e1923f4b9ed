"""The numbers of a land-pattern name: hundredths of a millimetre, truncated or rounded, as intervals in mm."""

from __future__ import annotations

import math
from typing import Final

from capcheck.model import Basis
from capcheck.packages.candidate import Reading, Trust
from capcheck.values import Interval

_TOLERANCES: Final = ((2.0, 0.05), (10.0, 0.1), (math.inf, 0.2))


def hundredths(digits: str) -> Interval:
    """Return the values that a number in hundredths of a millimetre stands for."""
    value = int(digits) / 100
    return Interval(round(value - 0.005, 6), round(value + 0.005, 6))


def side_of(digits: str) -> Interval:
    """Return a side of a body given in hundredths, with the general tolerance of a body.

    0.05 mm under 2 mm, 0.1 mm under 10 mm and 0.2 mm above: common practice of package drawings, no single source.
    """
    value = int(digits) / 100
    tolerance = next(slack for below, slack in _TOLERANCES if value < below)
    return Interval(round(value - tolerance, 6), round(value + tolerance, 6))


def nominal_of(digits: str) -> Interval:
    """Return a side as the name has it, without tolerance."""
    return Interval.exactly(int(digits) / 100)


def height_of(digits: str | None) -> Interval | None:
    """Return the height in a name: hundredths without leading zeros, so that X04 can only mean tenths."""
    if not digits or int(digits) == 0:
        return None
    return Interval.exactly(int(digits) / (10 if digits[0] == "0" else 100))


def named_body(source: str, text: str, family: str, key: str, lead_style: str) -> Reading:
    """Return the reading of a land-pattern name with its family alone; the numbers are added to it."""
    return Reading(
        source=source,
        basis=Basis.DECODED,
        trust=Trust.LAND_PATTERN,
        mounting="surface",
        lead_style=lead_style,
        family=family,
        family_key=key,
        text=text,
    )
