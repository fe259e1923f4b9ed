"""Drawing codes of TI as names of packages: DBV0005A, RGZ0048, "PW 20", a part's name ending in _DRC."""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING, Final

from msgspec import Struct

from capcheck.packages.tables import rows_of
from capcheck.values import pattern

if TYPE_CHECKING:
    from collections.abc import Collection

_IN_FULL: Final = pattern(r"(?<![A-Z0-9])([A-Z]{2,3}|D(?=0\d{3}[A-Z]))0(\d{3})[A-Z]?(?![0-9])")
"""The code with the count of leads in four digits, as drawings are numbered."""
_ALONE: Final = pattern(r"(?:TI[-_ ])?([A-Z]{2,3}(?=[-_ ]\d)|[A-Z]{3})(?:[-_ ](\d{1,3}))?")
_OF_TI: Final = pattern(r"TI[-_ ]([A-Z]{1,3})(\d{1,3})(?=[-_]|$)")
"""As the maker's own land patterns are named: TI-DBV5_M, TI-D8_N."""
_AT_THE_START: Final = pattern(r"([A-Z]{3})(\d{1,3})(?=[-_]|$)")
_AT_THE_END: Final = pattern(r"(?<![A-Z0-9])[A-Z]*+\d[A-Z0-9]*+_([A-Z]{3})(?:_?(\d{1,3}))?$")
"""A part's name, its number at least, and the code behind it."""


class _Code(Struct, frozen=True):
    code: str
    pins: tuple[int, ...]
    name: str
    source: str


@cache
def _names() -> dict[str, dict[int, str]]:
    """Return package names by code and count of leads, the usual count first."""
    found: dict[str, dict[int, str]] = {}
    for row in rows_of("drawing_codes", _Code):
        for pins in row.pins:
            found.setdefault(row.code, {})[pins] = row.name.replace("{n}", str(pins))
    return found


def may_be_coded(letters: Collection[str]) -> bool:
    """Whether one of these runs of letters is a drawing code."""
    names = _names()
    return any(run in names for run in letters)


def packages_behind(name: str, letters: Collection[str]) -> tuple[str, ...]:
    """Return the package names, in capitals, that a drawing code in *name* (capitals) may stand for; empty without one.

    *letters* are the runs of letters in *name*. A code with its count names one package, one alone several.
    """
    if not may_be_coded(letters):
        return ()
    names = _names()
    found = (
        _IN_FULL.search(name),
        _ALONE.fullmatch(name),
        _OF_TI.match(name),
        _AT_THE_START.match(name),
        _AT_THE_END.search(name),
    )
    for match in found:
        if match is None or (known := names.get(match[1])) is None:
            continue
        if match[2] is None:
            return tuple(known.values())
        return (known[int(match[2])],) if int(match[2]) in known else ()
    return ()
