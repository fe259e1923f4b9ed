"""The list of questions as a table, and the texts of one question that its formats share."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from capcheck.checking import Report
from capcheck.lexicon import customers_catalogue
from capcheck.report.questions.customer_questions import Question, Row, questions

TABLE_COLUMNS: Final = (
    "no",
    "group",
    "question",
    "designators",
    "part",
    "boxes",
    "otherwise",
    "where",
    "answer",
    "key",
)


def row_in_words(row: Row) -> str:
    """Return a part of a question on one line: what it is called, its package, its designators, what is said of it."""
    refs = customers_catalogue().comma.join(row.refs)
    return " · ".join(text for text in (row.name, row.package, refs, row.detail) if text)


def boxes_of(question: Question) -> list[str]:
    """Return what can be ticked, each behind its box."""
    return [f"☐ {box}" for box in question.boxes]


def questions_table(report: Report) -> list[tuple[str, ...]]:
    """Return the list of a report as :func:`table_of` does."""
    return table_of(questions(report))


def table_of(asked: Sequence[Question]) -> list[tuple[str, ...]]:
    """Return questions as rows of texts, the headings first: each question, below it its parts, each with its key."""
    catalogue = customers_catalogue()
    found = [tuple(catalogue.paper[f"column {name}"] for name in TABLE_COLUMNS)]
    for number, question in enumerate(asked, 1):
        group, refs = catalogue.paper[f"group {question.group}"], catalogue.comma.join(question.refs)
        boxes, where = "\n".join(boxes_of(question)), question.where
        found.append((str(number), group, question.ask, refs, "", boxes, question.otherwise, where, "", question.key))
        for at, row in enumerate(question.rows, 1):
            named = " · ".join(text for text in (row.name, row.package, row.detail) if text)
            refs = catalogue.comma.join(row.refs or (row.name,))
            found.append((f"{number}.{at}", group, "", refs, named, "", "", "", "", row.key))
    return found
