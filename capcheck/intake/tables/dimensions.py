"""Columns that state a size, a mass or a pin count, in a bill of materials or in placement data."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING, Final

import numpy as np
from msgspec import Struct

from capcheck.intake.tables.cells import CellError, read_measure
from capcheck.intake.tables.columns import Columns
from capcheck.intake.tables.header_units import unread_unit
from capcheck.intake.tables.header_words import Role, read_title
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


class _Source(Struct, frozen=True):
    """A column that states a size: its role, its unit, and where cells that cannot be read are told."""

    role: Role
    column: int
    title: str
    unit: str | None
    problems: Problems


def read_dimensions(
    table: Table, columns: Columns, decimal: str | None, problems: Problems, *, without: frozenset[Role] = frozenset()
) -> DimensionColumns:
    """Return the sizes stated in *table*, each with its place, such as ``bom.csv:14 height``.

    The roles in *without* are not read: their titles are at fault.

    Rows with the same cells share one entry, which names the first of them. A size of 0 counts as not stated.
    """
    read: dict[tuple[int, str], Interval | None] = {}
    sources = [
        _Source(role, column, _title(table, column), unit, problems if first else Problems())
        for role in _DIMENSIONS
        if role in columns.index and role not in without
        for column, unit, first in _columns_of(role, table, columns)
    ]
    index = np.full(len(table), -1, dtype=np.int64)
    if not sources:
        return DimensionColumns(index, [])
    cells = [table.columns[source.column] for source in sources]
    distinct: list[Sizes] = []
    known: dict[tuple[str, ...], int] = {}
    for i, texts in enumerate(zip(*cells, strict=True)):
        if table.doubtful and table.row_numbers[i] in table.doubtful:
            continue  # its cells may be those of other columns
        at = known.get(texts)
        if at is None:
            sizes: dict[str, tuple[Interval, str]] = {}
            for source, text in zip(sources, texts, strict=True):
                where = Place(table.file, table.row_numbers[i], str(source.role), table.sheet)
                if (source.column, text) not in read:
                    read[source.column, text] = _read_cell(text, source, where, decimal=decimal)
                value = read[source.column, text]
                if value is not None:
                    _add(sizes, source, value, where)
            at = len(distinct) if sizes else -1
            if sizes:
                distinct.append(sizes)
            known[texts] = at
        index[i] = at
    return DimensionColumns(index, distinct)


def _columns_of(role: Role, table: Table, columns: Columns) -> Iterator[tuple[int, str | None, bool]]:
    """Yield each column that states *role* with its unit, the first marked so: ``height`` and ``max. height``.

    What the others hold is no fault of the file where it cannot be read.
    """
    unit = "" if _DIMENSIONS[role] is NUMBER else columns.units.get(role)
    yield columns.index[role], unit, True
    for column in () if role is Role.PINS else columns.variants.get(role, ()):
        title = _title(table, column)
        if unread_unit(title, _DIMENSIONS[role]) is None:
            yield column, next(iter(read_title(title).units), unit), False


def _title(table: Table, column: int) -> str:
    return table.header[column] if column < len(table.header) else ""


def _add(sizes: dict[str, tuple[Interval, str]], source: _Source, value: Interval, where: Place) -> None:
    """Add a stated size; of two columns that state it all counts from the one to the other."""
    role = str(source.role)
    before = sizes.get(role)
    if before is None:
        sizes[role] = (value, str(where))
    elif before[0].hull(value) != before[0]:
        sizes[role] = (before[0].hull(value), f"{before[1]} and {source.title}")


def _read_cell(text: str, source: _Source, where: Place, *, decimal: str | None) -> Interval | None:
    if text.strip().casefold() in _BLANK or text in vocabulary().answers.unstated:
        return None
    try:
        value = read_measure(text, _DIMENSIONS[source.role], unit=source.unit, decimal=decimal)
    except CellError as error:
        source.problems.add(where, error.what, error.why, error.remedy)
        return None
    return value if value.high > 0 else None
