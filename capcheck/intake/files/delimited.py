"""Text with delimiters: which delimiter it is, decided by which one makes a table; and the awkward mixtures."""

from __future__ import annotations

import csv
import io
from collections import Counter
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Final

import numpy as np
from msgspec import Struct, field

from capcheck.intake.files.grid import BLANK_RUN, Grid, Middle, without_blank_runs
from capcheck.intake.files.packed import PAD, PackedColumn
from capcheck.intake.tables import find_header, header_cells, is_number, is_reference
from capcheck.model import Note
from capcheck.values import InputError, Place, pattern

if TYPE_CHECKING:
    from _csv import Reader

_QUOTE_AT_DELIMITER: Final = pattern(r'[,;\t|]"|"[,;\t|]')
_DELIMITERS: Final = ((",", "comma"), (";", "semicolon"), ("\t", "tab"), ("|", "pipe"))
_MIXED: Final = 0.7
_SAMPLE_LINES: Final = 300
_HEAD_LINES: Final = 1500
_FOOT_LINES: Final = 200
_LARGE: Final = 200_000
"""Characters of a text from which on reading it by columns pays."""
_SAMPLE_SIZE: Final = 200_000
_WIDE: Final = 4
"""Columns from which lines that are each a whole row are no cell of several lines."""
_LONGEST_CELL: Final = 1 << 30
"""The csv module stops at cells of 128 KB; an open quote makes longer ones, which are mended afterwards."""


class _Rows(Struct):
    """Rows, the line each starts on, and what had to be mended."""

    rows: list[list[str]]
    numbers: Sequence[int]
    notes: list[str] = field(default_factory=list)

    @property
    def lines_in_cells(self) -> bool:
        """Whether a row runs over several lines."""
        return not isinstance(self.numbers, range)


class _Reading(Struct, frozen=True):
    """One way of reading a text, with how much of a table it makes."""

    name: str
    read: Callable[[str], _Rows]
    score: float
    top: float
    """The score that it has if all rows agree with its header; without a header none is good enough."""


def read_text(text: str, file: str) -> Grid:
    """Return the rows of a text in the reading that makes the best table of it.

    Raises :class:`InputError` if no reading gives two columns.
    """
    sample = _sample(text)
    readings = [_try(name, _reader(delimiter), sample) for delimiter, name in _DELIMITERS if delimiter in sample]
    if "\t" in sample and "," in sample:
        readings.append(_try("tab and comma", _read_both, sample))
    best = max(readings, key=lambda r: r.score, default=None)
    if best is None or best.score < 0.9 * best.top:
        readings += [_try("fixed width", _by_position, sample), _try("spaces", _by_spaces, sample)]
        best = max(readings, key=lambda r: r.score)
    if best.score <= 0:
        raise InputError.at(
            file,
            "no table is found in this text",
            "no delimiter or column position parts its lines into the same columns",
            "send it as CSV with a header, one part a row",
        )
    large = _read_large(text, best.name)
    if large is not None:
        return large
    read = best.read(text)
    notes = [Note(note, Place(file)) for note in read.notes]
    if _may_have_blank_runs(text, best.name) and len(read.rows) - sum(map(any, read.rows)) > BLANK_RUN:
        grid = without_blank_runs(read.rows, read.numbers, best.name, file)
        grid.notes += notes
        return grid
    return Grid(read.rows, read.numbers, best.name, notes, padded=_padded(text))


def _read_large(text: str, name: str) -> Grid | None:
    """Read the long middle of a large file by column, which takes a fraction of the time; None where it is uneven."""
    delimiter = {n: d for d, n in _DELIMITERS}.get(name)
    if delimiter is None or len(text) < _LARGE:
        return None
    start = foot = 0
    for _ in range(_HEAD_LINES):
        start = text.find("\n", start) + 1
        if not start:
            return None
    foot = len(text)
    for _ in range(_FOOT_LINES):
        foot = text.rfind("\n", start, foot)
        if foot < 0:
            return None
    top, end = _read_csv(text[:start], delimiter), _read_csv(text[foot + 1 :], delimiter)
    if len(top.rows) != _HEAD_LINES or any(read.notes or read.lines_in_cells for read in (top, end)):
        return None
    found = _columns_of(text[start:foot], delimiter)
    if found is None:
        return None
    columns, starts = found
    head, tail = top.rows, end.rows
    first = len(head) + 1
    behind = first + len(columns[0])
    numbers = [*range(1, first), *range(behind, behind + len(tail))]
    middle = Middle(len(head), first, columns, starts)
    return Grid([*head, *tail], numbers, name, padded=_padded(text), middle=middle)


def _columns_of(text: str, delimiter: str) -> tuple[list[PackedColumn], bytes] | None:
    """Part lines that all have the same number of cells into columns; None where one differs.

    Quotes stand around whole cells, or not at all. The second value holds the first byte of each line, each kind once.
    """
    data = np.frombuffer(b"".join([b"\0" * PAD, text.encode(), b"\n" + b"\0" * PAD]), dtype=np.uint8)
    ends, marked = data == ord("\n"), data == ord(delimiter)
    if '"' in text:
        quoted = np.logical_xor.accumulate(data == ord('"'))
        if np.any(ends & quoted):
            return None
        marked &= ~quoted
    marks = np.flatnonzero(ends | marked)
    width, rest = divmod(len(marks), int(np.count_nonzero(ends)))
    # Even lines: every width-th mark is a line's end, and there are no other ends.
    if rest or width < 2 or not ends[marks[width - 1 :: width]].all():
        return None
    starts = np.concatenate([[PAD], marks[:-1] + 1])
    if '"' in text:
        whole = (marks - starts > 1) & (data[starts] == ord('"')) & (data[marks - 1] == ord('"'))
        if 2 * int(np.count_nonzero(whole)) != text.count('"'):
            return None
        starts, marks = starts + whole, marks - whole
    columns = [PackedColumn(data, starts[k::width].copy(), marks[k::width].copy()) for k in range(width)]
    return columns, np.unique(data[columns[0].starts]).tobytes()


def _may_have_blank_runs(text: str, name: str) -> bool:
    mark = {n: d for d, n in _DELIMITERS}.get(name, " ")
    return "\n\n" in text or f"\n{mark}{mark}" in text or "\n " in text


def _padded(text: str) -> bool:
    """Whether a cell below the first line may have blanks around it."""
    return not text.isascii() or "\t" in text or " " in text[text.find("\n") + 1 :]


def _try(name: str, read: Callable[[str], _Rows], sample: str) -> _Reading:
    rows = read(sample).rows
    found = find_header(rows)
    score = worth(rows, found) * _unbroken(rows)
    if found is None and read is _read_both:
        score *= _MIXED  # commas in names make columns too, and no header tells otherwise
    return _Reading(name, read, score, 1.0 + found[1] if found else float("inf"))


def _unbroken(rows: Sequence[Sequence[str]]) -> float:
    """Return a weight from 0.5 to 1: where cells hold a quote beside another delimiter, that one parts the cells."""
    broken = sum(any(_QUOTE_AT_DELIMITER.search(cell) for cell in row if '"' in cell) for row in rows)
    return 1.0 - 0.5 * broken / max(len(rows), 1)


def _by_position(text: str) -> _Rows:
    from capcheck.intake.files.fixed_width import read_columns

    return _Rows(*read_columns(text))


def _by_spaces(text: str) -> _Rows:
    from capcheck.intake.files.fixed_width import read_spaces

    return _Rows(*read_spaces(text))


def _sample(text: str) -> str:
    end = -1
    for _ in range(_SAMPLE_LINES):
        end = text.find("\n", end + 1)
        if end < 0 or end > _SAMPLE_SIZE:
            break
    return text if end < 0 else text[: min(end, _SAMPLE_SIZE)]


def worth(rows: Sequence[Sequence[str]], found: tuple[int, int] | None) -> float:
    """Return how much of a table *rows* make, 0 if none; *found* is their header and its score, if there is one.

    It is the share of rows below the header that have its width, weighed by the titles that are known or, without a
    header, by the columns of references and numbers.
    """
    filled = [row for row in rows if sum(map(bool, row)) and not row[0].lstrip().startswith(("#", "//"))]
    if found is not None:
        width, roles = len(header_cells(rows[found[0]])), found[1]
        below = [row for row in rows[found[0] + 1 :] if any(c.strip() for c in row[:50])]
        below = [row for row in below if not row[0].lstrip().startswith(("#", "//", "--", "=="))]
        if not below:
            return 0.5 * roles
        agree = sum(abs(len(row) - width) <= (row[-1:] == [""]) for row in below) / len(below)
        # A header over rows of another width is a table still: what is wrong with it is said later, with its place.
        return max(agree, 0.02 * (width > 1)) * (1.0 + roles)
    if not filled:
        return 0.0
    width, count = Counter(map(len, filled)).most_common(1)[0]
    if width < 2:
        return 0.0
    usual = [row for row in filled if len(row) == width][:100]
    kinds = sum(
        sum(map(test, (row[k].strip() for row in usual))) >= 0.8 * len(usual)
        for k in range(min(width, 40))
        for test in (is_number, is_reference)
    )
    return (count / len(filled)) ** 2 * (0.5 + min(kinds, 5))


def _reader(delimiter: str) -> Callable[[str], _Rows]:
    def read(text: str) -> _Rows:
        return _read_csv(text, delimiter)

    return read


def _read_csv(text: str, delimiter: str) -> _Rows:
    """Return the rows and the line each starts on; a blank line is an empty row."""
    before = csv.field_size_limit(_LONGEST_CELL)
    try:
        rows = list(_csv(text, delimiter))
        read = _Rows(rows, range(1, len(rows) + 1))
        if len(rows) != text.count("\n") + (not text.endswith("\n")):
            # Cells with line breaks: only then are the lines counted row by row.
            reader = _csv(text, delimiter)
            ends = [reader.line_num for _ in reader]
            read.numbers = [1, *(end + 1 for end in ends[:-1])]
        _mend(read, text, delimiter)
    finally:
        csv.field_size_limit(before)
    return read


def _csv(text: str, delimiter: str) -> Reader:
    return csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, skipinitialspace=delimiter != "\t")


def _read_both(text: str) -> _Rows:
    """Read a text in which tabs and commas both part cells."""
    return _read_csv(text.replace(",\t", ",").replace("\t,", ",").replace("\t", ","), ",")


def _mend(read: _Rows, text: str, delimiter: str) -> None:
    """Mend rows that quotes have spoilt: rows quoted whole, inch marks inside quoted cells, a quote never closed.

    A row is mended only where that gives it exactly as many cells as the header, or as most rows, have.
    """
    regular = len(set(map(len, read.rows))) == 1 and len(read.rows[0]) > 1 and not read.lines_in_cells
    if '"' not in text or (text.count('"') % 2 == 0 and regular):
        return
    width = _usual_width(read.rows)
    if width < 2:
        return
    rows = read.rows
    last = len(rows) - 1
    # A quote that is never closed makes one cell of all the lines behind it.
    uneven = text.count('"') % 2 == 1 or not text.rstrip().endswith('"')
    unclosed = uneven and any("\n" in cell for cell in rows[last][-1:])
    odd = [i for i, row in enumerate(rows) if row and (len(row) != width or "\n" in "".join(row))]
    lines = text.split("\n") if odd else []
    mended: dict[int, list[list[str]]] = {}
    whole: list[int] = []
    inner: list[int] = []
    joined: list[int] = []
    for i in odd:
        cells = _from_one_cell(rows[i], delimiter, width)
        if cells is not None:
            mended[i] = [cells]
            whole.append(read.numbers[i])
            continue
        end = read.numbers[i + 1] - 1 if i < last else len(lines)
        filled = [line for line in lines[read.numbers[i] - 1 : end] if line.strip()]
        parts = [_by_quotes(line, delimiter) for line in filled]
        if parts and all(len(part) == width for part in parts):
            mended[i] = parts
            inner.append(read.numbers[i])
        elif (parts := _joined(filled, delimiter, width)) and not (unclosed and i == last):
            mended[i] = parts
            joined.append(read.numbers[i])
        elif unclosed and i == last:
            mended[i] = [_without_quotes(line, delimiter) for line in filled]
            read.notes.append(
                f"a quote that opens in row {read.numbers[i]} is never closed: it is taken as part of the text"
            )
    if mended:
        _put_in(read, mended)
    if whole:
        read.notes.append(f"{len(whole)} rows were quoted whole into one cell and are taken apart")
    if joined:
        at = ", ".join(map(str, joined[:10]))
        read.notes.append(
            f"stray quotes join several rows into one: they are taken as part of the text (near row {at})"
        )
    if inner:
        at = ", ".join(map(str, inner[:10]))
        read.notes.append(
            f"quotes inside quoted cells were not doubled and are read as part of the text (near row {at})"
        )


def _joined(lines: list[str], delimiter: str, width: int) -> list[list[str]]:
    """Return the rows that stray quotes have joined into one, each of full width by itself; none where it is one row.

    In a narrow table a cell of several lines could look so by chance.
    """
    parts = [_without_quotes(line, delimiter) for line in lines]
    return parts if len(parts) > 1 and width >= _WIDE and all(len(part) == width for part in parts) else []


def _put_in(read: _Rows, mended: dict[int, list[list[str]]]) -> None:
    """Put mended rows in the place of those they were read as."""
    numbers: list[int] = []
    fresh: list[list[str]] = []
    for i, row in enumerate(read.rows):
        for k, cells in enumerate(mended.get(i, [row])):
            fresh.append(cells)
            numbers.append(read.numbers[i] + k)
    read.rows, read.numbers = fresh, numbers


def _usual_width(rows: list[list[str]]) -> int:
    found = find_header(rows)
    if found is not None:
        return len(header_cells(rows[found[0]]))
    widths = Counter(len(row) for row in rows[:_SAMPLE_LINES] if len(row) > 1)
    return widths.most_common(1)[0][0] if widths else 0


def _from_one_cell(row: list[str], delimiter: str, width: int) -> list[str] | None:
    if len(row) != 1 or "\n" in row[0]:
        return None
    for mark in (delimiter, *(d for d, _ in _DELIMITERS)):
        if mark in row[0]:
            cells = next(csv.reader([row[0]], delimiter=mark, skipinitialspace=True), [])
            if len(cells) == width:
                return cells
    return None


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
