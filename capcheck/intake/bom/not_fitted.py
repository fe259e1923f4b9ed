"""Which lines of a bill of materials stay off the board: by column, quantity, text, a title above, or the sheet."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np
from msgspec import Struct

from capcheck.intake.tables import (
    Columns,
    FittedColumn,
    Role,
    Table,
    by_words,
    code,
    is_not_fitted_title,
    list_is_not_fitted,
    remarks_in,
    words_say_not_fitted,
)
from capcheck.model import Flags, Note, say

_TELLING: Final = (
    Role.VALUE,
    Role.PART_NUMBER,
    Role.COMMENT,
    Role.DESCRIPTION,
    Role.MOUNTING,
)
"""Columns in which a line may say that its parts stay off the board; a maker may be called NI or NS."""


class StaysOff(Struct, frozen=True):
    """Which rows stay off the board, which a cell says are fitted, and which of those have a text against it."""

    off: list[bool]
    stated: list[bool]
    contradicted: list[bool]
    titled: list[bool]
    """Which rows a title above them takes off."""


def stays_off(
    table: Table,
    columns: Columns,
    fitted: FittedColumn,
    quantities: Sequence[float | None],
    notes: list[Note],
    *,
    refs: Sequence[Sequence[str]],
    partly: Sequence[int] = (),
) -> StaysOff:
    """Return what stays off: by column, quantity, text, a title above, the sheet.

    *refs* are the references of each row. Texts of the rows *partly* take some of them off and not the line.

    A cell that says fitted wins over texts and over a quantity of 0, which is then asked about as a quantity.
    """
    none = np.zeros(len(table), dtype=np.bool_)
    if list_is_not_fitted(table):
        return StaysOff(off=[True] * len(table), stated=none.tolist(), contradicted=none.tolist(), titled=none.tolist())
    stated = none if fitted.stated is None else fitted.stated
    plain, doubted = _remarks(table, columns, refs)
    plain[list(partly)] = doubted[list(partly)] = False
    zero = np.array([quantity == 0 for quantity in quantities], dtype=np.bool_)
    said = plain | doubted
    against = doubted & fitted.fitted & ~zero
    said &= ~against
    off = ~fitted.fitted | ((zero | said) & ~stated)
    titled, told = _below_titles(table)
    if titled is not None:
        off |= titled
        notes += told
    refs = columns.references(table)
    notes += by_words(fitted, said & ~zero, refs, table.file, table.row_numbers)
    return StaysOff(
        off=off.tolist(),
        stated=(stated & ~off).tolist(),
        contradicted=((said & stated | against) & ~off).tolist(),
        titled=(none if titled is None else titled).tolist(),
    )


def _remarks(table: Table, columns: Columns, refs: Sequence[Sequence[str]]) -> tuple[Flags, Flags]:
    """Return which lines a text takes off the board plainly, and which it may: those are asked about."""
    texts = {role: code(table.columns[columns.index[role]]) for role in _TELLING if role in columns.index}
    none = np.zeros(len(table), dtype=np.bool_)
    plain, doubted = remarks_in(texts, refs) or (none, none.copy())
    if Role.MANUFACTURER in columns.index:
        made = words_say_not_fitted(*code(table.columns[columns.index[Role.MANUFACTURER]]))
        plain = plain if made is None else plain | made
    return plain, doubted


def _below_titles(table: Table) -> tuple[Flags | None, list[Note]]:
    """Return which rows stand below a title such as ``Not fitted:``, up to the next title; None where none does."""
    titles = table.titles
    if not any(is_not_fitted_title(text) for _, text in titles):
        return None, []
    rows = np.asarray(table.row_numbers, dtype=np.int64)
    off = np.zeros(len(rows), dtype=np.bool_)
    notes = []
    for (row, text), after in zip(titles, [*(row for row, _ in titles[1:]), np.inf], strict=True):
        below = (rows > row) & (rows < after)
        if is_not_fitted_title(text) and below.any():
            off |= below
            said = say("bom.below a title", lines=int(below.sum()), title=text.strip())
            notes.append(Note(said, table.place(row)))
    return (off, notes) if notes else (None, [])
