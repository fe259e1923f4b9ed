"""Tables of foreign forms, workbooks and markup, as the reading process reads them; see :mod:`~.form`."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Final

from capcheck.intake.files.encoding import decode, without_invisible
from capcheck.intake.files.grid import Grid
from capcheck.model import Note, say
from capcheck.values import Place, pattern

WORKBOOK: Final = (b"PK\x03\x04", b"PK\x05\x06", b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1")
"""How workbooks begin."""
_SHEETS: Final = pattern(
    r"\s*<[^\0]{0,4000}?(?<=<)(?:\w+:)?Workbook\b[^>]{0,2000}urn:schemas-microsoft-com:office:spreadsheet"
)
"""How a spreadsheet in XML begins."""
_MARKUP: Final = pattern(r"\s*<(?:!doctype|html|head|meta|style|body|table|\?xml|div|!--)", re.IGNORECASE)
_TABLE: Final = pattern(r"<table\b", re.IGNORECASE)


def is_markup(text: str) -> bool:
    """Whether a text is a spreadsheet in XML, or holds tables in HTML."""
    return _SHEETS.match(text) is not None or (_MARKUP.match(text) is not None and _TABLE.search(text) is not None)


def read_grids(file: str, _argument: bytes) -> list[Grid]:
    """Return the sheets of a workbook, or the tables of markup. Raises :class:`~capcheck.values.InputError`."""
    grids = _grids(Path(file).read_bytes(), file)
    for grid in grids:
        _take_out_invisible(grid)
    return grids


def _take_out_invisible(grid: Grid) -> None:
    """Take characters that are not seen out of the cells, with a note; markup may write them as numbers."""
    count = 0
    for row in grid.rows:
        if "".join(row).isascii():
            continue
        for k, cell in enumerate(row):
            row[k], found = without_invisible(cell)
            count += found
    if count:
        grid.notes.append(Note(say("files.invisible characters", count=count), Place(grid.file, sheet=grid.sheet)))


def _grids(data: bytes, file: str) -> list[Grid]:
    if data.startswith(WORKBOOK):
        from capcheck.intake.files.spreadsheet import read_spreadsheet

        return list(read_spreadsheet(data, file))
    decoded = decode(data, file)
    if _SHEETS.match(decoded.text):
        from capcheck.intake.files.spreadsheet_xml import read_spreadsheet_xml

        grids = read_spreadsheet_xml(decoded.text, file)
    else:
        from capcheck.intake.files.html_table import read_html

        grids = read_html(decoded.text, file)
    for grid in grids:
        grid.encoding = decoded.encoding
        grid.notes[:0] = decoded.notes
    return grids
