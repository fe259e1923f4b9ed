"""Whether a comma or point before three digits parts the thousands of coordinates: 20,000 mm is 20 mm, not 20 m."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

import numpy as np
from msgspec import Struct

from capcheck.intake.tables import Columns, Role, StatedUnit, Table, ambiguous_cells, read_numbers
from capcheck.lexicon import mm_per
from capcheck.model import Decision, Floats, Topic, say
from capcheck.values import Place

_LONGEST_BOARD_MM: Final = 1500.0
"""No placement machine takes a longer board; common practice, no source."""
_SHORTEST_BOARD_MM: Final = 3.0


class Marks(Struct, frozen=True):
    """How the numbers of a table are written: the decimal mark, and what a mark with three digits behind it is."""

    decimal: str | None
    thousands: bool | None = None
    """Whether such a mark parts thousands where it is not the decimal one; None where no coordinate has one."""
    decisions: tuple[Decision, ...] = ()


def marks_of(table: Table, columns: Columns, stated: StatedUnit | None, decimal: str | None) -> Marks:
    """Return how a table writes its numbers, where *decimal* is the mark that board.toml or the cells settle, if any.

    A comma before exactly three digits could part thousands. What the two readings make of the parts' extent decides:
    as thousands of mm they would lie metres apart. Where both make a board the decision is open.
    """
    cells = [*table.columns[columns.index[Role.X]], *table.columns[columns.index[Role.Y]]]
    unclear = ambiguous_cells(cells, decimal)
    if not unclear:
        return Marks(decimal)
    as_decimal, as_thousands = (_extent(table, columns, stated, decimal, thousands) for thousands in (False, True))
    # Small numbers have no thousands: where each cell has its mark, it is the decimal one.
    bare = sum(any(c in "123456789" for c in cell) and "," not in cell and "." not in cell for cell in cells)
    if math.isnan(as_decimal):
        thousands, sure = False, not bare
    else:
        fits = [_SHORTEST_BOARD_MM <= extent <= _LONGEST_BOARD_MM for extent in (as_decimal, as_thousands)]
        thousands = as_thousands <= _LONGEST_BOARD_MM and (not fits[0] or bool(bare))
        sure = fits[0] != fits[1] or (as_thousands > _LONGEST_BOARD_MM and not bare)
    mark = next(c for c in unclear[0] if c in ",.")
    key = "placements.mark parts thousands" if thousands else "placements.mark is decimal"
    rival = "placements.mark is decimal" if thousands else "placements.mark parts thousands"
    evidence = say("placements.three digits behind", cell=unclear[0], cells=len(unclear))
    if not math.isnan(as_decimal):
        extents = {"decimal": as_decimal, "thousands": as_thousands}
        evidence = say("placements.extent either way", cell=unclear[0], cells=len(unclear), **extents)
    decision = Decision(
        Topic.UNIT,
        choice=say(key, mark=mark),
        evidence=evidence,
        runner_up=say(rival, mark=mark),
        settle=f'decimal = "{mark if not thousands else "." if mark == "," else ","}"',
        open=not sure,
        place=Place(table.file, sheet=table.sheet),
    )
    return Marks(decimal or (mark if not thousands else None), thousands, (decision,))


def _extent(table: Table, columns: Columns, stated: StatedUnit | None, decimal: str | None, thousands: bool) -> float:
    """Return how far the parts lie apart in mm, or from the origin where all lie at one place; NaN without a unit."""
    sides = [_in_mm(table.columns[columns.index[role]], stated, decimal, thousands) for role in (Role.X, Role.Y)]
    known = [side[np.isfinite(side)] for side in sides]
    if not all(map(len, known)):
        return math.nan
    return max(float(np.ptp(side)) for side in known) or max(float(np.abs(side).max()) for side in known)


def _in_mm(cells: Sequence[str], stated: StatedUnit | None, decimal: str | None, thousands: bool) -> Floats:
    values, units = read_numbers(cells, decimal=decimal, thousands=thousands)
    bare = math.nan if stated is None else stated.factor
    factors = {**mm_per(), "": bare}
    lengths: Floats = values * np.array([factors.get(unit, math.nan) for unit in units])
    return lengths
