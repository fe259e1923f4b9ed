"""Cells of a spreadsheet that no program takes for a formula, and CSV made of them."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence
from typing import Final

from capcheck.values import pattern

_NUMBER: Final = pattern(r"[+-]?(\d+(\.\d*)?|\.\d+)([eE][+-]?\d+)?")
_STARTS: Final = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")


def is_formula_like(text: str) -> bool:
    """Whether a spreadsheet could take *text* for a formula: it begins with one of ``= + - @`` and is no number."""
    return text.startswith(_STARTS) and _NUMBER.fullmatch(text) is None


def harmless(cell: object) -> str:
    """Return a cell as text that no spreadsheet takes for a formula: an apostrophe stands before one that it might."""
    text = "" if cell is None else str(cell)
    return f"'{text}" if is_formula_like(text) else text


def csv_text(rows: Iterable[Sequence[object]]) -> str:
    """Return rows of cells as CSV; no cell is taken for a formula."""
    out = io.StringIO()
    csv.writer(out, lineterminator="\n").writerows([harmless(cell) for cell in row] for row in rows)
    return out.getvalue()
