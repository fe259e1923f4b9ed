"""Chip resistor arrays: two, four or eight elements of a size code side by side on one body."""

from __future__ import annotations

import re
from functools import cache
from typing import Final

from capcheck.model import Basis
from capcheck.packages.candidate import Reading, Trust
from capcheck.packages.tables import rows_of
from capcheck.values import Interval, pattern

_PREFIXES: Final = frozenset({"", "R", "RN", "RA", "RP", "RR", "RNA", "RPACK"})


@cache
def _patterns() -> tuple[re.Pattern[str], re.Pattern[str], re.Pattern[str]]:
    code = r"(0201|0402|0603|0805)"
    return (
        re.compile(rf"(?<![\d.])([248])\s?[X*]\s?{code}(?!\d)"),
        re.compile(rf"(?<!\d){code}\s?[-_ ]?[X*]\s?([248])(?!\d)"),
        re.compile(rf"(?<!\d){code}[-_ ]+(4|8|16)[-_ ]?P(?:IN)?S?(?![A-Z0-9])"),
    )


def _elements(text: str) -> tuple[int, str] | None:
    """Return how many elements of which size code *text* names: 4x0402, 0402x4, 0402-8P."""
    before, after, pins = _patterns()
    if match := before.search(text):
        return int(match[1]), match[2]
    if match := after.search(text):
        return int(match[2]), match[1]
    if match := pins.search(text):
        return int(match[2]) // 2, match[1]
    return None


def read_array(text: str, what: str, ref_prefix: str) -> list[Reading]:
    """Return the reading of *text* as a chip resistor array; nothing where it names neither elements nor a code.

    Capacitor arrays of the same codes have other bodies, so only resistors' references are read. Metric codes of
    elements are not in use for arrays (common practice, no source). Lengths are mm.
    """
    if ref_prefix.upper() not in _PREFIXES:
        return []
    named = _elements(text.upper())
    if named is None:
        return _by_body(text, what)
    row = next((r for r in rows_of("resistor_arrays") if (int(r["elements"]), r["code"]) == named), None)
    if row is None:
        return []

    def between(side: str) -> Interval:
        return Interval(float(row[f"{side}_low_mm"]), float(row[f"{side}_high_mm"]))

    return [
        Reading(
            f'{what} "{text}" as {named[0]} resistors of size {named[1]} on one body ({row["source"]})',
            Basis.PUBLISHED,
            Trust.PACKAGE_NAME,
            length=between("length"),
            width=between("width"),
            height=Interval.at_most(float(row["height_max_mm"])),
            nominal_length=Interval.exactly(float(row["length_mm"])),
            nominal_width=Interval.exactly(float(row["width_mm"])),
            pitch=between("pitch"),
            pins=2 * named[0],
            mounting="surface",
            lead_style="chip",
            family=f"resistor array {named[0]} x {named[1]}",
            family_key="chip array",
            hidden_joints=False,
            text=text,
        )
    ]


_OF_ARRAYS: Final = pattern(
    r"(?<![\d.])(0404|0602|0606|0804|1206|1506|2012)(?![\d.])(?P<marked>\s?\(?\d{4} METRIC|, CON)?"
)
_BODIES_MM: Final = {
    "0404": (1.0, 1.0),
    "0602": (1.6, 0.6),
    "0606": (1.6, 1.6),
    "0804": (2.0, 1.0),
    "1206": (3.2, 1.6),
    "1506": (3.9, 1.6),
    "2012": (5.08, 3.1),
}
"""Sizes over all of arrays by the inch code of the whole body, as distributors list them; common practice, from memory.
1206 is also an element's size, so it counts only where its metric size or the form of the ends stands beside it."""
_BODY_TOLERANCE_MM: Final = 0.2


def _by_body(text: str, what: str) -> list[Reading]:
    """Return the reading of an array that is named by the size of its whole body: RES ARRAY ... 0804 (2010 Metric)."""
    match = _OF_ARRAYS.search(text.upper())
    if match is None or (match[1] == "1206" and match["marked"] is None):
        return []
    long, short = _BODIES_MM[match[1]]

    def around(side: float) -> Interval:
        slack = min(_BODY_TOLERANCE_MM, 0.1 * side)
        return Interval(round(side - slack, 4), round(side + slack, 4))

    return [
        Reading(
            f'{what} "{text}" as a chip array of size {match[1]} over all (common practice)',
            Basis.DECODED,
            Trust.PACKAGE_NAME,
            length=around(long),
            width=around(short),
            nominal_length=Interval.exactly(long),
            nominal_width=Interval.exactly(short),
            mounting="surface",
            lead_style="chip",
            family=f"chip array {match[1]}",
            family_key="chip array",
            hidden_joints=False,
            text=text,
        )
    ]
