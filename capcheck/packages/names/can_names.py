"""Names of aluminium electrolytic cans: CP_Elec_6.3x7.7, CAPAE660X800N, "SMD,D6.3xL7.7mm", CAP_AL_8X10."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from capcheck.packages.tables import base_of, diameter_of
from capcheck.values import pattern

if TYPE_CHECKING:
    from collections.abc import Set as AbstractSet

    from capcheck.packages.names.package_words import Sizes

WORDS: Final = frozenset(
    (
        "ELEC",
        "ELC",
        "ECAP",
        "CAE",
        "CAPAE",
        "ELECTROLYTIC",
        "CPELEC",
        "ELCAP",
        "ELKO",
        "ALUM",
        "ALUMINUM",
        "ALUMINIUM",
        "ALU",
        "ALCAP",
        "CAPAL",
    )
)
_DIAMETER: Final = r"(4|5|6\.3|8|10|12\.5|16|18)(?:\.0)?"
_NAME: Final = pattern(
    r"(?:ELEC|ELC|CAE|ECAP)[A-Z-]*[-_ ](?:SMD[-_ ]?)?D?([1-9]\d?(?:[._]\d)?)(?!\d)(?:MM)?"
    r"(?:[X*](\d{1,2}(?:\.\d{1,2})?))?"
)
_ALONE: Final = pattern(rf"(?<![\d.X]){_DIAMETER}[-_ ]?MM(?![A-Z]|[-_ ]?[X*])")
_SIZE: Final = pattern(rf"(?<![\d.]){_DIAMETER}\s?X\s?\d")
_LABELS: Final = pattern(rf"(?<![A-Z])D{_DIAMETER}(?:MM)?X?[LH](\d{{1,2}}(?:\.\d{{1,2}})?)MM(?![A-Z])")
"""Diameter and length of a surface-mount can, as catalogues write them: SMD,D6.3XL7.7MM."""
_BY: Final = pattern(rf"(?<![A-Z])D{_DIAMETER}\s?[X*]\s?(\d{{1,2}}(?:\.\d{{1,2}})?)(?![\d.])")
_CASE: Final = pattern(r"^(?:CP?|CAP)[-_](?:SMD[-_])?D?(4|5|6\.3|8|10)X(5\.[2-8]|6\.[12]|7\.7|10\.[25]|10)(?:MM)?")


def is_can(name: str, letters: AbstractSet[str]) -> bool:
    """Whether a normalised name with these runs of letters names an aluminium electrolytic can."""
    if letters & WORDS or {"AL", "CAP"} <= letters or ("SMD" in letters and _LABELS.search(name)):
        return True
    if ("BD" in letters and "CAP" in letters) or _CASE.match(name):
        return True
    return "CAN" in letters and _SIZE.search(name) is not None


def diameter_and_height(name: str, sizes: Sizes) -> tuple[float | None, float | None]:
    """Return what the name of a can states, in mm; *sizes* are the sizes read in it."""
    diameter = sizes.diameter.value if sizes.diameter else None
    height = sizes.height.value if sizes.height else None
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
