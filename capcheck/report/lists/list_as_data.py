"""A list for spreadsheets and programs: schema ``capcheck-list/1``."""

from __future__ import annotations

import math
from typing import Final

from capcheck.lexicon import cautions, sentence
from capcheck.lists import Cell, PartList
from capcheck.model import InputFile, Said
from capcheck.report.spreadsheet_cells import csv_text, with_cautions
from capcheck.values import Interval

SCHEMA: Final = "capcheck-list/1"
NOT_KNOWN: Final = "not known"


def list_csv(listed: PartList) -> str:
    """Return the list as CSV: its columns, the references, and the table or rule of each row."""
    rows: list[tuple[object, ...]] = [(*listed.columns, "references", "from")]
    for row in listed.rows:
        cells = (NOT_KNOWN if cell is None else shown(cell) for cell in row.cells)
        rows.append((*cells, " ".join(row.refs), sentence(row.source)))
    return csv_text(with_cautions(rows))


def list_json(listed: PartList, inputs: list[InputFile]) -> dict[str, object]:
    """Return the list as data: null is not known, a blank text says that nothing is asked for."""
    keys = [column.replace(" ", "_").replace("°", "deg") for column in listed.columns]
    return {
        "schema": SCHEMA,
        "list": listed.name,
        "board": listed.board,
        "inputs": inputs,
        "rows": [
            {
                **{key: _data(cell) for key, cell in zip(keys, row.cells, strict=True)},
                "references": row.refs,
                "from": sentence(row.source),
            }
            for row in listed.rows
        ],
        "totals": [{"text": sentence(said), **_numbers(said)} for said in listed.totals],
        "notes": [sentence(said) for said in listed.notes],
        "cautions": cautions(),
    }


def _numbers(said: Said) -> dict[str, object]:
    return {key: value for key, value in said.values.items() if isinstance(value, int | float)}


def _data(cell: Cell) -> object:
    if isinstance(cell, Interval):
        return [end if math.isfinite(end) else None for end in (cell.low, cell.high)]
    return sentence(cell) if isinstance(cell, Said) else cell


def shown(cell: Cell) -> str:
    """Return a cell for a reader: an interval as ``3 to 3.2``, names with semicolons."""
    if cell is None:
        return NOT_KNOWN
    if isinstance(cell, Interval):
        return f"{cell.low:.6g}" if cell.is_exact else f"{cell.low:.6g} to {cell.high:.6g}"
    if isinstance(cell, Said):
        return sentence(cell)
    if isinstance(cell, tuple):
        return "; ".join(cell)
    return f"{cell:.10g}" if isinstance(cell, float) else str(cell)
