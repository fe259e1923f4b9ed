"""The parts as a table for spreadsheets: one row a placement, cells that look like formulas made harmless."""

from __future__ import annotations

import csv
import io
from typing import Any, Final

from capcheck.model import Board
from capcheck.report.json import parts_json
from capcheck.report.model import Report

_FIELDS: Final = (
    "ref", "kind", "side", "x_mm", "y_mm", "rotation_deg", "fitted", "part_number", "value", "footprint", "family",
    "mounting", "lead_style", "pins",
)  # fmt: skip
_RANGES: Final = ("length", "width", "height")


def harmless(cell: object) -> str:
    """Return a cell as text that no spreadsheet takes for a formula."""
    text = "" if cell is None else str(cell)
    return f"'{text}" if text[:1] in {"=", "+", "-", "@", "\t", "\r"} and not _is_number(text) else text


def _is_number(text: str) -> bool:
    try:
        float(text)
    except ValueError:
        return False
    return True


def parts_csv(board: Board, report: Report | None = None) -> str:
    """Return the CSV text; with a report also outcome and the heads that take each part."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    ranges = [f"{name}_{end}_mm" for name in (*_RANGES, "pitch") for end in ("least", "greatest")]
    writer.writerow([*_FIELDS, *ranges, "body_from", "file", "row", *(("outcome", "taken_by") if report else ())])
    for part in parts_json(board, report.part_results() if report else None):
        writer.writerow([harmless(cell) for cell in _cells(part, with_result=report is not None)])
    return out.getvalue()


def _cells(part: dict[str, Any], *, with_result: bool) -> list[object]:
    sizes = [end for name in _RANGES for end in part["body_mm"][name]]
    cells = [part[name] for name in _FIELDS] + sizes + part["pitch_mm"]
    cells += [part["body_from"], part["file"], part["row"]]
    return [*cells, part["outcome"], " ".join(part["taken_by"])] if with_result else cells
