"""The form of a file, told by its bytes and never by its name: a workbook, markup, text, or nothing with a table."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Final

from capcheck.intake.files.encoding import Decoded, decode
from capcheck.intake.files.grid import Grid
from capcheck.values import InputError, pattern

_WORKBOOK: Final = (b"PK\x03\x04", b"PK\x05\x06", b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1")
_SHEETS: Final = pattern(
    r"\s*<[^\0]{0,4000}?(?<=<)(?:\w+:)?Workbook\b[^>]{0,2000}urn:schemas-microsoft-com:office:spreadsheet"
)
"""How a spreadsheet in XML begins."""
_MARKUP: Final = pattern(r"\s*<(?:!doctype|html|head|meta|style|body|table|\?xml|div|!--)", re.IGNORECASE)
_TABLE: Final = pattern(r"<table\b", re.IGNORECASE)
_LARGEST: Final = 64 * 1024 * 1024
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


def open_file(file: str) -> list[Grid] | Decoded:
    """Return the sheets of a workbook or the tables of markup; of any other text the text, whose layout is open.

    Raises :class:`InputError` if the file is missing, empty, too large, damaged or of a form without tables.
    """
    data = _bytes_of(file)
    if data.startswith(_WORKBOOK):
        from capcheck.intake.files.spreadsheet import read_spreadsheet

        return list(read_spreadsheet(data, file))
    for signature, kind in _FOREIGN:
        if data.startswith(signature):
            raise InputError.at(
                file, f"this is {kind}", "no table can be read from it", "send a CSV, text or spreadsheet file"
            )
    decoded = decode(data, file)
    if _SHEETS.match(decoded.text):
        from capcheck.intake.files.spreadsheet_xml import read_spreadsheet_xml

        grids = read_spreadsheet_xml(decoded.text, file)
    elif _MARKUP.match(decoded.text) and _TABLE.search(decoded.text):
        from capcheck.intake.files.html_table import read_html

        grids = read_html(decoded.text, file)
    else:
        return decoded
    for grid in grids:
        grid.encoding = decoded.encoding
        grid.notes[:0] = decoded.notes
    return grids


def _bytes_of(file: str) -> bytes:
    try:
        size = Path(file).stat().st_size
        if size > _LARGEST:
            raise InputError.at(
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
        raise InputError.at(
            file, f"the file cannot be read: {reason}", "nothing can be said of it", "check it"
        ) from None
    if not data.strip(b"\x00 \t\r\n\x1a\xef\xbb\xbf\xff\xfe"):
        raise InputError.at(file, "the file is empty", "no part can be read from it", "send the file again")
    return data
