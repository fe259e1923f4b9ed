"""Which parts stay off the board: not fitted in all its spellings, in a column, a value, a sheet's name."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Final

import numpy as np
from msgspec import Struct

from capcheck.intake.tables.columns import Columns
from capcheck.intake.tables.grouping import Coded, code
from capcheck.intake.tables.header_words import Role
from capcheck.model import Decision, Flags, Ints, Note, Topic, say
from capcheck.values import Place, pattern

if TYPE_CHECKING:
    from capcheck.intake.tables.table import Table


def _words(text: str) -> frozenset[str]:
    return frozenset(text.split())


_NOT: Final = (
    r"d\.?n\.?[pfim]\.?"
    r"|(?:do|does)[ _-]?not[ _-]?(?:populate|place|fit|install|stuff|mount|assemble|load)"
    r"|not[ _-]?(?:fitted|fit|populated|placed|mounted|installed|stuffed|assembled|loaded|equipped)"
    r"|no[ _-]?(?:pop(?:ulate)?|load|fit|stuff|place|mount|install|assembly)"
    r"|un(?:populated|fitted|placed|mounted)|depopulated?|omit(?:ted)?"
    r"|nicht[ _-]?(?:bestückt|bestücken|montiert|montieren)|unbestückt|n\.b\."
    r"|non[ _-]?(?:monté|montée|équipé|équipée|placé|implanté)e?|ne[ _-]pas[ _-](?:monter|implanter|câbler)"
    r"|no[ _-]montar|non[ _-]montare|未実装|実装しない|非実装|不実装|不贴|不焊|空贴"
)
_NOT_WORD: Final = pattern(rf"(?i)(?<![^\W_])(?:{_NOT})(?![^\W_])")
_NOT_WHOLE: Final = pattern(rf"(?i)\W*(?:{_NOT}|n\.?f\.?|n\.?m\.?|n\.?p\.?|n/?[fmp]|n\.?b\.?)\W*")
_FITTED: Final = _words(
    "fit fitted populate populated place placed mount mounted install installed stuff stuffed load loaded assemble "
    "assembled included bestückt bestücken montiert monté montar montado 実装 贴"
)
"""Words that mean fitted under any title: ``fitted`` in a column titled DNP contradicts nothing."""
_YES: Final = _words("yes y true 1 x ✓ ✔ √ ja j oui o si sí はい ○ 是")
"""Words that agree with the title: fitted below ``Fitted``, not fitted below ``DNP``."""
_KINDS: Final = _words("ok in smt smd tht both")
"""Words that mean fitted below ``Fitted``, and below ``DNP`` nothing sure."""
_NO: Final = _words("no n false 0 nein non いいえ 否 × ✗ - –")
_LONGEST_CODE: Final = 12
_HINT: Final = pattern("dn|d\\.n|no|un[pfmb]|depop|omit|nicht|n\\.b|pas|実装|不贴|不焊|空贴")
"""What stands in every text, lower case, that matches the words: looking for it is much faster than the pattern."""
_NEGATIVE_HEADER: Final = pattern(rf"(?i)(?<![^\W_])(?:{_NOT}|exclude\w*|ausgeschlossen)(?![^\W_])")
_NEGATIVE_SHEET: Final = pattern(rf"(?i)(?<![^\W_])(?:{_NOT}|nf|nm|np)(?![^\W_])")
_FILLERS: Final = pattern(
    r"(?i)(?<![^\W_])(?:the|following|these|are|to be|parts?|components?|items?|positions?|list|section|optional"
    r"|teile|bauteile|positionen|folgende|composants|pièces|部品)(?![^\W_])"
)
_NC: Final = pattern(r"(?i)\W*n\.?/?c\.?\W*")


class FittedColumn(Struct, frozen=True):
    """Whether each row's part is fitted, with what was inferred to say so."""

    fitted: Flags
    notes: tuple[Note, ...] = ()
    decisions: tuple[Decision, ...] = ()
    stated: Flags | None = None
    """Rows whose cell says that the part is fitted; None where no column tells."""
    by_word: Flags | None = None
    """Rows that a word such as ``10k DNP`` alone takes off the board; None where no row is."""


def sheet_is_not_fitted(name: str | None) -> bool:
    """Whether a sheet's name says that what it lists stays off the board."""
    return bool(name and _NEGATIVE_SHEET.search(name))


def is_not_fitted_title(text: str) -> bool:
    """Whether a line over a list says that what stands below it stays off: ``Not fitted:``, ``DNP parts``."""
    bare = _FILLERS.sub(" ", text).strip()
    return bool(bare) and _NOT_WHOLE.fullmatch(bare) is not None


def says_not_fitted(text: str) -> bool:
    """Whether a whole cell says not fitted, or a longer text has an unmistakable word for it."""
    if len(text) <= _LONGEST_CODE and _NOT_WHOLE.fullmatch(text):
        return True
    return _HINT.search(text.casefold()) is not None and _NOT_WORD.search(text) is not None


def value_says_not_fitted(numbers: Ints, texts: Sequence[str]) -> Flags | None:
    """Return which rows' value says not fitted, such as ``100n DNP``; None where no row does.

    *numbers* is the column as codes of *texts*. ``10 NF`` is ten nanofarad: the two-letter forms count only as the
    whole cell.
    """
    if _HINT.search("\n".join(texts).casefold()):
        off = [bool(text) and says_not_fitted(text) for text in texts]
    else:
        off = [0 < len(text) <= _LONGEST_CODE and _NOT_WHOLE.fullmatch(text) is not None for text in texts]
    return np.array(off, dtype=np.bool_)[numbers] if any(off) else None


def texts_say_not_fitted(columns: Sequence[Coded]) -> Flags | None:
    """Return which rows have a text in any of *columns* that says not fitted; None where no row does."""
    said = [off for off in (value_says_not_fitted(*column) for column in columns) if off is not None]
    return np.logical_or.reduce(said) if said else None


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
    if not candidates:
        return FittedColumn(fitted)
    chosen, decisions = _choose(table, candidates, variant)
    header = table.header[chosen] if chosen < len(table.header) else ""
    negative = bool(_NEGATIVE_HEADER.search(header))
    cells = table.columns[chosen]
    numbers, texts = code(cells)
    verdicts = [_verdict(text, negative=negative) for text in texts]
    blank = [not text.strip() for text in texts]
    notes = []
    unclear = sorted(text for text, v in zip(texts, verdicts, strict=True) if v is None)
    if unclear:
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


def _verdict(text: str, *, negative: bool) -> bool | None:
    word = text.strip().casefold()
    if not word:
        return True
    if says_not_fitted(word) or _NC.fullmatch(word):
        return False
    if word in _FITTED:
        return True
    if word in _KINDS:
        return None if negative else True
    if word in _YES or (word.replace(".", "", 1).isdigit() and float(word) > 0):
        return not negative
    if word in _NO:
        return negative
    return None


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
            settle=f'variant = "{names[0]}"',
            open=True,
            place=Place(table.file, sheet=table.sheet),
        )
    ]
