"""Rows that a table lists and that may not count all the same, and parts that a text says are fitted by hand."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

from capcheck.intake.tables.columns import Columns
from capcheck.intake.tables.conditional import conditional_rows
from capcheck.intake.tables.grouping import code
from capcheck.intake.tables.header_words import Role, read_title
from capcheck.intake.tables.open_columns import columns_asked
from capcheck.intake.tables.table import Table
from capcheck.intake.tables.two_columns import columns_against_each_other, offsets_asked
from capcheck.lexicon import Concept, fold, vocabulary
from capcheck.model import Said, say
from capcheck.values import pattern

_BY_HAND: Final = pattern(lambda: f"(?<![0-9a-z]){vocabulary().mountings.by_hand}")
_NAMES: Final = frozenset({Role.REF, Role.FOOTPRINT, Role.PART_NUMBER, Role.MANUFACTURER, Role.QUANTITY})
"""Columns that hold names and counts: a land pattern for soldering by hand says nothing of how its part is fitted."""
_SHOWN: Final = 80
_PHRASES: Final = pattern(r"[,;|()\n]")
_GREATEST: Final = pattern(r"\W*(?:max(?:imum|imal)?|up to|bis|<|≤)\W{0,3}(\d{2,3})\s?(?:°\s?c|℃|deg\s?c)\W*")
_COOLEST_OVEN: Final = 200
"""Degrees Celsius: what may not become as warm goes through no reflow oven; common practice, no source."""


def rows_asked(table: Table, columns: Columns, variant: str | None = None) -> dict[int, Said]:
    """Return the rows of which it is open whether they count, by their index, with why.

    *variant* is the column that says what is fitted, where one is named.
    """
    told = columns_against_each_other(table, columns) | offsets_asked(table, columns)
    told |= conditional_rows(table, columns) | columns_asked(table, columns, variant)
    hidden = [at for at in columns.index.values() if at in table.hidden_columns and any(table.columns[at])]
    every = say("tables.hidden columns", titles=[table.title(at) for at in hidden]) if hidden else None
    if every is None and not table.asked:
        return told
    formed = ((i, table.asked.get(number, every)) for i, number in enumerate(table.row_numbers))
    return told | {i: said for i, said in formed if said is not None}


def nothing_counted(table: Table, columns: Columns) -> dict[int, Said]:
    """Return the rows of placements whose quantity is 0 where that of most is not, with why they may not count."""
    at = columns.index.get(Role.QUANTITY)
    if at is None:
        return {}
    rows = [i for i, text in enumerate(table.columns[at]) if text and not text.strip("0., ")]
    if 2 * len(rows) >= len(table):
        return {}
    return {i: say("bom.quantity says", title=table.title(at), text=table.columns[at][i]) for i in rows}


def footnotes_asked(written: Sequence[str], plain: Sequence[str]) -> dict[int, Said]:
    """Return the rows whose reference as *written* bears the mark of a footnote, with why they are open."""
    marked = [i for i, text in enumerate(plain) if text != written[i]]
    return dict.fromkeys(marked, say("tables.footnote marks", texts=[written[i] for i in marked])) if marked else {}


def rows_by_hand(table: Table, columns: Columns) -> Mapping[int, str]:
    """Return the rows of which a text says that their part is fitted by hand, with that text."""
    names = {at for role, at in columns.index.items() if role in _NAMES}
    found: dict[int, str] = {}
    for at, cells in enumerate(table.columns):
        if at in names:
            continue
        numbers, texts = code(cells)
        remarks = at == columns.index.get(Role.COMMENT) or Concept.COMMENT in read_title(table.title(at)).concepts
        telling = {
            k: text
            for k, text in enumerate(texts)
            if _is_by_hand(text) or (remarks and (_is_too_cool(text) or _is_drilled(text)))
        }
        if telling:
            found |= {i: telling[k][:_SHOWN] for i, k in enumerate(numbers.tolist()) if k in telling}
    return found


def _is_by_hand(text: str) -> bool:
    if not any(map(str.isalpha, text)):
        return False
    words, folded = vocabulary().mountings, fold(text)
    if any(phrase in words.by_hand_alone for phrase in _PHRASES.split(text)):
        return True
    return words.by_hand.may_stand_in(folded) and _BY_HAND.search(folded) is not None


def _is_drilled(text: str) -> bool:
    """Whether a remark says no more than that its part has leads through holes."""
    words = vocabulary().mountings
    return text in words.drilled or text in words.drilled_alone


def _is_too_cool(text: str) -> bool:
    """Whether a remark bounds the temperature below that of an oven: ``max 85 °C``."""
    found = _GREATEST.fullmatch(fold(text)) if any(map(str.isdigit, text)) else None
    return found is not None and int(found[1]) < _COOLEST_OVEN
