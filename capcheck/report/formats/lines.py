"""The findings as concise lines, for an editor or a hook: ``file:row: outcome rule ref message``."""

from __future__ import annotations

from capcheck.checking import Report
from capcheck.engine import Finding
from capcheck.report.formats.text import count_line
from capcheck.shop import outcome_word


def render_lines(report: Report) -> str:
    """Return one line for each finding, rules that could not be answered after them, and the line of counts.

    The outcome is ``fail``, ``warn``, ``undecided`` or ``waived``.
    """
    lines = [line_of_finding(finding) for finding in report.findings]
    lines += [f"-: error {rule} {_flat(error)}" for rule, error in report.answers.broken_rules]
    return "".join(f"{line}\n" for line in (*lines, count_line(report)))


def line_of_finding(finding: Finding) -> str:
    """Return one finding as a line."""
    place = str(finding.place or "-")
    subject = finding.subject.ref or finding.subject.side or finding.subject.machine or finding.subject.kind
    message = _flat(finding.message).removeprefix(f"{subject}: ").removeprefix(f"{subject} ")
    machine = finding.subject.machine
    if machine and machine != subject and not finding.names_machine:
        message = f"{message} ({machine})"
    reason = f" (waived: {_flat(finding.waiver)})" if finding.waived else ""
    return f"{place}: {outcome_word(finding)} {finding.rule} {subject} {message}{reason}"


def _flat(text: str) -> str:
    return " ".join(text.split())
