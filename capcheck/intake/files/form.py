"""The form of a file, told by its bytes and never by its name: a workbook, markup, text, or nothing with a table."""

from __future__ import annotations

import os
from pathlib import Path
from typing import Final

from capcheck.intake.confined import Reader
from capcheck.intake.files.encoding import Decoded, decode
from capcheck.intake.files.foreign import WORKBOOK, is_markup
from capcheck.intake.files.grid import Grid
from capcheck.values import InputError, Place, UnreadableError

_LARGEST: Final = 64 * 1024 * 1024
"""A placement list of 100,000 parts is under 10 MB; what is larger than this is not a customer's table."""
_MOST_ROWS: Final = 120_000
"""Filled rows of a table. The largest boards and panels have some ten thousand placements."""
_MOST_SHEETS: Final = 400
_MOST_LINES: Final = 1_100_000
"""Lines of a text, blank ones too: a spreadsheet of 1,048,576 rows that is mostly empty still counts as a table."""
_LONGEST_LINE: Final = 400_000
"""Characters of a line of text, or of a cell. One with every reference of the largest board has some hundred thousand;
all texts are looked at for dozens of sorts of words, so that the work grows with what is allowed here."""

_BLANK: Final = " ,;\t|\"'\r"
"""What a row without content is made of."""

_TABLES: Final = Reader(
    "capcheck.intake.files.foreign:read_grids",
    "open it in a spreadsheet program and save the table alone, as CSV",
    ("python_calamine",),
)
_FOREIGN: Final = (
    (b"%PDF", "a PDF document"),
    (b"\x89PNG", "a picture (PNG)"),
    (b"\xff\xd8\xff", "a picture (JPEG)"),
    (b"GIF8", "a picture (GIF)"),
    (b"\x1f\x8b", "a gzip archive"),
    (b"7z\xbc\xaf\x27\x1c", "a 7-zip archive"),
    (b"Rar!", "a RAR archive"),
    (b"{\\rtf", "a rich text document"),
    (b"MZ", "a program"),
    (b"\x7fELF", "a program"),
)
"""Published file signatures of what customers attach by mistake."""


class TooLargeError(UnreadableError):
    """A file holds more than any list of parts does."""


def open_file(file: str) -> list[Grid] | Decoded:
    """Return the sheets of a workbook or the tables of markup; of any other text the text, whose layout is open.

    Raises :class:`InputError` if the file is missing, empty, too large, damaged or of a form without tables.
    """
    data = _bytes_of(file)
    if data.startswith(WORKBOOK):
        return _within_limits(_sheets(file))
    for signature, kind in _FOREIGN:
        if data.startswith(signature):
            raise InputError.at(
                file, f"this is {kind}", "no table can be read from it", "send a CSV, text or spreadsheet file"
            )
    decoded = decode(data, file)
    if is_markup(decoded.text):
        return _within_limits(_TABLES.read(file, list[Grid]))
    _expect_lines(decoded.text, file)
    return decoded


def _sheets(file: str) -> list[Grid]:
    """Return the sheets of a workbook; one that is damaged may have listed parts."""
    try:
        return _TABLES.read(file, list[Grid])
    except InputError as error:
        raise UnreadableError(error.problems) from None


def _expect_lines(text: str, file: str) -> None:
    """Raise :class:`InputError` for a text with more filled lines, or a longer one, than any list of parts has."""
    if len(text) <= _MOST_ROWS:
        return
    if (ends := text.count("\n")) >= _MOST_LINES:
        # As a list, so many lines would take ten times the room of the text.
        _expect_rows(ends + 1, file)
    lines = text.split("\n")
    longest = max(lines, key=len)
    if len(longest) > _LONGEST_LINE:
        raise _too_long(Place(file, lines.index(longest) + 1), "line", longest)
    if len(lines) > _MOST_ROWS:
        _expect_rows(sum(1 for line in lines if line.strip(_BLANK)), file)


def expect_cells(grid: Grid) -> Grid:
    """Return the same grid; raise :class:`TooLargeError` where a cell is longer than a row of any list of parts."""
    for row, number in zip(grid.rows, grid.numbers, strict=True):
        if row and max(map(len, row)) > _LONGEST_LINE:
            raise _too_long(Place(grid.file, number, sheet=grid.sheet), "cell", max(row, key=len))
    return grid


def _too_long(place: Place, what: str, text: str) -> TooLargeError:
    return TooLargeError.at(
        place,
        f"this {what} has {len(text):,} characters",
        f"a row of a table has fewer than {_LONGEST_LINE:,}",
        "send the table alone, with a row for each part",
    )


def _within_limits(grids: list[Grid]) -> list[Grid]:
    if len(grids) > _MOST_SHEETS:
        raise TooLargeError.at(
            grids[0].file,
            f"the file has {len(grids):,} sheets",
            f"no list of parts has more than {_MOST_SHEETS}",
            "send the sheets of this board",
        )
    for grid in grids:
        if len(grid.rows) > _MOST_ROWS:
            _expect_rows(sum(1 for row in grid.rows if any(row)), grid.file)
        expect_cells(grid)
    return grids


def _expect_rows(rows: int, file: str) -> None:
    if rows > _MOST_ROWS:
        raise TooLargeError.at(
            file,
            f"the file has {rows:,} rows",
            f"no board has more than {_MOST_ROWS:,} parts",
            "send the list of one board, or of one panel",
        )


def expect_file(file: Path) -> None:
    """Have a workbook read while the caller does other work; whether there is one shows when it is opened."""
    try:
        with file.open("rb") as stream:
            head = stream.read(max(map(len, WORKBOOK)))
            if head.startswith(WORKBOOK) and os.fstat(stream.fileno()).st_size <= _LARGEST:
                _TABLES.expect(str(file))
    except OSError:
        return


def _bytes_of(file: str) -> bytes:
    try:
        size = Path(file).stat().st_size
        if size > _LARGEST:
            raise TooLargeError.at(
                file,
                f"the file has {size / 1e6:.0f} MB",
                f"a table of placements or parts has well under {_LARGEST / 1e6:.0f} MB",
                "send the table alone",
            )
        data = Path(file).read_bytes()
    except FileNotFoundError:
        raise InputError.at(file, "there is no such file", "it was named as an input", "check the path") from None
    except IsADirectoryError:
        raise InputError.at(file, "this is a folder", "a table is a file", "name the file in it") from None
    except OSError as error:
        reason = error.strerror or str(error)
        raise UnreadableError.at(
            file, f"the file cannot be read: {reason}", "nothing can be said of it", "check it"
        ) from None
    if not data.strip(b"\x00 \t\r\n\x1a\xef\xbb\xbf\xff\xfe"):
        raise InputError.at(file, "the file is empty", "no part can be read from it", "send the file again")
    return data
