"""Angles as a table writes them, in degrees: radians told by their size, cells that are no angle reported."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

import numpy as np

from capcheck.intake.placements.coordinates import refuse_cells
from capcheck.intake.tables import TURNED, Columns, Role, Table, code, read_numbers, read_title
from capcheck.model import Decision, Flags, Floats, Note, Topic, say
from capcheck.values import Place, Problems

_DEGREES: Final = frozenset({"", "°", "deg", "deg.", "degree", "degrees", "grad", "º"})


_MOST_DEGREES: Final = 720.0
"""Two turns: beyond it a number counts something else, such as hundredths of a degree; common practice, no source."""
_MOST_RADIANS: Final = 4 * math.pi


def unread_rotation(table: Table, columns: Columns) -> list[Note]:
    """Return a note where a title speaks of the rotation and its cells are not angles: the parts then have none."""
    if Role.ROTATION in columns.index:
        return []
    for name, column in zip(table.header, table.columns, strict=False):
        if Role.ROTATION in read_title(name).claims and any(column):
            said = say("placements.no angles", title=name, cell=next(cell for cell in column if cell)[:30])
            return [Note(said, Place(table.file, table.header_row, sheet=table.sheet))]
    return []


def read_rotation(
    table: Table, columns: Columns, decimal: str | None, problems: Problems
) -> tuple[Floats, tuple[Decision, ...]]:
    """Return the angles in degrees, 0 up to but not including 360, and that they are radians where only that fits.

    NaN where the cell is blank. Cells that are no angle are added to *problems*.
    """
    column = columns.index.get(Role.ROTATION)
    if column is None:
        return np.full(len(table), np.nan), ()
    # Few angles differ: each is read once. None has thousands: 90,000 is a quarter turn.
    codes, texts = code(table.columns[column])
    decisions: tuple[Decision, ...] = ()
    values, units = read_numbers([TURNED.sub("", text, count=1) for text in texts], decimal=decimal, thousands=False)
    distinct = {u.casefold() for u in units}
    bad = {
        k
        for k, (text, value, unit) in enumerate(zip(texts, values.tolist(), units, strict=True))
        if (text.strip() and not abs(value) <= _MOST_DEGREES) or unit.casefold() not in {*_DEGREES, "rad"}
    }
    if bad:
        rows = np.flatnonzero(np.isin(codes, list(bad))).tolist()
        refuse_cells(table, column, rows, ("is not an angle", "the part would be turned wrongly"), problems)
        values[list(bad)] = np.nan
        cells = [texts[k] for k in sorted(bad)]
        refs = [table.columns[columns.index[Role.REF]][i] for i in rows]
        unread = Decision(
            Topic.ROTATION,
            choice=say("placements.angle unknown", refs=refs),
            evidence=say("placements.no angle in cells", cells=cells, rows=[str(table.row_numbers[i]) for i in rows]),
            settle=say("placements.angle in degrees"),
            open=True,
            place=Place(table.file, table.row_numbers[rows[0]], table.title(column), table.sheet),
        )
        decisions = (unread,)
    stated = (columns.units.get(Role.ROTATION) or "").casefold()
    if {"deg", "rad"} <= set(read_title(table.title(column)).units):
        decisions += (_two_units(table, table.title(column), stated, "units.two in a title"),)
    elif stated.startswith("rad") and np.nanmax(np.abs(values), initial=0.0) > _MOST_RADIANS:
        decisions += (_two_units(table, table.title(column), stated, "placements.many turns"),)
    if stated.startswith("rad") or distinct - {""} == {"rad"}:
        values = np.degrees(values)
    elif not stated and not distinct - {""} and looks_like_radians(values[codes]):
        values = np.degrees(values)
        decision = Decision(
            Topic.ROTATION,
            choice=say("placements.radians"),
            evidence=say("placements.eighths as radians"),
            runner_up=say("placements.degrees"),
            settle=say("placements.unit of the angle"),
            place=Place(table.file, sheet=table.sheet),
        )
        decisions += (decision,)
    # Rounded to a ten-thousandth, so that 1.5708 rad is 90° and -1e-9° is 0.
    turned = np.round(np.mod(np.round(values, 4), 360.0), 4)
    turned[turned == 360.0] = 0.0
    return np.asarray(turned[codes], dtype=np.float64), decisions


def _two_units(table: Table, title: str, stated: str, why: str) -> Decision:
    """Return the question in which unit the angles are, where title and unit below it, or title and cells, differ."""
    radians = stated.startswith("rad")
    return Decision(
        Topic.ROTATION,
        choice=say("placements.radians" if radians else "placements.degrees"),
        evidence=say(why, title=title),
        runner_up=say("placements.degrees" if radians else "placements.radians"),
        settle=say("placements.unit of the angle"),
        open=True,
        place=Place(table.file, table.header_row, title, table.sheet),
    )


def looks_like_radians(values: Floats) -> bool:
    """Whether angles make sense only as radians: within a turn, some not whole, those on eighths of a turn."""
    known = values[np.isfinite(values)]
    odd = known[known != np.round(known)]
    if not len(odd) or np.abs(known).max() > 2 * math.pi + 0.01:
        return False
    eighths = odd / (math.pi / 4)
    whole = known[known == np.round(known)]
    # 3.14 is a quarter turn to two decimals: half a hundredth of slack. Whole numbers other than 0 are degrees.
    return bool((np.abs(eighths - np.round(eighths)) < 0.008).mean() >= 0.5) and not bool(np.any(whole != 0))


def blank_angle(
    table: Table, columns: Columns, rotation: Floats, placed: Flags, refs: Sequence[str]
) -> Decision | None:
    """Return that the angle of some parts is unknown, where their rows leave it blank and those of others state one.

    *placed* are the rows of parts to place; *rotation* is NaN where a cell is blank or no angle.
    """
    column = columns.index.get(Role.ROTATION)
    if column is None or not np.isfinite(rotation[placed]).any():
        return None
    cells = table.columns[column]
    rows = [i for i in np.flatnonzero(placed & ~np.isfinite(rotation)).tolist() if not cells[i].strip()]
    if not rows:
        return None
    return Decision(
        Topic.ROTATION,
        choice=say("placements.angle unknown", refs=[refs[i] for i in rows]),
        evidence=say("placements.blank angles"),
        settle=say("placements.angle in degrees"),
        open=True,
        place=Place(table.file, table.row_numbers[rows[0]], table.title(column), table.sheet),
    )
