"""Aluminium electrolytic cans: their names (ELEC_6.3x7.7, CAPAE660X800N, CAP_AL_8X10) and the base they stand on."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from msgspec import Struct

from capcheck.packages.tables import part_words, rows_of
from capcheck.values import Interval, pattern

if TYPE_CHECKING:
    from collections.abc import Set as AbstractSet

    from capcheck.packages.names.written_sizes import WrittenSizes

_WORDS: Final = frozenset(part_words()["device"]["can"])
_SAME_MM: Final = 0.06
_DIAMETER: Final = r"(4|5|6\.3|8|10|12\.5|16|18)(?:\.0)?"
_NAME: Final = pattern(
    r"(?:ELEC|ELC|CAE|ECAP)[A-Z-]{0,24}[-_ ](?:SMD[-_ ]?)?D?([1-9]\d?(?:[._]\d)?)(?!\d)(?:MM)?"
    r"(?:[X*](\d{1,2}(?:\.\d{1,2})?))?"
)
_ALONE: Final = pattern(rf"(?<![\d.X]){_DIAMETER}[-_ ]?MM(?![A-Z]|[-_ ]?[X*])")
_SIZE: Final = pattern(rf"(?<![\d.]){_DIAMETER}\s?X\s?\d")
_LABELS: Final = pattern(rf"(?<![A-Z])D{_DIAMETER}(?:MM)?X?[LH](\d{{1,2}}(?:\.\d{{1,2}})?)MM(?![A-Z])")
"""Diameter and length of a surface-mount can, as catalogues write them: SMD,D6.3XL7.7MM."""
_BY: Final = pattern(rf"(?<![A-Z])D{_DIAMETER}\s?[X*]\s?(\d{{1,2}}(?:\.\d{{1,2}})?)(?![\d.])")
_CASE: Final = pattern(r"^(?:CP?|CAP)[-_](?:SMD[-_])?D?(4|5|6\.3|8|10)X(5\.[2-8]|6\.[12]|7\.7|10\.[25]|10)(?:MM)?")


class _Can(Struct, frozen=True):
    """A can and the square base that it stands on."""

    diameter_mm: float
    base_mm: float
    base_tolerance_mm: float
    source: str


def base_of(diameter_mm: float) -> Interval | None:
    """Return the side of the base for a can's diameter; None for a diameter that is not tabled."""
    for can in rows_of("cans", _Can):
        if abs(can.diameter_mm - diameter_mm) <= _SAME_MM:
            return Interval.about(can.base_mm, can.base_tolerance_mm)
    return None


def diameter_of(base_mm: float) -> float | None:
    """Return the diameter of the can that stands on a base of this side."""
    return next((can.diameter_mm for can in rows_of("cans", _Can) if abs(can.base_mm - base_mm) <= _SAME_MM), None)


def height_of(nominal_mm: float) -> Interval:
    """Return the heights of cans that are named by one."""
    return Interval(nominal_mm - 0.3, nominal_mm + 0.5)


def is_can(name: str, letters: AbstractSet[str]) -> bool:
    """Whether a normalised name with these runs of letters names an aluminium electrolytic can."""
    if letters & _WORDS or {"AL", "CAP"} <= letters or ("SMD" in letters and _LABELS.search(name)):
        return True
    if ("BD" in letters and "CAP" in letters) or _CASE.match(name):
        return True
    return "CAN" in letters and _SIZE.search(name) is not None


def diameter_and_height(name: str, sizes: WrittenSizes) -> tuple[float | None, float | None]:
    """Return what the name of a can states, in mm; *sizes* are the sizes read in it."""
    diameter = sizes.diameter.value if sizes.diameter else None
    stated = sizes.height or sizes.long
    height = stated.value if stated else None
    for way in (_NAME, _CASE, _LABELS, _BY):
        if (match := way.search(name)) is not None:
            return float(match[1].replace("_", ".")), float(match[2]) if match[2] else height
    if diameter is not None:
        return diameter, height
    if sizes.sides:
        one, other = (s.value for s in sizes.sides)
        by_height = one != other and base_of(one) is not None  # 6.3x7.7 is diameter by height
        return diameter_of(one) or one, other if by_height else height
    alone = _ALONE.search(name) if height is None else None
    return (float(alone[1]) if alone is not None else None), height
