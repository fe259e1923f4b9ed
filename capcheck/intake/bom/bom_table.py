"""Bills of materials: tables become lines with their references, in the files' order."""

from __future__ import annotations

import math
from collections.abc import Container, Mapping, Sequence
from typing import TYPE_CHECKING, Final

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from capcheck.intake.bom.bom_rows import below_titles, is_continued, with_more
from capcheck.intake.tables import (
    Columns,
    FittedColumn,
    Role,
    ambiguous_nc,
    by_words,
    choose_variant,
    code,
    expand_references,
    read_dimensions,
    read_fitted,
    read_title,
    recognise,
    refuse_units,
    score,
    sheet_is_not_fitted,
    texts_say_not_fitted,
)
from capcheck.lexicon import fold, sentence, vocabulary
from capcheck.model import BomLine, Decision, Note, SetAside, Topic
from capcheck.values import InputError, Place, Problems, pattern, shortened

if TYPE_CHECKING:
    from capcheck.intake.tables import Table

_NO_BOM_SHEET: Final = pattern(lambda: str(vocabulary().sheets.no_bom))
_QUANTITY: Final = pattern(lambda: rf"\s*(\d+(?:[.,]\d+)?)\s*{vocabulary().lists.pieces}?\s*")
_LEAST_SCORE: Final = 0.3
_MOST_REPEATED: Final = 0.9


class BomReading(Struct, frozen=True):
    """All lines of a bill of materials, with what was inferred and set apart on the way.

    *columns* says for each table that was read what its columns were taken for.
    """

    lines: tuple[BomLine, ...]
    columns: tuple[tuple[Table, Columns], ...]
    set_aside: tuple[SetAside, ...] = ()
    notes: tuple[Note, ...] = ()
    decisions: tuple[Decision, ...] = ()


def read_bom_tables(
    tables: Sequence[Table],
    *,
    named: Mapping[str, str],
    decimal: str | None = None,
    variant: str | None = None,
    known: Container[str] = (),
) -> BomReading:
    """Return the lines of all sheets that list parts.

    *known* are the references of the placement data: they settle whether ``J1-2`` is a range. Raises
    :class:`InputError` with every cell that cannot be read, or where no sheet is a bill of materials.
    """
    chosen, notes, set_aside = _sheets(tables, named)
    problems = Problems()
    lines: list[BomLine] = []
    decisions: list[Decision] = []
    seen: set[str] = set()
    several = len(chosen) > 1
    for table, columns in list(chosen):
        reading = _read_table(table, columns, problems, decimal=decimal or table.decimal, variant=variant, known=known)
        refs = {ref for line in reading.lines for ref in line.refs} if several else set()
        if refs and len(refs & seen) >= _MOST_REPEATED * len(refs) and not sheet_is_not_fitted(table.sheet):
            # The same parts once more, grouped another way: counting them twice would make every line a duplicate.
            chosen.remove((table, columns))
            reason = f'"{table.sheet or "a further table"}" lists references that are listed before'
            notes.append(Note(f"{reason}; it is not read", Place(table.file, table.header_row)))
            set_aside += [SetAside(table.file, row, reason) for row in table.row_numbers]
            continue
        seen |= refs
        lines += reading.lines
        notes += reading.notes
        set_aside += reading.set_aside
        decisions += reading.decisions
    problems.raise_if_any()
    if not any(line.refs for line in lines):
        file = tables[0].file if tables else ""
        problems.add(
            Place(file),
            "no line of the BOM names a reference",
            "nothing can be reconciled with the placements",
            'name the column in board.toml: [columns.bom] reference = "…"',
        )
        problems.raise_if_any()
    return BomReading(tuple(lines), tuple(chosen), tuple(set_aside), tuple(notes), tuple(decisions))


def _sheets(
    tables: Sequence[Table], named: Mapping[str, str]
) -> tuple[list[tuple[Table, Columns]], list[Note], list[SetAside]]:
    """Return the tables that list parts; every row of the others is set aside."""
    chosen: list[tuple[Table, Columns]] = []
    notes: list[Note] = []
    set_aside: list[SetAside] = []
    first_error: InputError | None = None
    several = len(tables) > 1
    for table in tables:
        reason = ""
        if several and table.sheet and _NO_BOM_SHEET.search(fold(table.sheet)) and not sheet_is_not_fitted(table.sheet):
            reason = "by its name no list of parts"
        elif several and score(table, "bom") < _LEAST_SCORE and not named:
            reason = "does not look like a list of parts"
        else:
            try:
                columns = recognise(table, "bom", named)
            except InputError as error:
                first_error = first_error or error
                reason = "its columns are not recognised"
            else:
                if Role.REF in columns.index:
                    chosen.append((table, columns))
                else:
                    reason = "it has no column of references"
        if reason:
            notes.append(
                Note(
                    f'sheet "{table.sheet}" is not read: {reason}' if table.sheet else f"a table is not read: {reason}",
                    Place(table.file),
                )
            )
            set_aside += [SetAside(table.file, row, f"sheet {table.sheet}: {reason}") for row in table.row_numbers]
        set_aside += table.set_aside
    if not chosen:
        if first_error is not None and len(tables) == 1:
            raise first_error
        problems = Problems()
        problems.add(
            Place(tables[0].file if tables else ""),
            "no sheet is a bill of materials with a column of references",
            "; ".join(sentence(n.said) for n in notes),
            'name the columns in board.toml: [columns.bom] reference = "…"',
        )
        if first_error is not None:
            problems.found += first_error.problems
        problems.raise_if_any()
    return chosen, notes, set_aside


def _read_table(
    table: Table,
    columns: Columns,
    problems: Problems,
    *,
    decimal: str | None,
    variant: str | None,
    known: Container[str],
) -> BomReading:
    index = columns.index
    blank = [""] * len(table)

    def cells(role: Role) -> Sequence[str]:
        return list(table.columns[index[role]]) if role in index else blank

    values, numbers, descriptions = cells(Role.VALUE), cells(Role.PART_NUMBER), cells(Role.DESCRIPTION)
    comments, packages = cells(Role.COMMENT), _without_marks(cells(Role.FOOTPRINT))
    numbers = _without_marks(numbers)
    fitted = read_fitted(table, columns, variant)
    quantities, decisions = _quantities(table, columns, variant)
    refused = refuse_units(table, columns, problems, placed=False)
    sizes = read_dimensions(table, columns, decimal, problems, without=refused)
    off_sheet = sheet_is_not_fitted(table.sheet)
    notes = [*table.notes, *fitted.notes]
    notes += _other_numbers(table, columns, numbers)
    lines: list[BomLine] = []
    set_aside: list[SetAside] = []
    off = _stays_off(table, columns, fitted, quantities, notes)
    continued = 0
    for i, text in enumerate(cells(Role.REF)):
        row = table.row_numbers[i]
        refs, complaints = expand_references(text, known)
        for complaint in complaints:
            problems.add(
                Place(table.file, row, _name(table, index[Role.REF]), table.sheet),
                complaint,
                "the list cannot be counted",
                "write the references out",
            )
        words = len(refs) == 1 and " " in refs[0]
        if (not refs or words) and not (numbers[i] or values[i] or descriptions[i]):
            set_aside.append(SetAside(table.file, row, "a BOM row without reference, part number and value", text))
            continue
        if refs and is_continued(table, i, index[Role.REF], lines[-1] if lines else None):
            lines[-1] = with_more(lines[-1], refs)
            set_aside.append(SetAside(table.file, row, f"references of row {lines[-1].row}, continued", text))
            continued += 1
            continue
        repeated = len(refs) - len(set(refs))
        lines.append(
            BomLine(
                tuple(dict.fromkeys(refs) if repeated else refs),
                numbers[i],
                values[i] or comments[i],
                descriptions[i],
                packages[i],
                quantities[i],
                not off.off[i],
                sizes.of_row(i),
                table.file,
                row,
                table.sheet,
                off.stated[i],
                off.contradicted[i],
            )
        )
        if repeated:
            notes.append(Note(f"{repeated} references stand twice in this line", Place(table.file, row)))
    if continued:
        what = "one row continues" if continued == 1 else f"{continued} rows continue"
        notes.append(Note(f"{what} the references of the line above", Place(table.file, table.header_row)))
    unclear = ambiguous_nc(values)
    if unclear:
        refs = [r for i in unclear for r in expand_references(cells(Role.REF)[i], known)[0]]
        notes.append(
            Note(
                f'value "NC" of {shortened(refs)} may mean not fitted or no connection; taken as fitted; '
                "list them under not_fitted in board.toml if they stay empty",
                Place(table.file, table.row_numbers[unclear[0]]),
            )
        )
    if off_sheet:
        notes.append(
            Note(f'all {len(lines)} lines of sheet "{table.sheet}" are taken as not fitted', Place(table.file))
        )
    return BomReading(tuple(lines), (), tuple(set_aside), tuple(notes), (*fitted.decisions, *decisions))


_TELLING: Final = (
    Role.VALUE,
    Role.PART_NUMBER,
    Role.COMMENT,
    Role.DESCRIPTION,
    Role.MANUFACTURER,
    Role.MOUNTING,
)
"""Columns in which a line may say that its parts stay off the board."""


class _Off(Struct, frozen=True):
    """Which rows stay off the board, which a cell says are fitted, and which of those have a text against it."""

    off: list[bool]
    stated: list[bool]
    contradicted: list[bool]


def _stays_off(
    table: Table, columns: Columns, fitted: FittedColumn, quantities: Sequence[float | None], notes: list[Note]
) -> _Off:
    """Return what stays off: by column, quantity, text, a title above, the sheet.

    A cell that says fitted wins over texts and over a quantity of 0, which is then asked about as a quantity.
    """
    none = np.zeros(len(table), dtype=np.bool_)
    if sheet_is_not_fitted(table.sheet):
        return _Off([True] * len(table), none.tolist(), none.tolist())
    stated = none if fitted.stated is None else fitted.stated
    said = texts_say_not_fitted([code(table.columns[columns.index[r]]) for r in _TELLING if r in columns.index])
    said = none if said is None else said
    zero = np.array([quantity == 0 for quantity in quantities], dtype=np.bool_)
    off = ~fitted.fitted | ((zero | said) & ~stated)
    titled, told = below_titles(table)
    if titled is not None:
        off |= titled
        notes += told
    refs = table.columns[columns.index[Role.REF]]
    notes += by_words(fitted, said & ~zero, refs, table.file, table.row_numbers)
    return _Off(off.tolist(), (stated & ~off).tolist(), (said & stated & ~off).tolist())


def _other_numbers(table: Table, columns: Columns, taken: Sequence[str]) -> list[Note]:
    """Return a note on further columns of makers' part numbers that say another thing in some row.

    A supplier's numbers differ by nature: only columns count that are numbered alike or called alternates.
    """
    candidates = columns.variants.get(Role.PART_NUMBER, ())
    if not candidates:
        return []
    title = _name(table, columns.index[Role.PART_NUMBER])
    others = [
        c
        for c in candidates
        if _is_alternate(_name(table, c), title)
        and any(other and mine and other != mine for other, mine in zip(table.columns[c], taken, strict=True))
    ]
    if not others:
        return []
    names = ", ".join(f'"{_name(table, c)}"' for c in others)
    verb = "states" if len(others) == 1 else "state"
    said = f'"{title}" is taken as the part number; {names} {verb} others: which one is bought?'
    return [Note(said, Place(table.file, table.header_row))]


def _is_alternate(title: str, taken: str) -> bool:
    read = read_title(title)
    words = [[w for w in words if not w.isdigit()] for words in (read.words, read_title(taken).words)]
    return "alternate" in read.concepts or words[0] == words[1]


def _without_marks(cells: Sequence[str]) -> Sequence[str]:
    """Return cells without the apostrophe by which a spreadsheet marks a number as text."""
    if "'" not in "".join(cells):
        return cells
    return [cell[1:] if cell[:1] == "'" and cell[1:2].isalnum() else cell for cell in cells]


def _name(table: Table, column: int) -> str:
    return table.header[column] if column < len(table.header) else f"column {column + 1}"


def _quantities(table: Table, columns: Columns, variant: str | None) -> tuple[list[float | None], list[Decision]]:
    """Return each line's quantity, None where it is blank or no number, from the column of the variant."""
    candidates = [
        c for c in (columns.index.get(Role.QUANTITY), *columns.variants.get(Role.QUANTITY, ())) if c is not None
    ]
    if not candidates:
        return [None] * len(table), []
    named = choose_variant(table, candidates, variant)
    chosen = named if named is not None else candidates[0]
    decisions = []
    if named is None and len(candidates) > 1:
        names = ", ".join(_name(table, c) for c in candidates)
        zero = [{i for i, t in enumerate(table.columns[c]) if _number(t) == 0} for c in candidates]
        if any(z != zero[0] for z in zero[1:]):
            decisions.append(
                Decision(
                    Topic.VARIANT,
                    f'quantity from "{_name(table, chosen)}"',
                    f"several columns count: {names}",
                    f'"{_name(table, candidates[1])}"',
                    f'variant = "{_name(table, chosen)}"',
                    open=True,
                    place=Place(table.file),
                )
            )
    return [_number(t) for t in table.columns[chosen]], decisions


def _number(text: str) -> float | None:
    match = _QUANTITY.fullmatch(fold(text))
    if match is None:
        return None
    value = float(match[1].replace(",", "."))
    return value if math.isfinite(value) else None


def mark_not_fitted(lines: Sequence[BomLine], refs: frozenset[str]) -> tuple[BomLine, ...]:
    """Return the lines with those that list only references of *refs* marked as not fitted."""
    return tuple(replace(line, fitted=False) if line.refs and set(line.refs) <= refs else line for line in lines)
