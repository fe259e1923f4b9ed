"""Whether a cell that decides something says itself that it is not certain: ``top?``, ``yes (tbc)``."""

from __future__ import annotations

from typing import Final

from capcheck.lexicon import fold, vocabulary
from capcheck.values import pattern

_IN_DOUBT: Final = pattern(lambda: rf"\?|{vocabulary().answers.in_doubt}")


def is_in_doubt(cell: str) -> bool:
    """Whether a cell below a title that asks for an answer bears a question mark, or such words as *tbc*."""
    if cell.isalnum() and cell not in vocabulary().answers.in_doubt:
        return False
    return _IN_DOUBT.search(fold(cell)) is not None
