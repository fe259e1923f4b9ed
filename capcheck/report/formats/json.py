"""The report as JSON, for programs."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from capcheck.checking import Report, files_of, names_for_others, renamed
from capcheck.report.json_encoding import json_pieces, json_spelled
from capcheck.report.report_json import report_fields

HELP: Final = "everything, for programs; its schema: capcheck schema report"


def render(report: Report) -> str:
    """Return the whole report; two runs on the same inputs give the same bytes."""
    return "".join(pieces(report))


def pieces(report: Report) -> Iterator[str]:
    """Yield the same in pieces: of a hundred thousand parts the text has as many bytes as all else together."""
    names = names_for_others(files_of(report))
    return (renamed(piece, names, json_spelled) for piece in json_pieces(report_fields(report)))
