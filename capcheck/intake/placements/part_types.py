"""Placements grouped by what the data say about their part: bodies are looked up once for each group."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Final

import numpy as np
from msgspec.structs import replace

from capcheck.intake.tables import Role, code, group, may_name_body, prefix_of
from capcheck.lexicon import is_named
from capcheck.model import BomLine, Ints, Kind, PartName
from capcheck.values import Place

if TYPE_CHECKING:
    from capcheck.intake.placements.placement_columns import PlacementColumns


def group_types(
    files: Sequence[PlacementColumns],
    bom_line: Ints,
    lines: Sequence[BomLine],
    other_lines: Sequence[tuple[int, ...]] = (),
) -> tuple[Ints, list[PartName]]:
    """Return the type of each placement (−1 for rows that are no parts) and the types.

    A row's type is its BOM line's texts with its own footprint; value and part number are the BOM's where it
    states them, else the row's. A sign or word for a number that is not given is none: what shares it is not one part.
    *bom_line* runs over all files' rows, and so do *other_lines*, the further lines of the BOM that name each
    reference, if any does.
    """
    types: list[PartName] = []
    index_of: dict[PartName, int] = {}
    found = np.full(len(bom_line), -1, dtype=np.int64)
    start = 0
    further, distinct = np.zeros(len(bom_line), dtype=np.int64), [""]
    if other_lines:
        further, distinct = code([" ".join(map(str, numbers)) for numbers in other_lines])
    for file in files:
        rows = slice(start, start + len(file))
        start += len(file)
        # A circuit's suffix is no part of the letters, so the references as written serve.
        stem, stems = file.stem
        letter, letters = code([prefix_of(s) for s in stems])
        prefix = letter[stem]
        codes = [file.texts[role][0] for role in _ROLES if role in file.texts]
        groups, first = group([bom_line[rows], file.dimensions.index, prefix, further[rows], *codes, *_open(file)])
        numbers = []
        for i in first.tolist():
            name = _part_name(file, i, letters[prefix[i]], int(bom_line[rows][i]), lines)
            if rivals := distinct[int(further[rows][i])].split():
                others = (_part_name(file, i, letters[prefix[i]], int(number), lines) for number in rivals)
                name = replace(name, others=tuple(others))
            at = index_of.setdefault(name, len(types))
            if at == len(types):
                types.append(name)
            numbers.append(at)
        found[rows] = np.where(file.kind == Kind.PART, np.array(numbers, dtype=np.int64)[groups], -1)
    return _without_unused(found, types)


_ROLES: Final = (Role.FOOTPRINT, Role.VALUE, Role.PART_NUMBER, Role.DESCRIPTION, Role.COMMENT, Role.MOUNTING, Role.SIZE)


def _open(file: PlacementColumns) -> list[Ints]:
    """Return, as one column, which rows' bodies are open; none where no row's is."""
    return [] if file.body_open is None else [file.body_open.astype(np.int64)]


def _part_name(file: PlacementColumns, i: int, prefix: str, number: int, lines: Sequence[BomLine]) -> PartName:
    footprint, value, part_number, description, comment, mounting, size = (file.text(role, i) for role in _ROLES)
    line = lines[number] if number >= 0 else None
    place = Place(file.table.file, int(file.row[i])) if line is None else line.place
    line = line or BomLine(())
    placed = file.dimensions.of_row(i)
    twice = {key: size for key, size in placed.items() if key in line.dimensions}
    own = Place(file.table.file, int(file.row[i]))
    is_open = file.body_open is not None and bool(file.body_open[i])
    doubt = own if is_open else place if line.doubtful else None
    said = {line.description or description, line.value or value or comment}
    return PartName(
        part_number=next(filter(is_named, (line.part_number, part_number)), ""),
        footprint=footprint or size,
        value=line.value or value or comment,
        description=", ".join(
            filter(
                None,
                (
                    line.description or description,
                    size if footprint and size not in footprint else "",
                    *(text for text in (description, comment, value) if text not in said and _names_body(text)),
                ),
            )
        ),
        bom_package=line.package,
        ref_prefix=prefix,
        dimensions={**placed, **line.dimensions},
        figures=tuple((title, value, f'{place}: {title} "{value:g}"') for title, value in line.figures),
        other_dimensions=(twice,) if twice else (),
        where=str(place),
        mountings=tuple((cell, str(at)) for cell, at in ((line.mounting, place), (mounting, own)) if cell),
        supply=(line.supply, str(place)) if line.supply else ("", ""),
        doubt="" if doubt is None else str(doubt),
    )


def _names_body(text: str) -> bool:
    """Whether a text may name a body; a number alone, as 1200 for ohms, is a value."""
    return may_name_body(text) and (not text.isdigit() or text.startswith("0"))


def _without_unused(found: Ints, types: list[PartName]) -> tuple[Ints, list[PartName]]:
    """Return the types that some placement has, numbered anew in their order."""
    used = np.zeros(len(types) + 1, dtype=np.bool_)
    used[found] = True
    used[-1] = False
    number = np.append(np.cumsum(used[:-1]) - 1, -1)
    return number[found], [t for t, u in zip(types, used, strict=False) if u]
