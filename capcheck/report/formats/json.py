"""The report as JSON, for programs."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from capcheck.checking import Report
from capcheck.report.json_encoding import json_pieces
from capcheck.report.report_json import report_fields

HELP: Final = "everything, for programs; its schema: capcheck schema report"


def render(report: Report) -> str:
    """Return the whole report; two runs on the same inputs give the same bytes."""
    return "".join(pieces(report))


def pieces(report: Report) -> Iterator[str]:
    """Yield the same in pieces: of a hundred thousand parts the text has as many bytes as all else together."""
    return json_pieces(report_fields(report))
