"""A table of a bill of materials becomes lines with their references, in the file's order."""

from __future__ import annotations

from collections.abc import Container, Iterator, Mapping, Sequence
from itertools import chain

from msgspec import Struct, field
from msgspec.structs import replace

from capcheck.intake.bom.bom_rows import BomRows, read_rows
from capcheck.intake.bom.partly_fitted import off_among_references
from capcheck.intake.tables import (
    Columns,
    Role,
    Table,
    expand_references,
    is_reference_list,
    sheet_is_not_fitted,
    states_size,
)
from capcheck.model import BomLine, Decision, Discrepancy, Note, Said, SetAside, say
from capcheck.values import Place, Problems


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
    rows = read_rows(table, columns, problems, decimal=decimal, variant=variant, known=known)
    alone = _references_alone(table, rows.off.titled, known)
    reading = _Reading(table, columns, rows, alone, problems)
    for i in range(len(table)):
        if i in rows.footers:
            reading.set_aside.append(SetAside(rows.place(i), say("bom.about the document"), _whole(table, i)))
        elif not rows.says_anything(i) and (titled := _named_by_a_title(rows.place(i), _whole(table, i), known)):
            reading.lines.extend(titled)
        else:
            reading.add(i)
    for row, title in (*table.preamble, *table.titles):
        reading.lines.extend(_named_by_a_title(table.place(row), title, known, table.asked.get(row, "")))
    return BomReading(
        lines=tuple(reading.lines),
        columns=(),
        set_aside=tuple(reading.set_aside),
        notes=(*rows.notes, *reading.notes, *_on_the_whole(reading), *_unclear(rows, known)),
        decisions=rows.decisions,
        discrepancies=tuple(rows.unread),
    )


class _Reading(Struct, frozen=True):
    """The lines of a table as far as it is read, with what is set apart and noted on the way."""

    table: Table
    columns: Columns
    rows: BomRows
    alone: Mapping[int, tuple[list[str], list[str]]]
    """The references of rows that hold nothing else, below a title over parts not fitted."""
    problems: Problems
    lines: list[BomLine] = field(default_factory=list)
    set_aside: list[SetAside] = field(default_factory=list)
    notes: list[Note] = field(default_factory=list)
    continued: list[int] = field(default_factory=list)
    """The rows that go on with the references of the row before them."""

    def add(self, i: int) -> None:
        """Add the line of a row, or say why it makes none."""
        rows = self.rows
        refs, complaints = self.alone.get(i, rows.expanded[i])
        for complaint in complaints:
            title = self.table.title(self.columns.index[Role.REF])
            place = replace(rows.place(i), column=title)
            self.problems.add(place, complaint, "the list cannot be counted", "write the references out")
        left_off = [*rows.left_off[i], *rows.off_by_text.get(i, ())]
        words = len(refs) == 1 and " " in refs[0]
        nothing = not (rows.names(i) or (words and rows.quantities[i]))
        if not refs and not left_off and self._states_only_a_size(i):
            self.set_aside.append(SetAside(rows.place(i), say("bom.nothing named"), _whole(self.table, i), filled=True))
        elif (not refs or words) and not left_off and nothing:
            self.set_aside.append(SetAside(rows.place(i), say("bom.nothing named"), rows.references[i]))
        elif refs and self.lines and _is_continued(self.table, i, self.columns, self.lines[-1]):
            self._go_on(i, refs)
        else:
            self._add_line(i, refs, left_off)

    def _states_only_a_size(self, i: int) -> bool:
        """Whether a row buys nothing and states a size, which is that of a part in another row."""
        rows = self.rows
        if rows.names(i) or rows.quantities[i]:
            return False
        return bool(rows.sizes.of_row(i)) or states_size(_whole(self.table, i))

    def _go_on(self, i: int, refs: Sequence[str]) -> None:
        before = self.lines[-1]
        self.lines[-1] = replace(before, refs=tuple(dict.fromkeys((*before.refs, *refs))))
        said = say("bom.continued", row=before.row)
        self.set_aside.append(SetAside(self.rows.place(i), said, self.rows.references[i]))
        self.continued.append(i)

    def _add_line(self, i: int, refs: Sequence[str], left_off: Sequence[str]) -> None:
        line = self.rows.line(i, tuple(dict.fromkeys(refs)), is_whole=i in self.alone)
        self.lines.extend(_parted(line, left_off) if left_off else [line])
        if repeated := len(refs) - len(set(refs)):
            self.notes.append(Note(say("bom.references twice", references=repeated), line.place))


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


def _named_by_a_title(place: Place, title: str, known: Container[str], asked: Said | str = "") -> list[BomLine]:
    """Return the line of what a title names itself: ``Not fitted: R1, R2``; none where it says anything else.

    Where it is *asked* whether the title counts, its parts are to be fitted until that is told.
    """
    rest, off = off_among_references(title, known)
    if not off or any(map(str.isalnum, rest)):
        return []
    refs = tuple(dict.fromkeys(off))
    return [BomLine(refs, fitted=bool(asked), file=place.file, row=place.row or 0, sheet=place.sheet, asked=asked)]


def _unclear(rows: BomRows, known: Container[str]) -> Iterator[Note]:
    """Yield a note on the rows whose value is NC, if there are any."""
    if rows.unclear:
        refs = [ref for i in rows.unclear for ref in expand_references(rows.references[i], known)[0]]
        yield Note(say("bom.NC", refs=refs), rows.place(rows.unclear[0]))


def _whole(table: Table, i: int) -> str:
    return ", ".join(filter(None, (column[i] for column in table.columns)))


def _on_the_whole(reading: _Reading) -> Iterator[Note]:
    """Yield what is said of a list as a whole: rows that go on, references off the board, a sheet of what stays off."""
    table, rows = reading.table, reading.rows
    place = Place(table.file, sheet=table.sheet)
    if reading.continued:
        yield Note(say("bom.rows continue", rows=len(reading.continued)), replace(place, row=table.header_row))
    if partly := [*chain.from_iterable(rows.left_off), *chain.from_iterable(rows.off_by_text.values())]:
        yield Note(say("bom.partly fitted", refs=partly), place)
    if sheet_is_not_fitted(table.sheet):
        yield Note(say("bom.sheet not fitted", lines=len(reading.lines), sheet=table.sheet), place)


def _parted(line: BomLine, off: Sequence[str]) -> list[BomLine]:
    """Return a line as what of it is fitted and what stays off the board, the former first."""
    gone = tuple(dict.fromkeys(off))
    kept = tuple(ref for ref in line.refs if ref not in gone)
    counted = line.quantity if line.quantity != len({*kept, *gone}) else float(len(kept))
    stays = replace(line, refs=gone, fitted=False, stated_fitted=False, quantity=None)
    return [replace(line, refs=kept, quantity=counted), stays] if kept else [stays]


def _is_continued(table: Table, row: int, columns: Columns, before: BomLine) -> bool:
    """Whether a row holds nothing but references, which belong to the line *before* it.

    A line whose quantity is reached already is not continued: then the row is a part of which nothing is known.
    """
    if not before.refs or not (before.part_number or before.value or before.description):
        return False
    if before.quantity is not None and before.quantity <= len(before.refs):
        return False
    lists = {columns.index[Role.REF], *columns.variants.get(Role.REF, ())}
    return not any(column[row] for k, column in enumerate(table.columns) if k not in lists)


def mark_not_fitted(lines: Sequence[BomLine], refs: frozenset[str]) -> tuple[BomLine, ...]:
    """Return the lines with those that list only references of *refs* marked as not fitted."""
    return tuple(replace(line, fitted=False) if line.refs and set(line.refs) <= refs else line for line in lines)
