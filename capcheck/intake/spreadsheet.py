"""Spreadsheets through calamine, as text."""

from __future__ import annotations

import datetime
import io
from collections.abc import Iterator

from capcheck.intake.grid import Grid


def cell_text(value: object) -> str:
    """Return a cell as the text that was meant: 402.0 is ``402``."""
    if isinstance(value, str):
        return value
    if isinstance(value, bool):
        return "TRUE" if value else "FALSE"
    if isinstance(value, float):
        return str(int(value)) if value.is_integer() and abs(value) < 1e15 else repr(value)
    if isinstance(value, datetime.date | datetime.time | datetime.datetime):
        return value.isoformat(" ") if isinstance(value, datetime.datetime) else value.isoformat()
    return str(value)


def read_spreadsheet(data: bytes, file: str) -> Iterator[tuple[str, Grid]]:
    """Yield each sheet that holds cells."""
    from python_calamine import CalamineWorkbook

    book = CalamineWorkbook.from_filelike(io.BytesIO(data))
    for name in book.sheet_names:
        rows = [[cell_text(v) for v in row] for row in book.get_sheet_by_name(name).to_python(skip_empty_area=False)]
        if rows:
            yield name, Grid(rows, range(1, len(rows) + 1), "spreadsheet")
