"""What the rows of a bill of materials say, column by column, before they become lines."""

from __future__ import annotations

import math
from collections.abc import Container, Mapping, Sequence
from typing import Final

from msgspec import Struct

from capcheck.intake.bom.footers import footer_rows
from capcheck.intake.bom.not_fitted import StaysOff, stays_off
from capcheck.intake.bom.partly_fitted import off_among_references, off_by_text, off_in_texts
from capcheck.intake.tables import (
    Columns,
    DimensionColumns,
    Role,
    Table,
    ambiguous_nc,
    choose_variant,
    expand_each,
    figures_of_rows,
    footnotes_asked,
    heights_in_remarks,
    names_of_sizes,
    number_taken,
    other_numbers,
    read_dimensions,
    read_fitted,
    refuse_units,
    remarks_asked,
    rows_asked,
    rows_by_hand,
    rows_provided,
    sides_told,
    without_footnotes,
    without_marks,
)
from capcheck.lexicon import fold, vocabulary
from capcheck.model import BomLine, Decision, Discrepancy, Note, Said, Severity, Side, Topic, say
from capcheck.values import Place, Problems, in_toml, pattern

_QUANTITY: Final = pattern(lambda: rf"\s*(\d+(?:[.,]\d+)?)\s*{vocabulary().lists.pieces}?\s*")


_GROUPED: Final = pattern(r"\s*[1-9]\d{0,2}[.,]\d{3}\D*")
_SHOWN: Final = 40
_SUPPLY_TITLE: Final = pattern(lambda: str(vocabulary().supplies.titles))
_BARE_WIDTH: Final = pattern(r"\s*\d{1,3}(?:[.,]\d)?\s*")
_SUPPLY: Final = pattern(lambda: str(vocabulary().supplies.any_of_them))


class BomRows(Struct, frozen=True):
    """The cells of a table as they count, one entry a row; *expanded* holds references and complaints about them."""

    table: Table
    references: Sequence[str]
    expanded: Sequence[tuple[list[str], list[str]]]
    left_off: Sequence[Sequence[str]]
    """References that their own cell takes off the board: R1, R2 (not fitted)."""
    off_by_text: Mapping[int, Sequence[str]]
    """References that another cell of the row takes off the board."""
    numbers: Sequence[str]
    values: Sequence[str]
    comments: Sequence[str]
    descriptions: Sequence[str]
    packages: Sequence[str]
    mountings: Sequence[str]
    supplies: Sequence[str]
    asked: Mapping[int, Said]
    by_hand: Mapping[int, str]
    provided: Mapping[int, str]
    sides: Mapping[int, Side]
    quantities: Sequence[float | None]
    sizes: DimensionColumns
    figures: Sequence[tuple[tuple[str, float], ...]]
    """The numbers of each row below titles that say nothing, each with its title."""
    off: StaysOff
    unclear: Sequence[int]
    """Rows whose value is NC, which may mean not connected or a part's name."""
    footers: Container[int]
    notes: Sequence[Note]
    unread: Sequence[Discrepancy]
    """Columns of remarks on most rows, each with those of which nothing is made: one question a column."""
    decisions: tuple[Decision, ...]
    makers: Sequence[str]
    titled: Sequence[tuple[str, Sequence[str]]]
    """Every column with its title."""

    def place(self, i: int) -> Place:
        """Return where a row stands."""
        return self.table.place(self.table.row_numbers[i])

    def names(self, i: int) -> bool:
        """Whether a row names a part beside its references."""
        return bool(self.numbers[i] or self.values[i] or self.descriptions[i])

    def says_anything(self, i: int) -> bool:
        """Whether a row names a part, or references that stay off the board."""
        return bool(self.left_off[i]) or self.names(i)

    def line(self, i: int, refs: tuple[str, ...], *, is_whole: bool) -> BomLine:
        """Return the line of a row; *is_whole* says that a short row is as it should be."""
        row = self.table.row_numbers[i]
        doubtful = row in self.table.continued or (row in self.table.doubtful and not is_whole)
        return BomLine(
            refs=refs,
            part_number=self.numbers[i],
            value=self.values[i] or self.comments[i],
            description=self.descriptions[i],
            package=self.packages[i],
            quantity=self.quantities[i],
            fitted=not self.off.off[i] or doubtful,
            dimensions=self.sizes.of_row(i),
            figures=self.figures[i],
            file=self.table.file,
            row=row,
            sheet=self.table.sheet,
            stated_fitted=self.off.stated[i],
            doubtful=doubtful,
            contradicted=self.off.contradicted[i] or (bool(self.numbers[i]) and i in self.unclear),
            mounting=self.mountings[i],
            supply=self.supplies[i],
            asked="" if self.off.titled[i] else self.asked.get(i, ""),
            by_hand=self.by_hand.get(i, ""),
            provided=self.provided.get(i, ""),
            maker=self.makers[i],
            cells={title: column[i] for title, column in self.titled},
            side=self.sides.get(i),
        )


def read_rows(
    table: Table,
    columns: Columns,
    problems: Problems,
    *,
    decimal: str | None,
    variant: str | None,
    known: Container[str],
) -> BomRows:
    """Return what each row of *table* says; see :func:`capcheck.intake.bom.bom_lines.read_lines`."""
    index = columns.index

    def cells(role: Role) -> Sequence[str]:
        return list(table.columns[index[role]]) if role in index else [""] * len(table)

    values, numbers = cells(Role.VALUE), without_marks(cells(Role.PART_NUMBER))
    packages, descriptions = _with_codes(
        without_marks(cells(Role.FOOTPRINT)), _descriptions(table, columns), names_of_sizes(table, columns)
    )
    fitted = read_fitted(table, columns, variant)
    quantities, decisions = _quantities(table, columns, variant)
    refused = refuse_units(table, columns, problems, placed=False)
    sizes = read_dimensions(table, columns, decimal, problems, without=refused)
    written = columns.references(table)
    references = [without_footnotes(text, known) for text in written]
    listed = [off_among_references(text, known) for text in references]
    rows = table.row_numbers
    expanded = [*expand_each((text for text, _ in listed), known, lambda i: table.place(rows[i]))]
    refs = [of_row for of_row, _ in expanded]
    by_text = _off_by_texts(table, columns, refs)
    notes = [*table.notes, *fitted.notes, *other_numbers(table, columns, numbers)]
    off = stays_off(table, columns, fitted, quantities, notes, refs=refs, partly=list(by_text))
    asked = rows_asked(table, columns, variant)
    remarks, unread = remarks_asked(table, columns, asked)
    asked |= remarks
    return BomRows(
        table=table,
        references=references,
        expanded=expanded,
        left_off=[left for _, left in listed],
        off_by_text=by_text,
        numbers=numbers,
        values=values,
        comments=cells(Role.COMMENT),
        descriptions=descriptions,
        packages=packages,
        mountings=_mountings(table, columns),
        supplies=_supplies(table, columns),
        asked=asked | footnotes_asked(written, references) | _quantities_asked(table, columns, quantities, refs),
        by_hand=rows_by_hand(table, columns),
        provided=rows_provided(table, columns),
        sides=sides_told(table, columns),
        quantities=quantities,
        sizes=sizes,
        figures=figures_of_rows(table, columns, decimal),
        off=off,
        unclear=ambiguous_nc(values),
        footers=footer_rows(table, references, quantities, known),
        notes=notes,
        unread=[Discrepancy(Topic.LEFT_OUT, note.said, (), note.place, Severity.ASSUMED) for note in unread],
        decisions=(*fitted.decisions, *decisions, *number_taken(table, columns, numbers), *sizes.decisions),
        makers=cells(Role.MANUFACTURER),
        titled=[(table.title(at), column) for at, column in enumerate(table.columns)],
    )


def _descriptions(table: Table, columns: Columns) -> Sequence[str]:
    """Return the descriptions, with what other texts of the rows say of a height."""
    at = columns.index.get(Role.DESCRIPTION)
    texts = [""] * len(table) if at is None else list(table.columns[at])
    for i, remarks in heights_in_remarks(table, columns).items():
        texts[i] = ", ".join(filter(None, (texts[i], *remarks)))
    return texts


def _mountings(table: Table, columns: Columns) -> Sequence[str]:
    """Return how each row's part is mounted, as all columns of it say."""
    every = [
        at for at in (columns.index.get(Role.MOUNTING), *columns.variants.get(Role.MOUNTING, ())) if at is not None
    ]
    told = [_mounting(table, at) for at in every]
    return [" / ".join(dict.fromkeys(filter(None, row))) for row in zip(*told, strict=True)] or [""] * len(table)


def _mounting(table: Table, at: int) -> Sequence[str]:
    """Return what one column says; "no" below "SMD" says that it is not on the surface."""
    cells, words, answers = table.columns[at], vocabulary().mountings, vocabulary().answers
    if table.title(at) not in words.surface or not any(cell in answers.no for cell in cells):
        return list(cells)
    drilled = words.drilled.listed[0]
    return [drilled if cell in answers.no else table.title(at) if cell in answers.yes else cell for cell in cells]


def _supplies(table: Table, columns: Columns) -> Sequence[str]:
    """Return what each row says its part is supplied in: the column of such a title, where its cells know the words."""
    found = _supply(table, columns)
    if found is None:
        return [""] * len(table)
    unstated = {"", *vocabulary().answers.unstated.spelt}
    return ["" if fold(cell).strip(" -?") in unstated else cell for cell in found[1]]


def supply_column(table: Table, columns: Columns) -> int | None:
    """Return the column from which it is read how parts are supplied, or None."""
    found = _supply(table, columns)
    return None if found is None else found[0]


def _supply(table: Table, columns: Columns) -> tuple[int, Sequence[str]] | None:
    """Return that column with its cells, where bare widths of tapes have their unit."""
    titled = [i for i, title in enumerate(table.header) if _SUPPLY_TITLE.search(fold(title))]
    for at in sorted(set(titled) - {*columns.index.values()}):
        cells: Sequence[str] = table.columns[at]
        if _SUPPLY.search(fold(table.title(at))) is not None and any(map(_BARE_WIDTH.fullmatch, cells)):
            # A bare number below "Tape width" is that of a tape, in mm.
            name = table.title(at)
            cells = [f"{name} {cell} mm" if _BARE_WIDTH.fullmatch(cell) else cell for cell in cells]
        if any(_SUPPLY.search(fold(cell)) for cell in dict.fromkeys(cells)):
            return at, cells
    return None


def _with_codes(
    packages: Sequence[str], descriptions: Sequence[str], codes: Sequence[str] | None
) -> tuple[Sequence[str], Sequence[str]]:
    """Return packages and descriptions with the *codes* of sizes: beside a package's name one may name another body."""
    if codes is None:
        return packages, descriptions
    beside = [code if package and code not in package else "" for package, code in zip(packages, codes, strict=True)]
    return (
        [package or code for package, code in zip(packages, codes, strict=True)],
        [", ".join(filter(None, texts)) for texts in zip(descriptions, beside, strict=True)],
    )


def _off_by_texts(table: Table, columns: Columns, refs: Sequence[Sequence[str]]) -> dict[int, list[str]]:
    """Return for the rows whose texts take some of their references off the board which those are."""
    found: dict[int, list[str]] = {}
    for column in off_in_texts(table, columns):
        for i, text in enumerate(column):
            if len(refs[i]) > 1 and text and (off := off_by_text(text, refs[i])):
                found[i] = list(dict.fromkeys((*found.get(i, ()), *off)))
    return found


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
        none = [{i for i, t in enumerate(table.columns[c]) if not _number(t)} for c in candidates]
        if any(rows != none[0] for rows in none[1:]):
            names = [table.title(c) for c in candidates]
            decisions.append(
                Decision(
                    Topic.VARIANT,
                    choice=say("bom.quantity from", title=names[0]),
                    evidence=say("bom.several count", titles=names),
                    runner_up=say("bom.title", title=names[1]),
                    settle=f"variant = {in_toml(names[0])}",
                    open=True,
                    place=Place(table.file, sheet=table.sheet),
                )
            )
    return _counts(table.columns[chosen]), decisions


def _counts(cells: Sequence[str]) -> list[float | None]:
    """Return the count in each cell; 1,000 is a thousand or one, unless most cells write three decimals."""
    grouped = [_GROUPED.fullmatch(cell) is not None for cell in cells]
    if 2 * sum(grouped) > sum(map(bool, cells)):
        grouped = [False] * len(cells)
    return [None if may_be_thousands else _number(cell) for cell, may_be_thousands in zip(cells, grouped, strict=True)]


def _quantities_asked(
    table: Table, columns: Columns, counted: Sequence[float | None], refs: Sequence[Sequence[str]]
) -> dict[int, Said]:
    """Return the rows whose quantity is blank or a text among numbers, with it: nothing of it may be fitted."""
    at = columns.index.get(Role.QUANTITY)
    if at is None or 2 * sum(number is not None for number in counted) < len(counted):
        return {}
    open_rows = [i for i, count in enumerate(counted) if count is None and refs[i]]
    open_rows = [i for i in open_rows if table.row_numbers[i] not in table.continued]
    texts = {i: table.columns[at][i].strip()[:_SHOWN] for i in open_rows}
    blank = say("tables.column blank", title=table.title(at))
    return {
        i: say("bom.quantity says", title=table.title(at), text=text) if text else blank for i, text in texts.items()
    }


def _number(text: str) -> float | None:
    match = _QUANTITY.fullmatch(fold(text))
    if match is None:
        return None
    value = float(match[1].replace(",", "."))
    return value if math.isfinite(value) else None
