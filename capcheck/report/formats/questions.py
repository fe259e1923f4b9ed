"""The questions to the customer as Markdown."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from capcheck.checking import Report
from capcheck.lexicon import Catalogue, customers_catalogue
from capcheck.report.markdown_text import code, escaped
from capcheck.report.questions import GROUPS, Question, boxes_of, questions, row_in_words

HELP: Final = "the customer: what stops us, what we assume, advice, with boxes to tick; attach the picture (svg)"


def render(report: Report) -> str:
    """Return the list as Markdown: a numbered list under each of three headings."""
    catalogue, found = customers_catalogue(), questions(report)
    paper = catalogue.paper
    lines = [f"# {escaped(catalogue.filled(paper['title'], {'board': report.board.name}))}", ""]
    lines += [] if found else [paper["none"], ""]
    numbered = list(enumerate(found, 1))
    for group in GROUPS:
        same = [(number, question) for number, question in numbered if question.group is group]
        lines += [f"## {paper[f'group {group}']}", ""] if same else []
        lines += [line for number, question in same for line in _lines(number, question, catalogue)]
    return "\n".join([*lines, f"*{escaped(paper['cautions'])}*", ""])


def _lines(number: int, question: Question, catalogue: Catalogue) -> Iterator[str]:
    """Yield one question: what is asked, whom it is about, what can be ticked, what is done without an answer."""
    where = f" ({escaped(question.where)})" if question.where else ""
    yield f"{number}. **{escaped(question.ask)}**{where} {code(question.code)}"
    yield ""
    indent = " " * (len(str(number)) + 2)
    if question.refs:
        yield from (f"{indent}{escaped(catalogue.comma.join(question.refs))}", "")
    yield from (f"{indent}- {escaped(row_in_words(row))} {code(row.code)}" for row in question.rows)
    yield from [""] if question.rows else []
    yield f"{indent}{escaped(' '.join(boxes_of(question)))}"
    yield ""
    yield f"{indent}*{escaped(catalogue.paper['otherwise'])}* {escaped(question.otherwise)}"
    yield ""
