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
