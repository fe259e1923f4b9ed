"""What one text about a part may mean: a land pattern, a size code, a package's name, a device, written dimensions."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING, Any, Final

from msgspec.structs import replace

from capcheck.lexicon import fold, vocabulary
from capcheck.model import Basis, Family, Mounting, say
from capcheck.packages.bodies.conflicts import far_above, slack
from capcheck.packages.bodies.narrowing import against_dimensions
from capcheck.packages.candidate import PROSE, Candidate, Column, distinct, hull_of
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
    found = _read_whole(text, column, ref_prefix, kinds, agreed)
    pieces = alternatives_in(text) if any(c.length for c in found) else ()
    others = [c for piece in pieces for c in _named_alone(piece, pieces[0], column, ref_prefix, kinds[0])]
    return tuple(_or_another(candidate, others, text) for candidate in found) if len(others) > 1 else found


def _read_whole(
    text: str, column: Column, ref_prefix: str, kinds: tuple[str | None, str | None], agreed: AgreedSystem
) -> tuple[Candidate, ...]:
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


_CHOICE: Final = pattern(lambda: str(vocabulary().lists.choice))
_STROKES: Final = pattern(r"[/|,;(]")
_LONGEST: Final = 120
_SIDES: Final = pattern(r"(?<![\d.])\d{1,2}(?:\.\d{1,3})?\s?[xX×]\s?\d{1,2}(?:\.\d{1,3})?(?![\d.])")
_CASE_LETTER: Final = pattern(r"(?:.*[-_ ])?[A-Z]")


def alternatives_in(text: str) -> tuple[str, ...]:
    """Return the pieces of a text between strokes and words for a choice, where there are several: ``SO-8 or MSOP-8``.

    A path is no choice, and a piece without a digit or a case's letter names no package.
    """
    if len(text) > _LONGEST or not (_STROKES.search(text) or vocabulary().lists.choice.may_stand_in(fold(text))):
        return ()
    folded = fold(text)
    marked = _CHOICE.sub(lambda m: "/" * len(m[0]), folded) if len(folded) == len(text) else text
    cuts = [at for at, sign in enumerate(marked) if _STROKES.match(sign)]
    ends = zip([-1, *cuts], [*cuts, len(text)], strict=True)
    pieces = [text[start + 1 : end].strip(" .()") for start, end in ends]
    named = [p for p in pieces if any(map(str.isdigit, p)) or _CASE_LETTER.fullmatch(p.upper())]
    return tuple(dict.fromkeys(named)) if len(named) > 1 else ()


def _named_alone(piece: str, first: str, column: Column, ref_prefix: str, kind: str | None) -> list[Candidate]:
    """Return the body that a piece of a text names by itself.

    Beside a case's letter another letter is a case, too, and beside a package with its sides two sides are the same
    package's: ``TANT B/C``, ``QFN-16 3x3 or 4x4``.
    """
    if _SIDES.fullmatch(piece):
        piece = _SIDES.sub(piece, first, count=1)
    if len(piece) == 1:
        piece = f"CASE {piece}" if read_tantalum(first, column, ref_prefix, kind) else ""
    land = read_land_pattern(piece, column)
    found = [land] if land is not None else []
    found = found or [*read_named(piece, column, ref_prefix, kind), *read_tantalum(piece, column, ref_prefix, kind)]
    found = found or _package_names(piece, column, ref_prefix)
    if column not in PROSE:  # of prose all sizes are read together, with what stands before each
        found = found or read_dimensions(piece, column, ref_prefix)
    return [c for c in found if c.length is not None or c.mounting is Mounting.THROUGH_HOLE][:1]


def _or_another(candidate: Candidate, others: Sequence[Candidate], text: str) -> Candidate:
    """Return a candidate as the hull with the other bodies that its text names, if they are other than it."""
    differing = tuple(c for c in others if candidate.length is not None and _is_another(candidate, c))
    if not differing:
        return candidate
    question = say("packages.one of the bodies named", text=text)
    return hull_of((candidate, *differing), say("packages.bodies named in one text", text=text), question)


def _is_another(one: Candidate, other: Candidate) -> bool:
    """Whether two bodies are of different sizes, mounted otherwise, or of leads that a camera sees otherwise."""
    told = ({one.lead_style, other.lead_style} - {None}, {one.mounting, other.mounting} - {None})
    return _differ(one, other) or any(len(said) > 1 for said in told)


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
