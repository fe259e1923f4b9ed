"""Whether a text names a body that is placed, whatever else is known of the part."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING, Final

from capcheck.model import Family, Mounting, PartName
from capcheck.packages.candidate import Column
from capcheck.packages.names.arrays import read_array
from capcheck.packages.names.chip_codes import AgreedSystem, read_size_codes
from capcheck.packages.names.land_patterns import read_land_pattern
from capcheck.packages.names.mounting import mountings_said
from capcheck.packages.names.named_sizes import read_named, read_tantalum
from capcheck.packages.names.outlines import read_package_name
from capcheck.packages.names.part_kind import kind_of
from capcheck.values import pattern

if TYPE_CHECKING:
    from collections.abc import Iterator

    from capcheck.packages.candidate import Candidate


@lru_cache(maxsize=4096)
def names_body(text: str) -> bool:
    """Whether *text* names a land pattern, a size code, a case or a package of a part, such as ``SOT-23`` or ``R0603``.

    Words about mounting alone (``SMD``, ``THT``) name none, nor do test points and what is only copper.
    """
    return any(_is_body(candidate, text) for candidate in _meanings(text))


_LETTERS_AND_PINS: Final = pattern(r"([A-Za-z]{3,})-?\d.*")
_ALIKE: Final = 0.66
"""One letter of three that differs, or a letter more: common practice, no source."""


def misspelled_package(text: str) -> str:
    """Return the name that *text* comes near to, ``SOIC-8`` for ``SOICC-8``; blank where it is none of a package."""
    match = _LETTERS_AND_PINS.fullmatch(text.strip())
    if match is None or names_body(text) or any(True for _ in _meanings(text)):
        return ""
    import difflib  # only a name that is not known needs it

    words = sorted({word for family in Family for word in family.split()})
    close = difflib.get_close_matches(match[1].casefold(), words, n=1, cutoff=_ALIKE)
    return f"{close[0].upper()}{text.strip()[match.end(1) :]}" if close and close[0] != match[1].casefold() else ""


def _meanings(text: str) -> Iterator[Candidate]:
    land = read_land_pattern(text, Column.FOOTPRINT)
    if land is not None:
        yield land
        return
    kind = kind_of((text,), "")
    yield from read_named(text, Column.FOOTPRINT, "", kind)
    yield from read_tantalum(text, Column.FOOTPRINT, "", kind)
    if kind == "array":
        yield from read_array(text, Column.FOOTPRINT, "RN")
    yield from read_package_name(text)
    yield from read_size_codes(text, Column.FOOTPRINT, kind, AgreedSystem(), name=True, ref_prefix="", stated=kind)


def _is_body(candidate: Candidate, text: str) -> bool:
    if candidate.mounting is Mounting.NONE or candidate.family_key is Family.TEST_POINT:
        return False
    if candidate.family_key is not None or candidate.mounting is Mounting.SURFACE:
        return True
    drilled = candidate.mounting is Mounting.THROUGH_HOLE
    return drilled and not mountings_said(PartName(footprint=text))
