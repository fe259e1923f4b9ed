"""The parts as a table for spreadsheets: one row a placement, cells that look like formulas made harmless."""

from __future__ import annotations

import csv
import io
from typing import Any, Final

from capcheck.checking import Report
from capcheck.model import Board
from capcheck.report.cells import harmless
from capcheck.report.formats.json import parts_json

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


def parts_table(board: Board, report: Report | None = None) -> list[list[Any]]:
    """Return the table as rows of cells, the headings first; with a report also outcome and heads of each part."""
    ranges = [f"{name}_{end}_mm" for name in (*_RANGES, "pitch") for end in ("least", "greatest")]
    head = [*_FIELDS, *ranges, "body_from", "file", "row", *(("outcome", "taken_by") if report else ())]
    parts = parts_json(board, report.part_results() if report else None)
    return [head, *(_cells(part, with_result=report is not None) for part in parts)]


def parts_csv(board: Board, report: Report | None = None) -> str:
    """Return the table as CSV; no cell is taken for a formula."""
    out = io.StringIO()
    csv.writer(out, lineterminator="\n").writerows([harmless(c) for c in row] for row in parts_table(board, report))
    return out.getvalue()


def _cells(part: dict[str, Any], *, with_result: bool) -> list[Any]:
    sizes = [end for name in _RANGES for end in part["body_mm"][name]]
    cells = [part[name] for name in _FIELDS] + sizes + part["pitch_mm"]
    cells += [part["body_from"], part["file"], part["row"]]
    return [*cells, part["outcome"], " ".join(part["taken_by"])] if with_result else cells


def report_csv(report: Report) -> str:
    """Return the table of a checked board as CSV."""
    return parts_csv(report.board, report)
