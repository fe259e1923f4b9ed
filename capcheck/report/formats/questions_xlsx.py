"""The questions to the customer as a workbook."""

from __future__ import annotations

from typing import Final

from capcheck.checking import Report
from capcheck.lexicon import customers_catalogue
from capcheck.report.questions import GROUPS, TABLE_COLUMNS, questions_table
from capcheck.report.workbook import Workbook

HELP: Final = "the questions to the customer, with a sheet that tells what each group means"
_WIDTHS: Final = (6, 22, 60, 26, 36, 36, 36, 20, 40, 24)
_WIDE: Final = 98


def render(report: Report) -> bytes:
    """Return a workbook with the questions to the customer, one a row, with a column for the answer.

    Raises :class:`~capcheck.values.InputError` where the library for workbooks is not installed.
    """
    paper = customers_catalogue().paper
    head, *rows = questions_table(report)
    numbered = [(int(row[0]) if row[0].isdecimal() else row[0], *row[1:]) for row in rows]
    group, meaning, careful = paper["column group"], paper["column meaning"], paper["sheet cautions"]
    groups = [(group, meaning), *((paper[f"group {g}"], paper[f"meaning {g}"]) for g in GROUPS)]
    with Workbook() as book:
        widths = {paper[f"column {name}"]: width for name, width in zip(TABLE_COLUMNS, _WIDTHS, strict=True)}
        book.sheet(paper["sheet questions"], [head, *numbered], widths, hidden=paper["column key"], wrap=True)
        book.sheet(paper["sheet groups"], groups, {group: 40, meaning: 80}, wrap=True)
        book.sheet(careful, [(careful,), (paper["cautions"],)], {careful: _WIDE}, wrap=True)
    return book.content
