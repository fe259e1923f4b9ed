"""Annotations of findings at their lines.

Figures: invented places in files that the test writes.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from msgspec.structs import replace

from capcheck import Report, check
from capcheck.report.formats.github import render
from capcheck.values.errors import Place

FIXTURES = Path(__file__).parents[3] / "fixtures"


@pytest.fixture(scope="module")
def report() -> Report:
    return check(FIXTURES / "irrigation-controller", line=FIXTURES / "lines" / "chip.line.toml")


def test_a_finding_is_one_command_with_file_and_line(report: Report) -> None:
    finding = replace(report.findings[0], place=Place("a/b.csv", 7), template="U1: too tall", remedy="Turn it.")
    first = render(replace(report, findings=[finding])).splitlines()[0]
    assert first == f"::error file=a/b.csv,line=7,title={finding.rule}::U1: too tall → Turn it."


def test_text_of_the_customer_cannot_start_a_command_of_its_own(report: Report) -> None:
    # Escapes as the service's published toolkit writes them: % CR LF in texts, also : and , in values (from memory).
    evil = replace(
        report.findings[0],
        place=Place("a,line=1::b.csv", 7),
        template="100%\n::error::x\r",
        remedy="r",
        undecided=False,
    )
    text = render(replace(report, findings=[evil]))
    assert len(text.splitlines()) == 2
    assert "file=a%2Cline=1%3A%3Ab.csv,line=7" in text
    assert "::100%25%0A::error::x%0D → r" in text


def test_without_a_file_there_is_no_place(report: Report) -> None:
    finding = replace(report.findings[0], place=None)
    assert render(replace(report, findings=[finding])).startswith("::error title=")


def test_the_worst_come_first_and_at_most_ten_of_a_level_with_a_count_of_the_rest(report: Report) -> None:
    fail = next(f for f in report.findings if f.outcome == "fail")
    undecided = next(f for f in report.findings if f.undecided and f.waits_for is None)
    warned = replace(undecided, undecided=False, template="seen")
    findings = [*[undecided] * 7, *[fail] * 11, *[warned] * 5]
    lines = render(replace(report, findings=findings)).splitlines()
    errors, warnings = ([line for line in lines if line.startswith(f"::{level} ")] for level in ("error", "warning"))
    assert (len(errors), len(warnings)) == (10, 10)
    assert lines.index(errors[-1]) < lines.index(warnings[0])
    assert "::2 more in the log of this step: 2 fail" in errors[-1]
    assert "(undecided)" not in "".join(warnings[:5])
    assert "::3 more in the log of this step: 3 undecided" in warnings[-1]
    assert sum(line.startswith("- ") for line in lines) == 5  # nothing is lost
    assert lines[-1].startswith("::notice title=capcheck::FAIL")


def test_ten_of_a_level_are_all_shown(report: Report) -> None:
    fail = next(f for f in report.findings if f.outcome == "fail")
    assert " more in the log" not in render(replace(report, findings=[fail] * 10))


def test_a_line_of_the_log_is_no_command_whatever_a_file_is_named(report: Report) -> None:
    fail = next(f for f in report.findings if f.outcome == "fail")
    evil = replace(fail, place=Place("::error::x.csv", 7), template="##[error]x\n::error::y")
    for line in render(replace(report, findings=[evil] * 12)).splitlines():
        assert line.startswith(("::error file=", "::error title=", "::notice title=", "- "))
        assert line.startswith("::") or "##[" not in line
