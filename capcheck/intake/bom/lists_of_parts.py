"""Which tables of a bill of materials list parts, and which list them a second time, singly or in groups."""

from __future__ import annotations

from collections import Counter
from collections.abc import Container, Mapping, Sequence
from typing import Final

from msgspec.structs import replace

from capcheck.intake.bom.bom_lines import BomReading, read_lines
from capcheck.intake.bom.totals import totals_contradicted
from capcheck.intake.bom.two_boms import ListOfParts, settle_lists_of_parts, unread_list
from capcheck.intake.tables import (
    Columns,
    Recognised,
    Role,
    Table,
    names_a_revision,
    sheet_is_not_fitted,
    sheet_may_be_off,
)
from capcheck.lexicon import fold, sentence, vocabulary
from capcheck.model import BomLine, Decision, Note, SetAside, say
from capcheck.values import InputError, Place, Problems, pattern

_NO_BOM_SHEET: Final = pattern(lambda: str(vocabulary().sheets.no_bom))
_LEAST_SCORE: Final = 0.3
_MOST: Final = 0.9
"""A second list repeats nearly all references of the first, and names hardly any others."""
_SEVERAL: Final = 2
_FEWEST: Final = 4
"""References that must stand twice: fewer are slips, each to be asked about."""


def read_bom_tables(
    sheets: Sequence[Recognised],
    *,
    named: Mapping[str, str],
    decimal: str | None = None,
    variant: str | None = None,
    known: Container[str] = (),
    sheet: str | None = None,
) -> BomReading:
    """Return the lines of all sheets that list parts, or of the one that is named *sheet*.

    *known* are the references of the placement data: they settle whether ``J1-2`` is a range. Raises
    :class:`InputError` with every cell that cannot be read, or where no sheet is a bill of materials.
    """
    chosen, notes, set_aside = _sheets(sheets, named, sheet)
    problems = Problems()
    decisions: list[Decision] = []
    parts: list[ListOfParts] = []
    for table, columns in list(chosen):
        found = Problems()
        reading = read_lines(table, columns, found, decimal=table.decimal_mark(decimal), variant=variant, known=known)
        if found.found and table.file != chosen[0][0].file:
            chosen.remove((table, columns))
            reason = say("bom.cells not read", what=found.found[0].what)
            notes.append(Note(say("bom.not read", reason=reason), found.found[0].where))
            decisions.append(unread_list(chosen[0][0], table))
            set_aside += table.left_out(reason)
            continue
        problems.found += found.found
        parts.append(ListOfParts(table, columns, reading))
        decisions += reading.decisions
    settled = settle_lists_of_parts(parts)
    unread = [found for part in parts if part.table not in settled.spare for found in part.reading.discrepancies]
    lines = _asked_by_sheet(settled.lines)
    for part in parts:
        if part.table in settled.spare:
            chosen.remove((part.table, part.columns))
    notes += settled.notes
    set_aside += settled.set_aside
    decisions += settled.decisions
    problems.raise_if_any()
    if not any(line.refs for line in lines):
        file = sheets[0].table.file if sheets else ""
        problems.add(
            Place(file),
            "no line of the BOM names a reference",
            "nothing can be reconciled with the placements",
            'name the column in board.toml: [columns.bom] reference = "…"',
        )
        problems.raise_if_any()
    read = {line.place for line in lines}  # a title may be a line as well: "Not fitted: R1, R2"
    return BomReading(
        lines=tuple(lines),
        columns=tuple(chosen),
        set_aside=tuple(aside for aside in set_aside if aside.place not in read),
        notes=tuple(notes),
        decisions=tuple(decisions),
        discrepancies=(*unread, *settled.discrepancies, *totals_contradicted(lines, set_aside)),
    )


def _asked_by_sheet(lines: Sequence[BomLine]) -> list[BomLine]:
    """Return the lines, those asked about that only a sheet beside others lists whose name tells of an option."""
    if len({line.sheet for line in lines}) < _SEVERAL:
        return list(lines)
    heads = {sheet for line in lines if (sheet := line.sheet) and sheet_may_be_off(sheet)}
    return [
        replace(line, asked=say("tables.below a title", title=line.sheet))
        if line.sheet in heads and line.fitted and not line.asked
        else line
        for line in lines
    ]


def _sheets(
    sheets: Sequence[Recognised], named: Mapping[str, str], only: str | None
) -> tuple[list[tuple[Table, Columns]], list[Note], list[SetAside]]:
    """Return the tables that list parts; every row of the others is set aside."""
    chosen: list[tuple[Table, Columns]] = []
    notes: list[Note] = []
    set_aside: list[SetAside] = []
    first_error: InputError | None = None
    several = len(sheets) > 1
    for sheet in sheets:
        table = sheet.table
        reason = None
        if only is not None and table.sheet != only:
            reason = say("bom.another sheet is named", sheet=only)
        elif only is None and several and table.sheet and _is_no_list(table.sheet):
            reason = say("bom.no list by its name")
        elif several and sheet.score("bom") < _LEAST_SCORE and not named:
            reason = say("bom.unlike a list")
        else:
            try:
                columns = sheet.columns("bom", named)
            except InputError as error:
                first_error = first_error or error
                reason = say("bom.columns not recognised")
            else:
                if Role.REF in columns.index:
                    chosen.append((table, columns))
                else:
                    reason = say("bom.no references")
        if reason is not None:
            said = say("bom.sheet" if table.sheet else "bom.table", sheet=table.sheet, reason=reason)
            notes.append(Note(said, Place(table.file, sheet=table.sheet)))
            told = say("bom.row of a sheet", sheet=table.sheet, reason=reason)
            set_aside += table.left_out(told)
        set_aside += table.set_aside
    if not chosen:
        if first_error is not None and len(sheets) == 1:
            raise first_error
        problems = Problems()
        problems.add(
            Place(sheets[0].table.file if sheets else ""),
            "no sheet is a bill of materials with a column of references",
            "; ".join(sentence(n.said) for n in notes),
            'name the columns in board.toml: [columns.bom] reference = "…"',
        )
        if first_error is not None:
            problems.found += first_error.problems
        problems.raise_if_any()
    return chosen, notes, set_aside


def _is_no_list(sheet: str) -> bool:
    """Whether the name of a sheet says that it lists no parts: ``Revision history``, but not ``Revision B``."""
    named = _NO_BOM_SHEET.search(fold(sheet)) is not None
    return named and not sheet_is_not_fitted(sheet) and not names_a_revision(sheet)


def without_repeated_list(reading: BomReading) -> BomReading:
    """Return *reading* without the second list of the same parts, where there is one, with a note.

    Of the two lists the one with more part numbers stays. A line that disagrees with the other list about fitting,
    value or part number stays too: it is a question to the customer and no repetition.
    """
    lines = reading.lines
    at = _second_list(lines)
    if at is None:
        return reading
    first, second = lines[:at], lines[at:]
    keep, spare = (second, first) if _numbered(second) > _numbered(first) else (first, second)
    of = {ref: line for line in keep for ref in line.refs}
    dropped = [
        line for line in spare if line.refs and all(ref in of and line.agrees_with(of[ref]) for ref in line.refs)
    ]
    if sum(len(line.refs) for line in dropped) < _MOST * sum(len(line.refs) for line in spare):
        return reading
    places = {line.place for line in dropped}
    reason = say("bom.repeated line")
    return replace(
        reading,
        lines=tuple(line for line in lines if line.place not in places),
        set_aside=(*reading.set_aside, *(SetAside(d.place, reason, ", ".join(d.refs)) for d in dropped)),
        notes=(*reading.notes, Note(say("bom.listed twice", lines=len(dropped)), dropped[0].place)),
    )


def _second_list(lines: Sequence[BomLine]) -> int | None:
    """Return the index of the line where a second list of the same references begins, or None."""
    later = Counter(ref for line in lines for ref in line.refs)
    left = later.total()
    seen: set[str] = set()
    common: set[str] = set()  # the references that stood above and stand here or below too
    for at, line in enumerate(lines):
        # A slip, one part on two lines, looks like a beginning too: the next such line is tried then.
        if line.refs and seen.issuperset(line.refs) and len(common) >= max(_FEWEST, _MOST * len(seen), _MOST * left):
            return at
        for ref in line.refs:
            later[ref] -= 1
            (common.add if later[ref] else common.discard)(ref)
        left -= len(line.refs)
        seen.update(line.refs)
    return None


def _numbered(lines: Sequence[BomLine]) -> int:
    return sum(len(line.refs) for line in lines if line.part_number)
