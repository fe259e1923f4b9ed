"""Columns that state a size, a mass or a pin count, in a bill of materials or in placement data."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Final

import numpy as np
from msgspec import Struct

from capcheck.intake.tables.cells import CellError, read_measure
from capcheck.intake.tables.columns import Columns
from capcheck.intake.tables.header_words import Role
from capcheck.lexicon import vocabulary
from capcheck.model import Ints
from capcheck.values import LENGTH, MASS, NUMBER, Dimension, Interval, Place, Problems

if TYPE_CHECKING:
    from capcheck.intake.tables.table import Table

Sizes = Mapping[str, tuple[Interval, str]]

_DIMENSIONS: Final[dict[Role, Dimension]] = {
    Role.LENGTH: LENGTH,
    Role.WIDTH: LENGTH,
    Role.HEIGHT: LENGTH,
    Role.PITCH: LENGTH,
    Role.MASS: MASS,
    Role.PINS: NUMBER,
}
_BLANK: Final = frozenset({"", "-", "–", "—", "~", "?", "x", "/"})


class DimensionColumns(Struct, frozen=True):
    """The stated sizes of each row: *distinct* holds them, *index* points there; −1 where a row states none."""

    index: Ints
    distinct: list[Sizes]

    def of_row(self, row: int) -> Sizes:
        """Return the sizes that the row with this index states."""
        at = int(self.index[row])
        return {} if at < 0 else self.distinct[at]


def read_dimensions(
    table: Table, columns: Columns, decimal: str | None, problems: Problems, *, without: frozenset[Role] = frozenset()
) -> DimensionColumns:
    """Return the sizes stated in *table*, each with its place, such as ``bom.csv:14 height``.

    The roles in *without* are not read: their titles are at fault.

    Rows with the same cells share one entry, which names the first of them. A size of 0 counts as not stated.
    """
    roles = [role for role in _DIMENSIONS if role in columns.index and role not in without]
    index = np.full(len(table), -1, dtype=np.int64)
    if not roles:
        return DimensionColumns(index, [])
    read: dict[tuple[Role, str], Interval | None] = {}
    cells = [table.columns[columns.index[role]] for role in roles]
    distinct: list[Sizes] = []
    known: dict[tuple[str, ...], int] = {}
    for i, texts in enumerate(zip(*cells, strict=True)):
        at = known.get(texts)
        if at is None:
            sizes: dict[str, tuple[Interval, str]] = {}
            for role, text in zip(roles, texts, strict=True):
                where = Place(table.file, table.row_numbers[i], str(role), table.sheet)
                if (role, text) not in read:
                    read[role, text] = _read_cell(text, role, columns, where, decimal=decimal, problems=problems)
                value = read[role, text]
                if value is not None:
                    sizes[str(role)] = (value, str(where))
            at = len(distinct) if sizes else -1
            if sizes:
                distinct.append(sizes)
            known[texts] = at
        index[i] = at
    return DimensionColumns(index, distinct)


def _read_cell(
    text: str, role: Role, columns: Columns, where: Place, *, decimal: str | None, problems: Problems
) -> Interval | None:
    if text.strip().casefold() in _BLANK or text in vocabulary().answers.unstated:
        return None
    dimension = _DIMENSIONS[role]
    unit = "" if dimension is NUMBER else columns.units.get(role)
    try:
        value = read_measure(text, dimension, unit=unit, decimal=decimal)
    except CellError as error:
        problems.add(where, error.what, error.why, error.remedy)
        return None
    return value if value.high > 0 else None
