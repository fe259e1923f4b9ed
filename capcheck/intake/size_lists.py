"""Lists of sizes by part number or by reference that lie beside the placements and the bill of materials."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Final

from msgspec.structs import replace

from capcheck.intake.tables import Columns, Recognised, Role, Table, expand_references, read_dimensions, read_title
from capcheck.lexicon import fold
from capcheck.model import PartName
from capcheck.values import Interval, Problems

Sizes = Mapping[str, tuple[Interval, str]]
_SIZES: Final = frozenset({Role.LENGTH, Role.WIDTH, Role.HEIGHT, Role.SIZE})
_OF: Final = (Role.PART_NUMBER, Role.REF)
"""What a list may state sizes of; the number goes first."""
_LISTS_PARTS: Final = 0.3
"""The score of a bill of materials of which more than its references speaks."""


def columns_of_sizes(table: Table) -> Columns | None:
    """Return the columns of a list of sizes by part number or reference, or None where the table is none."""
    index: dict[Role, int] = {}
    units: dict[Role, str] = {}
    for i, text in enumerate(table.header):
        title = read_title(text)
        role = title.strongest
        if role is not None and (role in _SIZES or role in _OF) and title.claims[role] > 1:
            index.setdefault(role, i)
            if title.unit and role in _SIZES and index[role] == i:
                units[role] = title.unit
    if not index.keys() & set(_OF) or not _SIZES & index.keys():
        return None
    return Columns(index=index, units=units, variants={})


def size_tables(sheets: Iterable[Recognised]) -> list[Table]:
    """Return the tables of a file that state sizes of parts and are neither placements nor lists of parts."""
    return [sheet.table for sheet in sheets if columns_of_sizes(sheet.table) and not _lists_parts(sheet)]


def _lists_parts(sheet: Recognised) -> bool:
    return sheet.score("placements") > 0 or sheet.score("bom") > _LISTS_PARTS


def with_listed_sizes(types: Sequence[PartName], lists: Iterable[Table], type_of: Mapping[str, int]) -> list[PartName]:
    """Return the types with what *lists* state of their part numbers, or of one of their references.

    *type_of* says which type each placed reference is of. Raises InputError for cells that are no sizes.
    """
    found = list(types)
    problems = Problems()
    for table in lists:
        columns = columns_of_sizes(table)
        if columns is None:
            continue
        sizes = read_dimensions(table, columns, table.decimal, problems)
        stated: dict[int, list[Sizes]] = {}
        for i, at in _rows_of_types(table, columns, found, type_of):
            if given := sizes.of_row(i):
                stated.setdefault(at, []).append(given)
        for at, told in stated.items():
            found[at] = replace(found[at], other_dimensions=(*found[at].other_dimensions, *told))
    problems.raise_if_any()
    return found


def _rows_of_types(
    table: Table, columns: Columns, types: Sequence[PartName], type_of: Mapping[str, int]
) -> Iterator[tuple[int, int]]:
    """Yield each row of a list with each type of which it speaks."""
    by = next(role for role in _OF if role in columns.index)
    numbered: dict[str, list[int]] = {}
    for at, name in enumerate(types):
        numbered.setdefault(fold(name.part_number).strip(), []).append(at)
    for i, text in enumerate(table.columns[columns.index[by]]):
        if not text.strip():
            continue
        if by is Role.PART_NUMBER:
            yield from ((i, at) for at in numbered.get(fold(text).strip(), ()))
        else:
            refs = expand_references(text, type_of)[0]
            yield from ((i, at) for at in dict.fromkeys(type_of[ref] for ref in refs if type_of.get(ref, -1) >= 0))
