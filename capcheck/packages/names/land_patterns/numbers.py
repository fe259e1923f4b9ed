"""The numbers of a land-pattern name: hundredths of a millimetre, truncated or rounded, as intervals in mm."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

from capcheck.model import Basis, LeadStyle, Mounting, Said, say
from capcheck.packages.candidate import Candidate, Trust, sides
from capcheck.packages.tables import Family
from capcheck.values import Interval

if TYPE_CHECKING:
    import re

LAND_PATTERN: Final = say("packages.land pattern")
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


_LEAST_SHARE: Final = 0.7
"""Least over greatest height of one outline: 1.35 to 1.75 mm (JEDEC MS-012), 0.8 to 1.0 mm (MO-220), with room."""


def height_of(digits: str | None) -> Interval | None:
    """Return the height in a name, which is the greatest: hundredths without leading zeros; X04 means tenths."""
    if not digits or int(digits) == 0:
        return None
    greatest = int(digits) / (10 if digits[0] == "0" else 100)
    return Interval(round(_LEAST_SHARE * greatest, 4), greatest)


def named_body(
    piece: str, family: str, key: Family, lead_style: LeadStyle | None, scheme: Said = LAND_PATTERN
) -> Candidate:
    """Return a land-pattern name with its family alone; the numbers are added to it, and where it stands."""
    return Candidate(
        Basis.DECODED,
        Trust.LAND_PATTERN,
        scheme=scheme,
        piece=piece,
        mounting=Mounting.SURFACE,
        lead_style=lead_style,
        family=family,
        family_key=key,
    )


def two_sides(match: re.Match[str]) -> dict[str, Interval]:
    """Return both sides of the body that a name gives as *a* and *b*, as fields of a candidate."""
    longer, shorter = sides(side_of(match["a"]), side_of(match["b"]))
    nominal_longer, nominal_shorter = sides(nominal_of(match["a"]), nominal_of(match["b"]))
    return {"length": longer, "width": shorter, "nominal_length": nominal_longer, "nominal_width": nominal_shorter}
