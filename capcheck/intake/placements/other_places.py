"""A further column of x or of y alone, which no pair of coordinates holds: what it states otherwise is open."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from capcheck.intake.tables import Columns, Role, StatedUnit, Table, read_numbers, read_title
from capcheck.lexicon import mm_per
from capcheck.model import Decision, Floats, Topic, say
from capcheck.values import Place, in_toml

if TYPE_CHECKING:
    from collections.abc import Iterator

_SAME: Final = 0.05
"""What rounding leaves between two units, in mm or in what the numbers count."""
_SURE: Final = 1.0
_MOSTLY: Final = 0.5
"""The share of parts that must have one place in both columns; else the further one counts from elsewhere."""


def places_apart(
    table: Table, columns: Columns, decimal: str | None, pair: tuple[Floats, Floats], stated: StatedUnit | None
) -> tuple[tuple[Floats, Floats], tuple[Decision, ...]]:
    """Return the coordinates without those that a further column states otherwise, and the questions about them."""
    decisions, refs = [], table.columns[columns.index[Role.REF]]
    places = {Role.X: pair[0], Role.Y: pair[1]}
    for role, other in _alone(table, columns):
        values, _ = read_numbers(table.columns[other], decimal=decimal, thousands=False)
        unit = read_title(table.title(other)).unit
        scale = mm_per()[unit] / stated.factor if unit in mm_per() and stated is not None else 1.0
        gap = np.abs(values * scale - places[role])
        rows = np.flatnonzero(gap > _SAME).tolist()
        if not rows or np.count_nonzero(gap <= _SAME) < _MOSTLY * len(table):
            continue
        places[role] = np.where(gap > _SAME, np.nan, places[role])
        titles = [table.title(columns.index[role]), table.title(other)]
        decisions.append(
            Decision(
                Topic.NO_POSITION,
                choice=say("placements.place unknown", refs=[refs[i] for i in rows]),
                evidence=say("placements.two places", titles=titles),
                settle=f"[columns.placements] {role} = {in_toml(titles[0])}",
                open=True,
                place=Place(table.file, table.row_numbers[rows[0]], titles[1], table.sheet),
            )
        )
    return (places[Role.X], places[Role.Y]), tuple(decisions)


def _alone(table: Table, columns: Columns) -> Iterator[tuple[Role, int]]:
    """Yield the columns of x and of y that no pair holds; none of an axis whose column board.toml names."""
    taken = {*columns.index.values(), *(at for same in columns.variants.values() for at in same)}
    for at in set(range(len(table.header))) - taken:
        claims = read_title(table.title(at)).claims
        for role in {Role.X, Role.Y} - columns.named:
            if claims.get(role, 0.0) > _SURE:
                yield role, at
