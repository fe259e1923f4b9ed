"""The questions to the customer as Markdown."""

from __future__ import annotations

from typing import Final

from capcheck.checking import Report
from capcheck.lexicon import cautions
from capcheck.model import Severity
from capcheck.report.markdown_text import code, escaped
from capcheck.report.questions import TITLES, Question, questions
from capcheck.values import number_of

HELP: Final = "the customer: what stops the order, what was assumed, advice"


def render(report: Report) -> str:
    """Return the list as Markdown: a numbered list under each of three headings."""
    found = questions(report)
    lines = [f"# Questions on {escaped(report.board.name)}", ""]
    if not found:
        lines += ["Nothing is open.", ""]
    number = 0
    for kind, title in TITLES.items():
        same = [q for q in found if q.group == kind]
        if same:
            lines += [f"## {title}", ""]
        for question in same:
            number += 1
            lines.append(f"{number}. {_markdown_line(question)}")
        lines += [""] if same else []
    return "\n".join([*lines, f"*{escaped(cautions())}*", ""])


def _markdown_line(question: Question) -> str:
    refs = ", ".join(code(ref) for ref in sorted(question.refs, key=number_of))
    lead = f"{refs} " if refs else ""
    lead += f"({code(question.part)}) " if question.part else ""
    tail = f" *Without an answer:* {escaped(question.without)}." if question.without else ""
    if question.assumed and question.group is Severity.ASSUMED:
        tail = f" *Assumed until then:* {escaped(question.assumed)}.{tail}"
    source = f" ({escaped(question.source)})" if question.source else ""
    return f"{f'{lead}— ' if lead else ''}{escaped(question.question)}{tail}{source}"
