"""The report as SARIF 2.1.0, the OASIS format for results of static analysis.

A finding's place is the row of the customer's file, or the first row of the file that it is about; its fingerprint is
its rule, machine, side and reference, so that it is known again when rows move. Waived findings are suppressed
results. Undecided ones are warnings with a property, not of the kind ``open``, which the standard gives no level: a
viewer would hide what nobody has proved. Those that wait for another undecided one are notes.
"""

from __future__ import annotations

from typing import Final
from urllib.parse import quote

from capcheck.checking import ExitCode, Report, files_of, names_for_others, renamed
from capcheck.engine import Finding, Rule
from capcheck.lexicon import cautions, sentence
from capcheck.report.json_encoding import json_spelled, json_text
from capcheck.report.markdown_text import code, escaped
from capcheck.report.places import place_in_files
from capcheck.report.rule_pages import page_of_rule
from capcheck.shop import identities
from capcheck.values import Place, show
from capcheck.version import __version__

HELP: Final = "SARIF 2.1.0, for viewers of static analysis"

SCHEMA_URI: Final = "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json"
_LEVELS: Final = {"fail": "error", "warn": "warning"}
_STATES: Final = {"new": "new", "worse": "updated", "unchanged": "unchanged"}


def render(report: Report) -> str:
    """Return the SARIF document as JSON text."""
    names = names_for_others(files_of(report))
    return renamed(renamed(json_text(_sarif(report)), names, json_spelled), names, _uri)


def _sarif(report: Report) -> dict[str, object]:
    """Return the SARIF document: one run, a result for each finding, its counts and the cautions as properties."""
    rules = [_rule(rule, report.documentation) for rule in report.answers.rules]
    known = {rule["id"] for rule in rules}
    rules += [_bare_rule(f) for f in {f.rule: f for f in report.findings if f.rule not in known}.values()]
    index = {rule["id"]: number for number, rule in enumerate(rules)}
    results = [
        _result(finding, place_in_files(report, finding), index[finding.rule], fingerprint)
        for finding, fingerprint in zip(report.findings, identities(report.findings), strict=True)
    ]
    run: dict[str, object] = {
        "tool": {"driver": {"name": "capcheck", "version": __version__, "rules": rules}},
        "columnKind": "unicodeCodePoints",
        "invocations": [_invocation(report)],
        "results": results,
        "properties": {"verdict": report.verdict, "counts": report.totals, "cautions": cautions()},
    }
    return {"$schema": SCHEMA_URI, "version": "2.1.0", "runs": [run]}


def _rule(rule: Rule, documentation: str) -> dict[str, object]:
    page = page_of_rule(documentation, rule.id)
    return {
        "id": rule.id,
        "shortDescription": {"text": rule.title},
        "fullDescription": {"text": rule.why},
        "help": {"text": f"{rule.remedy} Basis: {rule.basis_in_full}.", "markdown": _help(rule)},
        **({"helpUri": page} if page else {}),
        "defaultConfiguration": {"level": _LEVELS[rule.outcome]},
        "properties": {"tags": list(rule.tags), "subject": rule.subject.name},
    }


def _help(rule: Rule) -> str:
    """Return the rule as viewers show it beside a result: what it asks, of what, why, and what to do."""
    asks = " ".join(rule.entry.require.split())
    when = f" where {code(' '.join(rule.entry.when.split()))}" if rule.entry.when else ""
    limits = "; ".join(f"{name} = {show(v.value, v.value, v.dimension)}" for name, v in rule.limits.items())
    lines = [
        f"**{escaped(rule.title)}**",
        f"Asks of each {rule.subject.name}{when}: {code(asks)}",
        *([f"Limits: {escaped(limits)}"] if limits else []),
        f"Why: {escaped(rule.why)}",
        f"What to do: {escaped(rule.remedy)}",
        f"Basis: {escaped(rule.basis_in_full)}",
    ]
    return "\n\n".join(lines)


def _bare_rule(finding: Finding) -> dict[str, object]:
    """Return the entry of what is no rule of a file, such as a waiver that is over."""
    return {
        "id": finding.rule,
        "shortDescription": {"text": finding.title},
        "help": {"text": finding.remedy},
        "defaultConfiguration": {"level": _LEVELS[finding.outcome]},
    }


def _result(finding: Finding, place: Place, index: int, fingerprint: str) -> dict[str, object]:
    result: dict[str, object] = {
        "ruleId": finding.rule,
        "ruleIndex": index,
        "level": "note" if finding.waits_for is not None else _LEVELS[finding.outcome],
        "message": {"text": f"{finding.message}\n{finding.remedy}"},
        "locations": [_location(finding, place)],
        "partialFingerprints": {"ruleMachineReference/v1": fingerprint},
        "properties": {"undecided": finding.undecided, "missing": list(finding.missing)},
    }
    if finding.waits_for is not None:
        result["properties"] = {
            "undecided": True,
            "waits_for": finding.waits_for.rule,
            "missing": list(finding.missing),
        }
    if finding.waived:
        result["suppressions"] = [{"kind": "external", "status": "accepted", "justification": finding.waiver}]
    if finding.baseline:
        result["baselineState"] = _STATES[finding.baseline]
    return result


def _location(finding: Finding, place: Place) -> dict[str, object]:
    subject = finding.subject
    name = " / ".join(n for n in (subject.machine, subject.head, subject.side, subject.ref) if n)
    return {
        "logicalLocations": [{"fullyQualifiedName": name or subject.kind, "kind": subject.kind}],
        "physicalLocation": {
            "artifactLocation": {"uri": _uri(place.file)},
            "region": {"startLine": place.row or 1},
        },
    }


def _uri(file: str) -> str:
    return quote(file.replace("\\", "/"), errors="surrogateescape")


def _invocation(report: Report) -> dict[str, object]:
    code = report.exit_code
    invocation: dict[str, object] = {"executionSuccessful": code is not ExitCode.UNUSABLE, "exitCode": int(code)}
    lacking = [{"level": "error", "message": {"text": sentence(why)}} for why in report.unanswered]
    return {**invocation, "toolExecutionNotifications": lacking} if lacking else invocation
