"""The parts of a checked board as a workbook."""

from __future__ import annotations

from typing import Final

from capcheck.checking import Report, files_of, names_for_others
from capcheck.lexicon import cautions
from capcheck.report.parts_table import parts_table
from capcheck.report.sentences import in_short
from capcheck.report.workbook import Workbook

HELP: Final = "the parts with body, source, outcome and heads"


def render(report: Report) -> bytes:
    """Return a workbook: one sheet with a row for each placement, one with the verdict and the inputs.

    Raises :class:`~capcheck.values.InputError` where the library for workbooks is not installed.
    """
    widths = {
        "part_number": 20,
        "footprint": 24,
        "family": 18,
        "body_from": 40,
        "file": 22,
        "taken_by": 40,
        "value": 14,
    }
    with Workbook(len(report.board.placements)) as book:
        book.sheet("parts", parts_table(report.board, report), widths, marked="outcome")
        book.sheet("report", _about(report), {"what": 24, "value": 90}, wrap=True)
    return book.content


def _about(report: Report) -> list[tuple[object, ...]]:
    totals, names = report.totals, names_for_others(files_of(report))
    return [
        ("what", "value"),
        ("verdict", report.verdict),
        ("board", report.board.name),
        ("line", report.line.name if report.line else "none given"),
        ("in short", " ".join(in_short(report))),
        ("fail", totals.failed),
        ("warn", totals.warned),
        ("of them undecided", totals.undecided),
        ("waiting", totals.waiting),
        ("pass", totals.passed),
        ("waived", totals.waived),
        *((f"{f.role}: {names.get(f.path, f.path)}", f"SHA-256 {f.sha256}") for f in report.inputs),
        ("cautions", cautions()),
    ]
