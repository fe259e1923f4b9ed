"""Two reports compared: what is new, what is worse, what is unchanged, what is gone.

A finding is found again by its rule, machine, side and reference; its row does not count, so that a file that gained a
line does not make all its findings new. It is unchanged only where it is about the same part and no farther beyond the
limit: a taller part under an accepted reference is worse.
"""

from __future__ import annotations

import hashlib
import math
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Final, Literal

from msgspec import Struct, ValidationError, convert, field
from msgspec.structs import replace

from capcheck.engine import SubjectName
from capcheck.values import InputError, read_text, refs_of_subject

if TYPE_CHECKING:
    from capcheck.engine import Finding

State = Literal["", "new", "worse", "unchanged"]
SCHEMA: Final = "capcheck-report/1"
_ROUNDING: Final = 1e-6
_RANK: Final = {"waived": 0, "undecided": 1, "warn": 2, "fail": 3}


class Known(Struct, frozen=True):
    """A finding of an earlier report, as far as comparing needs it."""

    rule: str
    identity: str
    outcome: str
    """``waived``, ``undecided``, ``warn`` or ``fail``."""
    subject: str
    message: str
    file: str | None
    row: int | None
    statement: str = ""
    """The message without what it is about; the whole message where the report is too old to tell."""
    level: str = ""
    """``warn`` or ``fail``: what it is where no waiver accepts it."""
    part_type: str | None = None
    """Part number of what it is about, or what stands for it; None where it is no part, or the report is too old."""
    margin: float | None = None
    """Distance to the limit, negative beyond it; None where there is none, or nothing bounds it."""
    facts: Mapping[str, tuple[float, float]] = field(default_factory=dict)
    """The bounds of the numbers that decide it; an open end is infinite."""
    about: SubjectName | None = None
    """What it is about, as the report names it."""

    @property
    def rank(self) -> int:
        """How bad it is."""
        return _RANK[self.outcome]

    def is_farther_than(self, other: Known) -> bool:
        """Whether it lies farther beyond its limit than *other* did, or its facts leave more open."""
        if other.margin is not None:
            if self.margin is None or self.margin < other.margin - _ROUNDING:
                return True
            if self.margin > other.margin + _ROUNDING:
                return False
        elif self.margin is not None and self.margin < 0 and not other.facts:
            return True  # nothing says how far beyond the limit the accepted one was
        # A fact that did not decide before has come to do so.
        return any(
            name not in other.facts or low < other.facts[name][0] - _ROUNDING or high > other.facts[name][1] + _ROUNDING
            for name, (low, high) in (self.facts.items() if other.facts else ())
        )


def identities(findings: Iterable[Finding | _Entry | _Named]) -> list[str]:
    """Return what each finding is known by from one revision to the next: 16 hexadecimal digits, numbered if alike."""
    seen: Counter[str] = Counter()
    found = []
    for finding in findings:
        subject = finding.subject
        text = "\0".join((finding.rule, subject.machine or "", subject.side or "", subject.ref or ""))
        name = hashlib.sha256(text.encode()).hexdigest()[:16]
        seen[name] += 1
        found.append(name if seen[name] == 1 else f"{name}-{seen[name]}")
    return found


class _Margin(Struct, frozen=True):
    value: float


class _Fact(Struct, frozen=True):
    low: float | None = None
    high: float | None = None
    unit: str | None = None


class _Entry(Struct, frozen=True):
    """A finding as a JSON report holds it, as far as comparing needs it."""

    rule: str
    subject: SubjectName
    outcome: Literal["warn", "fail"]
    undecided: bool
    waived: bool
    message: str
    statement: str = ""
    file: str | None = None
    row: int | None = None
    part_type: str | None = None
    margin: _Margin | None = None
    facts: dict[str, _Fact] = field(default_factory=dict)


def outcome_word(finding: Finding | _Entry) -> str:
    """Return ``waived``, ``undecided``, ``warn`` or ``fail``."""
    return "waived" if finding.waived else "undecided" if finding.undecided else finding.outcome


def read_report(path: str | Path) -> list[Known]:
    """Return the findings of a JSON report. Raises :class:`InputError` if the file is none."""
    return known_in(report_data(path), str(path))


def report_data(path: str | Path) -> dict[str, object]:
    """Return what a JSON report holds. Raises :class:`InputError` if the file is none."""
    import json

    path = Path(path)
    text = read_text(path, "report")
    try:
        data = json.loads(text)
    except (ValueError, RecursionError) as error:
        raise InputError.at(
            str(path), f"is not JSON: {error}", remedy="make it with: capcheck check --format json"
        ) from None
    if not isinstance(data, dict) or data.get("schema") != SCHEMA or not isinstance(data.get("findings"), list):
        raise InputError.at(
            str(path), f"is not a report of the schema {SCHEMA}", remedy="make it with: capcheck check --format json"
        )
    return data


def known_in(data: Mapping[str, object], where: str) -> list[Known]:
    """Return the findings in the *data* of a report. Raises :class:`InputError`."""
    try:
        # What waits for another answer stands apart, and is known as what does not: it may wait no more.
        entries = [e for part in ("findings", "waiting") for e in convert(data.get(part, []), list[_Entry])]
    except ValidationError as error:
        raise InputError.at(where, f"holds a finding that is not whole: {error}") from None
    return [
        Known(
            rule=entry.rule,
            identity=identity,
            outcome=outcome_word(entry),
            subject=_subject(entry),
            message=entry.message,
            statement=entry.statement or entry.message,
            file=entry.file,
            row=entry.row,
            level=entry.outcome,
            part_type=entry.part_type,
            about=entry.subject,
            margin=None if entry.margin is None else entry.margin.value,
            # A fact with a unit is a number; JSON has no infinity, so an open end is null.
            facts={name: _ends(fact.low, fact.high) for name, fact in entry.facts.items() if fact.unit is not None},
        )
        for entry, identity in zip(entries, identities(entries), strict=True)
    ]


def known_of(findings: Sequence[Finding]) -> list[Known]:
    """Return the findings of this run as a report of it, read later, would give them."""
    ordered = sorted(findings, key=lambda finding: finding.waits_for is not None)
    return [
        replace(
            _as_known(finding, identity),
            about=finding.subject,
            message=finding.message,
            statement=finding.text,
            file=finding.place.file if finding.place else None,
            row=finding.place.row if finding.place else None,
        )
        for finding, identity in zip(ordered, identities(ordered), strict=True)
    ]


def _subject(finding: Finding | _Entry) -> str:
    subject = finding.subject
    return subject.ref or subject.side or subject.machine or subject.kind


def _ends(low: float | None, high: float | None) -> tuple[float, float]:
    return (-math.inf if low is None else low), (math.inf if high is None else high)


def _as_known(finding: Finding, identity: str) -> Known:
    """Return a finding of this run as the report in JSON will hold it."""
    margin = finding.margin
    return Known(
        rule=finding.rule,
        identity=identity,
        outcome=outcome_word(finding),
        subject=_subject(finding),
        message="",
        file=None,
        row=None,
        level=finding.outcome,
        part_type=finding.part_type or None,
        margin=margin.low if margin is not None and math.isfinite(margin.low) else None,
        facts={fact.name: _ends(fact.low, fact.high) for fact in finding.facts if fact.dimension is not None},
    )


def compared(findings: Sequence[Finding], old: Sequence[Known]) -> tuple[list[Finding], list[Known]]:
    """Return *findings*, each marked new, worse or unchanged against *old*, and what of *old* is gone.

    What a waiver accepted and is worse now is accepted no more.
    """
    before = {known.identity: known for known in old}
    marked = []
    for finding, name in zip(findings, identities(findings), strict=True):
        known = before.get(name)
        state = _state(_as_known(finding, name), known)
        if state != "new":
            del before[name]
        # What was waived before was another thing: it counts again.
        outgrown = finding.waived and state != "unchanged" and known is not None and known.outcome == "waived"
        marked.append(replace(finding, baseline=state, waived=finding.waived and not outgrown))
    return marked, list(before.values())


def _state(new: Known, old: Known | None) -> State:
    if old is None:
        return "new"
    if new.rank > old.rank or new.is_farther_than(old):
        return "worse"
    another = new.part_type is not None and old.part_type is not None and new.part_type != old.part_type
    return "new" if another else "unchanged"


class _Named(Struct, frozen=True):
    """What a finding is known by."""

    rule: str
    subject: SubjectName


def renamed(listed: Sequence[Known], names: Mapping[str, str]) -> list[Known]:
    """Return findings as they are known where parts bear other references now: by old reference the new one."""
    if not names:
        return list(listed)
    abouts = [known.about or SubjectName(known.subject) for known in listed]
    subjects = [
        about
        if about.ref is None
        else replace(about, ref=" and ".join(names.get(ref, ref) for ref in refs_of_subject(about.ref)))
        for about in abouts
    ]
    found = identities([_Named(known.rule, subject) for known, subject in zip(listed, subjects, strict=True)])
    return [replace(known, identity=identity) for known, identity in zip(listed, found, strict=True)]


class Difference(Struct, frozen=True):
    """Two reports compared: *new* and *worse* as they are in the later, *gone* as they were in the earlier."""

    new: tuple[Known, ...]
    worse: tuple[Known, ...]
    gone: tuple[Known, ...]
    unchanged: tuple[Known, ...]

    @property
    def fails(self) -> bool:
        """Whether anything that is new or worse fails."""
        return any(known.outcome == "fail" for known in (*self.new, *self.worse)) or any(
            known.outcome == "waived" and known.level == "fail" for known in self.worse
        )

    @property
    def warns(self) -> bool:
        """Whether anything that counts is new or worse."""
        return bool(self.worse) or any(known.outcome != "waived" for known in self.new)


def difference(old: Sequence[Known], new: Sequence[Known]) -> Difference:
    """Return how a later report differs from an earlier one."""
    before = {known.identity: known for known in old}
    states: dict[str, list[Known]] = {"new": [], "worse": [], "unchanged": []}
    for known in new:
        state = _state(known, before.get(known.identity))
        states[state].append(known)
        if state != "new":
            del before[known.identity]
    return Difference(tuple(states["new"]), tuple(states["worse"]), tuple(before.values()), tuple(states["unchanged"]))
