"""Which undecided answers wait for another: what one missing figure leaves open is asked once.

A rule names in ``settles`` the facts that it asks for in the name of all. Where it is undecided, every undecided
answer on the same part, or for a rule on the board on anything, that lacks one of these facts waits for it. Answers of
one rule wait for the first of them where they differ by the machine alone, and where a rule is asked once for a type
of part. What waits stays undecided; what it lacks is asked for by the answer that it waits for. Nothing
waits for an answer that is not in the run, is waived or belongs to a rule that raised.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Hashable, Mapping, Sequence
from typing import Final

from msgspec.structs import replace

from capcheck.engine.findings import Finding, Waiting
from capcheck.engine.rules import Rule
from capcheck.facts import Catalogue

_OF_MACHINES: Final = frozenset({"machine", "head"})
"""Scopes of what a machine's own data state: what lacks there is asked for each."""

Waits = Mapping[int, int]
"""For each finding that waits, by its place in the list, the place of the one that it waits for."""


def folded(findings: Sequence[Finding], rules: Sequence[Rule], catalogue: Catalogue) -> list[Finding]:
    """Return *findings*, those that wait marked so, and what they lack added to the ones they wait for.

    *rules* are those that were answered.
    """
    live = [not finding.waived for finding in findings]
    waits = _waits(findings, live, rules, catalogue)
    asking: dict[int, list[Finding]] = {}
    for waiter, question in waits.items():
        asking.setdefault(question, []).append(findings[waiter])
    return [_folded(findings, at, waits, asking) for at in range(len(findings))]


def _folded(findings: Sequence[Finding], at: int, waits: Waits, asking: Mapping[int, Sequence[Finding]]) -> Finding:
    finding = findings[at]
    if at in waits:
        question = findings[waits[at]]
        return replace(finding, waits_for=Waiting(question.rule, question.subject))
    if at not in asking:
        return finding
    lacking = {value.name: value for waiter in asking[at] for value in waiter.facts if value.name in waiter.missing}
    missing = tuple(dict.fromkeys((*finding.missing, *(n for waiter in asking[at] for n in waiter.missing))))
    there = {value.name for value in finding.facts}
    return replace(
        finding,
        missing=missing,
        facts=(*finding.facts, *(value for name, value in lacking.items() if name not in there)),
        awaited_by=tuple(dict.fromkeys(Waiting(waiter.rule, waiter.subject) for waiter in asking[at])),
    )


def adopted(findings: Sequence[Finding], rules: Sequence[Rule], catalogue: Catalogue) -> list[Finding]:
    """Return *findings*, those of rules that ask for others accepted or known where all that ask through them are.

    Such a question is no news where each of them has a waiver, or stood in the earlier report.
    """
    asking = _asking(findings, rules, catalogue)
    return [_adopted(finding, asking.get(at, ())) for at, finding in enumerate(findings)]


def needed(findings: Sequence[Finding], rules: Sequence[Rule], catalogue: Catalogue) -> list[Finding]:
    """Return *findings* without the questions that no answer hangs on: each rule that lacks the fact is decided.

    A part that every rule lets pass, however it is mounted, need not be asked about. A question stays where no other
    rule of the run, *rules*, asks for what it settles: then it was asked for itself.
    """
    asking = _asking(findings, rules, catalogue)
    others = {name for rule in rules if not rule.for_others for name in rule.facts}
    put_for_others = {rule.id for rule in rules if rule.for_others and not rule.settles.isdisjoint(others)}
    return [
        finding
        for at, finding in enumerate(findings)
        if asking.get(at) or not finding.undecided or finding.rule not in put_for_others
    ]


def _asking(
    findings: Sequence[Finding], rules: Sequence[Rule], catalogue: Catalogue
) -> Mapping[int, Sequence[Finding]]:
    """Return for each question of a rule that asks for others the answers, waived or not, that it is put for."""
    own = {rule.id for rule in rules if rule.for_others}
    waits = _waits(findings, [True] * len(findings), rules, catalogue)
    asking: dict[int, list[Finding]] = {}
    for waiter, question in waits.items():
        if findings[question].rule in own and findings[waiter].rule not in own:
            asking.setdefault(question, []).append(findings[waiter])
    # A question that waits for another one is put for the same answers.
    own_waits = {at: question for at, question in waits.items() if findings[at].rule in own}
    return asking | {at: asking[question] for at, question in own_waits.items() if question in asking}


def _adopted(finding: Finding, waiters: Sequence[Finding]) -> Finding:
    if not waiters:
        return finding
    if not finding.waived and all(waiter.waived for waiter in waiters):
        finding = replace(finding, waived=True, waiver=waiters[0].waiver)
    if finding.baseline == "new" and all(waiter.baseline == "unchanged" for waiter in waiters):
        finding = replace(finding, baseline="unchanged")
    return finding


def _waits(findings: Sequence[Finding], live: Sequence[bool], rules: Sequence[Rule], catalogue: Catalogue) -> Waits:
    # What settles more comes first: a question may itself wait for one that asks for more, never the other way round.
    ranked = sorted((rule for rule in rules if rule.settles), key=lambda rule: -len(rule.settles))
    open_ = [at for at, finding in enumerate(findings) if finding.undecided and live[at]]
    asked = {
        rule.id: {_about(rule, findings[at]): at for at in open_ if findings[at].rule == rule.id} for rule in ranked
    }
    rank = {rule.id: number for number, rule in enumerate(ranked)}
    waits: dict[int, int] = {}
    for at in sorted(open_, key=lambda at: rank.get(findings[at].rule, len(ranked))):
        finding = findings[at]
        for rule in ranked[: rank.get(finding.rule, len(ranked))]:
            question = asked[rule.id].get(_about(rule, finding))
            if question is not None and not rule.settles.isdisjoint(finding.missing):
                waits[at] = waits.get(question, question)
                break
    once = {rule.id for rule in rules if rule.once_for_type}
    alone = set(open_) - waits.keys() - set(waits.values())
    _alike(findings, sorted(alone), waits, lambda finding: _whichever_machine(finding, catalogue))
    _alike(findings, sorted(alone - waits.keys()), waits, lambda f: _of_type(f) if f.rule in once else None)
    return waits


def _about(rule: Rule, finding: Finding) -> Hashable:
    """Return what *finding* is about as far as *rule* tells things apart: nothing for a rule on the board."""
    if rule.subject.rows is None:
        return None
    return finding.subject.ref, finding.subject.kind.split(" on ")[0], finding.place


def _alike(
    findings: Sequence[Finding], among: Collection[int], waits: dict[int, int], key: Callable[[Finding], Hashable]
) -> None:
    """Let the findings with one key wait for the first of them; None is no key."""
    first: dict[Hashable, int] = {}
    for at in among:
        same = key(findings[at])
        if same is not None and (question := first.setdefault(same, at)) != at:
            waits[at] = question


def _whichever_machine(finding: Finding, catalogue: Catalogue) -> Hashable:
    subject = finding.subject
    if subject.machine is None or any(catalogue[name].scope in _OF_MACHINES for name in finding.missing):
        return None
    # Two machines that carry the board differently may know different bounds of one figure.
    known = tuple((v.name, v.low, v.high, v.text) for v in finding.facts if v.name in finding.missing)
    return finding.rule, subject.kind, subject.ref, subject.side, finding.place, known


def _of_type(finding: Finding) -> Hashable:
    return (finding.rule, finding.part_type, finding.missing) if finding.part_type else None
