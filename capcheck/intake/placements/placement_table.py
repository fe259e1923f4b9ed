"""A table of placements becomes columns: references, coordinates as written, angles, sides, kinds."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

import numpy as np
from msgspec.structs import replace

from capcheck.intake.placements.angles import read_rotation, unread_rotation
from capcheck.intake.placements.coordinates import centre_taken, read_pairs, unread_cells
from capcheck.intake.placements.other_angles import angles_apart
from capcheck.intake.placements.other_places import places_apart
from capcheck.intake.placements.placement_columns import Known, PlacementColumns
from capcheck.intake.placements.row_kinds import classify
from capcheck.intake.placements.row_sides import read_side
from capcheck.intake.placements.thousands import marks_of
from capcheck.intake.tables import (
    Coded,
    Columns,
    FittedColumn,
    Role,
    Table,
    ambiguous_nc,
    by_words,
    code,
    code_stems,
    footnotes_asked,
    in_metres,
    names_of_sizes,
    nothing_counted,
    read_dimensions,
    read_fitted,
    refuse_units,
    remarks_asked,
    remarks_in,
    rows_asked,
    rows_by_hand,
    says_not_fitted,
    stated_unit,
    without_footnotes,
)
from capcheck.model import Ints, Note, Said, Side, say
from capcheck.values import Place, Problems, pattern

_BEHIND_A_GAP: Final = pattern(r"\S{1,12}\s{2,}([^\W\d_]{1,4}\d{1,5}[^\W\d_]?)")
_SAYING: Final = (Role.VALUE, Role.COMMENT, Role.DESCRIPTION)
"""Columns in which a row may say that its part stays off the board."""
_TEXT_ROLES: Final = (
    Role.VALUE,
    Role.FOOTPRINT,
    Role.PART_NUMBER,
    Role.DESCRIPTION,
    Role.COMMENT,
    Role.MOUNTING,
)


def read_placement_table(table: Table, columns: Columns, known: Known, problems: Problems) -> PlacementColumns:
    """Return the placements of *table*; cells that cannot be read are added to *problems*, all of them."""
    notes: list[Note] = []
    index = columns.index
    stated = stated_unit(table, columns, known.units)
    marks = marks_of(table, columns, stated, table.decimal_mark(known.decimal))
    decimal = marks.decimal
    pairs, cell_unit = read_pairs(table, columns, marks, stated, problems)
    # A unit in the cells is the nearest evidence there is; board.toml speaks of cells without one.
    stated = cell_unit or stated or in_metres(table, columns, pairs[0], notes)
    notes += centre_taken(table, columns, pairs, stated)
    refused = refuse_units(table, columns, problems, placed=not (cell_unit or known.units))
    coded = {role: code(table.columns[index[role]]) for role in _TEXT_ROLES if role in index}
    if (sizes := names_of_sizes(table, columns)) is not None:
        coded[Role.SIZE] = code(sizes)
    plain, marked = _without_footnotes(table.columns[index[Role.REF]])
    ref = _references(table, plain, notes)
    stem = code_stems(ref)
    nothing = (np.zeros(len(ref), dtype=np.int64), [""])
    kind, apart = classify(ref, stem, coded.get(Role.FOOTPRINT, nothing), coded.get(Role.VALUE, nothing), known.kinds)
    fitted = read_fitted(table, columns, known.variant)
    fitted = _with_values(fitted, coded.get(Role.VALUE, coded.get(Role.COMMENT)))
    fitted = _with_words(table, fitted, ref, {r: coded[r] for r in _SAYING if r in coded})
    turned, radians = read_rotation(table, columns, decimal, problems)
    turned, apart_angles = angles_apart(table, columns, decimal, turned, ref)
    side, inferred = read_side(table, columns, known)
    notes += unread_rotation(table, columns)
    asked = rows_asked(table, columns, known.variant)
    remarks, unread = remarks_asked(table, columns, asked)
    notes += unread
    asked |= remarks
    dimensions = read_dimensions(table, columns, decimal, problems, without=refused)
    row = _row_numbers(table)
    (x, y), apart_places = places_apart(table, columns, decimal, pairs[0], stated)
    shifted = None
    if table.doubtful:
        # Cells that may stand in other columns than their own place nothing, and take nothing off the board.
        shifted = np.isin(row, list(table.doubtful))
        x, y, turned = (np.where(shifted, np.nan, values) for values in (x, y, turned))
        side = np.where(shifted, np.int8(Side.UNKNOWN), side)
        fitted = replace(fitted, fitted=fitted.fitted | shifted)
    return PlacementColumns(
        table=table,
        columns=columns,
        ref=ref,
        x=x,
        y=y,
        other_pairs=tuple(pairs[1:]),
        stated=stated,
        rotation_deg=turned,
        side=side,
        kind=kind,
        apart=apart,
        fitted=fitted,
        row=row,
        stem=stem,
        texts=coded,
        dimensions=dimensions,
        place_open=shifted,
        body_open=np.isin(row, list(table.doubtful | table.continued)) if table.doubtful | table.continued else None,
        unread=unread_cells(table, columns, pairs[0]),
        asked=asked | marked | nothing_counted(table, columns),
        by_hand=rows_by_hand(table, columns),
        notes=(*table.notes, *notes, *fitted.notes),
        decisions=(
            *marks.decisions,
            *radians,
            *apart_angles,
            *apart_places,
            *inferred,
            *fitted.decisions,
            *dimensions.decisions,
        ),
    )


def _with_values(fitted: FittedColumn, values: Coded | None) -> FittedColumn:
    """Return what is fitted, with which rows' values name a part, and which are NC."""
    if values is None:
        return fitted
    numbers, texts = values
    unclear = set(ambiguous_nc(texts))
    named = [bool(text) and k not in unclear and not says_not_fitted(text) for k, text in enumerate(texts)]
    ambiguous = np.isin(numbers, list(unclear)) if unclear else None
    return replace(fitted, named=np.array(named, dtype=np.bool_)[numbers], ambiguous=ambiguous)


def _with_words(table: Table, fitted: FittedColumn, ref: Sequence[str], texts: Mapping[Role, Coded]) -> FittedColumn:
    """Return what is fitted where words such as ``100n DNP`` count too, but for rows whose cell says fitted."""
    found = remarks_in(texts, [(r,) for r in ref])
    if found is None:
        return fitted
    plain, loosely = found
    said = plain | loosely
    notes = by_words(fitted, said, ref, table.file, table.row_numbers)
    if fitted.stated is None:
        return replace(fitted, fitted=fitted.fitted & ~said, by_word=said, loosely=loosely)
    against = np.flatnonzero(said & fitted.stated).tolist()
    if against:
        told = say("placements.fitted against a word", refs=[ref[i] for i in against])
        notes.append(Note(told, Place(table.file, table.row_numbers[against[0]])))
    off = said & fitted.fitted & ~fitted.stated
    return replace(fitted, fitted=fitted.fitted & ~off, notes=(*fitted.notes, *notes), by_word=off, loosely=loosely)


def _references(table: Table, cells: Sequence[str], notes: list[Note]) -> Sequence[str]:
    """Return the references; one behind other text and a gap in its cell, as in ``24   J24``, is taken out."""
    if "  " not in "\n".join(cells):
        return cells
    taken = {i: match[1] for i, cell in enumerate(cells) if (match := _BEHIND_A_GAP.fullmatch(cell))}
    if not taken:
        return cells
    first = min(taken)
    cell = " ".join(cells[first].split())
    said = say("placements.behind other text", references=len(taken), cell=cell, ref=taken[first])
    notes.append(Note(said, Place(table.file, table.row_numbers[first])))
    return [taken.get(i, cell) for i, cell in enumerate(cells)]


def _without_footnotes(cells: Sequence[str]) -> tuple[Sequence[str], dict[int, Said]]:
    """Return references without the marks of footnotes, but where the mark alone tells two of them apart."""
    plain = [without_footnotes(cell) for cell in cells]
    marked = footnotes_asked(cells, plain)
    return (cells, {}) if not marked or len(set(plain)) < len(set(cells)) else (plain, marked)


def _row_numbers(table: Table) -> Ints:
    numbers = table.row_numbers
    if isinstance(numbers, range):
        return np.arange(numbers.start, numbers.stop, numbers.step, dtype=np.int64)
    return np.asarray(numbers, dtype=np.int64)
