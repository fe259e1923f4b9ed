"""Rows that say the same again, cell by cell: one row of a part, written twice."""

from __future__ import annotations

from msgspec.structs import replace

from capcheck.intake.tables import Columns, Role, Table
from capcheck.model import Note, SetAside, say


def said_once(table: Table, columns: Columns) -> Table:
    """Return a table of placements without rows that repeat one above in every cell; they are set aside with a note.

    Rows without a reference, or with one that is still to be numbered, may be several parts, and stay. So do rows of
    which it is open whether they count or where their cells belong.
    """
    refs = table.columns[columns.index[Role.REF]]
    if len(set(refs)) == len(refs):
        return table
    open_rows = table.asked.keys() | table.doubtful | table.continued
    first: dict[tuple[str, ...], int] = {}
    kept: list[int] = []
    again: list[tuple[int, int, str]] = []
    for i, (row, cells) in enumerate(zip(table.row_numbers, zip(*table.columns, strict=True), strict=True)):
        if not refs[i] or "?" in refs[i] or row in open_rows or first.setdefault(cells, row) == row:
            kept.append(i)
        else:
            again.append((row, first[cells], " ".join(filter(None, cells))))
    if not again:
        return table
    repeated = tuple(dict.fromkeys(refs[i] for i in sorted(set(range(len(refs))).difference(kept))))
    note = Note(say("placements.rows again", count=len(again), refs=repeated), table.place(again[0][0]))
    aside = [SetAside(table.place(row), say("placements.same row", row=one), text) for row, one, text in again]
    return replace(
        table,
        columns=[[cells[i] for i in kept] for cells in table.columns],
        row_numbers=[table.row_numbers[i] for i in kept],
        set_aside=tuple(sorted((*table.set_aside, *aside), key=lambda one: one.place.row or 0)),
        notes=(*table.notes, note),
    )
