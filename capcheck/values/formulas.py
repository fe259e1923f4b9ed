"""Cells of a table that no spreadsheet takes for a formula, as they are written and as they are read back."""

from __future__ import annotations

from typing import Final

from capcheck.values.control_characters import visible_lines
from capcheck.values.patterns import pattern

_NUMBER: Final = pattern(r"[+-]?(\d+(\.\d*)?|\.\d+)([eE][+-]?\d+)?")
_STARTS: Final = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")
_MARK: Final = "'"


def is_formula_like(text: str) -> bool:
    """Whether a spreadsheet could take *text* for a formula: it begins with one of ``= + - @`` and is no number."""
    return text.startswith(_STARTS) and _NUMBER.fullmatch(text) is None


def harmless(cell: object) -> str:
    """Return a cell as text that no spreadsheet takes for a formula, and no terminal for a command.

    An apostrophe stands before what might be a formula, and before one that has apostrophes of its own, so that
    :func:`as_written` gives it back; control characters are shown as signs.
    """
    text = "" if cell is None else str(cell)
    shown = visible_lines(text)
    bare = text.lstrip(_MARK), shown.lstrip(_MARK)
    return f"{_MARK}{shown}" if any(map(is_formula_like, bare)) else shown


def as_written(cell: str) -> str:
    """Return what a cell says that :func:`harmless` may have written."""
    return cell[1:] if cell.startswith(_MARK) and is_formula_like(cell.lstrip(_MARK)) else cell
