"""One line a finding, at its place.

Figures: invented places in files that the test writes.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from msgspec.structs import replace

from capcheck import Report, check
from capcheck.engine.findings import FactValue
from capcheck.report.formats.lines import render
from capcheck.report.sentences import line_of_finding
from capcheck.values.errors import Place

FIXTURES = Path(__file__).parents[3] / "fixtures"


@pytest.fixture(scope="module")
def report() -> Report:
    return check(FIXTURES / "irrigation-controller", line=FIXTURES / "lines" / "chip.line.toml")


def test_a_finding_is_file_row_outcome_rule_reference_message(report: Report) -> None:
    finding = next(f for f in report.findings if f.subject.ref and f.place)
    ref = FactValue("part.ref", text=finding.subject.ref)
    told = {"template": "{part.ref}: too\n tall", "shown": (ref,), "undecided": False, "outcome": "fail"}
    shown = replace(finding, place=Place("p.csv", 12), **told)
    lines = render(replace(report, findings=[shown])).splitlines()
    machine = f" ({finding.subject.machine})" if finding.subject.machine else ""
    assert lines[0] == f"p.csv:12: fail {finding.rule} {finding.subject.ref} too tall{machine}"
    assert len(lines) == 2


def test_findings_that_differ_by_the_machine_alone_are_told_apart(report: Report) -> None:
    named = [replace(f, template="as good as none", undecided=False) for f in report.findings if f.subject.machine][:1]
    subject = named[0].subject
    lines = [line_of_finding(replace(named[0], subject=replace(subject, machine=name))) for name in ("One", "Two")]
    assert len(set(lines)) == 2
    assert "(One)" in lines[0]


def test_outcome_is_undecided_or_waived_where_it_is(report: Report) -> None:
    finding = replace(report.findings[0], place=None, outcome="warn", undecided=True)
    waived = replace(finding, waived=True, waiver="seen")
    first, second, _ = render(replace(report, findings=[finding, waived])).splitlines()
    assert first.startswith("-: undecided ")
    assert second.startswith("-: waived ")
    assert second.endswith("(waived: seen)")


def test_a_rule_that_could_not_be_answered_has_a_line(report: Report) -> None:
    answers = replace(report.answers, broken_rules=[("part-height", "ValueError: boom")])
    assert '-: unanswered rule "part-height" could not be answered: ValueError: boom' in render(
        replace(report, answers=answers)
    )
