"""The parts as a table for spreadsheets: one row a placement, cells that look like formulas made harmless."""

from __future__ import annotations

from collections.abc import Collection
from typing import Any, Final

from msgspec.structs import astuple

from capcheck.checking import Report
from capcheck.model import Board
from capcheck.report.json_encoding import json_data
from capcheck.report.report_json import parts_json
from capcheck.report.sentences import without_folders
from capcheck.report.spreadsheet_cells import csv_text, with_cautions

_FIELDS: Final = (
    "ref",
    "kind",
    "side",
    "x_mm",
    "y_mm",
    "rotation_deg",
    "fitted",
    "part_number",
    "value",
    "footprint",
    "family",
    "mounting",
    "lead_style",
    "pins",
)
_RANGES: Final = ("length", "width", "height")
"""The fields of a body's size."""


def parts_table(board: Board, report: Report | None = None) -> list[list[object]]:
    """Return the table as rows of cells, the headings first; with a report also outcome and heads of each part."""
    ranges = [f"{name}_{end}_mm" for name in (*_RANGES, "pitch") for end in ("least", "greatest")]
    head = [*_FIELDS, *ranges, "body_from", "file", "row", *(("outcome", "taken_by") if report else ())]
    files = {item.path for item in (report.inputs if report else board.inputs)}
    return [head, *(_cells(part, files) for part in parts_json(board, report.row_results() if report else None))]


def parts_csv(board: Board, report: Report | None = None) -> str:
    """Return the table as CSV; no cell is taken for a formula."""
    return csv_text(with_cautions(parts_table(board, report)))


def _cells(part: dict[str, Any], files: Collection[str]) -> list[object]:
    sizes = [end for size in (*astuple(part["body_mm"]), part["pitch_mm"]) for end in size]
    cells = [*(part[name] for name in _FIELDS), *sizes]
    cells += [*(without_folders(part[name], files) for name in ("body_from", "file")), part["row"]]
    if "outcome" in part:
        cells += [part["outcome"], "; ".join(part["taken_by"])]
    return [json_data(cell) for cell in cells]
