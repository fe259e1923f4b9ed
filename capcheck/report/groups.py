"""Findings gathered for a reader: one line for all parts of a type, one for one missing datum."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from msgspec import Struct

from capcheck.engine import Finding, SubjectName
from capcheck.facts import OPEN_GAPS
from capcheck.machines import Line
from capcheck.values import shortened

_FEW: Final = 2
"""Machines that are named, also where they are all of the line."""


class Group(Struct, frozen=True):
    """Findings of one rule that say the same of several subjects."""

    rule: str
    title: str
    outcome: str
    subjects: tuple[str, ...]
    text: str
    """The message without the reference it begins with."""
    remedy: str
    findings: tuple[Finding, ...]
    label: str
    """What the subjects have in common, such as a part number; may be empty."""

    def refs(self, most: int = 10) -> str:
        """Return the subjects, shortened to at most so many runs."""
        return shortened(self.subjects, most)

    @property
    def names_itself(self) -> bool:
        """Whether the text says by itself what it is about."""
        return self.findings[0].subject.ref is None

    @property
    def margin(self) -> str:
        """The worst margin of the group for a reader, or an empty text."""
        margins = [f.margin for f in self.findings if f.margin is not None]
        return str(min(margins, key=lambda m: m.low)) if margins else ""

    @property
    def since(self) -> str:
        """What an earlier report makes of the group: ``new``, ``worse``, ``3 new`` of several; empty without one."""
        marks = [f.baseline for f in self.findings]
        told = [
            word if len(marks) == marks.count(word) else f"{marks.count(word)} {word}"
            for word in ("new", "worse")
            if word in marks
        ]
        return ", ".join(told)


class Gap(Struct, frozen=True):
    """Facts that are missing for a type of part or another subject, with all the rules they leave undecided."""

    subjects: tuple[str, ...]
    label: str
    missing: tuple[tuple[str, str], ...]
    """Fact and what is known of it."""
    rules: tuple[str, ...]
    findings: tuple[Finding, ...]

    def refs(self, most: int = 10) -> str:
        """Return the subjects, shortened to at most so many runs."""
        return shortened(self.subjects, most)


def _own_subject(finding: Finding) -> str:
    """Return what a finding is about, or the board for one on a machine that waits for an answer on the board."""
    own = finding.subject
    return _subject(own if finding.waits_for is None or own.ref is not None else finding.waits_for.subject)


def _subject(subject: SubjectName) -> str:
    if subject.ref is None and subject.side is None and " on " in subject.kind:
        return str(subject)
    return subject.ref or (f"{subject.side} side" if subject.side else subject.machine or subject.kind)


def _for_all(findings: Sequence[Finding], machines: int) -> str:
    """Return the message of findings that differ by the machine alone, with the names of all machines."""
    names = list(dict.fromkeys(f.subject.machine for f in findings if f.subject.machine))
    listed = " and ".join([", ".join(names[:-1]), names[-1]]) if len(names) > 1 else "".join(names)
    return findings[0].told(reference=False, machine="every machine" if len(names) == machines > _FEW else listed)


def decided_groups(findings: Sequence[Finding], line: Line | None = None) -> list[Group]:
    """Return those of *findings* that are decided, in their order, gathered by rule, type of part and message.

    Messages that name different machines and say the same of them are one group; of all machines of the *line*, none
    is named. What counts pairs that may overlap is the last of all: nobody acts on a single one of them.
    """
    machines = len(line.machines) if line else 0
    gathered: dict[tuple[str, str, str, str], list[Finding]] = {}
    for finding in findings:
        if not finding.undecided:
            group = finding.group if finding.subject.ref else ""
            key = (finding.outcome, finding.rule, group, finding.told(reference=False, machine=""))
            gathered.setdefault(key, []).append(finding)
    found = [
        Group(
            rule=first.rule,
            title=first.title,
            outcome=first.outcome,
            subjects=tuple(dict.fromkeys(_subject(f.subject) for f in same)),
            text=_for_all(same, machines),
            remedy=first.remedy,
            findings=tuple(same),
            label=first.group if first.subject.ref and first.group != first.subject.ref else "",
        )
        for same in gathered.values()
        for first in same[:1]
    ]
    return sorted(found, key=lambda group: any(value.name == OPEN_GAPS for value in group.findings[0].facts))


def gaps(findings: Sequence[Finding]) -> list[Gap]:
    """Return the undecided findings gathered by the facts that are missing: one line for one missing datum.

    All that is missing of one subject is put together first, so that a part of which nothing is known is one line with
    all the rules that hang on it; then subjects that miss the same for the same rules.
    """
    by_subject: dict[tuple[str, str], list[Finding]] = {}
    for finding in findings:
        if finding.undecided:
            asked = finding if finding.waits_for is None else finding.waits_for
            by_subject.setdefault((_subject(asked.subject), asked.subject.kind.split(" on ")[0]), []).append(finding)
    merged: dict[tuple[tuple[tuple[str, str], ...], tuple[str, ...]], list[Finding]] = {}
    for every in by_subject.values():
        same = sorted(every, key=lambda f: f.waits_for is not None)
        missing = tuple(dict.fromkeys(pair for f in same for pair in _missing(f)))
        rules = tuple(dict.fromkeys(f.rule for f in same))
        merged.setdefault((missing, rules), []).extend(same)
    found = [
        Gap(tuple(dict.fromkeys(map(_own_subject, every))), _types(every), missing, rules, tuple(every))
        for (missing, rules), every in merged.items()
    ]
    return sorted(found, key=lambda gap: (-len(gap.rules), -len(gap.subjects), gap.subjects))


def _types(findings: Sequence[Finding]) -> str:
    """Return the type of the parts that findings are about, or how many types there are; empty for anything else."""
    if any(f.subject.ref in {None, f.group} for f in findings):
        return ""
    types = dict.fromkeys(f.group for f in findings)
    return next(iter(types)) if len(types) == 1 else f"{len(types)} types"


def _missing(finding: Finding) -> list[tuple[str, str]]:
    values = {value.name: str(value) for value in finding.facts}
    return [(name, values[name]) for name in finding.missing]
