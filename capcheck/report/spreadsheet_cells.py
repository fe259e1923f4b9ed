"""Cells of a spreadsheet that no program takes for a formula, and CSV made of them."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Iterator, Sequence
from typing import Final

from capcheck.lexicon import cautions
from capcheck.values import pattern, visible_lines

_NUMBER: Final = pattern(r"[+-]?(\d+(\.\d*)?|\.\d+)([eE][+-]?\d+)?")
_STARTS: Final = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")


def is_formula_like(text: str) -> bool:
    """Whether a spreadsheet could take *text* for a formula: it begins with one of ``= + - @`` and is no number."""
    return text.startswith(_STARTS) and _NUMBER.fullmatch(text) is None


def harmless(cell: object) -> str:
    """Return a cell as text that no spreadsheet takes for a formula, and no terminal for a command.

    An apostrophe stands before what might be a formula; control characters are shown as signs.
    """
    text = "" if cell is None else str(cell)
    shown = visible_lines(text)
    return f"'{shown}" if is_formula_like(text) or is_formula_like(shown) else shown


def with_cautions(rows: Iterable[Sequence[object]], note: Sequence[str] | None = None) -> Iterator[Sequence[object]]:
    """Yield a list's rows with a last column ``note``, which holds the cautions in the first row below the headings.

    A row of their own would be taken for an item of the list. A list without a row has nothing to be careful about.
    *note* is the heading and the cautions in another language.
    """
    note = note or ("note", cautions())
    for number, row in enumerate(rows):
        yield (*row, note[number] if number < 2 else "")


def csv_text(rows: Iterable[Sequence[object]]) -> str:
    """Return rows of cells as CSV; no cell is taken for a formula."""
    out = io.StringIO()
    csv.writer(out, lineterminator="\n").writerows([harmless(cell) for cell in row] for row in rows)
    return out.getvalue()
