"""Chip resistor arrays: two, four or eight elements of a size code side by side on one body."""

from __future__ import annotations

from functools import cache
from typing import Final

from msgspec import Struct

from capcheck.model import Basis, LeadStyle, Mounting, say
from capcheck.packages.candidate import Candidate, Column, Trust
from capcheck.packages.tables import Family, rows_of
from capcheck.values import Interval, pattern

_PREFIXES: Final = frozenset({"", "R", "RN", "RA", "RP", "RR", "RNA", "RPACK"})
_CODE: Final = r"(0201|0402|0603|0805)"
_COUNT_BEFORE: Final = pattern(rf"(?<![\d.])([248])\s?[X*]\s?{_CODE}(?!\d)")
_COUNT_AFTER: Final = pattern(rf"(?<!\d){_CODE}\s?[-_ ]?[X*]\s?([248])(?!\d)")
_PINS_AFTER: Final = pattern(rf"(?<!\d){_CODE}[-_ ]+(4|8|16)[-_ ]?P(?:IN)?S?(?![A-Z0-9])")
_PINS_BY_ELEMENTS: Final = pattern(r"(?<!\d)(4P2R|8P4R|16P8R)(?![A-Z0-9])")
_ONE_CODE: Final = pattern(rf"(?<![\d.]){_CODE}(?!\d)")
"""Pins and resistors of a network, as catalogues count them, with the size code of one resistor beside."""
_WHOLE_BODY: Final = pattern(
    r"(?<![\d.])(0404|0602|0606|0804|1206|1506|2012)(?![\d.])(?P<marked>\s?\(?\d{4} METRIC|, CON)?"
)
"""1206 is also an element's size, so it counts only where its metric size or the form of the ends stands beside it."""
_BODY_TOLERANCE_MM: Final = 0.2


class _ResistorArray(Struct, frozen=True):
    """A body with so many resistors of a size code."""

    elements: int
    code: str
    length_mm: float
    length_range_mm: Interval
    width_mm: float
    width_range_mm: Interval
    height_max_mm: float
    pitch_mm: Interval
    source: str


class _ArrayBody(Struct, frozen=True):
    """The size over all of arrays by the inch code of the whole body."""

    code: str
    length_mm: float
    width_mm: float
    source: str


def _elements(text: str) -> tuple[int, str] | None:
    """Return how many elements of which size code *text* names: 4x0402, 0402x4, 0402-8P, 8P4R 0402."""
    if match := _COUNT_BEFORE.search(text):
        return int(match[1]), match[2]
    if match := _COUNT_AFTER.search(text):
        return int(match[2]), match[1]
    if match := _PINS_AFTER.search(text):
        return int(match[2]) // 2, match[1]
    if (match := _PINS_BY_ELEMENTS.search(text)) and (code := _ONE_CODE.search(text)):
        return int(match[1].partition("P")[2].removesuffix("R")), code[1]
    return None


@cache
def array_codes() -> frozenset[str]:
    """Return the codes of arrays by the size of the whole body."""
    return frozenset(row.code for row in rows_of("array_bodies", _ArrayBody))


def read_array(text: str, column: Column, ref_prefix: str) -> list[Candidate]:
    """Return *text* read as a chip resistor array; nothing where it names neither elements nor a code.

    Capacitor arrays of the same codes have other bodies, so only resistors' references are read. Metric codes of
    elements are not in use for arrays (common practice, no source). Lengths are mm.
    """
    if ref_prefix.upper() not in _PREFIXES:
        return []
    named = _elements(text.upper())
    if named is None:
        return _by_body(text, column)
    row = next((r for r in rows_of("resistor_arrays", _ResistorArray) if (r.elements, r.code) == named), None)
    if row is None:
        return []
    return [
        Candidate(
            Basis.PUBLISHED,
            Trust.PACKAGE_NAME,
            column,
            text,
            scheme=say("packages.resistor array", elements=row.elements, code=row.code, table=row.source),
            length=row.length_range_mm,
            width=row.width_range_mm,
            height=Interval.at_most(row.height_max_mm),
            nominal_length=Interval.exactly(row.length_mm),
            nominal_width=Interval.exactly(row.width_mm),
            pitch=row.pitch_mm,
            pins=2 * row.elements,
            mounting=Mounting.SURFACE,
            lead_style=LeadStyle.CHIP,
            family=f"resistor array {row.elements} x {row.code}",
            family_key=Family.CHIP_ARRAY,
            hidden_joints=False,
        )
    ]


def _by_body(text: str, column: Column) -> list[Candidate]:
    """Return an array that is named by the size of its whole body: RES ARRAY ... 0804 (2010 Metric)."""
    match = _WHOLE_BODY.search(text.upper())
    if match is None or (match[1] == "1206" and match["marked"] is None):
        return []
    body = next(row for row in rows_of("array_bodies", _ArrayBody) if row.code == match[1])
    return [
        Candidate(
            Basis.DECODED,
            Trust.PACKAGE_NAME,
            column,
            text,
            scheme=say("packages.array over all", code=body.code),
            length=_around(body.length_mm),
            width=_around(body.width_mm),
            nominal_length=Interval.exactly(body.length_mm),
            nominal_width=Interval.exactly(body.width_mm),
            mounting=Mounting.SURFACE,
            lead_style=LeadStyle.CHIP,
            family=f"chip array {body.code}",
            family_key=Family.CHIP_ARRAY,
            hidden_joints=False,
        )
    ]


def _around(side_mm: float) -> Interval:
    slack = min(_BODY_TOLERANCE_MM, 0.1 * side_mm)
    return Interval(round(side_mm - slack, 4), round(side_mm + slack, 4))
