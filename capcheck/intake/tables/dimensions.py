"""Columns that state a size, a mass or a pin count, in a bill of materials or in placement data."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from itertools import count
from typing import TYPE_CHECKING, Final

import numpy as np
from msgspec import Struct, field

from capcheck.intake.tables.cells import CellError, NoUnitError, read_numbers
from capcheck.intake.tables.columns import Columns
from capcheck.intake.tables.content import is_number
from capcheck.intake.tables.header_units import unread_unit
from capcheck.intake.tables.header_words import Role, read_title
from capcheck.intake.tables.noted_size import (
    How,
    about as about_so_large,
    is_partial,
    is_tolerance,
    is_usual,
    read_noted,
    with_tolerance,
)
from capcheck.intake.tables.raised import columns_of_raised, raises
from capcheck.intake.tables.size_cell import is_code, may_be_size, may_name_body, read_size, states_size
from capcheck.intake.tables.size_units import units_of_sizes
from capcheck.lexicon import vocabulary
from capcheck.model import UNREAD_SIZE, Decision, Ints, about, in_some_unit, unread
from capcheck.values import LENGTH, MASS, NUMBER, Dimension, Interval, Place, Problems

if TYPE_CHECKING:
    from capcheck.intake.tables.table import Table

Sizes = Mapping[str, tuple[Interval, str]]

_DIMENSIONS: Final[dict[Role, Dimension]] = {
    Role.LENGTH: LENGTH,
    Role.WIDTH: LENGTH,
    Role.HEIGHT: LENGTH,
    Role.SIZE: LENGTH,
    Role.PITCH: LENGTH,
    Role.MASS: MASS,
    Role.PINS: NUMBER,
}
_BLANK: Final = frozenset({"", "-", "–", "—", "~", "x", "/"})
_STATED: Final = frozenset({Role.LENGTH, Role.WIDTH, Role.HEIGHT, Role.MASS})
"""What every part has: a 0 or a question mark among figures says that it is not known."""
_LONGEST_SHOWN: Final = 40
_SHOWN_PROBLEMS: Final = 20
_FEWEST: Final = 3
"""Different cells that make a column: fewer may each be a slip."""
_HABIT: Final = 0.5
"""The share of zeros, or of question marks, from which they are how a column leaves a size out."""
_ANY: Final = Interval(0.0, math.inf)


class DimensionColumns(Struct, frozen=True):
    """The stated sizes of each row: rows with one *index* state the same, each at its own place; −1 states none."""

    index: Ints
    sizes_at: Callable[[int], Sizes]
    decisions: tuple[Decision, ...] = ()
    """What had to be inferred to read them: the unit."""

    def of_row(self, row: int) -> Sizes:
        """Return the sizes that the row with this index states."""
        return {} if self.index[row] < 0 else self.sizes_at(row)


class _Source(Struct, frozen=True):
    """A column that states a size: its role, its unit, and where cells that cannot be read are told."""

    role: Role | None
    """None for a column of lengths that nothing says the meaning of."""
    column: int
    title: str
    units: tuple[str, ...]
    """The unit of cells without one; of several any may be meant."""
    problems: Problems
    unread: list[tuple[int, str, CellError]] = field(default_factory=list)
    """The cells that no measure can be read from: the row, the text and why."""
    read: list[str] = field(default_factory=list)
    """The cells that state something, if only about."""
    zero_is_blank: bool = False
    asked_is_blank: bool = False
    """Whether a question mark is how the column leaves a size out."""
    usual: bool = False
    """Whether the title says that the sizes are usual ones."""
    partial: bool = False
    """Whether the title says that the sizes are no greatest ones of the part."""
    tolerance: bool = False
    """Whether the column says by how much another one's sizes may be off."""
    remark: bool | None = None
    """Whether a column of texts holds remarks or what the parts are; None for a column of sizes."""


def read_dimensions(
    table: Table, columns: Columns, decimal: str | None, problems: Problems, *, without: frozenset[Role] = frozenset()
) -> DimensionColumns:
    """Return the sizes stated in *table*, each with its place, such as ``bom.csv:14 height``.

    The roles in *without* are not read: their titles are at fault.

    A cell that cannot be read, or a side of 0, leaves that size unread; only where no cell of a column can be read the
    column is added to *problems*.
    """
    read: dict[tuple[int, str], Mapping[str, Interval]] = {}
    used = [role for role in _DIMENSIONS if role in columns.index and role not in without]
    index = np.full(len(table), -1, dtype=np.int64)
    raised = columns_of_raised(table, columns)
    if not used and not columns.unclear and not raised:
        return DimensionColumns(index, lambda _: {})
    decimal = decimal or _mark_beside(table, [table.columns[columns.index[role]] for role in used])
    inferred, decisions = units_of_sizes(table, columns, decimal)
    partial = _partial_columns(table, columns, used)
    sources = [
        _Source(
            role,
            column,
            _title(table, column),
            (unit,) if unit is not None else inferred if _DIMENSIONS[role] is LENGTH else (),
            problems if first else Problems(),
            zero_is_blank=role not in _STATED or _mostly(table.columns[column], "0., mg"),
            asked_is_blank=role not in _STATED or _mostly(table.columns[column], "? "),
            usual=is_usual(_title(table, column)),
            partial=column in partial,
            tolerance=column not in partial and role in _STATED and is_tolerance(_title(table, column)),
        )
        for role in used
        for column, unit, first in _columns_of(role, table, columns)
    ]
    sources += [_Source(None, column, _title(table, column), (), problems) for column in columns.unclear]
    sources += [_Source(None, at, _title(table, at), (), problems, remark=remark) for at, remark in raised.items()]
    cells = [table.columns[source.column] for source in sources]

    def sizes_at(i: int) -> Sizes:
        row, sizes = table.row_numbers[i], dict[str, tuple[Interval, str]]()
        texts = [column[i] for column in cells]
        for source, text in zip(sources, texts, strict=True):
            if (source.column, text) not in read:
                read[source.column, text] = _said_in(text, source, row, decimal)
            for size, value in read[source.column, text].items():
                _add(sizes, size, source, value, _said_at(table, row, size, source, text))
        _widen(sizes, sources, texts, decimal)
        return sizes

    numbers = count()
    known: dict[tuple[str, ...], int] = {}
    for i, texts in enumerate(zip(*cells, strict=True)):
        if table.doubtful and table.row_numbers[i] in table.doubtful:
            continue  # its cells may be those of other columns
        if texts not in known:
            known[texts] = next(numbers) if sizes_at(i) else -1
        index[i] = known[texts]
    for source in sources:
        _refuse_unread_column(table, source)
    return DimensionColumns(index, sizes_at, decisions)


def _partial_columns(table: Table, columns: Columns, used: Sequence[Role]) -> set[int]:
    """Return the columns whose titles say that they hold no greatest sizes, where no other column holds these."""
    found: set[int] = set()
    for role in used:
        if role in _STATED or role is Role.SIZE:
            every = [columns.index[role], *columns.variants.get(role, ())]
            partial = {at for at in every if is_partial(_title(table, at))}
            found |= partial if len(partial) == len(every) else set()
    return found


def _mostly(cells: Sequence[str], signs: str) -> bool:
    """Whether cells of nothing but these signs are how a column leaves a size out."""
    filled = [cell for cell in cells if cell]
    return bool(filled) and sum(not cell.strip(signs) for cell in filled) >= _HABIT * len(filled)


def _refuse_unread_column(table: Table, source: _Source) -> None:
    """Add to the problems that a column states nothing in any of its cells: then it is another one, or of no use."""
    unread = source.unread
    if source.read or len(unread) < _FEWEST or any(isinstance(error, NoUnitError) for _, _, error in unread):
        return
    for row, _, error in unread[:_SHOWN_PROBLEMS]:
        where = Place(table.file, row, str(source.role), table.sheet)
        source.problems.add(where, error.what, error.why, error.remedy)
    if len(unread) > _SHOWN_PROBLEMS:
        where = Place(table.file, None, str(source.role), table.sheet)
        source.problems.add(where, f"{len(unread)} different cells are not read, and no cell is")


def _mark_beside(table: Table, cells: Sequence[Sequence[str]]) -> str | None:
    """Return the comma where semicolons or tabs leave it to the numbers, and none of them has a point."""
    apart = table.delimiter in {"semicolon", "tab"}
    return "," if apart and not any("." in cell for column in cells for cell in column) else None


def _columns_of(role: Role, table: Table, columns: Columns) -> Iterator[tuple[int, str | None, bool]]:
    """Yield each column that states *role* with its unit, the first marked so: ``height`` and ``max. height``.

    What the others hold is no fault of the file where it cannot be read.
    """
    unit = "" if _DIMENSIONS[role] is NUMBER else columns.units.get(role)
    yield columns.index[role], unit, True
    for column in columns.variants.get(role, ()):
        title = _title(table, column)
        if role is Role.PINS:
            if _is_repeated(title, _title(table, columns.index[role])):
                yield column, unit, False
        elif unread_unit(title, _DIMENSIONS[role]) is None:
            yield column, next(iter(read_title(title).units), unit), False


def _title(table: Table, column: int) -> str:
    return table.header[column] if column < len(table.header) else ""


def _is_repeated(title: str, first: str) -> bool:
    """Whether a title is another one with a number: beside ``Pins`` stands ``Pins 2``, and ``Pad pins`` counts pads."""
    words, plain = ([w for w in read_title(text).words if not w.isdigit()] for text in (title, first))
    return words == plain


def _said_at(table: Table, row: int, size: str, source: _Source, text: str) -> str:
    if size.startswith((UNREAD_SIZE, about(""), in_some_unit(""))):
        return f'{Place(table.file, row, None, table.sheet)}: {source.title} "{text[:_LONGEST_SHOWN]}"'
    return str(Place(table.file, row, size, table.sheet))


def _add(sizes: dict[str, tuple[Interval, str]], size: str, source: _Source, value: Interval, where: str) -> None:
    """Add a stated size; of two columns that state it all counts from the one to the other."""
    before = sizes.get(size)
    if before is None:
        sizes[size] = (value, where)
    elif before[0].hull(value) != before[0]:
        sizes[size] = (before[0].hull(value), f"{before[1]} and {source.title}")


def _widen(
    sizes: dict[str, tuple[Interval, str]], sources: Sequence[_Source], texts: Sequence[str], decimal: str | None
) -> None:
    """Let sizes be off by what the cells of columns of tolerances say; what cannot be read leaves them unread."""
    for source, text in zip(sources, texts, strict=True):
        size = str(source.role)
        if not source.tolerance or text.casefold() in _BLANK or size not in sizes:
            continue
        value, where = sizes[size]
        try:
            widened = with_tolerance(value, text, units=source.units, decimal=decimal)
            sizes[size] = widened, f"{where} and {source.title}"
        except CellError:
            sizes[unread(size)] = _ANY, f'{where} and {source.title} "{text[:_LONGEST_SHOWN]}"'


def _said_in(text: str, source: _Source, row: int, decimal: str | None) -> Mapping[str, Interval]:
    """Return what a cell states by itself, by the names of the sizes; a tolerance states none."""
    if source.tolerance:
        return {}
    return _read_cell(text, source, row, decimal=decimal) if source.remark is None else _raised(text, source)


def _raised(text: str, source: _Source) -> Mapping[str, Interval]:
    return {unread("height"): _ANY} if raises(text, remark=bool(source.remark), title=source.title) else {}


def _read_cell(text: str, source: _Source, row: int, *, decimal: str | None) -> Mapping[str, Interval]:
    """Return what a cell states, by the names of the sizes."""
    if text.strip().casefold() in _BLANK or text in vocabulary().answers.unstated:
        return {}
    if not text.strip("? "):
        return {} if source.asked_is_blank else {unread(str(source.role)): _ANY}
    if source.role is Role.SIZE:
        axes, unit = read_title(source.title).axes, source.units[0] if source.units else None
        if not may_be_size(text):
            # One number under a title that has a unit is a length of the body, and nobody says which.
            open_ = read_title(source.title).unit and is_number(text.strip()) and not is_code(text.strip())
            return {UNREAD_SIZE: _ANY} if open_ else {}
        found = read_size(text, unit=unit, axes=axes, decimal=decimal)
        return {UNREAD_SIZE: _ANY} if found is None else found
    if source.role is None:
        return {UNREAD_SIZE: _ANY} if any(c in "123456789" for c in text) else {}
    size, dimension = str(source.role), _DIMENSIONS[source.role]
    if source.partial:
        source.read.append(text)
        return {unread(size): _ANY}
    try:
        noted = read_noted(text, dimension, units=source.units, decimal=decimal)
    except CellError as error:
        source.unread.append((row, text, error))
        return {unread(size): _ANY}
    source.read.append(text)
    if source.usual and noted.how is How.AS_WRITTEN:
        noted = about_so_large(noted.value)
    value = noted.value
    if value.high <= 0:
        return {} if value.low == value.high == 0 and source.zero_is_blank else {unread(size): _ANY}
    # Of several units one is meant, and nothing between them: what another source states there is none of them.
    is_open = len(source.units) > 1 and value.low < value.high
    asked = {about(size): value} if noted.how is How.ABOUT or is_open else {}
    return {size: value, **asked, **({in_some_unit(size): value} if is_open else {})}


def heights_in_remarks(table: Table, columns: Columns) -> dict[int, list[str]]:
    """Return for each row the texts that state a height in words, in columns that say nothing else of the part.

    Of remarks on parts, and of further columns of values, those count too that may name another body: ``size 2512``,
    ``now SOT-23``.
    """
    naming = {at for role in (Role.VALUE, Role.DESCRIPTION) for at in columns.variants.get(role, ())}
    if Role.VALUE in columns.index and Role.COMMENT in columns.index:
        naming.add(columns.index[Role.COMMENT])
    known = {i for role, i in columns.index.items() if role is not Role.COMMENT}
    found: dict[int, list[str]] = {}
    for column in set(range(len(table.columns))) - known:
        for i, text in enumerate(table.columns[column]):
            if text and (may_name_body(text) if column in naming else states_size(text)):
                found.setdefault(i, []).append(text)
    return found


def figures_of_rows(table: Table, columns: Columns, decimal: str | None) -> Sequence[tuple[tuple[str, float], ...]]:
    """Return for each row its numbers in columns of which nothing says what they count, each with the title."""
    read = [
        (table.title(at), read_numbers(table.columns[at], decimal=decimal, thousands=False)[0].tolist())
        for at in columns.figures
    ]
    return [tuple((title, values[i]) for title, values in read if values[i] > 0) for i in range(len(table))]


def names_of_sizes(table: Table, columns: Columns) -> Sequence[str] | None:
    """Return for each row the codes and names, such as 0603, in its columns of sizes and its further ones of packages.

    None without such a column.
    """
    sizes = (columns.index[Role.SIZE], *columns.variants.get(Role.SIZE, ())) if Role.SIZE in columns.index else ()
    packages = columns.variants.get(Role.FOOTPRINT, ())
    if not sizes and not packages:
        return None
    cells = [
        [c if c.casefold() not in _BLANK and (i in packages or not may_be_size(c)) else "" for c in table.columns[i]]
        for i in dict.fromkeys((*sizes, *packages))
    ]
    return [", ".join(dict.fromkeys(filter(None, row))) for row in zip(*cells, strict=True)]
