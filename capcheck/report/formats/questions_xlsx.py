"""The questions to the customer as a workbook to fill in, which ``capcheck answers`` reads back."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from capcheck.checking import Report
from capcheck.lexicon import customers_catalogue
from capcheck.model import LeadStyle, Mounting
from capcheck.report.questions import DATA_SHEET, FILLED_IN, GROUPS, ListedRow, columns_of, listed_rows, table_of
from capcheck.report.workbook import Workbook

HELP: Final = "the questions to the customer to fill in, with a sheet for the board and one for its parts"
_WIDTHS: Final = {
    "no": 6,
    "group": 22,
    "question": 60,
    "designators": 26,
    "part": 36,
    "boxes": 36,
    "choice": 30,
    DATA_SHEET: 26,
    "answer": 36,
    "otherwise": 36,
    "where": 20,
}
_WIDE: Final = 98
_WORDS: Final = {
    "lead style": [style for style in LeadStyle if style is not LeadStyle.OTHER],
    "mounting": [*Mounting],
}
"""What can be chosen where no number is asked for."""


def render(report: Report) -> bytes:
    """Return a workbook with a row for each question and for each part of one, with choices and cells to fill in.

    What is asked of the board stands on a sheet of its own. Raises :class:`~capcheck.values.InputError` where the
    library for workbooks is not installed.
    """
    paper = customers_catalogue().paper
    rows = listed_rows(report)
    group, meaning, careful = paper["column group"], paper["column meaning"], paper["sheet cautions"]
    groups = [(group, meaning), *((paper[f"group {g}"], paper[f"meaning {g}"]) for g in GROUPS), ("", paper["guide"])]
    with Workbook() as book:
        book.name_choices(paper["sheet choices"])
        _fill_in(book, paper["sheet board"], [row for row in rows if not row.of_parts])
        if of_parts := [row for row in rows if row.of_parts]:
            _fill_in(book, paper["sheet parts"], of_parts)
        book.sheet(paper["sheet groups"], groups, {group: 40, meaning: 80}, wrap=True)
        book.sheet(careful, [(careful,), (paper["cautions"],)], {careful: _WIDE}, wrap=True)
    return book.content


def _fill_in(book: Workbook, title: str, rows: Sequence[ListedRow]) -> None:
    """Add a sheet of questions, in which what is to be filled in is framed and can be chosen from."""
    paper, columns = customers_catalogue().paper, columns_of(rows)
    words = customers_catalogue().words
    head, *texts = table_of(rows, columns)
    numbered = [tuple(int(text) if text.isdecimal() and not at else text for at, text in enumerate(r)) for r in texts]
    looks: dict[tuple[int, int], str] = {}
    choices: dict[tuple[int, int], Sequence[str]] = {}
    for at, row in enumerate(rows, 1):
        for column, name in enumerate(columns):
            if name in row.figures:
                looks[at, column] = "asked"
            elif name in FILLED_IN:
                looks[at, column] = "fill in"
            elif row.of_parts and row.is_question:
                looks[at, column] = "heading"
            if name == "choice" and row.boxes:
                choices[at, column] = row.boxes
            if name in _WORDS and not row.is_question:
                choices[at, column] = [words[word] for word in _WORDS[name]]
    widths = {paper[f"column {name}"]: _WIDTHS.get(name, 12) for name in columns}
    hidden = {paper["column key"], paper["column asked"]}
    book.sheet(title, [head, *numbered], widths, hidden=hidden, wrap=True, looks=looks, choices=choices)
