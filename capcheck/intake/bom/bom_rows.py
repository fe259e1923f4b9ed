"""Rows of a bill of materials that say something about others: titles over parts not fitted, continued lists."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np
from msgspec.structs import replace

from capcheck.intake.tables import is_not_fitted_title
from capcheck.model import BomLine, Flags, Note
from capcheck.values import Place

if TYPE_CHECKING:
    from capcheck.intake.tables import Table


def below_titles(table: Table) -> tuple[Flags | None, list[Note]]:
    """Return which rows stand below a title such as ``Not fitted:``, up to the next title; None where none does."""
    titles = [aside for aside in table.set_aside if aside.is_title]
    if not any(is_not_fitted_title(title.text) for title in titles):
        return None, []
    rows = np.asarray(table.row_numbers, dtype=np.int64)
    off = np.zeros(len(rows), dtype=np.bool_)
    notes = []
    for title, after in zip(titles, [*(t.row for t in titles[1:]), np.inf], strict=True):
        below = (rows > title.row) & (rows < after)
        if is_not_fitted_title(title.text) and below.any():
            off |= below
            count = int(below.sum())
            what = f"the {count} lines" if count > 1 else "the line"
            verb = "are" if count > 1 else "is"
            notes.append(
                Note(f'{what} below "{title.text.strip()}" {verb} taken as not fitted', Place(table.file, title.row))
            )
    return (off, notes) if notes else (None, [])


def is_continued(table: Table, row: int, reference: int, before: BomLine | None) -> bool:
    """Whether a row holds nothing but references, which belong to the line *before* it.

    A line whose quantity is reached already is not continued: then the row is a part of which nothing is known.
    """
    if before is None or not before.refs or not (before.part_number or before.value or before.description):
        return False
    if before.quantity is not None and before.quantity <= len(before.refs):
        return False
    return not any(column[row] for k, column in enumerate(table.columns) if k != reference)


def with_more(line: BomLine, refs: Sequence[str]) -> BomLine:
    """Return *line* with the references of a row that continues its list."""
    return replace(line, refs=tuple(dict.fromkeys((*line.refs, *refs))))
