"""Cells that are merged over several rows, and what they may say of the rows below their first."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from capcheck.intake.files.grid import Grid
from capcheck.lexicon import fold, vocabulary
from capcheck.model import say
from capcheck.values import pattern

_NOT_FITTED: Final = pattern(lambda: rf"(?<![0-9a-z])(?:{vocabulary().fitted.not_fitted})(?![0-9a-z])")
_MOST: Final = 2000
"""Rows below merged cells that are looked at."""
_LONGEST: Final = 80


def ask_below_merged(grid: Grid, tall: Mapping[tuple[int, int], int]) -> None:
    """Ask about the rows over which a cell goes on that says not fitted: its text is read of the first of them alone.

    *tall* are the last rows of merged cells by their first row and column, all counted from 0.
    """
    if not tall or sum(last - first for (first, _), last in tall.items()) > _MOST:
        return
    rows = dict(zip(grid.numbers, grid.rows, strict=True))
    for (first, column), last in tall.items():
        cells = rows.get(first + 1, [])
        text = cells[column] if column < len(cells) else ""
        is_label = text.strip() in vocabulary().fitted.not_fitted_labels
        if 0 < len(text) <= _LONGEST and (is_label or _NOT_FITTED.search(fold(text))):
            said = say("files.merged from above", row=first + 1, text=text)
            for number in range(first + 2, last + 2):
                if any(rows.get(number, ())):
                    grid.asked.setdefault(number, said)
