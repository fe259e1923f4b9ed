"""The questions to the customer as the text of a mail: no markup, and no line broken, as a mail program does that."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from capcheck.checking import Report
from capcheck.lexicon import Catalogue, customers_catalogue
from capcheck.report.questions import GROUPS, Question, boxes_of, questions, row_in_words
from capcheck.values import visible

HELP: Final = "the customer: the questions as plain text for a mail, subject first; attach the picture (svg)"


def render(report: Report) -> str:
    """Return subject, greeting, the questions by group, and the cautions below the closing."""
    catalogue, found = customers_catalogue(), questions(report)
    paper, values = catalogue.paper, {"board": report.board.name, "n": len(found)}
    lines = [catalogue.filled(paper["subject"], values), "", paper["greeting"], ""]
    lines += [catalogue.filled(paper["opening" if found else "nothing open"], values), ""]
    numbered = list(enumerate(found, 1))
    for group in GROUPS:
        same = [(number, question) for number, question in numbered if question.group is group]
        lines += [paper[f"group {group}"].upper(), ""] if same else []
        lines += [line for number, question in same for line in _lines(number, question, catalogue)]
    lines += [paper["closing"], "", "-- ", paper["cautions"]]
    return "".join(f"{visible(line)}\n" for line in lines)


def _lines(number: int, question: Question, catalogue: Catalogue) -> Iterator[str]:
    where = f" ({question.where})" if question.where else ""
    yield f"{number}. {question.ask}{where}"
    if question.refs:
        yield f"   {catalogue.comma.join(question.refs)}"
    yield from (f"   - {row_in_words(row)} [{row.code}]" for row in question.rows)
    yield from (f"   {box}" for box in boxes_of(question))
    yield f"   {catalogue.paper['otherwise']} {question.otherwise}"
    yield f"   [{question.code}]"
    yield ""
