"""The report as JUnit XML: a test case for each finding, and one for each rule and machine without any.

What fails is a failure, and with ``strict`` what warns too; what is undecided, waived or waits for another answer, and
rules that lack an input, are skipped: they prove nothing. A warning is a case that passes, with its text as output.
The counts, as every format has them, and the cautions stand in the suite's properties. Control characters, most of
which XML 1.0 has no way to write, are shown as signs.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final
from xml.etree.ElementTree import Element, SubElement, indent, tostring
from xml.sax.saxutils import escape

from msgspec import to_builtins

from capcheck.checking import Report, files_of, names_for_others, renamed
from capcheck.engine import Finding
from capcheck.lexicon import cautions
from capcheck.report.sentences import unanswered
from capcheck.values import visible_lines

HELP: Final = "JUnit XML, for a CI"


def render(report: Report) -> str:
    """Return the report as one ``testsuites`` document."""
    cases = [*(_case(report, finding) for finding in report.findings), *_without_findings(report)]
    cases += [_broken(report, rule, error) for rule, error in report.answers.broken_rules]
    cases += [_unanswered(report)] if report.unanswered else []
    found = [{child.tag for child in case} for case in cases]
    counts = {
        "tests": len(cases),
        "failures": sum("failure" in tags for tags in found),
        "errors": sum("error" in tags for tags in found),
        "skipped": sum("skipped" in tags for tags in found),
    }
    attributes = {key: str(value) for key, value in counts.items()}
    # The schema of a common CI server knows no number of skipped cases here, only in the suite.
    root = Element("testsuites", {"name": "capcheck", **{k: v for k, v in attributes.items() if k != "skipped"}})
    suite = SubElement(root, "testsuite", {"name": visible_lines(report.board.name), **attributes})
    properties = SubElement(suite, "properties")
    for key, value in {"verdict": report.verdict, **to_builtins(report.totals), "cautions": cautions()}.items():
        SubElement(properties, "property", {"name": key, "value": str(value)})
    suite.extend(cases)
    indent(root, " ")
    text = renamed(tostring(root, encoding="unicode"), names_for_others(files_of(report)), _spelled)
    return f'<?xml version="1.0" encoding="UTF-8"?>\n{text}\n'


def _spelled(text: str) -> str:
    return escape(visible_lines(text))


def _element(report: Report, rule: str, name: str) -> Element:
    return Element(
        "testcase",
        {"classname": visible_lines(f"{report.board.name}.{rule}"), "name": visible_lines(name), "time": "0"},
    )


def _case(report: Report, finding: Finding) -> Element:
    case = _element(report, finding.rule, f"{finding.rule}[{finding.subject}]")
    place = "" if finding.place is None else f"\n{finding.place}"
    text = visible_lines(f"{finding.message}\n{finding.remedy}{place}")
    if finding.waived:
        SubElement(case, "skipped", {"message": visible_lines(f"waived: {finding.waiver}")})
    elif finding.waits_for is not None:
        SubElement(case, "skipped", {"message": visible_lines(finding.message)}).text = text
    elif finding.outcome == "fail" or report.strict:
        kind = "undecided" if finding.undecided else finding.outcome
        SubElement(case, "failure", {"type": kind, "message": visible_lines(finding.message)}).text = text
    elif finding.undecided:
        message = visible_lines(f"undecided: {finding.message}")
        SubElement(case, "skipped", {"message": message}).text = text
    else:
        SubElement(case, "system-out").text = f"warn: {text}"
    return case


def _without_findings(report: Report) -> Iterator[Element]:
    """Yield a case for each rule and machine that no finding names: passed, or skipped for want of an input."""
    named = {(f.rule, f.subject.machine) for f in report.findings}
    lacking = {rule: name for name, rules in report.answers.skipped.items() for rule in rules}
    machines = [] if report.line is None else [m.name for m in report.line.machines]
    broken = {rule for rule, _ in report.answers.broken_rules}
    for rule in report.answers.rules:
        if rule.id in broken:
            continue
        if rule.id in lacking:
            case = _element(report, rule.id, rule.id)
            SubElement(case, "skipped", {"message": f"no {lacking[rule.id]} was given"})
            yield case
            continue
        for machine in machines if rule.subject.each else [None]:
            if (rule.id, machine) not in named:
                yield _element(report, rule.id, rule.id if machine is None else f"{rule.id}[{machine}]")


def _unanswered(report: Report) -> Element:
    case = _element(report, "unanswered", "unanswered")
    text = visible_lines(unanswered(report))
    SubElement(case, "error", {"type": "unanswered", "message": text})
    return case


def _broken(report: Report, rule: str, error: str) -> Element:
    case = _element(report, rule, rule)
    SubElement(case, "error", {"message": visible_lines(error)})
    return case
