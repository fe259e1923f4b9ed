"""The report as JSON, for programs."""

from __future__ import annotations

from typing import Final

from capcheck.checking import Report
from capcheck.report.json_encoding import json_text
from capcheck.report.report_json import report_json

HELP: Final = "everything, for programs; its schema: capcheck schema report"


def render(report: Report) -> str:
    """Return the whole report; two runs on the same inputs give the same bytes."""
    return json_text(report_json(report))
