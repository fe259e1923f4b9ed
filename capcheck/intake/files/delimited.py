"""Text parted at a delimiter: cells, the line each row starts on, and quotes that spoil rows mended."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import TYPE_CHECKING, Final

from msgspec import Struct, field

from capcheck.model import Said, say
from capcheck.values import pattern

if TYPE_CHECKING:
    from _csv import Reader

DELIMITERS: Final = {"comma": ",", "semicolon": ";", "tab": "\t", "pipe": "|"}
_WIDE: Final = 4
"""Columns from which lines that are each a whole row are no cell of several lines."""
_MOST_WRAPPED: Final = 3
_MOSTLY: Final = 0.6
_HEAD: Final = 4000
"""Characters in which a file of wrapped rows shows one."""
_WRAPPED: Final = pattern(r'\s*"((?:[^"]|"")*)"[\s,;|]*')
_WRAPPED_ONLY: Final = pattern(r'\s*"("[^",;\t|].*[^",;\t|]")"[\s,;|]*')
"""Quotes around a line of quoted cells, whose own are not doubled: ``""U1","20","10k""``."""
_WRAPPED_IN_SINGLE: Final = pattern(r"\s*'([^']*)'[\s,;|]*")
_LONGEST_CELL: Final = 1 << 30
"""The csv module stops at cells of 128 KB; an open quote makes longer ones, which are mended afterwards."""


class Rows(Struct):
    """The rows of a text, the line each starts on, and what is to be said of rows that were mended."""

    rows: list[list[str]]
    numbers: Sequence[int]
    notes: list[Said] = field(default_factory=list)
    doubtful: set[int] = field(default_factory=set)
    """The lines whose cells may stand in other columns than their own."""


def read_delimited(text: str, delimiter: str) -> Rows:
    """Return the rows and the line each starts on; a blank line is an empty row."""
    with _long_cells():
        rows = list(_reader(text, delimiter))
        if len(rows) == text.count("\n") + (not text.endswith("\n")):
            return Rows(rows, range(1, len(rows) + 1))
        # Cells with line breaks: only then are the lines counted row by row.
        reader = _reader(text, delimiter)
        ends = [reader.line_num for _ in reader]
        return Rows(rows, [1, *(end + 1 for end in ends[:-1])])


def _reader(text: str, delimiter: str) -> Reader:
    return csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, skipinitialspace=delimiter != "\t")


@contextmanager
def _long_cells() -> Iterator[None]:
    before = csv.field_size_limit(_LONGEST_CELL)
    try:
        yield
    finally:
        csv.field_size_limit(before)


def without_outer_quotes(text: str) -> tuple[str, int]:
    """Return the text with the quotes taken off that wrap its lines whole, and how many lines had them.

    A program that quotes what is a row already makes one cell of it: ``"U1,20,""10k, 1%"",top"``. Only where most
    lines are so are they no cells that hold a list.
    """
    wrapped = 0
    for _ in range(_MOST_WRAPPED):
        if not any(line.lstrip()[:1] in {'"', "'"} for line in text[:_HEAD].split("\n")):
            break
        lines = text.split("\n")
        filled = [i for i, line in enumerate(lines) if line.strip()]
        inner = {i: found for i in filled if (found := _unwrapped(lines[i])) is not None}
        if len(inner) <= _MOSTLY * len(filled):
            break
        wrapped = len(inner)
        text = "\n".join([inner.get(i, line) for i, line in enumerate(lines)])
    return text, wrapped


def _unwrapped(line: str) -> str | None:
    """Return what the quotes around a whole line hold, if it parts into cells; None where no quotes wrap the line."""
    if match := _WRAPPED.fullmatch(line):
        inner = match[1].replace('""', '"')
    elif match := _WRAPPED_ONLY.fullmatch(line) or _WRAPPED_IN_SINGLE.fullmatch(line):
        inner = match[1]
    else:
        return None
    return inner if any(mark in inner for mark in DELIMITERS.values()) or not inner.strip() else None


def may_need_mending(read: Rows, text: str) -> bool:
    """Whether quotes may have spoilt rows: they do not pair, or rows differ in width or run over several lines."""
    if '"' not in text:
        return False
    even = len(set(map(len, read.rows))) == 1 and len(read.rows[0]) > 1 and isinstance(read.numbers, range)
    return text.count('"') % 2 == 1 or not even


class _Mended(Struct):
    """What to put in the place of each row that quotes have spoilt, and the rows of the file by kind of mending."""

    rows: dict[int, list[list[str]]] = field(default_factory=dict)
    whole: list[int] = field(default_factory=list)
    joined: list[int] = field(default_factory=list)
    inner: list[int] = field(default_factory=list)
    unclosed: list[int] = field(default_factory=list)

    def notes(self) -> list[Said]:
        """Return what is to be said of them."""
        found = [say("files.quote never closed", row=row) for row in self.unclosed]
        if self.whole:
            found.append(say("files.rows quoted whole", count=len(self.whole)))
        if self.joined:
            found.append(say("files.rows joined by quotes", rows=[*map(str, self.joined[:10])]))
        if self.inner:
            found.append(say("files.quotes not doubled", rows=[*map(str, self.inner[:10])]))
        return found


def mend_quotes(read: Rows, text: str, delimiter: str, width: int) -> Rows:
    """Return the rows with those mended that quotes have spoilt, where that gives exactly *width* cells.

    Such are rows quoted whole, inch marks inside quoted cells, and a quote that is never closed.
    """
    rows, numbers = read.rows, read.numbers
    odd = [i for i, row in enumerate(rows) if row and (len(row) != width or "\n" in "".join(row))]
    if width < 2 or not odd:
        return read
    last = len(rows) - 1
    # A quote that is never closed makes one cell of all the lines behind it.
    uneven = text.count('"') % 2 == 1 or not text.rstrip().endswith('"')
    unclosed = last if uneven and any("\n" in cell for cell in rows[last][-1:]) else None
    lines = text.split("\n")
    mended = _Mended()
    with _long_cells():
        for i in odd:
            if cells := _from_one_cell(rows[i], delimiter, width):
                mended.rows[i] = [cells]
                mended.whole.append(numbers[i])
                continue
            end = numbers[i + 1] - 1 if i < last else len(lines)
            filled = [line for line in lines[numbers[i] - 1 : end] if line.strip()]
            parts = [_by_quotes(line, delimiter) for line in filled]
            if parts and all(len(part) == width for part in parts):
                mended.rows[i] = parts
                mended.inner.append(numbers[i])
            elif i != unclosed and (parts := _joined(filled, delimiter, width)):
                mended.rows[i] = parts
                mended.joined.append(numbers[i])
            elif i == unclosed:
                mended.rows[i] = [_without_quotes(line, delimiter) for line in filled]
                mended.unclosed.append(numbers[i])
    return _put_in(read, mended)


def _put_in(read: Rows, mended: _Mended) -> Rows:
    """Put mended rows in the place of those they were read as."""
    if not mended.rows:
        return read
    fresh = Rows([], numbers := [], mended.notes())
    for i, row in enumerate(read.rows):
        for k, cells in enumerate(mended.rows.get(i, [row])):
            fresh.rows.append(cells)
            numbers.append(read.numbers[i] + k)
    return fresh


def _joined(lines: list[str], delimiter: str, width: int) -> list[list[str]]:
    """Return the rows that stray quotes have joined into one, each of full width by itself; none where it is one row.

    In a narrow table a cell of several lines could look so by chance.
    """
    parts = [_without_quotes(line, delimiter) for line in lines]
    return parts if len(parts) > 1 and width >= _WIDE and all(len(part) == width for part in parts) else []


def _from_one_cell(row: list[str], delimiter: str, width: int) -> list[str]:
    """Return the cells of a row that was quoted whole; none where it was not."""
    if len(row) != 1 or "\n" in row[0]:
        return []
    for mark in (delimiter, *DELIMITERS.values()):
        if mark in row[0]:
            cells = next(csv.reader([row[0]], delimiter=mark, skipinitialspace=True), [])
            if len(cells) == width:
                return cells
    return []


def _by_quotes(line: str, delimiter: str) -> list[str]:
    """Part a line of quoted cells at quote, delimiter, quote, whatever quotes stand in between."""
    line = line.strip()
    if len(line) < 2 or line[0] != '"' or line[-1] != '"':
        return []
    return line[1:-1].split(f'"{delimiter}"')


def _without_quotes(line: str, delimiter: str) -> list[str]:
    """Part a line whose quotes do not pair: by its quotes' rule if they do here, else at each delimiter."""
    if line.count('"') % 2 == 0:
        return next(csv.reader([line], delimiter=delimiter, skipinitialspace=True), [])
    return line.split(delimiter)
