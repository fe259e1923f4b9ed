"""Whether a text names a body that is placed, whatever else is known of the part."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

from capcheck.model import Family, Mounting, PartName
from capcheck.packages.candidate import Column
from capcheck.packages.names.arrays import read_array
from capcheck.packages.names.chip_codes import AgreedSystem, read_size_codes
from capcheck.packages.names.land_patterns import read_land_pattern
from capcheck.packages.names.mounting import mountings_said
from capcheck.packages.names.named_sizes import read_named, read_tantalum
from capcheck.packages.names.outlines import read_package_name
from capcheck.packages.names.part_kind import kind_of

if TYPE_CHECKING:
    from collections.abc import Iterator

    from capcheck.packages.candidate import Candidate


@lru_cache(maxsize=4096)
def names_body(text: str) -> bool:
    """Whether *text* names a land pattern, a size code, a case or a package of a part, such as ``SOT-23`` or ``R0603``.

    Words about mounting alone (``SMD``, ``THT``) name none, nor do test points and what is only copper.
    """
    return any(_is_body(candidate, text) for candidate in meanings_of(text))


def meanings_of(text: str) -> Iterator[Candidate]:
    """Yield what *text* means as the name of a body, whatever else is known of the part."""
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
