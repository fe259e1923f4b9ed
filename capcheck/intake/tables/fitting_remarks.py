"""Whether a text says plainly that the part of its row stays off the board, or may speak of something else.

``DNP``, ``10k (not fitted)`` and ``R7 nicht bestückt`` in the row of R7 are plain. ``Socket not fitted``, ``replaces Q7
(not fitted)`` and ``never omit`` hold such words too, and take nothing off the board: they are asked about.
"""

from __future__ import annotations

import enum
from collections.abc import Collection, Mapping, Sequence
from pathlib import PurePath
from typing import Final

import numpy as np

from capcheck.intake.tables.fitted import (
    NOT_FITTED_WORD,
    bare_title,
    holds_a_label,
    is_not_fitted_title,
    may_head_a_variant,
    says_not_fitted,
    value_says_not_fitted,
)
from capcheck.intake.tables.grouping import Coded
from capcheck.intake.tables.header_words import Role
from capcheck.intake.tables.references import prefix_of
from capcheck.intake.tables.table import Table
from capcheck.lexicon import fold, reference_letters, vocabulary
from capcheck.model import Flags
from capcheck.values import pattern

_MARK: Final = pattern(r"[,;|\n()\[\]{}:：、，；（）]|\s[-–—/=]{1,3}\s|\s?->\s?|(?<=[^\d\W])\.\s")
_SUBJECT_BEFORE: Final = pattern(r"[:：(\[{（]|\s?-+>?\s?|\s?[–—=/]+\s?")
"""Marks behind which a phrase speaks of what stands before them: ``socket: not fitted``, ``Q7 (not fitted)``."""
_COLON: Final = pattern(r"[:：]")
_WORD: Final = pattern(r"[^\W_]+")
_TURNED: Final = pattern(lambda: str(vocabulary().fitted.turned))
_AND_OTHERS: Final = pattern(
    lambda: (
        rf"(?<![^\W_])(?:{vocabulary().remarks.joined}|{vocabulary().remarks.apart}|{vocabulary().fitted.excluded}|ex[ck]l)|\+"
    )
)
"""With, without or excluding what is not fitted: the rest is meant."""
_REFERENCE: Final = pattern(r"(?<![0-9a-z])[a-z]{1,3}[1-9]\d{0,3}(?![0-9a-z])")
_LONGEST_LETTERS: Final = 5
_NEAR: Final = 2
"""Words between letters such as DNP and a value: ``100 nF DNP``."""


class TextColumn(enum.Enum):
    """What a column of texts says of a part."""

    NAME = enum.auto()
    """What the part is called: letters such as DNP beside it are about the part."""
    NUMBER = enum.auto()
    """The maker's number: only a phrase of its own is about fitting, as ``DNP-12`` may be a number."""
    TEXT = enum.auto()
    """Running text."""


_HOLDING: Final = {Role.VALUE: TextColumn.NAME, Role.PART_NUMBER: TextColumn.NUMBER}
"""What columns hold that are no running text; comments hold names where no column of values stands beside them."""


class Remark(enum.IntEnum):
    """What a text says of whether its part is fitted."""

    NOTHING = 0
    DOUBTED = 1
    """It holds words for not fitted, which may speak of something else."""
    PLAIN = 2


def remark_in(text: str, own: Collection[str] = (), column: TextColumn = TextColumn.TEXT) -> Remark:
    """Return what *text*, in a row of the references *own*, says of its parts being fitted."""
    if not text or not says_not_fitted(text):
        return Remark.NOTHING
    if is_not_fitted_title(text):
        return Remark.PLAIN
    folded = fold(text)
    mine = {fold(ref) for ref in own}
    rest = NOT_FITTED_WORD.sub(" ", folded)
    if is_turned(folded) or any(_is_another(ref, mine) for ref in _REFERENCE.findall(rest)):
        return Remark.DOUBTED
    start, mark, before = 0, "", ""
    ends = [*_MARK.finditer(folded), None]
    for end in ends:
        phrase = folded[start : end.start() if end else len(folded)]
        if NOT_FITTED_WORD.search(phrase) and _is_plain(phrase, mark, before, mine, column):
            return Remark.PLAIN
        if end is not None:
            start, mark, before = end.end(), end[0], phrase if phrase.strip() else before
    return Remark.DOUBTED


def sheet_is_not_fitted(name: str | None) -> bool:
    """Whether a sheet's name says that what it lists stays off the board; ``NS-3000`` and ``incl. DNP`` do not."""
    if not name or is_not_fitted_title(name):
        return bool(name)
    rest = NOT_FITTED_WORD.sub(" ", fold(name))
    return says_not_fitted(name) and _TURNED.search(rest) is None and _AND_OTHERS.search(rest) is None


def list_is_not_fitted(table: Table) -> bool:
    """Whether the name of a table's sheet, or that of a file without sheets, says that what it lists stays off."""
    if table.sheet:
        return sheet_is_not_fitted(table.sheet)
    return is_not_fitted_title(PurePath(table.file).stem.replace("_", " "))


def sheet_may_be_off(name: str) -> bool:
    """Whether a sheet's name holds words of a variant, an option or not fitted that may mean something else."""
    return not sheet_is_not_fitted(name) and (may_head_a_variant(name) or holds_a_label(fold(name)))


def is_turned(folded: str) -> bool:
    """Whether a text says never, was, if or the like beside its words for not fitted."""
    return _TURNED.search(NOT_FITTED_WORD.sub(" ", folded)) is not None


def _is_plain(phrase: str, mark: str, before: str, mine: Collection[str], column: TextColumn) -> bool:
    """Whether a phrase that holds words for not fitted speaks of the row's own part, which *mine* are."""
    words = [word for word in _WORD.findall(bare_title(NOT_FITTED_WORD.sub(" ", phrase))) if word not in mine]
    if not words:
        # A phrase of its own; behind a colon or in brackets it speaks of what stands before.
        named = column is not TextColumn.TEXT and _COLON.fullmatch(mark) is None and _are_codes(phrase)
        return not _SUBJECT_BEFORE.fullmatch(mark) or named or _is_own(before, mine)
    if column is TextColumn.NUMBER:
        return False
    if all(any(map(str.isdigit, word)) for word in words):
        return True
    if not _are_codes(phrase):
        return False
    return column is TextColumn.NAME or any(
        _beside_a_value(phrase, *match.span()) for match in NOT_FITTED_WORD.finditer(phrase)
    )


def _is_own(phrase: str, mine: Collection[str]) -> bool:
    """Whether what stands before a mark is the row's own part: a value, one of its references, or nothing."""
    words = [word for word in _WORD.findall(bare_title(phrase)) if word not in mine]
    return not words or any(map(str.isdigit, "".join(words)))


def _are_codes(phrase: str) -> bool:
    """Whether all words for not fitted in a phrase are letters, such as DNP, that mean nothing else."""
    return all(map(_is_code, NOT_FITTED_WORD.findall(phrase)))


def _is_code(word: str) -> bool:
    letters = "".join(filter(str.isalnum, word))
    return letters.isascii() and len(letters) <= _LONGEST_LETTERS and word not in vocabulary().fitted.loose


def _beside_a_value(phrase: str, start: int, end: int) -> bool:
    words = [*_WORD.findall(phrase[:start])[-_NEAR:], *_WORD.findall(phrase[end:])[:_NEAR]]
    return any(any(map(str.isdigit, word)) for word in words)


def _is_another(ref: str, mine: Collection[str]) -> bool:
    return ref not in mine and prefix_of(ref.upper()) in reference_letters()


def remarks_in(texts: Mapping[Role, Coded], refs: Sequence[Sequence[str]]) -> tuple[Flags, Flags] | None:
    """Return which rows some text takes off the board plainly, and which only may be; None where no text says so.

    *texts* are the columns that may say so, by what they hold, and *refs* the references of each row.
    """
    plain, doubted = np.zeros(len(refs), dtype=np.bool_), np.zeros(len(refs), dtype=np.bool_)
    for role, (numbers, distinct) in texts.items():
        column = _HOLDING.get(role, TextColumn.TEXT)
        if role is Role.COMMENT and Role.VALUE not in texts:
            column = TextColumn.NAME
        said = value_says_not_fitted(numbers, distinct)
        for i in () if said is None else np.flatnonzero(said).tolist():
            found = remark_in(distinct[int(numbers[i])], refs[i], column)
            plain[i] |= found is Remark.PLAIN
            doubted[i] |= found is Remark.DOUBTED
    doubted &= ~plain
    return (plain, doubted) if plain.any() or doubted.any() else None
