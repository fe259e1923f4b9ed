"""What one text about a part may mean: a land pattern, a size code, a package's name, a device, written dimensions."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING, Any, Final

from msgspec.structs import replace

from capcheck.model import Basis, Family, say
from capcheck.packages.bodies.conflicts import far_above, slack
from capcheck.packages.bodies.narrowing import against_dimensions
from capcheck.packages.candidate import PROSE, Candidate, Column, distinct
from capcheck.packages.names import (
    AgreedSystem,
    offers_packages,
    read_array,
    read_dimensions,
    read_grid_array,
    read_land_pattern,
    read_named,
    read_package_name,
    read_size_codes,
    read_tantalum,
)
from capcheck.values import pattern

if TYPE_CHECKING:
    from collections.abc import Sequence

    from capcheck.values import Interval

_INTEGRATED: Final = frozenset({"U", "IC", "Q"})
NO_CIRCUIT: Final = frozenset({Family.SWITCH, Family.CONNECTOR, Family.PIN_HEADER})
"""Families that a text about an integrated circuit names without being one: what it switches, what it plugs into."""


@lru_cache(maxsize=4096)
def read_text(
    text: str, column: Column, ref_prefix: str, kinds: tuple[str | None, str | None], agreed: AgreedSystem
) -> tuple[Candidate, ...]:
    """Return what one text may mean; *kinds* are the kind of part as far as known, and as the BOM states it."""
    if column in PROSE and offers_packages(text):
        return ()
    kind, kind_stated = kinds
    stated = read_dimensions(text, column, ref_prefix)
    land = read_land_pattern(text, column)
    if land is not None:
        return (_widened(land, stated),)
    if grid := read_grid_array(text, column, ref_prefix):
        return tuple(grid)
    found = read_named(text, column, ref_prefix, kind) or read_tantalum(text, column, ref_prefix, kind)
    if not found and kind == "array":
        found = read_array(text, column, ref_prefix) or _land_of_one_chip(text, column, agreed)
    packages = _package_names(text, column, ref_prefix)
    if not found:
        codes = read_size_codes(
            text, column, kind, agreed, name=column not in PROSE, ref_prefix=ref_prefix, stated=kind_stated
        )
        sized = [*stated, *(p for p in packages if p.basis is Basis.DECODED)]
        found = [against_dimensions(code, sized) for code in codes]
    return _with_all_stated((*found, *packages), stated)


_ONE_CHIP: Final = pattern(r"(?:SMD|RES|R|CHIP)?[-_ ]?\d{4,5}(?:[-_ ]?\d{4}METRIC)?")


def _land_of_one_chip(text: str, column: Column, agreed: AgreedSystem) -> list[Candidate]:
    """Return the sides of the chip that a footprint of nothing but a size code is for: an array lies on no such land.

    Unless it has those sides over all: four of 0603 lie on 3.2 by 1.6 mm. The package of a BOM names elements as often.
    """
    if column is not Column.FOOTPRINT or not _ONE_CHIP.fullmatch(text.upper().rpartition(":")[2]):
        return []
    found = read_size_codes(text, column, "resistor", agreed, name=True, ref_prefix="R", stated=None)
    return [replace(chip, **dict.fromkeys(("pins", "height", "family", "family_key", "polarised"))) for chip in found]


def _package_names(text: str, column: Column, ref_prefix: str) -> list[Candidate]:
    # A power switch or a connector's driver is an integrated circuit: its reference says so.
    circuit = ref_prefix.upper() in _INTEGRATED
    return [replace(c, column=column) for c in read_package_name(text) if not (circuit and c.family_key in NO_CIRCUIT)]


def _with_all_stated(named: Sequence[Candidate], stated: Sequence[Candidate]) -> tuple[Candidate, ...]:
    """Return what a text names and states, each with all that the text states of its measures.

    A text that states two heights does not say which of them is the part's, so none of its candidates may.
    """
    further = [other for other in stated[1:] if any(_differ(c, other) for c in (*named, *stated[:1]))]
    every = (*named, *stated[:1])
    return (*(_widened(candidate, stated) for candidate in every), *further)


_WRITTEN: Final = ("length", "width", "height")


def _differ(one: Candidate, other: Candidate) -> bool:
    return any(
        excludes(mine, theirs)
        for field in _WRITTEN
        if (mine := getattr(one, field)) is not None and (theirs := getattr(other, field)) is not None
    )


def excludes(one: Interval, other: Interval) -> bool:
    """Whether two measures that one text states of a body are two, and not one told twice."""
    return not one.overlaps(other, slack(one)) or far_above(one, other)


def _widened(candidate: Candidate, stated: Sequence[Candidate]) -> Candidate:
    """Return a candidate with what its text states further, and a question where that is another measure."""
    changes: dict[str, Any] = {}
    asked = []
    for other in stated:
        for field in ("height",) if other is stated[0] else _WRITTEN:
            mine: Interval | None = changes.get(field, getattr(candidate, field))
            theirs: Interval | None = getattr(other, field)
            if mine is None or theirs is None:
                continue
            if excludes(mine, theirs):
                changes[field] = mine.hull(theirs)
                asked.append(say("packages.two measures", field=field, origin=other.origin))
            elif candidate.basis is Basis.DECODED and theirs.low <= 0 and theirs.high > mine.high:
                changes[field] = mine.hull(theirs)
    return replace(candidate, questions=distinct((*candidate.questions, *asked)), **changes) if changes else candidate
