"""The questions to the customer as CSV."""

from __future__ import annotations

from typing import Final

from capcheck.checking import Report
from capcheck.lexicon import customers_catalogue
from capcheck.report.questions import questions_table
from capcheck.report.spreadsheet_cells import csv_text, with_cautions

HELP: Final = "the questions to the customer, one a row and below it its parts, with a column for the answer"


def render(report: Report) -> str:
    """Return the list; no cell is taken for a formula."""
    paper = customers_catalogue().paper
    return csv_text(with_cautions(questions_table(report), (paper["column note"], paper["cautions"])))
