"""The report as one HTML file for everybody."""

from __future__ import annotations

from typing import Final

from capcheck.checking import Report
from capcheck.report.page import html_report

HELP: Final = "one file for everybody: picture, findings, which head can place what, margins, questions"


def render(report: Report) -> str:
    """Return the page. Raises :class:`~capcheck.values.InputError` where the template library is not installed."""
    return html_report(report)
