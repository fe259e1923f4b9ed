"""The report as text for the desk."""

from __future__ import annotations

from typing import Final

from capcheck.checking import Report
from capcheck.report.report_as_text import styled_report
from capcheck.report.styled_lines import WIDTH_WHEN_PIPED, plain

HELP: Final = "the desk; --full cuts no list short"


def render(report: Report) -> str:
    """Return the whole report, as a file of all formats holds it."""
    return plain(styled_report(report, width=WIDTH_WHEN_PIPED, full=True))
