"""The questions of the page, each with the rows of the placements that it is about and the way to what is known."""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import Struct

from capcheck.checking import Report
from capcheck.report.page.sections import TypeLine
from capcheck.report.questions import Question, Row, questions
from capcheck.report.rows_of_findings import RowsOfSubjects


class AskedRow(Struct, frozen=True):
    """A part of a question; *known* is the number of the one type that it is about in the table of who takes what."""

    row: Row
    rows: tuple[int, ...]
    known: int | None


class AskedLine(Struct, frozen=True):
    """A question with its number, all rows of the placements that it is about, and its parts."""

    number: int
    question: Question
    rows: tuple[int, ...]
    parts: tuple[AskedRow, ...]


def asked_lines(report: Report, rows: RowsOfSubjects, types: Sequence[TypeLine]) -> list[AskedLine]:
    """Return every question to the customer for the page."""
    type_of = {row: number for number, line in enumerate(types) for row in line.rows}

    def part(row: Row) -> AskedRow:
        own = rows.of_refs(row.every)
        known = {type_of.get(one) for one in own}
        return AskedRow(row, own, known.pop() if len(known) == 1 else None)

    def line(number: int, question: Question) -> AskedLine:
        every = {*question.every, *(ref for row in question.rows for ref in row.every)}
        return AskedLine(number, question, rows.of_refs(every), tuple(map(part, question.rows)))

    return [line(number, question) for number, question in enumerate(questions(report), 1)]
