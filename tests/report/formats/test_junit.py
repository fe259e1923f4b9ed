from __future__ import annotations

import xml.etree.ElementTree as ET
from pathlib import Path
from typing import Any

import pytest
from msgspec.structs import replace

from capcheck import Report, check
from capcheck.report.formats.junit import render

FIXTURES = Path(__file__).parents[3] / "fixtures"


@pytest.fixture(scope="module")
def report() -> Report:
    return check(FIXTURES / "irrigation-controller", line=FIXTURES / "lines" / "chip.line.toml")


def cases(report: Report) -> dict[str, Any]:
    root = ET.fromstring(render(report))  # noqa: S314  our own text
    return {case.attrib["name"]: case for case in root.iter("testcase")}


def test_a_failing_part_is_a_failure_with_message_remedy_and_place(report: Report) -> None:
    finding = next(f for f in report.findings if f.outcome == "fail" and f.place)
    failure = cases(report)[f"{finding.rule}[{finding.subject}]"].find("failure")
    assert failure.attrib["message"] == finding.message
    assert finding.remedy in failure.text
    assert f"/{Path(finding.place.file).name}:{finding.place.row}" in failure.text


def test_a_rule_without_findings_is_a_case_that_passes_for_each_machine(report: Report) -> None:
    found = cases(report)
    passing = [name for name, case in found.items() if not len(case)]
    assert any("[Chip placer]" in name for name in passing)
    ids = {finding.rule for finding in report.findings}
    assert all(name.split("[")[0] not in ids or "[" in name for name in passing)


def test_rules_that_lack_an_input_are_skipped_not_passed() -> None:
    alone = check(FIXTURES / "irrigation-controller")
    skipped = cases(alone)["part-height"].find("skipped")
    assert skipped.attrib["message"] == "no line was given"


def test_a_character_that_xml_cannot_hold_is_shown_by_its_number(report: Report) -> None:
    finding = replace(report.findings[0], template="bad \x00 \x1b cell ✓ \U0001f600")
    text = render(replace(report, findings=[finding]))
    assert "bad ␀ ␛ cell ✓ \U0001f600" in text
    ET.fromstring(text)  # noqa: S314  our own text


def test_with_strict_what_warns_fails(report: Report) -> None:
    def failures(case_of: dict[str, Any]) -> int:
        return sum(case.find("failure") is not None for case in case_of.values())

    strict = replace(report, strict=True)
    assert failures(cases(report)) == report.totals.failed
    assert failures(cases(strict)) == report.totals.failed + report.totals.warned


def test_what_is_undecided_is_skipped_with_its_reason_and_fails_if_strict(report: Report) -> None:
    finding = next(f for f in report.findings if f.undecided and f.waits_for is None)
    name = f"{finding.rule}[{finding.subject}]"
    skipped = cases(report)[name].find("skipped")
    assert skipped.attrib["message"] == f"undecided: {finding.message}"
    assert finding.remedy in skipped.text
    assert cases(replace(report, strict=True))[name].find("failure").attrib["type"] == "undecided"


# What a common CI server's schema of JUnit files allows: junit-10.xsd of github.com/jenkinsci/xunit-plugin, commit
# 031e285ef3b60dee7aaf36e9096d7dcd95ffae83.
ALLOWED: dict[str, tuple[set[str], set[str]]] = {
    "testsuites": ({"name", "time", "tests", "failures", "errors"}, {"testsuite"}),
    "testsuite": (
        {"name", "tests", "failures", "errors", "group", "time", "skipped", "timestamp", "hostname", "id", "package"},
        {"testsuite", "properties", "testcase", "system-out", "system-err"},
    ),
    "properties": (set(), {"property"}),
    "property": ({"name", "value"}, set()),
    "testcase": ({"name", "time", "classname", "group"}, {"skipped", "error", "failure", "system-out", "system-err"}),
    "skipped": ({"type", "message"}, set()),
    "error": ({"type", "message"}, set()),
    "failure": ({"type", "message"}, set()),
    "system-out": (set(), set()),
}


def test_elements_and_attributes_are_those_of_the_schema_of_a_common_ci_server(report: Report) -> None:
    for strict in (False, True):
        for element in ET.fromstring(render(replace(report, strict=strict))).iter():  # noqa: S314  our own text
            attributes, children = ALLOWED[element.tag]
            assert set(element.attrib) <= attributes
            assert {child.tag for child in element} <= children
