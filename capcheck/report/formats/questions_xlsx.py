"""The questions to the customer as a workbook."""

from __future__ import annotations

from typing import Final

from capcheck.checking import Report
from capcheck.lexicon import Catalogue, customers_catalogue
from capcheck.report.picture import Thumbnails, size_of_png
from capcheck.report.questions import GROUPS, TABLE_COLUMNS, Question, questions, table_of
from capcheck.report.rows_of_findings import RowsOfSubjects
from capcheck.report.workbook import Picture, Workbook

HELP: Final = "the questions to the customer, the parts ringed on a small picture, with a column for the answer"
_WIDTHS: Final = (6, 22, 60, 26, 36, 36, 36, 20, 40, 24)
_WIDE: Final = 98
_PICTURE: Final = 3
"""Where the column of pictures stands: behind the question."""
_PX_A_CHARACTER: Final = 7.0
"""Width of a column's unit in the usual font at the usual zoom (px)."""


def render(report: Report) -> bytes:
    """Return a workbook with the questions to the customer, one a row, with a column for the answer.

    Raises :class:`~capcheck.values.InputError` where a library for workbooks or for their pictures is not installed.
    """
    catalogue, asked = customers_catalogue(), questions(report)
    paper = catalogue.paper
    pictures = _pictures(report, asked, catalogue)
    head, *rows = table_of(asked)
    texts = [(int(row[0]) if row[0].isdecimal() else row[0], *row[1:]) for row in rows]
    table = [_with_picture(head, paper["column picture"])]
    table += [_with_picture(row, pictures[n].text if n in pictures else "") for n, row in enumerate(texts, 1)]
    group, meaning, careful = paper["column group"], paper["column meaning"], paper["sheet cautions"]
    groups = [(group, meaning), *((paper[f"group {g}"], paper[f"meaning {g}"]) for g in GROUPS)]
    with Workbook() as book:
        widths = {paper[f"column {name}"]: width for name, width in zip(TABLE_COLUMNS, _WIDTHS, strict=True)}
        widths[paper["column picture"]] = (
            round(max((p.width for p in pictures.values()), default=0) / _PX_A_CHARACTER) + 2
        )
        book.sheet(
            paper["sheet questions"],
            table,
            widths,
            hidden=paper["column key"],
            wrap=True,
            pictures={(n, _PICTURE): picture for n, picture in pictures.items()},
        )
        book.sheet(paper["sheet groups"], groups, {group: 40, meaning: 80}, wrap=True)
        book.sheet(careful, [(careful,), (paper["cautions"],)], {careful: _WIDE}, wrap=True)
    return book.content


def _with_picture(row: tuple[object, ...], cell: str) -> tuple[object, ...]:
    return (*row[:_PICTURE], cell, *row[_PICTURE:])


def _pictures(report: Report, asked: list[Question], catalogue: Catalogue) -> dict[int, Picture]:
    """Return the picture of each row of the table that names parts with a place, by the row's number from 1."""
    small, found, number = Thumbnails.of(report.board), dict[int, Picture](), 0
    of = RowsOfSubjects(report.board).of_refs
    for question in asked:
        for refs in (question.shown, *(row.shown for row in question.rows)):
            number += 1
            rows = of(refs)
            if views := small.sides(rows):
                words = catalogue.comma.join(catalogue.words[str(view.side)] for view in views)
                width, height = size_of_png(views)
                found[number] = Picture(small.png(rows), width, height, words)
    return found
