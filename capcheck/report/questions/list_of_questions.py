"""The list of questions as tables to fill in, and the texts of one question that its formats share."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

from msgspec import Struct

from capcheck.checking import Report
from capcheck.lexicon import customers_catalogue
from capcheck.report.questions.customer_questions import Question, questions
from capcheck.report.questions.part_rows import Row
from capcheck.report.questions.question_types import FIGURES

DATA_SHEET: Final = "data sheet"
_BEFORE: Final = ("no", "group", "question", "designators", "part", "boxes")
_AFTER: Final = ("otherwise", "where", "key", "asked")
_OF_PARTS: Final = frozenset({"part", *FIGURES, DATA_SHEET})
FILLED_IN: Final = frozenset({"choice", *FIGURES, DATA_SHEET, "answer"})
"""The columns that whoever answers fills in."""


class ListedRow(Struct, frozen=True):
    """A row of the list: a question, or a part of one that is answered by itself.

    *cells* are by the name of the column; *boxes* what can be chosen, *figures* what is missing of the part, *refs* the
    designators one by one, for a picture of where they sit: of a question whose parts are listed these have them.
    """

    cells: Mapping[str, str]
    boxes: tuple[str, ...]
    figures: tuple[str, ...] = ()
    of_parts: bool = False
    """Whether it is a question whose parts are listed, or such a part."""
    is_question: bool = True
    refs: tuple[str, ...] = ()


def row_in_words(row: Row) -> str:
    """Return a part of a question on one line: what it is called, its package, its designators, what is said of it."""
    refs = customers_catalogue().comma.join(row.refs)
    return " · ".join(text for text in (row.name, row.package, refs, row.detail) if text)


def boxes_of(question: Question) -> list[str]:
    """Return what can be ticked, each behind its box."""
    return [f"☐ {box}" for box in question.boxes]


def listed_rows(report: Report) -> list[ListedRow]:
    """Return the list: each question, below it its parts, each with its key and the hash of what is asked."""
    paper, comma = customers_catalogue().paper, customers_catalogue().comma
    found = []
    for number, question in enumerate(questions(report), 1):
        cells = {
            "no": str(number),
            "group": paper[f"group {question.group}"],
            "question": question.ask,
            "designators": comma.join(question.refs),
            "boxes": "\n".join(boxes_of(question)),
            "otherwise": question.otherwise,
            "where": question.where,
            "key": question.key,
            "asked": question.asked,
        }
        refs = () if question.rows else question.every
        found.append(ListedRow(cells, question.boxes, of_parts=bool(question.rows), refs=refs))
        for at, row in enumerate(question.rows, 1):
            own = {
                "no": f"{number}.{at}",
                "group": cells["group"],
                "designators": comma.join(row.refs or (row.name,)),
                "part": " · ".join(text for text in (row.name, row.package, row.detail) if text),
                "key": row.key,
                "asked": row.asked,
            }
            found.append(ListedRow(own, question.boxes, row.figures, of_parts=True, is_question=False, refs=row.every))
    return found


def columns_of(rows: Sequence[ListedRow]) -> tuple[str, ...]:
    """Return the columns that a table of these rows needs; of figures those alone that one of its parts lacks."""
    of_parts = any(row.of_parts for row in rows)
    asked = {name for row in rows for name in row.figures}
    figures = [name for name in FIGURES if name in asked]
    every = (*_BEFORE, "choice", *figures, *([DATA_SHEET] if asked else []), "answer", *_AFTER)
    return every if of_parts else tuple(name for name in every if name not in _OF_PARTS)


def table_of(rows: Sequence[ListedRow], columns: Sequence[str]) -> list[tuple[str, ...]]:
    """Return rows as texts, below the columns' titles in the customer's language."""
    paper = customers_catalogue().paper
    titles = tuple(paper[f"column {name}"] for name in columns)
    return [titles, *(tuple(row.cells.get(name, "") for name in columns) for row in rows)]


def questions_table(report: Report) -> list[tuple[str, ...]]:
    """Return the whole list as one table, the titles first."""
    rows = listed_rows(report)
    return table_of(rows, columns_of(rows))
