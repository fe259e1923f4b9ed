"""Parts that a text of their row says the customer provides: *consigned*, *free issue*, *beigestellt*."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from capcheck.intake.tables.columns import Columns
from capcheck.intake.tables.grouping import code
from capcheck.intake.tables.header_words import Role
from capcheck.intake.tables.table import Table
from capcheck.lexicon import fold, vocabulary
from capcheck.values import pattern

_PROVIDED: Final = pattern(lambda: f"(?<![0-9a-z]){vocabulary().supplies.provided}")
_NOT_PROVIDED: Final = pattern(lambda: str(vocabulary().supplies.not_provided))
_NAMES: Final = frozenset({Role.REF, Role.FOOTPRINT, Role.QUANTITY})
"""Columns that hold names and counts, and say nothing of who provides a part."""
_SHOWN: Final = 80


def rows_provided(table: Table, columns: Columns) -> Mapping[int, str]:
    """Return the rows of which a text says that the customer provides their part, with that text.

    A title such as "consigned" says it of the rows that it answers with yes.
    """
    names = {at for role, at in columns.index.items() if role in _NAMES}
    answers = vocabulary().answers
    found: dict[int, str] = {}
    for at, cells in enumerate(table.columns):
        if at in names:
            continue
        numbers, texts = code(cells)
        telling = {k: text for k, text in enumerate(texts) if says_provided(text)}
        title = table.title(at)
        if says_provided(title):
            said = {k for k, text in enumerate(texts) if text in answers.yes or text in answers.yes_marks}
            telling |= {k: f"{title}: {texts[k]}" for k in said}
        if telling:
            found |= {i: telling[k][:_SHOWN] for i, k in enumerate(numbers.tolist()) if k in telling}
    return found


def says_provided(text: str) -> bool:
    """Whether a text says that the customer provides the part of its row: ``consigned``, and not ``not consigned``."""
    words = vocabulary().supplies
    folded = fold(text)
    if not words.provided.may_stand_in(folded) or _PROVIDED.search(folded) is None:
        return False
    return _NOT_PROVIDED.search(_PROVIDED.sub(" ", folded)) is None
