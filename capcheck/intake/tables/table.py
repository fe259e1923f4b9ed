"""Tables of any common form, read by content: every cell is text and keeps its place in the file."""

from __future__ import annotations

import os
import re
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Final

from msgspec import Struct

from capcheck.model import Note, SetAside
from capcheck.values import InputError, pattern

if TYPE_CHECKING:
    from capcheck.intake.files import Grid


class Table(Struct, frozen=True):
    """One table of a file: a header, data cells by column, and every other row with the reason why it is none.

    ``len(row_numbers) + len(set_aside) == total_rows`` always holds. Rows are counted from 1; a quoted cell with line
    breaks belongs to the row it starts in. A run of more than 100 blank rows counts as one row.
    """

    file: str
    sheet: str | None
    header: tuple[str, ...]
    """The header's cells, stripped; empty if the table has no header."""
    header_row: int | None
    columns: Sequence[Sequence[str]]
    """Data cells by column, stripped; short rows are padded with ``""``."""
    row_numbers: Sequence[int]
    preamble: tuple[tuple[int, str], ...]
    """What stands before the header, as row and text."""
    set_aside: tuple[SetAside, ...]
    encoding: str
    """The encoding of a text by a readable name, or the form of a workbook: ``XLSX``, ``XLS``, ``ODS``."""
    delimiter: str
    """``comma``, ``semicolon``, ``tab``, ``pipe``, ``tab and comma``, ``fixed width``, ``spaces``, ``spreadsheet``
    or ``HTML``."""
    decimal: str | None
    """``.`` or ``,`` where the cells prove it."""
    notes: tuple[Note, ...]
    total_rows: int

    def __len__(self) -> int:
        return len(self.row_numbers)


_SHEETS: Final = pattern(
    r"\s*<[^\0]{0,4000}?(?<=<)(?:\w+:)?Workbook\b[^>]{0,2000}urn:schemas-microsoft-com:office:spreadsheet"
)
"""How a spreadsheet in XML begins."""
_MARKUP: Final = pattern(r"\s*<(?:!doctype|html|head|meta|style|body|table|\?xml|div|!--)", re.IGNORECASE)
_TABLE: Final = pattern(r"<table\b", re.IGNORECASE)
_LARGEST_TEXT: Final = 64 * 1024 * 1024
"""A placement list of a million parts is under 100 MB; what is larger than this is not a customer's table."""

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


def refuse(file: str, what: str, why: str, remedy: str) -> InputError:
    """Return the error of a file that cannot be read as a table."""
    return InputError.at(file, what, why, remedy)


def read_tables(path: str | Path) -> list[Table]:
    """Return the tables of a file: one for each sheet, HTML table or titled section that holds rows.

    The form is told by content, never by the file's name. Raises :class:`InputError` if the file is missing, empty,
    too large or no table.
    """
    from capcheck.intake.tables.header import lay_out

    file = os.fspath(path)
    data = _bytes_of(file)
    tables: list[Table] = []
    for sheet, grid, encoding in _grids(data, file):
        tables.extend(lay_out(grid, file, sheet, encoding))
    if not any(len(table) for table in tables):
        seen = sum(table.total_rows for table in tables)
        raise refuse(
            file,
            f"no rows of data were found in {seen} row{'s' * (seen != 1)}",
            "a table without data would pass every rule",
            "check that the right file was sent and that it is a table with one part a row",
        )
    return [table for table in tables if table.total_rows]


def _bytes_of(file: str) -> bytes:
    try:
        size = Path(file).stat().st_size
        if size > _LARGEST_TEXT:
            raise refuse(
                file,
                f"the file has {size / 1e6:.0f} MB",
                f"a table of placements or parts has well under {_LARGEST_TEXT / 1e6:.0f} MB",
                "send the table alone",
            )
        data = Path(file).read_bytes()
    except FileNotFoundError:
        raise refuse(file, "there is no such file", "it was named as an input", "check the path") from None
    except IsADirectoryError:
        raise refuse(file, "this is a folder", "a table is a file", "name the file in it") from None
    except OSError as error:
        reason = error.strerror or str(error)
        raise refuse(file, f"the file cannot be read: {reason}", "nothing can be said of it", "check it") from None
    if not data.strip(b"\x00 \t\r\n\x1a\xef\xbb\xbf\xff\xfe"):
        raise refuse(file, "the file is empty", "no part can be read from it", "send the file again")
    return data


def _grids(data: bytes, file: str) -> list[tuple[str | None, Grid, str]]:
    """Return sheet name, rows and encoding of each table in the bytes of a file."""
    if data.startswith((b"PK\x03\x04", b"PK\x05\x06", b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1")):
        from capcheck.intake.files import read_spreadsheet

        return [(sheet, grid, _workbook(data)) for sheet, grid in read_spreadsheet(data, file)]
    for signature, kind in _FOREIGN:
        if data.startswith(signature):
            raise refuse(
                file, f"this is {kind}", "no table can be read from it", "send a CSV, text or spreadsheet file"
            )
    from capcheck.intake.files import decode

    decoded = decode(data, file)
    grids: list[tuple[str | None, Grid]]
    if _SHEETS.match(decoded.text):
        from capcheck.intake.files import read_spreadsheet_xml

        grids = read_spreadsheet_xml(decoded.text, file)
    elif _MARKUP.match(decoded.text) and _TABLE.search(decoded.text):
        from capcheck.intake.files import read_html

        grids = list(read_html(decoded.text, file))
    else:
        from capcheck.intake.files import read_text

        grids = [(None, read_text(decoded.text, file))]
    for _, grid in grids:
        grid.notes[:0] = decoded.notes
    return [(sheet, grid, decoded.encoding) for sheet, grid in grids]


def _workbook(data: bytes) -> str:
    """Return the form of a workbook by its first bytes, as its name would end."""
    if not data.startswith(b"PK"):
        return "XLS"
    return "ODS" if b"opendocument" in data[:200] else "XLSX"
