"""A table of a bill of materials becomes lines with their references, in the file's order."""

from __future__ import annotations

import math
from collections.abc import Container, Iterator, Mapping, Sequence
from itertools import chain
from typing import Final

from msgspec import Struct
from msgspec.structs import replace

from capcheck.intake.bom.footers import footer_rows
from capcheck.intake.bom.not_fitted import stays_off
from capcheck.intake.bom.partly_fitted import off_among_references, off_by_text, off_in_texts
from capcheck.intake.tables import (
    Columns,
    Role,
    Table,
    ambiguous_nc,
    choose_variant,
    expand_each,
    expand_references,
    is_mounting,
    is_reference_list,
    read_dimensions,
    read_fitted,
    read_title,
    refuse_units,
    sheet_is_not_fitted,
)
from capcheck.lexicon import fold, vocabulary
from capcheck.model import BomLine, Decision, Discrepancy, Note, SetAside, Topic, say
from capcheck.values import Place, Problems, pattern

_QUANTITY: Final = pattern(lambda: rf"\s*(\d+(?:[.,]\d+)?)\s*{vocabulary().lists.pieces}?\s*")


class BomReading(Struct, frozen=True):
    """All lines of a bill of materials, with what was inferred and set apart on the way.

    *columns* says for each table that was read what its columns were taken for.
    """

    lines: tuple[BomLine, ...]
    columns: tuple[tuple[Table, Columns], ...]
    set_aside: tuple[SetAside, ...] = ()
    notes: tuple[Note, ...] = ()
    decisions: tuple[Decision, ...] = ()
    discrepancies: tuple[Discrepancy, ...] = ()


def read_lines(
    table: Table,
    columns: Columns,
    problems: Problems,
    *,
    decimal: str | None,
    variant: str | None,
    known: Container[str],
) -> BomReading:
    """Return the lines of *table*; cells that cannot be read are added to *problems*, all of them.

    *known* are the references of the placement data, *variant* the title of the column that tells what is fitted.
    """
    index = columns.index
    blank = [""] * len(table)

    def cells(role: Role) -> Sequence[str]:
        return list(table.columns[index[role]]) if role in index else blank

    values, numbers, descriptions = cells(Role.VALUE), cells(Role.PART_NUMBER), cells(Role.DESCRIPTION)
    comments, packages, numbers = cells(Role.COMMENT), _without_marks(cells(Role.FOOTPRINT)), _without_marks(numbers)
    mounted, rows = cells(Role.MOUNTING), table.row_numbers
    fitted = read_fitted(table, columns, variant)
    quantities, decisions = _quantities(table, columns, variant)
    refused = refuse_units(table, columns, problems, placed=False)
    sizes = read_dimensions(table, columns, decimal, problems, without=refused)
    notes = [*table.notes, *fitted.notes, *_other_numbers(table, columns, numbers)]
    lines: list[BomLine] = []
    set_aside: list[SetAside] = []
    listed = [off_among_references(text, known) for text in cells(Role.REF)]
    expanded = [*expand_each((text for text, _ in listed), known, lambda i: table.place(rows[i]))]
    by_text = _off_by_texts(table, columns, [refs for refs, _ in expanded])
    off = stays_off(
        table, columns, fitted, quantities, notes, refs=[refs for refs, _ in expanded], partly=list(by_text)
    )
    continued = 0
    unclear = ambiguous_nc(values)
    footers = footer_rows(table, index[Role.REF], quantities, known)
    alone = _references_alone(table, off.titled, known)
    for i, text in enumerate(cells(Role.REF)):
        row = table.row_numbers[i]
        if i in footers:
            set_aside.append(SetAside(table.place(row), say("bom.about the document"), _whole(table, i)))
            continue
        if not (listed[i][1] or numbers[i] or values[i] or descriptions[i]) and (
            titled := _named_by_row(table, i, known)
        ):
            lines.append(titled)
            continue
        refs, complaints = alone.get(i, expanded[i])
        left_off = [*listed[i][1], *by_text.get(i, ())]
        for complaint in complaints:
            problems.add(
                Place(table.file, row, _name(table, index[Role.REF]), table.sheet),
                complaint,
                "the list cannot be counted",
                "write the references out",
            )
        words = len(refs) == 1 and " " in refs[0]
        named = numbers[i] or values[i] or descriptions[i] or (words and quantities[i])
        if (not refs or words) and not left_off and not named:
            set_aside.append(SetAside(table.place(row), say("bom.nothing named"), text))
            continue
        if refs and lines and _is_continued(table, i, index[Role.REF], lines[-1]):
            lines[-1] = replace(lines[-1], refs=tuple(dict.fromkeys((*lines[-1].refs, *refs))))
            set_aside.append(SetAside(table.place(row), say("bom.continued", row=lines[-1].row), text))
            continued += 1
            continue
        repeated = len(refs) - len(set(refs))
        lines.append(
            BomLine(
                refs=tuple(dict.fromkeys(refs) if repeated else refs),
                part_number=numbers[i],
                value=values[i] or comments[i],
                description=descriptions[i],
                package=packages[i],
                quantity=quantities[i],
                fitted=not off.off[i] or (row in table.doubtful and i not in alone),
                dimensions=sizes.of_row(i),
                file=table.file,
                row=row,
                sheet=table.sheet,
                stated_fitted=off.stated[i],
                doubtful=row in table.doubtful and i not in alone,
                contradicted=off.contradicted[i] or (bool(numbers[i]) and i in unclear),
                mounting=mounted[i] if is_mounting(mounted[i]) else "",
            )
        )
        if left_off:
            lines[-1:] = _parted(lines[-1], left_off)
        if repeated:
            notes.append(Note(say("bom.references twice", references=repeated), lines[-1].place))
    notes += _on_the_whole(table, [ref for _, refs in listed for ref in refs], by_text, lines, continued)
    told = (_named_by_a_title(table.place(row), title, known) for row, title in (*table.preamble, *table.titles))
    return BomReading(
        lines=(*lines, *chain.from_iterable(told)),
        columns=(),
        set_aside=tuple(set_aside),
        notes=(*notes, *_unclear(table, index, unclear, known)),
        decisions=(*fitted.decisions, *decisions),
    )


def _references_alone(
    table: Table, titled: Sequence[bool], known: Container[str]
) -> dict[int, tuple[list[str], list[str]]]:
    """Return the rows below a title over parts not fitted that hold nothing but references, with all of them.

    Such a row is short, and commas part its references: nothing in it has shifted.
    """
    found = {}
    for i in (i for i, below in enumerate(titled) if below):
        filled = [column[i] for column in table.columns if column[i]]
        if all(is_reference_list(text) and any(map(str.isdigit, text)) for text in filled):
            found[i] = expand_references(_whole(table, i), known)
    return found


def _named_by_row(table: Table, i: int, known: Container[str]) -> BomLine | None:
    """Return the line of a row that names references as not fitted and nothing else."""
    return next(iter(_named_by_a_title(table.place(table.row_numbers[i]), _whole(table, i), known)), None)


def _named_by_a_title(place: Place, title: str, known: Container[str]) -> list[BomLine]:
    """Return the line of what a title names itself: ``Not fitted: R1, R2``; none where it says anything else."""
    rest, off = off_among_references(title, known)
    if not off or any(map(str.isalnum, rest)):
        return []
    refs = tuple(dict.fromkeys(off))
    return [BomLine(refs, fitted=False, file=place.file, row=place.row or 0, sheet=place.sheet)]


def _unclear(table: Table, index: Mapping[Role, int], rows: Sequence[int], known: Container[str]) -> Iterator[Note]:
    """Yield a note on the *rows* whose value is NC, if there are any."""
    if rows:
        cells = table.columns[index[Role.REF]]
        refs = [ref for i in rows for ref in expand_references(cells[i], known)[0]]
        yield Note(say("bom.NC", refs=refs), Place(table.file, table.row_numbers[rows[0]], sheet=table.sheet))


def _whole(table: Table, i: int) -> str:
    return ", ".join(filter(None, (column[i] for column in table.columns)))


def _on_the_whole(
    table: Table, left_off: list[str], by_text: Mapping[int, Sequence[str]], lines: Sequence[BomLine], continued: int
) -> Iterator[Note]:
    """Yield what is said of a list as a whole: rows that go on, references off the board, a sheet of what stays off."""
    place = Place(table.file, sheet=table.sheet)
    if continued:
        yield Note(say("bom.rows continue", rows=continued), replace(place, row=table.header_row))
    if partly := [*left_off, *chain.from_iterable(by_text.values())]:
        yield Note(say("bom.partly fitted", refs=partly), place)
    if sheet_is_not_fitted(table.sheet):
        yield Note(say("bom.sheet not fitted", lines=len(lines), sheet=table.sheet), place)


def _off_by_texts(table: Table, columns: Columns, refs: Sequence[Sequence[str]]) -> dict[int, list[str]]:
    """Return for the rows whose texts take some of their references off the board which those are."""
    found: dict[int, list[str]] = {}
    for column in off_in_texts(table, columns):
        for i, text in enumerate(column):
            if len(refs[i]) > 1 and text and (off := off_by_text(text, refs[i])):
                found[i] = list(dict.fromkeys((*found.get(i, ()), *off)))
    return found


def _parted(line: BomLine, off: Sequence[str]) -> list[BomLine]:
    """Return a line as what of it is fitted and what stays off the board, the former first."""
    gone = tuple(dict.fromkeys(off))
    kept = tuple(ref for ref in line.refs if ref not in gone)
    counted = line.quantity if line.quantity != len({*kept, *gone}) else float(len(kept))
    stays = replace(line, refs=gone, fitted=False, stated_fitted=False, quantity=None)
    return [replace(line, refs=kept, quantity=counted), stays] if kept else [stays]


def _is_continued(table: Table, row: int, reference: int, before: BomLine) -> bool:
    """Whether a row holds nothing but references, which belong to the line *before* it.

    A line whose quantity is reached already is not continued: then the row is a part of which nothing is known.
    """
    if not before.refs or not (before.part_number or before.value or before.description):
        return False
    if before.quantity is not None and before.quantity <= len(before.refs):
        return False
    return not any(column[row] for k, column in enumerate(table.columns) if k != reference)


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
    said = say("bom.other numbers", taken=title, others=[_name(table, c) for c in others])
    return [Note(said, Place(table.file, table.header_row, sheet=table.sheet))]


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
        zero = [{i for i, t in enumerate(table.columns[c]) if _number(t) == 0} for c in candidates]
        if any(z != zero[0] for z in zero[1:]):
            names = [_name(table, c) for c in candidates]
            decisions.append(
                Decision(
                    Topic.VARIANT,
                    choice=say("bom.quantity from", title=names[0]),
                    evidence=say("bom.several count", titles=names),
                    runner_up=say("bom.title", title=names[1]),
                    settle=f'variant = "{names[0]}"',
                    open=True,
                    place=Place(table.file, sheet=table.sheet),
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
