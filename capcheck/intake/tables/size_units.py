"""The unit of sizes whose titles name none: the one in which they are sizes of parts, asked about all the same."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Final

import numpy as np

from capcheck.intake.tables.cells import read_numbers
from capcheck.intake.tables.columns import Columns
from capcheck.intake.tables.header_words import Role
from capcheck.intake.tables.stated_units import other_unit
from capcheck.lexicon import mm_per
from capcheck.model import Decision, Floats, Topic, say
from capcheck.values import Place

if TYPE_CHECKING:
    from capcheck.intake.tables.table import Table

_SIDES: Final = (Role.LENGTH, Role.WIDTH, Role.HEIGHT)
_CANDIDATES: Final = ("mm", "in", "mil")
_LEAST_MM: Final = 0.1
_MOST_MM: Final = 60.0
_SMALL_MM: Final = 5.0
"""Of several parts one at least is no larger."""
_SEVERAL: Final = 3


def units_of_sizes(table: Table, columns: Columns, decimal: str | None) -> tuple[tuple[str, ...], tuple[Decision, ...]]:
    """Return the units that sizes without one may be in, and an open decision on them; none where all have a unit.

    Where no unit makes them sizes of parts there is none, and the cells cannot be read.
    """
    sides = [role for role in _SIDES if role in columns.index]
    contradicted = _contradicted(table, columns, [role for role in sides if columns.units.get(role)])
    bare = [role for role in sides if not columns.units.get(role)]
    values = _numbers((table.columns[columns.index[role]] for role in bare), decimal)
    if not len(values):
        return (), contradicted
    plausible = tuple(unit for unit in _CANDIDATES if _are_sizes(values * mm_per()[unit]))
    if not plausible:
        return (), contradicted
    titles = [table.title(columns.index[role]) for role in bare]
    decision = Decision(
        Topic.SIZE_UNIT,
        choice=say("units.of sizes", titles=titles, units=plausible),
        evidence=say("units.sizes of parts", least=float(values.min()), most=float(values.max())),
        settle=say("units.in the title", title=f"{titles[0]} (mm)"),
        open=True,
        place=Place(table.file, table.header_row, sheet=table.sheet),
    )
    return plausible, (*contradicted, decision)


def _contradicted(table: Table, columns: Columns, titled: Sequence[Role]) -> tuple[Decision, ...]:
    """Return an open decision where a line or a column of the list names another unit than the titles of sizes do."""
    for role in titled:
        beside = other_unit(table, columns, columns.units[role])
        if beside is not None:
            title = table.title(columns.index[role])
            return (
                Decision(
                    Topic.SIZE_UNIT,
                    choice=say("units.of a title", title=title),
                    evidence=beside.evidence,
                    runner_up=say("frame.unit", unit=beside.unit),
                    settle=say("units.one in the file"),
                    open=True,
                    place=Place(table.file, table.header_row, sheet=table.sheet),
                ),
            )
    return ()


def _numbers(columns: Iterable[Sequence[str]], decimal: str | None) -> Floats:
    cells = [cell for column in columns for cell in column]
    values, units = read_numbers(cells, decimal=decimal, thousands=False)
    bare = np.array([not unit for unit in units], dtype=np.bool_)
    found: Floats = values[np.isfinite(values) & bare & (values > 0)]
    return found


def _are_sizes(mm: Floats) -> bool:
    """Whether lengths in mm are sizes of parts: none too small or too large, and of several not all large."""
    small = len(mm) < _SEVERAL or mm.min() <= _SMALL_MM
    return bool(mm.min() >= _LEAST_MM and mm.max() <= _MOST_MM and small)
