"""Text with delimiters: which delimiter it is, decided by which one makes a table; and the awkward mixtures."""

from __future__ import annotations

import csv
import io
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final

from capcheck.errors import InputError, Problem, Where
from capcheck.intake.content import is_number, is_reference
from capcheck.intake.grid import Grid
from capcheck.intake.header import find_header, header_cells
from capcheck.model import Note

_DELIMITERS: Final = ((",", "comma"), (";", "semicolon"), ("\t", "tab"), ("|", "pipe"))
_SAMPLE_LINES: Final = 300
_SAMPLE_SIZE: Final = 200_000
_LONGEST_CELL: Final = 1 << 24
"""A cell of a megabyte is a slip (an open quote), yet it must not stop the rest from being read."""


@dataclass(frozen=True, slots=True)
class _Reading:
    """One way of reading a text, with how much of a table it makes."""

    name: str
    read: Callable[[str], tuple[list[list[str]], Sequence[int]]]
    score: float


def read_text(text: str, file: str) -> Grid:
    """Return the rows of a text in the reading that makes the best table of it.

    Raises :class:`InputError` if no reading gives two columns.
    """
    from capcheck.intake.fixed_width import read_columns, read_spaces  # noqa: PLC0415

    sample = _sample(text)
    readings = [
        _Reading(name, _reader(delimiter), worth(_reader(delimiter)(sample)[0]))
        for delimiter, name in _DELIMITERS
        if delimiter in sample
    ]
    if "\t" in sample and "," in sample:
        readings.append(_Reading("tab and comma", _read_both, worth(_read_both(sample)[0]) - 0.01))
    best = max(readings, key=lambda r: r.score, default=None)
    if best is None or best.score < 0.9 * _top(best, sample):  # noqa: PLR2004
        for name, read in (("fixed width", read_columns), ("spaces", read_spaces)):
            readings.append(_Reading(name, read, worth(read(sample)[0])))
        best = max(readings, key=lambda r: r.score)
    if best.score <= 0:
        raise InputError(
            Problem(
                Where(file),
                "no table is found in this text",
                "no delimiter or column position parts its lines into the same columns",
                "send it as CSV with a header, one part a row",
            )
        )
    rows, numbers = best.read(text)
    grid = Grid(rows, numbers, best.name)
    _unwrap(grid, file)
    return grid


def _top(best: _Reading, sample: str) -> float:
    """The score of a reading whose rows all agree with its header."""
    found = find_header(best.read(sample)[0])
    return 1.0 + (found[1] if found else 0)


def _sample(text: str) -> str:
    end = -1
    for _ in range(_SAMPLE_LINES):
        end = text.find("\n", end + 1)
        if end < 0 or end > _SAMPLE_SIZE:
            break
    return text if end < 0 else text[: min(end, _SAMPLE_SIZE)]


def worth(rows: Sequence[Sequence[str]]) -> float:
    """Return how much of a table *rows* make: the share of rows below the header that have its width, weighed by the
    titles that are known and, without a header, by columns of references and numbers. 0 if they make none.
    """
    filled = [row for row in rows if sum(map(bool, row)) and not row[0].lstrip().startswith(("#", "//"))]
    found = find_header(rows)
    if found is not None:
        width, roles = len(header_cells(rows[found[0]])), found[1]
        below = [row for row in rows[found[0] + 1 :] if any(c.strip() for c in row[:50])]
        below = [row for row in below if not row[0].lstrip().startswith(("#", "//", "--", "=="))]
        if not below:
            return 0.5 * roles
        agree = sum(abs(len(row) - width) <= (row[-1:] == [""]) for row in below) / len(below)
        return agree * (1.0 + roles)
    if not filled:
        return 0.0
    width, count = Counter(map(len, filled)).most_common(1)[0]
    if width < 2:  # noqa: PLR2004
        return 0.0
    usual = [row for row in filled if len(row) == width][:100]
    kinds = sum(
        sum(map(test, (row[k].strip() for row in usual))) >= 0.8 * len(usual)  # noqa: PLR2004
        for k in range(min(width, 40))
        for test in (is_number, is_reference)
    )
    return count / len(filled) * (0.5 + min(kinds, 5))


def _reader(delimiter: str) -> Callable[[str], tuple[list[list[str]], Sequence[int]]]:
    def read(text: str) -> tuple[list[list[str]], Sequence[int]]:
        return _read_csv(text, delimiter)

    return read


def _read_csv(text: str, delimiter: str) -> tuple[list[list[str]], Sequence[int]]:
    """Return the rows and the line each starts on; a blank line is an empty row."""
    before = csv.field_size_limit(_LONGEST_CELL)
    try:
        reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, skipinitialspace=delimiter != "\t")
        rows = list(reader)
        if reader.line_num == len(rows):
            return rows, range(1, len(rows) + 1)
        reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, skipinitialspace=delimiter != "\t")
        numbers, line = [], 1
        for _ in reader:
            numbers.append(line)
            line = reader.line_num + 1
        return rows, numbers
    finally:
        csv.field_size_limit(before)


def _read_both(text: str) -> tuple[list[list[str]], Sequence[int]]:
    """Read a text in which tabs and commas both part cells."""
    return _read_csv(text.replace(",\t", ",").replace("\t,", ",").replace("\t", ","), ",")


def _unwrap(grid: Grid, file: str) -> None:
    """Take apart rows that were quoted whole, so that each is one cell of delimited text."""
    found = find_header(grid.rows)
    width = len(header_cells(grid.rows[found[0]])) if found else 0
    lone = [i for i, row in enumerate(grid.rows) if len(row) == 1 and any(d in row[0] for d, _ in _DELIMITERS)]
    if not lone:
        return
    count = 0
    for i in lone:
        for delimiter, _ in _DELIMITERS:
            cells = next(csv.reader([grid.rows[i][0]], delimiter=delimiter, skipinitialspace=True), [])
            if width > 1 and len(cells) == width:
                grid.rows[i] = cells
                count += 1
                break
    if count:
        grid.notes.append(Note(f"{count} rows were quoted whole into one cell and are taken apart", file))
