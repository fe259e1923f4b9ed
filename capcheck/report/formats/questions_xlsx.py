"""The questions to the customer as a workbook."""

from __future__ import annotations

from typing import Final

from capcheck.checking import Report
from capcheck.lexicon import cautions
from capcheck.model import Severity
from capcheck.report.questions import TITLES, questions_table
from capcheck.report.workbook import Workbook

HELP: Final = "the questions to the customer, with a sheet that tells what each group means"
_GROUPS: Final = (
    ("group", "meaning"),
    (TITLES[Severity.STOP], "we cannot start until this is answered"),
    (TITLES[Severity.ASSUMED], "we go on as written; tell us if it is wrong"),
    (TITLES[Severity.ADVICE], "costs only"),
)


def render(report: Report) -> bytes:
    """Return a workbook with the questions to the customer, one a row, with a column for the answer.

    Raises :class:`~capcheck.values.InputError` where the library for workbooks is not installed.
    """
    head, *rows = questions_table(report)
    widths = {
        "no": 5,
        "group": 16,
        "references": 26,
        "part": 18,
        "question": 60,
        "assumed until then": 36,
        "without an answer": 36,
        "from": 24,
        "your answer": 40,
    }
    numbered = [(int(row[0]), *row[1:]) for row in rows]
    with Workbook() as book:
        book.sheet("questions", [head, *numbered], widths, wrap=True)
        book.sheet("groups", _GROUPS, {"group": 18, "meaning": 80}, wrap=True)
        book.sheet("cautions", [("cautions",), (cautions(),)], {"cautions": 98}, wrap=True)
    return book.content
