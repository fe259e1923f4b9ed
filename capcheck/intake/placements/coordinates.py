"""Coordinates as a table writes them: the pairs of x and y, the unit that cells name, and cells that are no number."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

import numpy as np

from capcheck.intake.placements.thousands import Marks
from capcheck.intake.tables import Columns, Role, StatedUnit, Table, read_numbers
from capcheck.lexicon import mm_per
from capcheck.model import Floats, Note, say
from capcheck.values import Place, Problems

_SHOWN_PROBLEMS: Final = 20
_SAME_CENTRE_MM: Final = 0.05


def read_pairs(
    table: Table, columns: Columns, marks: Marks, stated: StatedUnit | None, problems: Problems
) -> tuple[list[tuple[Floats, Floats]], StatedUnit | None]:
    """Return the x/y pairs, the main one first, and the unit where the cells name one.

    Where cells differ in their unit all are turned to mm, and mm is the unit.
    """
    xs = (columns.index[Role.X], *columns.variants.get(Role.X, ()))
    ys = (columns.index[Role.Y], *columns.variants.get(Role.Y, ()))
    read = [
        (
            _numbers(table, x, marks, problems if i == 0 else Problems()),
            _numbers(table, y, marks, problems if i == 0 else Problems()),
        )
        for i, (x, y) in enumerate(zip(xs, ys, strict=False))
    ]
    units = {u for pair in read for _, distinct, _ in pair for u in distinct} - {""}
    bare = any("" in distinct for _, distinct, _ in read[0])
    if not units:
        return [(x[0], y[0]) for x, y in read], None
    if len(units) == 1 and not bare:
        unit = units.pop()
        return [(x[0], y[0]) for x, y in read], StatedUnit(unit, say("units.cells"))
    default = stated.factor if stated else (mm_per()[next(iter(units))] if len(units) == 1 else math.nan)
    factors = {**mm_per(), "": default}
    pairs = [tuple(v * np.array([factors[u] for u in cells]) for v, _, cells in pair) for pair in read]
    for cells in (read[0][0][2], read[0][1][2]):
        if math.isnan(default) and "" in cells:
            row = table.row_numbers[cells.index("")]
            problems.add(
                Place(table.file, row, "x/y", table.sheet),
                "has no unit while other cells name different ones",
                "its size cannot be known",
                'write the unit in every cell, or set units = "mm" in board.toml',
            )
            break
    return [(p[0], p[1]) for p in pairs], StatedUnit("mm", say("units.cells of several", units=sorted(units)))


def _numbers(table: Table, column: int, marks: Marks, problems: Problems) -> tuple[Floats, set[str], list[str]]:
    """Return a column's numbers, the distinct units of the cells that hold one, and each cell's unit."""
    cells = table.columns[column]
    values, units = read_numbers(cells, decimal=marks.decimal, thousands=marks.thousands)
    wrong = np.flatnonzero(~np.isfinite(values))
    bad = [i for i in wrong.tolist() if cells[i].strip()]
    distinct = {units[0]} if units and units.count(units[0]) == len(units) else set(units)
    strange = distinct - set(mm_per()) - {""}
    if strange:
        folded = {u: u.casefold().rstrip(".") for u in strange}
        units = [folded.get(u, u) for u in units]
        unknown = {u for u in folded.values() if u not in mm_per()}
        no_length = [i for i, u in enumerate(units) if u in unknown]
        values[no_length] = np.nan  # 5 kg is no place, and neither is 70°
        bad += no_length
        distinct = set(units) - unknown
    if (
        len(wrong)
        and "" in distinct
        and not any(u == "" and math.isfinite(v) for u, v in zip(units, values, strict=True))
    ):
        distinct = distinct - {""}
    wrong_cells = ("is not a coordinate", "the part's place would be unknown")
    refuse_cells(table, column, sorted(set(bad)), wrong_cells, problems)
    return values, distinct, units


def refuse_cells(table: Table, column: int, rows: Sequence[int], wrong: tuple[str, str], problems: Problems) -> None:
    """Add the cells of *rows* to *problems*, with what is *wrong* with them and why it matters; many are counted.

    Where other cells of the column can be read these are no reason to refuse the file: their parts are open.
    """
    what, why = wrong
    if len(rows) < sum(map(bool, table.columns[column])):
        return
    name = table.header[column] if column < len(table.header) else f"column {column + 1}"
    for i in rows[:_SHOWN_PROBLEMS]:
        where = Place(table.file, table.row_numbers[i], name, table.sheet)
        problems.add(
            where, f'"{table.columns[column][i][:60]}" {what}', why, "write a number, with its unit or without"
        )
    if len(rows) > _SHOWN_PROBLEMS:
        problems.add(
            Place(table.file, None, name, table.sheet),
            f"{len(rows) - _SHOWN_PROBLEMS} more cells {what.replace('is not', 'are not')}",
        )


def unread_cells(table: Table, columns: Columns, pair: tuple[Floats, Floats]) -> dict[int, tuple[str, str]]:
    """Return the rows of which a coordinate is no number, with the title of its column and what its cell says."""
    found: dict[int, tuple[str, str]] = {}
    for role, values in zip((Role.Y, Role.X), reversed(pair), strict=True):
        at = columns.index[role]
        for i in np.flatnonzero(~np.isfinite(values)).tolist():
            if text := table.columns[at][i].strip():
                found[i] = table.title(at), text[:60]
    return found


def centre_taken(
    table: Table, columns: Columns, pairs: Sequence[tuple[Floats, Floats]], stated: StatedUnit | None
) -> list[Note]:
    """Return a note where other coordinates differ from those taken: a wrong choice moves every large part."""
    x, y = pairs[0]
    apart = []
    for column, (other_x, other_y) in zip(columns.variants.get(Role.X, ()), pairs[1:], strict=False):
        far = np.hypot(other_x - x, other_y - y)
        most = float(far[np.isfinite(far)].max(initial=0.0)) * (stated.factor if stated else 1.0)
        if most > _SAME_CENTRE_MM and column < len(table.header):
            key = "placements.away in mm" if stated else "placements.away"
            apart.append(say(key, title=table.header[column], distance=most))
    if not apart:
        return []
    taken = [table.header[columns.index[role]] for role in (Role.X, Role.Y)]
    said = say("placements.centre taken", x=taken[0], y=taken[1], others=apart)
    return [Note(said, Place(table.file, table.header_row, sheet=table.sheet))]
