"""Sorts of parts that are never sold as small as a size code may say: a transformer on the land of a chip."""

from __future__ import annotations

import math
from functools import cache, lru_cache
from typing import Any, Final

from msgspec import Struct

from capcheck.lexicon import Words, fold, numbered, shape
from capcheck.model import Basis, PartName, say
from capcheck.packages.candidate import Candidate, Column, Trust, texts_of
from capcheck.packages.names.part_kind import kind_in_words
from capcheck.packages.tables import DATA, converted
from capcheck.values import Interval, own_table

_FORMS: Final = frozenset(("tantalum", "array", "melf"))
"""Kinds that are forms of a body: POL, the mark of a tantalum capacitor, counts the poles of a plug as well."""
_NAMES: Final = frozenset((Column.BOM_PACKAGE,))
"""Columns whose texts name a package and not a part."""


class LeastBody(Struct, frozen=True, forbid_unknown_fields=True, rename="kebab"):
    """A row of ``data/least_bodies.toml``."""

    name: str
    words: str
    letters: frozenset[str]
    longer: float
    shorter: float
    source: str
    unless: str = ""
    height: float | None = None
    """The tallest, mm, of a sort whose parts are higher than the packages that they are named after."""
    keeps_kind: str = ""
    """The kind of part, by its words, that is no other part beside the words of the sort."""


@cache
def _table() -> dict[str, Any]:
    return own_table(DATA / "least_bodies.toml")


@cache
def least_bodies() -> tuple[LeastBody, ...]:
    """Return all sorts, in the order in which they are looked for.

    Raises ValueError with file and row for one whose fields are of the wrong type.
    """
    return tuple(converted(row, LeastBody, f"least_bodies.toml: {row.get('name')}") for row in _table()["sort"])


@cache
def _worded() -> tuple[tuple[LeastBody, Words, Words], ...]:
    """Return each sort with its words and with those beside which it is none: made once for all reference letters."""
    unless = _table()["unless-any"]
    return tuple(
        (row, Words(row.words), Words(row.unless if row.keeps_kind else f"{unless}, {row.unless}".rstrip(", ")))
        for row in least_bodies()
    )


@lru_cache(maxsize=256)
def _for_letters(letters: str) -> tuple[tuple[LeastBody, Words, Words], ...]:
    return tuple(sort for sort in _worded() if letters in sort[0].letters)


@lru_cache(maxsize=8192)
def _possible(letters: str, shaped: str) -> frozenset[str]:
    """Return the names of the sorts of which a word could stand in a folded text of such a shape."""
    return frozenset(row.name for row, words, _ in _for_letters(letters) if words.may_stand_in_shape(shaped))


def may_name_sort(letters: str, shaped: str) -> bool:
    """Whether a folded text of this shape may name a sort of parts with such a reference, or say that it is none."""
    return bool(_possible(letters, shaped)) or _numbered_exceptions().may_stand_in_shape(shaped)


@cache
def _numbered_exceptions() -> Words:
    """Return the words beside which a part is of no sort, as far as a digit tells them from others."""
    return numbered(unless for _, _, unless in _worded())


def read_least_body(name: PartName) -> Candidate | None:
    """Return what the smallest parts of a sort measure that the texts of a part name; None where they name none.

    The candidate has both sides from below alone, and of some sorts the greatest height. Whose texts speak of another
    part beside it is of no sort.
    """
    texts = tuple((column, text) for column, text in texts_of(name) if text and column not in _NAMES)
    return _read(texts, name.ref_prefix.upper())


@lru_cache(maxsize=8192)
def _read(texts: tuple[tuple[Column, str], ...], letters: str) -> Candidate | None:
    rows = _for_letters(letters)
    if not rows:
        return None
    folded = [(column, text, fold(text)) for column, text in texts]
    possible = frozenset[str]().union(*(_possible(letters, shape(one)) for _, _, one in folded))
    for row, words, unless in rows:
        if row.name not in possible:
            continue
        for column, text, one in folded:
            if (found := words.search(one)) is None:
                continue
            if any(unless.search(other) for _, _, other in folded) or not _of_no_other_kind(row, texts):
                break
            return Candidate(
                Basis.DECODED,
                Trust.BOUND,
                column,
                text,
                scheme=say("packages.class of part", name=row.name, words=found[0], table=row.source),
                length=Interval(row.longer, math.inf),
                width=Interval(row.shorter, math.inf),
                height=None if row.height is None else Interval.at_most(row.height),
            )
    return None


def _of_no_other_kind(row: LeastBody, texts: tuple[tuple[Column, str], ...]) -> bool:
    """Whether no description or value names another kind of part, such as the diode across a relay."""
    prose = (text for column, text in texts if column is not Column.FOOTPRINT)
    return {kind_in_words(text.upper()) for text in prose} - _FORMS <= {None, row.keeps_kind or None}
