"""The shop's library as a file that is written to: cells added or changed, every other row as it stands.

Rows are found by their keys as a look-up compares them. Where another figure stands in a cell, that is told before
anything is written.
"""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Mapping
from pathlib import Path
from typing import Final, Literal

from msgspec import Struct

from capcheck.intake import CellError, read_measure
from capcheck.packages.library import LIBRARY_KEYS, MEASURES, library_columns
from capcheck.packages.library_entries import Key
from capcheck.values import (
    FORCE,
    LENGTH,
    MASS,
    NUMBER,
    InputError,
    Interval,
    Place,
    Problems,
    as_written,
    harmless,
    refuse_special,
)

SOURCE: Final = "source"
_WORKBOOK: Final = (b"PK\x03\x04", b"\xd0\xcf\x11\xe0")
_ROUNDING: Final = 1e-9
_UNITS: Final = {LENGTH: "mm", MASS: "g", FORCE: "N"}


class Statement(Struct, frozen=True):
    """What somebody stated of a part: by column an interval in mm, g or N, a number of pins, or a word."""

    key: Key
    values: Mapping[str, Interval | int | str]
    """By the name of the library's column."""
    source: str
    """Who stated it and when, as the library's own column says it."""
    data_sheet: str = ""
    """What shows it, an address or a document's number; the source names it too."""


class CellChange(Struct, frozen=True):
    """One cell: what stood there and what is to stand there; *kind* is ``other`` where the two differ."""

    key: Key
    column: str
    old: str
    new: str
    kind: Literal["new", "same", "other"]


def written(value: Interval | int | str) -> str:
    """Return a figure as a library's cell, in mm or g: ``1.2``, ``1.1 - 1.3``, ``max 1.3``, ``8``, ``no lead``."""
    if not isinstance(value, Interval):
        return str(value)
    if value.is_exact:
        return _number(value.low)
    if value.low == 0:
        return f"max {_number(value.high)}"
    if math.isinf(value.high):
        return f"min {_number(value.low)}"
    return f"{_number(value.low)} - {_number(value.high)}"


def _number(value: float) -> str:
    text = format(value, ".12f").rstrip("0").rstrip(".")
    return text or "0"


class _Row(Struct):
    """A row as it stands: its cells, the lines of the file that it takes, and whether a cell was changed."""

    cells: list[str]
    text: str
    changed: bool = False


class LibraryFile:
    """A library in CSV that statements are written into; what they do not change is written as it was.

    A library that is not there yet begins with its titles. Raises :class:`~capcheck.values.InputError` where the file
    is a workbook or no library.
    """

    def __init__(self, path: Path) -> None:
        self.path = path
        refuse_special(path)
        data = path.read_bytes() if path.exists() else b""
        if data[:4] in _WORKBOOK:
            raise InputError.at(
                str(path),
                "is a workbook, and figures are written to CSV only",
                "its other sheets and looks would be lost",
                "save it as CSV, or name a CSV library",
            )
        self._encoding, self._mark = _encoding_of(data)
        text = data[len(self._mark) :].decode(self._encoding)
        self._end = "\r\n" if "\r\n" in text else "\n"
        first = text.partition("\n")[0]
        self._delimiter = max(",;\t", key=first.count)
        self._rows = _rows_of(text, self._delimiter) or [_Row([*LIBRARY_KEYS], "", changed=True)]
        at = next(i for i, row in enumerate(self._rows) if any(cell.strip() for cell in row.cells))
        self._head, self._body = self._rows[at], self._rows[at + 1 :]
        self._above = self._rows[:at]
        problems = Problems()
        self._columns = library_columns([cell.strip() for cell in self._head.cells], Place(str(path), at + 1), problems)
        problems.raise_if_any()
        self._found = {self._key(row): row for row in reversed(self._body) if any(row.cells)}

    def changes(self, statement: Statement) -> list[CellChange]:
        """Return what a statement would change; nothing is written."""
        row = self._found.get(statement.key.compared) or _Row([], "")
        found = []
        for column, value in statement.values.items():
            new, old = written(value), self._cell(row, column)
            same = bool(old) and self._states(column, old, value)
            found.append(CellChange(statement.key, column, old, new, "same" if same else "other" if old else "new"))
        return found

    def state(self, statement: Statement) -> None:
        """Write a statement into its row, or into a new one; a figure that stands there is replaced."""
        changed = [change for change in self.changes(statement) if change.kind != "same"]
        if not changed:
            return
        row = self._found.get(statement.key.compared)
        if row is None:
            row = self._found[statement.key.compared] = _Row([], "")
            self._body.append(row)
            for column, cell in zip(LIBRARY_KEYS, statement.key.cells, strict=True):
                if cell:
                    self._set(row, column, cell)
        for change in changed:
            self._set(row, change.column, self._with_unit(change.new, change.column))
        before = self._cell(row, SOURCE)
        if statement.source not in before:
            self._set(row, SOURCE, f"{before}; {statement.source}" if before else statement.source)

    def content(self) -> bytes:
        """Return the whole file."""
        rows = [*self._above, self._head, *self._body]
        parts = [self._written(row) if row.changed else row.text for row in rows]
        for i, part in enumerate(parts[:-1]):
            if part and not part.endswith("\n"):
                parts[i] = part + self._end
        return self._mark + "".join(parts).encode(self._encoding, errors="strict")

    def _written(self, row: _Row) -> str:
        out = io.StringIO()
        csv.writer(out, delimiter=self._delimiter, lineterminator=self._end).writerow(row.cells)
        return out.getvalue()

    def _with_unit(self, text: str, column: str) -> str:
        """Return a cell's text with its unit, where the column is of another one or names none."""
        own = _UNITS.get(MEASURES.get(column, NUMBER))
        there = self._columns.get(column, (0, own))[1]
        return text if own is None or there == own else f"{text} {own}"

    def _states(self, column: str, old: str, value: Interval | int | str) -> bool:
        dimension = MEASURES.get(column)
        if dimension is None:
            return old.casefold() == str(value).casefold()
        unit = self._columns[column][1]
        try:
            stated = read_measure(old, dimension, unit="" if dimension is NUMBER else unit, decimal=".")
        except CellError:
            return False
        new = value if isinstance(value, Interval) else Interval(float(value), float(value))
        return abs(stated.low - new.low) < _ROUNDING and (
            stated.high == new.high or abs(stated.high - new.high) < _ROUNDING
        )

    def _key(self, row: _Row) -> tuple[str, ...]:
        return Key(*(self._cell(row, name) for name in LIBRARY_KEYS)).compared

    def _cell(self, row: _Row, column: str) -> str:
        at = self._columns.get(column, (len(row.cells), None))[0]
        return as_written(row.cells[at].strip()) if at < len(row.cells) else ""

    def _set(self, row: _Row, column: str, text: str) -> None:
        if column not in self._columns:
            unit = _UNITS.get(MEASURES.get(column, NUMBER))
            self._columns[column] = len(self._head.cells), unit
            self._head.cells.append(f"{column} [{unit}]" if unit else column)
            self._head.changed = True
        at = self._columns[column][0]
        row.cells += [""] * (at + 1 - len(row.cells))
        row.cells[at] = harmless(text)
        row.changed = True


def _encoding_of(data: bytes) -> tuple[str, bytes]:
    for mark, name in ((b"\xef\xbb\xbf", "utf-8"), (b"\xff\xfe", "utf-16-le"), (b"\xfe\xff", "utf-16-be")):
        if data.startswith(mark):
            return name, mark
    try:
        data.decode("utf-8")
    except UnicodeDecodeError:
        return "cp1252", b""
    return "utf-8", b""


def _rows_of(text: str, delimiter: str) -> list[_Row]:
    lines = list(io.StringIO(text, newline=""))
    reader = csv.reader(lines, delimiter=delimiter)
    rows, start = [], 0
    for cells in reader:
        rows.append(_Row(cells, "".join(lines[start : reader.line_num])))
        start = reader.line_num
    return rows if any(any(row.cells) for row in rows) else []
