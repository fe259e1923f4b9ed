"""Classes of parts that are known by their names: placed by hand, with leads through holes, mechanical, bare copper."""

from __future__ import annotations

from functools import cache, lru_cache
from typing import TYPE_CHECKING, Final, Literal

from msgspec import Struct

from capcheck.lexicon import Words, fold, numbered, reference_letters, shape
from capcheck.model import Basis, Family, LeadStyle, Mounting, say
from capcheck.packages.candidate import Candidate, Column, Trust, texts_of
from capcheck.packages.names.mounting import says_surface
from capcheck.packages.names.part_numbers import bounds_said
from capcheck.packages.tables import DATA, converted
from capcheck.values import own_table

if TYPE_CHECKING:
    from capcheck.model import PartName

PlacedBy = Literal["machine", "hand", "hand after reflow", "nothing"]
"""Who puts a part on the board."""


class PartClass(Struct, frozen=True, forbid_unknown_fields=True, rename="kebab", dict=True):
    """A row of ``data/classes.toml``; None where the parts of the class differ."""

    name: str
    words: str = ""
    footprint: str = ""
    value: str = ""
    description: str = ""
    unless: str = ""
    letters: frozenset[str] = frozenset()
    """Reference letters that must agree; where none stand here, any but those of circuits and chips do."""
    mounting: Mounting | None = None
    """How all parts of the class are mounted whose texts say nothing else."""
    placed_by: PlacedBy | None = None
    washable: bool | None = None
    """Whether it may go through an aqueous wash."""
    reflow: bool | None = None
    """Whether it survives reflow soldering."""
    flat_top: bool | None = None
    """Whether a nozzle finds a plane to hold it by."""
    family: Family | None = None
    lead_style: LeadStyle | None = None
    bounds: str = ""
    """What holds for every part of the class that is sold, as a part number's statement says it: ``box``, ``height``,
    ``pitch``, in mm."""
    source: str = "common practice, no source"


_OTHER_LETTERS: Final = frozenset(("U", "IC", "Q", "VT", "TR"))


@cache
def part_classes() -> tuple[PartClass, ...]:
    """Return all classes, in the order in which they are looked for.

    Raises ValueError with file and row for one whose fields are of the wrong type.
    """
    table = own_table(DATA / "classes.toml")
    return tuple(converted(row, PartClass, f"classes.toml: {row.get('name')}") for row in table["class"])


@cache
def class_named(name: str) -> PartClass | None:
    """Return the class of a name, as a body bears it; None for a name that no row has."""
    return next((row for row in part_classes() if row.name == name), None)


def class_names() -> tuple[str, ...]:
    """Return the names of all classes, in order."""
    return tuple(sorted({row.name for row in part_classes()}))


class _Class(Struct, frozen=True):
    row: PartClass
    anywhere: Words
    by_column: dict[Column, Words]
    unless: Words


@cache
def _worded() -> tuple[_Class, ...]:
    """Return every class with its words: made once for all reference letters."""
    return tuple(
        _Class(
            row,
            Words(row.words),
            {
                column: Words(words)
                for column, words in (
                    (Column.FOOTPRINT, row.footprint),
                    (Column.VALUE, row.value),
                    (Column.DESCRIPTION, row.description),
                )
                if words
            },
            Words(row.unless),
        )
        for row in part_classes()
    )


@lru_cache(maxsize=256)
def _for_letters(letters: str) -> tuple[_Class, ...]:
    """Return the classes that a part with such a reference may be of, with their words."""
    known = reference_letters().get(letters)
    is_other = letters in _OTHER_LETTERS or bool(known and known.chip)
    return tuple(one for one in _worded() if (letters in one.row.letters if one.row.letters else not is_other))


@lru_cache(maxsize=8192)
def _possible(letters: str, column: Column, shaped: str) -> tuple[_Class, ...]:
    """Return the classes of which a word could stand in a folded text of such a shape."""
    return tuple(
        one
        for one in _for_letters(letters)
        if one.anywhere.may_stand_in_shape(shaped)
        or (column in one.by_column and one.by_column[column].may_stand_in_shape(shaped))
    )


def may_name_class(letters: str, column: Column, shaped: str) -> bool:
    """Whether a folded text of this shape may name a class of parts with such a reference, or say that it is none."""
    return bool(_possible(letters, column, shaped)) or _numbered_exceptions().may_stand_in_shape(shaped)


@cache
def _numbered_exceptions() -> Words:
    """Return the words beside which a part is of no class, as far as a digit tells them from others."""
    return numbered(one.unless for one in _worded())


def read_class(name: PartName) -> Candidate | None:
    """Return what the class of a part says of it; None where its texts name no class.

    The class decides nothing against what any text, column or library says. Bare copper is none where the part is
    bought: a part number beside the words makes it a part.
    """
    texts = tuple((column, text) for column, text in texts_of(name) if text)
    texts += tuple((Column.STATED, cell) for cell, _ in name.mountings)
    return _read(texts, name.ref_prefix.upper(), bool(name.part_number))


@lru_cache(maxsize=8192)
def _read(texts: tuple[tuple[Column, str], ...], letters: str, bought: bool) -> Candidate | None:
    folded = [(column, text, fold(text)) for column, text in texts]
    possible = {id(one): one for column, _, words in folded for one in _possible(letters, column, shape(words))}
    for one in _for_letters(letters) if possible else ():
        row = one.row
        if id(one) not in possible:
            continue
        if bought and row.placed_by == "nothing":
            continue
        for column, text, words in folded:
            own = one.by_column.get(column)
            found = one.anywhere.search(words) or (own and own.search(words))
            if not found:
                continue
            if any(one.unless.search(other) for _, _, other in folded):
                break
            return _said(row, column, text, found[0], surface=any(says_surface(t) for _, t in texts))
    return None


def _said(row: PartClass, column: Column, text: str, words: str, *, surface: bool) -> Candidate:
    mounting = None if surface and row.mounting is Mounting.THROUGH_HOLE else row.mounting
    measured = bounds_said(row.bounds) if row.bounds else {}
    return Candidate(
        Basis.BOUND,
        Trust.BOUND,
        column,
        text,
        scheme=say("packages.class of part", name=row.name, words=words, table=row.source),
        mounting=mounting,
        hidden_joints=False if mounting is Mounting.THROUGH_HOLE else None,
        lead_style=row.lead_style,
        family_key=row.family,
        part_class=row.name,
        **measured,
    )
