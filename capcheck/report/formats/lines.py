"""The findings as concise lines, for an editor or a hook: ``file:row: outcome rule ref message``."""

from __future__ import annotations

from typing import Final

from capcheck.checking import Report
from capcheck.lexicon import sentence
from capcheck.report.sentences import count_line, line_of_finding, on_one_line
from capcheck.values import visible

HELP: Final = "one line for each finding, for an editor or a hook"


def render(report: Report) -> str:
    """Return one line for each finding, after them why the run is no answer if it is none, and the line of counts.

    The outcome is ``fail``, ``warn``, ``undecided`` or ``waived``. A finding that waits for another has no line: that
    one names it. Whoever prints them to a terminal is safe: no control character of a customer's file is among them.
    """
    lines = [line_of_finding(finding) for finding in report.findings if finding.waits_for is None]
    lines += [f"-: unanswered {on_one_line(sentence(why))}" for why in report.unanswered]
    return "".join(f"{visible(line)}\n" for line in (*lines, count_line(report)))
