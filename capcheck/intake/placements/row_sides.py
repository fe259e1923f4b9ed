"""The side of each row: by its column, by letters before its angle, by titles, or by the names of file and sheet."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Final

import numpy as np

from capcheck.intake.placements.placement_columns import Known
from capcheck.intake.tables import (
    TURNED,
    Columns,
    Role,
    Table,
    against_names,
    against_titles,
    code,
    code_column,
    read_mirror_labels,
    read_side_labels,
    side_from_names,
    sides_by_titles,
)
from capcheck.model import Codes, Decision, Flags, Side, Topic, say
from capcheck.values import Place

_SHOWN_PROBLEMS: Final = 20
_Labels = Callable[[Iterable[str]], dict[str, Side | None]]


def read_side(table: Table, columns: Columns, known: Known) -> tuple[Codes, tuple[Decision, ...]]:
    """Return the side code of each row, and what was inferred where no column of sides tells it.

    Where no label of the column names a side that is known, the side is open.
    """
    titled = columns.index.get(Role.SIDE)
    column = columns.index.get(Role.LAYER_MIRROR) if titled is None else titled
    if column is None:
        return _by_angle(table, columns, known)
    cells = table.columns[column]
    numbers_of, labels = code(cells)
    sides = read_mirror_labels(labels) if titled is None else read_side_labels(labels)
    unknown = [label for label, side in sides.items() if side is None]
    told = [label for label, side in sides.items() if side is not None and label]
    if unknown and not told:
        name = table.header[column] if table.header else "side"
        decision = Decision(
            Topic.SIDE,
            say("placements.side unknown"),
            say("placements.labels of no side", title=name, labels=unknown[:_SHOWN_PROBLEMS]),
            settle='side = "top"',
            open=True,
            place=Place(table.file, table.row_numbers[cells.index(unknown[0])], name, table.sheet),
        )
        return np.full(len(table), Side.UNKNOWN, dtype=np.int8), (decision,)
    codes = code_column(labels, sides)[numbers_of]
    if np.all(codes == Side.UNKNOWN) and not unknown:
        return _without_column(table, known)
    against, asked = against_titles(table, codes)
    if asked is not None:
        return np.where(against, np.int8(Side.UNKNOWN), codes).astype(np.int8), (asked,)
    against, disputes = _against_others(table, columns, codes)
    if disputes:
        return np.where(against, np.int8(Side.UNKNOWN), codes).astype(np.int8), disputes
    contradicted = _against_names(table, known, codes, name=table.title(column))
    if contradicted is not None:
        return np.full(len(table), Side.UNKNOWN, dtype=np.int8), (contradicted,)
    numbers = sorted(label for label in labels if label.strip().isdigit())
    if not numbers or titled is None:
        return codes, ()
    meanings = [say("placements.means", label=n, side=str(side)) for n in numbers if (side := sides[n]) is not None]
    choice, evidence = say("placements.numbers of sides", meanings=meanings), say("placements.sides are numbers")
    return codes, (Decision(Topic.SIDE, choice, evidence, place=_place(table)),)


def _against_others(table: Table, columns: Columns, codes: Codes) -> tuple[Flags, tuple[Decision, ...]]:
    """Return which rows further columns put on the other side than their own cell, with the questions on them.

    They are those of mirror flags and further ones of sides.
    """
    against, asked = np.zeros(len(table), dtype=np.bool_), []
    if Role.SIDE in columns.index:
        mirror = columns.index.get(Role.LAYER_MIRROR)
        others = [] if mirror is None else [(mirror, read_mirror_labels)]
        others += [(at, read_side_labels) for at in columns.variants.get(Role.SIDE, ())]
        for at, read in others:
            rows, decision = _against_column(table, at, read, codes)
            if decision is not None:
                against |= rows
                asked.append(decision)
    return against, tuple(asked)


def _against_column(table: Table, column: int, read: _Labels, codes: Codes) -> tuple[Flags, Decision | None]:
    """Return the same of one column; one that says the same of all rows says nothing of any."""
    numbers, labels = code(table.columns[column])
    flags = code_column(labels, read(labels))[numbers]
    known = (flags != Side.UNKNOWN) & (codes != Side.UNKNOWN)
    against = known & (flags != codes)
    if not against.any() or len(np.unique(flags[known])) < 2:
        return np.zeros(len(table), dtype=np.bool_), None
    rows = [table.row_numbers[i] for i in np.flatnonzero(against).tolist()]
    title = table.title(column)
    return against, Decision(
        Topic.SIDE,
        say("placements.side unknown"),
        say("sides.against mirror", title=title, count=len(rows), rows=[str(row) for row in rows[:_SHOWN_PROBLEMS]]),
        settle='side = "top"',
        open=True,
        place=Place(table.file, rows[0], title, table.sheet),
    )


def _against_names(table: Table, known: Known, codes: Codes, name: str) -> Decision | None:
    """Return the question which side holds, where file, sheet or a line above name one and all rows say the other."""
    stated = set(codes.tolist()) - {int(Side.UNKNOWN)}
    found = side_from_names(table.file, table.sheet, table.preamble) or known.paired
    if known.side is not None or found is None or len(stated) != 1 or int(found[0]) in stated:
        return None
    return Decision(
        Topic.SIDE,
        say("placements.side unknown"),
        say("sides.against names", told=found[1], title=name, side=str(Side(stated.pop()))),
        settle='side = "top"',
        open=True,
        place=_place(table),
    )


def _by_angle(table: Table, columns: Columns, known: Known) -> tuple[Codes, tuple[Decision, ...]]:
    """Return the sides that letters before the angles tell, ``R90`` and ``MR90``; else look for them elsewhere."""
    column = columns.index.get(Role.ROTATION)
    codes, texts = code(table.columns[column]) if column is not None else (np.zeros(0, dtype=np.int64), [])
    marks = [TURNED.match(text) for text in texts]
    written = all(mark or not text for mark, text in zip(marks, texts, strict=True))
    if not written or not any(mark and mark[1] for mark in marks):
        return _without_column(table, known)
    side = [Side.UNKNOWN if mark is None else Side.BOTTOM if mark[1] else Side.TOP for mark in marks]
    choice, evidence = say("placements.bottom by M"), say("placements.angles with letters")
    return np.array(side, dtype=np.int8)[codes], (Decision(Topic.SIDE, choice, evidence, place=_place(table)),)


def _without_column(table: Table, known: Known) -> tuple[Codes, tuple[Decision, ...]]:
    if known.side is not None:
        return np.full(len(table), known.side, dtype=np.int8), ()
    if titled := sides_by_titles(table):
        sides, decision = titled
        return sides, (decision,)
    found = side_from_names(table.file, table.sheet, table.preamble) or known.paired
    if found is None:
        decision = Decision(
            Topic.SIDE,
            say("placements.side unknown"),
            say("placements.no side told"),
            settle='side = "top"',
            open=True,
            place=_place(table),
        )
        return np.full(len(table), Side.UNKNOWN, dtype=np.int8), (decision,)
    side, evidence = found
    settle = f'side = "{side}"'
    other = against_names(table.file, table.sheet, table.preamble, side)
    if other is not None:
        unknown = say("placements.side unknown")
        decision = Decision(
            Topic.SIDE, unknown, evidence, runner_up=other[1], settle=settle, open=True, place=_place(table)
        )
        return np.full(len(table), Side.UNKNOWN, dtype=np.int8), (decision,)
    choice = say("placements.all rows", side=str(side))
    decision = Decision(Topic.SIDE, choice, evidence, settle=settle, place=_place(table))
    return np.full(len(table), side, dtype=np.int8), (decision,)


def _place(table: Table) -> Place:
    return Place(table.file, sheet=table.sheet)
