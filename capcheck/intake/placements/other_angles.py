"""Further columns of angles in a placement table, and titles by which its places or angles mean something else."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np

from capcheck.intake.tables import TURNED, Columns, Role, Table, read_numbers, read_title, title_in_doubt
from capcheck.model import Decision, Floats, SetAside, Topic, say
from capcheck.values import Place, in_toml, pattern

_SAME_DEG: Final = 0.1
"""What rounding leaves between an angle in degrees and in radians of three decimals; common practice, no source."""
_TURNS: Final = pattern(r"^[^\d]*(?<![\w.])[+-]?(?:45|90|135|180|225|270|315)(?![\w.,])[^\d]*$")
"""A title with one angle in it, ``Rotation 45``: by so much its cells may be turned. A range is another matter."""
_PLACING: Final = (Role.X, Role.Y, Role.ROTATION)


def angles_apart(
    table: Table, columns: Columns, decimal: str | None, turned: Floats, refs: Sequence[str]
) -> tuple[Floats, tuple[Decision, ...]]:
    """Return the angles in degrees without those that a further column states otherwise, and the questions about them.

    A further column in which no cell but 0 stands states nothing: it is an offset that nobody has filled in.
    """
    decisions: list[Decision] = []
    first = columns.index.get(Role.ROTATION)
    for other in columns.variants.get(Role.ROTATION, ()) if first is not None else ():
        cells = [TURNED.sub("", text, count=1) for text in table.columns[other]]
        values, units = read_numbers(cells, decimal=decimal, thousands=False)
        if "rad" in {*units, read_title(table.title(other)).unit}:
            values = np.degrees(values)
        if not np.any(values[np.isfinite(values)]):
            continue
        gap = np.abs((values - turned + 180.0) % 360.0 - 180.0)
        rows = np.flatnonzero(gap > _SAME_DEG).tolist()
        if not rows:
            continue
        turned = turned.copy()
        turned[rows] = np.nan
        titles = [table.title(column) for column in (first, other) if column is not None]
        decisions.append(
            Decision(
                Topic.ROTATION,
                choice=say("placements.angle unknown", refs=[refs[i] for i in rows]),
                evidence=say("placements.two angles", titles=titles),
                settle=f"[columns.placements] rotation = {in_toml(titles[0])}",
                open=True,
                place=Place(table.file, table.row_numbers[rows[0]], table.title(other), table.sheet),
            )
        )
    return turned, tuple(decisions)


def doubted_titles(table: Table, columns: Columns) -> list[SetAside]:
    """Return the titles of places and angles that say of their numbers that they mean something special."""
    found = {columns.index[role]: role for role in _PLACING if role in columns.index and role not in columns.named}
    place = Place(table.file, table.header_row, sheet=table.sheet)
    return [
        SetAside(place, say("tables.before the header"), title)
        for at in found
        if title_in_doubt(title := table.title(at)) or (found[at] is Role.ROTATION and _TURNS.search(title))
    ]
