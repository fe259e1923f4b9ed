"""Which parts stay off the board: not fitted in all its spellings, in a column, a value, a sheet's name."""

from __future__ import annotations

import re
from collections.abc import Sequence
from functools import cache
from itertools import chain
from typing import TYPE_CHECKING, Final

import numpy as np
from msgspec import Struct

from capcheck.intake.tables.columns import Columns
from capcheck.intake.tables.grouping import code
from capcheck.intake.tables.header_words import Role
from capcheck.lexicon import fold, vocabulary
from capcheck.model import Decision, Flags, Ints, Note, Topic, say
from capcheck.values import Place, in_toml, pattern

if TYPE_CHECKING:
    from capcheck.intake.tables.table import Table


_LONGEST_CODE: Final = 12
_LONGEST_LABEL: Final = 24
"""No label is longer: ``Bestückung entfällt``."""


def _source(*, labels: bool = False, excluded: bool = False) -> str:
    fitted = vocabulary().fitted
    sorts = [fitted.not_fitted, *[fitted.not_fitted_labels] * labels, *[fitted.excluded] * excluded]
    return f"(?:{'|'.join(map(str, sorts))})"


def not_fitted_words(*, labels: bool) -> str:
    """Return a pattern for folded text of what says not fitted, with *labels* of what does so as a whole cell too."""
    return _source(labels=labels)


NOT_FITTED_WORD: Final = pattern(lambda: f"(?<![0-9a-z]){_source()}(?![0-9a-z])")
_DENIED: Final = pattern(lambda: rf"(?<![0-9a-z]){vocabulary().fitted.denied}\s{{1,3}}{_source()}(?![0-9a-z])")
_NOT_WHOLE: Final = pattern(lambda: rf"\W*{_source(labels=True)}\W*")
_NEGATIVE_HEADER: Final = pattern(lambda: f"(?<![0-9a-z]){_source(excluded=True)}(?![0-9a-z])")
_ANY_LABEL: Final = pattern(lambda: f"(?<![0-9a-z]){_source(labels=True)}(?![0-9a-z])")
_HINT: Final = pattern(lambda: "|".join(map(re.escape, _beginnings())))
_FILLERS: Final = pattern(lambda: f"(?<![0-9a-z]){vocabulary().fitted.fillers}(?![0-9a-z])")
_VARIANT: Final = pattern(lambda: f"(?<![0-9a-z]){vocabulary().fitted.variants}(?![0-9a-z])")
_OTHERWISE: Final = pattern(
    lambda: f"(?<![0-9a-z])(?:{vocabulary().mountings.by_hand}|{vocabulary().mountings.drilled})(?![0-9a-z])"
)
"""A heading over what no machine places: by hand, in holes."""
_LONGEST_HEADING: Final = 100
_REFERENCE: Final = pattern(r"(?<![0-9a-z])[a-z]{1,3}[1-9]\d{0,4}(?![0-9a-z])")
_BRACKETS: Final = pattern(r"[()\[\]]")
_NC: Final = pattern(r"\W*n\.?/?c\.?\W*", re.IGNORECASE)


def _beginnings() -> list[str]:
    """Return what stands in every text that says not fitted: looking for it is much faster than for the words."""
    first = {word[:3] for word in vocabulary().fitted.not_fitted.spelt}
    first |= {word.split()[0] for word in map(fold, vocabulary().fitted.not_fitted.listed)}
    return sorted(word for word in first if not any(word != other and word.startswith(other) for other in first))


def _letters(folded: str) -> str:
    return "".join(filter(str.isalnum, folded))


@cache
def _letters_of_words() -> frozenset[str]:
    fitted = vocabulary().fitted
    return frozenset(map(_letters, fitted.not_fitted.spelt | fitted.not_fitted_labels.spelt))


def _is_not_fitted(folded: str) -> bool:
    """Whether a whole cell says not fitted: by its letters first, as few cells have those of a word."""
    return _letters(folded) in _letters_of_words() and _NOT_WHOLE.fullmatch(folded) is not None


class FittedColumn(Struct, frozen=True):
    """Whether each row's part is fitted, with what was inferred to say so."""

    fitted: Flags
    notes: tuple[Note, ...] = ()
    decisions: tuple[Decision, ...] = ()
    stated: Flags | None = None
    """Rows whose cell says that the part is fitted; None where no column tells."""
    by_word: Flags | None = None
    """Rows that a word such as ``10k DNP`` alone takes off the board; None where no row is."""
    loosely: Flags | None = None
    """Those of them whose words may speak of something else; None where no row's do."""
    named: Flags | None = None
    """Rows whose value names a part, and says nothing of fitting; None where there are no values."""
    ambiguous: Flags | None = None
    """Rows whose value is NC: no connection, or not to be connected; None where no row's is."""


def is_not_fitted_title(text: str) -> bool:
    """Whether a line over a list says that what stands below it stays off: ``Not fitted:``, ``DNP parts``."""
    phrases = [phrase for phrase in _BRACKETS.split(fold(text)) if any(map(str.isalnum, bare_title(phrase)))]
    return bool(phrases) and all(_NOT_WHOLE.fullmatch(p) or _NOT_WHOLE.fullmatch(bare_title(p)) for p in phrases)


def may_head_a_variant(text: str) -> bool:
    """Whether a line over a list says that what stands below is an option, by hand, or not fitted in some case."""
    folded = fold(text[:_LONGEST_HEADING])
    if names_variant(folded) or _OTHERWISE.search(folded) is not None:
        return True
    # With references it speaks of them, and not of what stands below.
    return NOT_FITTED_WORD.search(folded) is not None and _REFERENCE.search(NOT_FITTED_WORD.sub(" ", folded)) is None


def holds_a_label(folded: str) -> bool:
    """Whether a folded text holds a word or a label for not fitted, which may be part of a name: ``BOM NP``."""
    return _ANY_LABEL.search(folded) is not None


def names_variant(folded: str) -> bool:
    """Whether a folded text names a variant or an option."""
    return _VARIANT.search(folded) is not None


def is_negative_title(title: str) -> bool:
    """Whether a column's title asks what stays off the board, so that a blank cell says fitted."""
    return _NEGATIVE_HEADER.search(fold(title)) is not None


def bare_title(folded: str) -> str:
    """Return a phrase without the words that add nothing to what it says of fitting."""
    return " ".join(_FILLERS.sub(" ", folded).split())


def says_not_fitted(text: str) -> bool:
    """Whether a whole cell says not fitted, or a longer text has an unmistakable word for it."""
    folded = fold(text)
    if len(text) <= _LONGEST_LABEL and _is_not_fitted(folded):
        return True
    return _has_a_word(folded)


def _has_a_word(folded: str) -> bool:
    """Whether a folded text has an unmistakable word for not fitted, and does not deny it: ``do not omit``."""
    if _HINT.search(folded) is None or NOT_FITTED_WORD.search(folded) is None:
        return False
    return NOT_FITTED_WORD.search(_DENIED.sub(" ", folded)) is not None


def denies_not_fitted(text: str) -> bool:
    """Whether a whole cell says no more than that its part is not left off: ``do not omit``, ``not DNP``."""
    folded = fold(text)
    return _HINT.search(folded) is not None and _DENIED.fullmatch(folded.strip()) is not None


def words_say_not_fitted(numbers: Ints, texts: Sequence[str]) -> Flags | None:
    """Return which rows have an unmistakable word for not fitted, whatever short labels may mean in the column."""
    off = [_has_a_word(fold(text)) for text in texts]
    return np.array(off, dtype=np.bool_)[numbers] if any(off) else None


def value_says_not_fitted(numbers: Ints, texts: Sequence[str]) -> Flags | None:
    """Return which rows' value says not fitted, such as ``100n DNP``; None where no row does.

    *numbers* is the column as codes of *texts*. ``10 NF`` is ten nanofarad: the two-letter forms count only as the
    whole cell.
    """
    if _HINT.search(fold("\n".join(texts))):
        off = [bool(text) and says_not_fitted(text) for text in texts]
    else:
        off = [0 < len(text) <= _LONGEST_LABEL and _is_not_fitted(fold(text)) for text in texts]
    return np.array(off, dtype=np.bool_)[numbers] if any(off) else None


def by_words(fitted: FittedColumn, said: Flags, refs: Sequence[str], file: str, rows: Sequence[int]) -> list[Note]:
    """Return a note on the rows that a word takes off the board although the fitted column is blank for them.

    *said* are the rows whose words say not fitted. A table without such a column needs no note: words are all it has.
    """
    if fitted.stated is None:
        return []
    alone = np.flatnonzero(said & fitted.fitted & ~fitted.stated).tolist()
    if not alone:
        return []
    return [Note(say("fitted.by a word", refs=[refs[i] for i in alone]), Place(file, rows[alone[0]]))]


def ambiguous_nc(values: Sequence[str]) -> list[int]:
    """Return the rows whose value is NC: no connection, or not to be connected, that is, not fitted."""
    off = {text for text in set(values) if text and _NC.fullmatch(text)}
    return [i for i, v in enumerate(values) if v in off] if off else []


def read_fitted(table: Table, columns: Columns, variant: str | None) -> FittedColumn:
    """Return what the fitted columns of *table* say of each row; without such a column all are fitted.

    *variant* is the header that board.toml names where several columns tell different variants.
    """
    fitted = np.ones(len(table), dtype=np.bool_)
    candidates = [c for c in (columns.index.get(Role.FITTED), *columns.variants.get(Role.FITTED, ())) if c is not None]
    # A title that board.toml names says what is fitted, whatever words it is made of.
    roles = {*columns.index.values(), *chain.from_iterable(columns.variants.values())}
    named = choose_variant(table, [c for c in range(len(table.header)) if c not in roles], variant)
    candidates += [named] if named is not None else []
    if not candidates:
        return FittedColumn(fitted)
    chosen, decisions = _choose(table, candidates, variant)
    header = table.header[chosen] if chosen < len(table.header) else ""
    negative = is_negative_title(header)
    cells = table.columns[chosen]
    numbers, texts = code(cells)
    verdicts = [cell_says_fitted(text, negative=negative) for text in texts]
    blank = [not text.strip() for text in texts]
    notes = []
    unclear = sorted(text for text, v in zip(texts, verdicts, strict=True) if v is None)
    # Few rows of many are asked about one by one, as rows that may not count.
    if unclear and says_something_else(verdicts, numbers.tolist()):
        first = table.row_numbers[cells.index(unclear[0])]
        said = say("fitted.unclear", title=header, cells=[text[:30] for text in unclear[:5]])
        notes.append(Note(said, Place(table.file, first, sheet=table.sheet)))
    told = {v for v, empty in zip(verdicts, blank, strict=True) if not empty}
    if any(blank) and not negative and {True, False} <= told:
        rows = int(np.array(blank, dtype=np.bool_)[numbers].sum())
        notes.append(Note(say("fitted.blank", title=header, rows=rows), Place(table.file, sheet=table.sheet)))
    fitted = np.array([v is not False for v in verdicts], dtype=np.bool_)[numbers]
    says = [v is True and not empty for v, empty in zip(verdicts, blank, strict=True)]
    stated = np.array(says, dtype=np.bool_)[numbers]
    return FittedColumn(fitted=fitted, notes=tuple(notes), decisions=tuple(decisions), stated=stated)


def says_something_else(verdicts: Sequence[bool | None], rows: Sequence[int]) -> bool:
    """Whether a column does not say of most *rows* whether their part is fitted; they point to the *verdicts*."""
    return 2 * sum(verdicts[k] is None for k in rows) >= len(rows)


def cell_says_fitted(text: str, *, negative: bool) -> bool | None:
    """Return whether a cell says fitted, below a title that asks what is, or, if *negative*, what is not; or None."""
    words, answers = vocabulary().fitted, vocabulary().answers
    if not text.strip():
        return True
    if says_not_fitted(text.strip()) or _NC.fullmatch(text):
        return False
    # "fitted" in a column titled DNP contradicts nothing; "yes" agrees with the title, whatever that says.
    if text in words.fitted or denies_not_fitted(text):
        return True
    if text in words.fitted_labels:
        return None if negative else True
    if text in answers.yes or text in answers.yes_marks or _is_above_zero(text.strip()):
        return not negative
    if text in answers.no or text in answers.no_marks:
        return negative
    return None


def _is_above_zero(text: str) -> bool:
    return text.replace(".", "", 1).isdecimal() and float(text) > 0


def choose_variant(table: Table, candidates: Sequence[int], variant: str | None) -> int | None:
    """Return the column whose header is *variant*, or None."""
    if variant is None:
        return None
    wanted = variant.strip().casefold()
    return next((c for c in candidates if c < len(table.header) and table.header[c].strip().casefold() == wanted), None)


def _choose(table: Table, candidates: Sequence[int], variant: str | None) -> tuple[int, list[Decision]]:
    named = choose_variant(table, candidates, variant)
    if named is not None:
        return named, []
    names = [table.header[c] if c < len(table.header) else f"column {c + 1}" for c in candidates]
    if len(candidates) == 1 or len({tuple(table.columns[c]) for c in candidates}) == 1:
        return candidates[0], []
    return candidates[0], [
        Decision(
            Topic.VARIANT,
            choice=say("fitted.says what is fitted", title=names[0]),
            evidence=say("fitted.columns differ", titles=names),
            runner_up=say("fitted.title", title=names[1]),
            settle=f"variant = {in_toml(names[0])}",
            open=True,
            place=Place(table.file, sheet=table.sheet),
        )
    ]
