"""Columns that state a size, a mass or a pin count, in a bill of materials or in placement data."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Final

import numpy as np
from msgspec import Struct

from capcheck.intake.tables.cells import CellError, read_measure
from capcheck.intake.tables.columns import Columns
from capcheck.intake.tables.header_units import unread_unit
from capcheck.intake.tables.header_words import Role, read_title
from capcheck.intake.tables.written_size import may_be_size, read_size, states_three_sides
from capcheck.lexicon import height_in_words, vocabulary
from capcheck.model import UNREAD_SIZE, Ints
from capcheck.values import LENGTH, MASS, NUMBER, Dimension, Interval, Place, Problems

if TYPE_CHECKING:
    from capcheck.intake.tables.table import Table

Sizes = Mapping[str, tuple[Interval, str]]

_DIMENSIONS: Final[dict[Role, Dimension]] = {
    Role.LENGTH: LENGTH,
    Role.WIDTH: LENGTH,
    Role.HEIGHT: LENGTH,
    Role.SIZE: LENGTH,
    Role.PITCH: LENGTH,
    Role.MASS: MASS,
    Role.PINS: NUMBER,
}
_BLANK: Final = frozenset({"", "-", "–", "—", "~", "?", "x", "/"})
_LONGEST_SHOWN: Final = 40
_ANY: Final = Interval(0.0, math.inf)


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

    role: Role | None
    """None for a column of lengths that nothing says the meaning of."""
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
    read: dict[tuple[int, str], Mapping[str, Interval]] = {}
    sources = [
        _Source(role, column, _title(table, column), unit, problems if first else Problems())
        for role in _DIMENSIONS
        if role in columns.index and role not in without
        for column, unit, first in _columns_of(role, table, columns)
    ]
    sources += [_Source(None, column, _title(table, column), None, problems) for column in columns.unclear]
    index = np.full(len(table), -1, dtype=np.int64)
    if not sources:
        return DimensionColumns(index, [])
    cells = [table.columns[source.column] for source in sources]
    decimal = decimal or _mark_beside(table, cells)
    distinct: list[Sizes] = []
    known: dict[tuple[str, ...], int] = {}
    for i, texts in enumerate(zip(*cells, strict=True)):
        if table.doubtful and table.row_numbers[i] in table.doubtful:
            continue  # its cells may be those of other columns
        at = known.get(texts)
        if at is None:
            sizes: dict[str, tuple[Interval, str]] = {}
            for source, text in zip(sources, texts, strict=True):
                row = table.row_numbers[i]
                if (source.column, text) not in read:
                    where = Place(table.file, row, str(source.role or source.title), table.sheet)
                    read[source.column, text] = _read_cell(text, source, where, decimal=decimal)
                for size, value in read[source.column, text].items():
                    _add(sizes, size, source, value, _said_at(table, row, size, source, text))
            at = len(distinct) if sizes else -1
            if sizes:
                distinct.append(sizes)
            known[texts] = at
        index[i] = at
    return DimensionColumns(index, distinct)


def _mark_beside(table: Table, cells: Sequence[Sequence[str]]) -> str | None:
    """Return the comma where semicolons or tabs leave it to the numbers, and none of them has a point."""
    apart = table.delimiter in {"semicolon", "tab"}
    return "," if apart and not any("." in cell for column in cells for cell in column) else None


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


def _said_at(table: Table, row: int, size: str, source: _Source, text: str) -> str:
    if size == UNREAD_SIZE:
        return f'{Place(table.file, row, None, table.sheet)}: {source.title} "{text[:_LONGEST_SHOWN]}"'
    return str(Place(table.file, row, size, table.sheet))


def _add(sizes: dict[str, tuple[Interval, str]], size: str, source: _Source, value: Interval, where: str) -> None:
    """Add a stated size; of two columns that state it all counts from the one to the other."""
    before = sizes.get(size)
    if before is None:
        sizes[size] = (value, where)
    elif before[0].hull(value) != before[0]:
        sizes[size] = (before[0].hull(value), f"{before[1]} and {source.title}")


def _read_cell(text: str, source: _Source, where: Place, *, decimal: str | None) -> Mapping[str, Interval]:
    """Return what a cell states, by the names of the sizes."""
    if text.strip().casefold() in _BLANK or text in vocabulary().answers.unstated:
        return {}
    if source.role is Role.SIZE:
        axes = read_title(source.title).axes
        found = read_size(text, unit=source.unit, axes=axes, decimal=decimal) if may_be_size(text) else {}
        return {UNREAD_SIZE: _ANY} if found is None else found
    if source.role is None:
        return {UNREAD_SIZE: _ANY} if any(c in "123456789" for c in text) else {}
    try:
        value = read_measure(text, _DIMENSIONS[source.role], unit=source.unit, decimal=decimal)
    except CellError as error:
        source.problems.add(where, error.what, error.why, error.remedy)
        return {}
    return {str(source.role): value} if value.high > 0 else {}


def heights_in_remarks(table: Table, columns: Columns) -> dict[int, list[str]]:
    """Return for each row the texts that state a height in words, in columns that say nothing else of the part."""
    known = {i for role, i in columns.index.items() if role is not Role.COMMENT}
    found: dict[int, list[str]] = {}
    for column in set(range(len(table.columns))) - known:
        for i, text in enumerate(table.columns[column]):
            if text and (height_in_words(text) or states_three_sides(text)):
                found.setdefault(i, []).append(text)
    return found


def names_of_sizes(table: Table, columns: Columns) -> Sequence[str] | None:
    """Return for each row the codes and names, such as 0603, in its columns of sizes; None without such a column."""
    if Role.SIZE not in columns.index:
        return None
    cells = [table.columns[i] for i in (columns.index[Role.SIZE], *columns.variants.get(Role.SIZE, ()))]
    return [
        ", ".join(c for c in row if c and c.casefold() not in _BLANK and not may_be_size(c))
        for row in zip(*cells, strict=True)
    ]
