"""The picture of the board with what the rules object to."""

from __future__ import annotations

from typing import Final

from capcheck.checking import Report
from capcheck.report.picture import report_svg

HELP: Final = "the picture alone"


def render(report: Report) -> str:
    """Return the picture."""
    return report_svg(report)
