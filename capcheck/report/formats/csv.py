"""The parts of a checked board as CSV."""

from __future__ import annotations

from typing import Final

from capcheck.checking import Report
from capcheck.report.parts_table import parts_csv

HELP: Final = "the parts with body, source, outcome and heads"


def render(report: Report) -> str:
    """Return a row for each placement; no cell is taken for a formula."""
    return parts_csv(report.board, report)
