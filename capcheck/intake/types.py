"""Placements grouped by what the data say about their part: bodies are looked up once for each group."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from capcheck.intake.columns import Role
from capcheck.intake.reconcile import prefixes
from capcheck.model import BomLine, Ints, Kind, PartName

if TYPE_CHECKING:
    from capcheck.intake.placements import PlacementColumns


def group_types(
    files: Sequence[PlacementColumns], base: Sequence[str], bom_line: Ints, lines: Sequence[BomLine]
) -> tuple[Ints, list[PartName]]:
    """Return the type of each placement (−1 for rows that are no parts) and the types.

    A row's type is its BOM line's texts with its own footprint; value and part number are the BOM's where it
    states them, else the row's. *base* and *bom_line* run over all files' rows.
    """
    types: list[PartName] = []
    index_of: dict[PartName, int] = {}
    found = np.full(len(bom_line), -1, dtype=np.int64)
    start = 0
    for file in files:
        end = start + len(file)
        columns = (
            bom_line[start:end].tolist(), prefixes(base[start:end]), file.text(Role.FOOTPRINT), file.text(Role.VALUE),
            file.text(Role.PART_NUMBER), file.text(Role.DESCRIPTION), file.text(Role.COMMENT),
            file.dimensions.index.tolist(),
        )  # fmt: skip
        known: dict[tuple[object, ...], int] = {}
        codes = []
        for i, key in enumerate(zip(*columns, strict=True)):
            at = known.get(key)
            if at is None:
                name = _part_name(file, i, key, lines)
                at = index_of.setdefault(name, len(types))
                if at == len(types):
                    types.append(name)
                known[key] = at
            codes.append(at)
        found[start:end] = np.where(file.kind == Kind.PART, codes, -1)
        start = end
    return _without_unused(found, types)


def _part_name(file: PlacementColumns, i: int, key: tuple[object, ...], lines: Sequence[BomLine]) -> PartName:
    number, prefix, footprint, value, part_number, description, comment, _ = map(str, key)
    line = lines[int(number)] if int(number) >= 0 else None
    own = file.dimensions.of_row(i)
    value = value or comment
    if line is None:
        where = f"{file.table.file}:{int(file.row[i])}"
        return PartName(part_number, footprint, value, description, "", prefix, own, where)
    place = f"{line.file}[{line.sheet}]" if line.sheet else line.file
    return PartName(
        line.part_number or part_number, footprint, line.value or value, line.description or description, line.package,
        prefix, {**own, **line.dimensions}, f"{place}:{line.row}",
    )  # fmt: skip


def _without_unused(found: Ints, types: list[PartName]) -> tuple[Ints, list[PartName]]:
    """Return the types that some placement has, numbered anew in their order."""
    used = np.zeros(len(types) + 1, dtype=np.bool_)
    used[found] = True
    used[-1] = False
    number = np.append(np.cumsum(used[:-1]) - 1, -1)
    return number[found], [t for t, u in zip(types, used, strict=False) if u]
