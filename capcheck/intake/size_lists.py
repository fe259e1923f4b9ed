"""Lists of sizes by part number, without references, that lie beside the placements and the bill of materials."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Final

from msgspec.structs import replace

from capcheck.intake.tables import Columns, Recognised, Role, Table, read_dimensions, read_title
from capcheck.lexicon import fold
from capcheck.model import PartName
from capcheck.values import Interval, Problems

Sizes = Mapping[str, tuple[Interval, str]]
_SIZES: Final = frozenset({Role.LENGTH, Role.WIDTH, Role.HEIGHT, Role.SIZE})


def columns_of_sizes(table: Table) -> Columns | None:
    """Return the columns of a list of sizes by part number, or None where the table is none."""
    index: dict[Role, int] = {}
    units: dict[Role, str] = {}
    for i, text in enumerate(table.header):
        title = read_title(text)
        role = title.strongest
        if role is not None and (role in _SIZES or role is Role.PART_NUMBER) and title.claims[role] > 1:
            index.setdefault(role, i)
            if title.unit and role in _SIZES and index[role] == i:
                units[role] = title.unit
    if Role.PART_NUMBER not in index or not _SIZES & index.keys():
        return None
    return Columns(index=index, units=units, variants={})


def size_tables(sheets: Iterable[Recognised]) -> list[Table]:
    """Return the tables of a file that state sizes by part number and are neither placements nor lists of parts."""
    return [
        sheet.table
        for sheet in sheets
        if columns_of_sizes(sheet.table) and not sheet.score("bom") and not sheet.score("placements")
    ]


def with_listed_sizes(types: Sequence[PartName], lists: Iterable[Table]) -> list[PartName]:
    """Return the types with what *lists* state of their part numbers. Raises InputError for cells that are no sizes."""
    found = list(types)
    problems = Problems()
    for table in lists:
        columns = columns_of_sizes(table)
        if columns is None:
            continue
        sizes = read_dimensions(table, columns, table.decimal, problems)
        stated: dict[str, list[Sizes]] = {}
        for i, number in enumerate(table.columns[columns.index[Role.PART_NUMBER]]):
            if number and (given := sizes.of_row(i)):
                stated.setdefault(fold(number).strip(), []).append(given)
        for at, name in enumerate(found):
            if name.part_number and (told := stated.get(fold(name.part_number).strip())):
                found[at] = replace(name, other_dimensions=(*name.other_dimensions, *told))
    problems.raise_if_any()
    return found
