"""Two reports compared: what is new, what is worse, what is unchanged, what is gone.

A finding is known again by its rule, machine, side and reference; neither its numbers nor its row count, so that a
file that gained a line does not make all its findings new.
"""

from __future__ import annotations

import hashlib
from collections import Counter
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Final, Literal

from msgspec import Struct, ValidationError, convert
from msgspec.structs import replace

from capcheck.engine import SubjectName
from capcheck.values import InputError, read_text

if TYPE_CHECKING:
    from capcheck.engine import Finding

State = Literal["", "new", "worse", "unchanged"]
SCHEMA: Final = "capcheck-report/1"
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

    @property
    def rank(self) -> int:
        """How bad it is."""
        return _RANK[self.outcome]


def identities(findings: Iterable[Finding | _Entry]) -> list[str]:
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


class _Entry(Struct, frozen=True):
    """A finding as a JSON report holds it, as far as comparing needs it."""

    rule: str
    subject: SubjectName
    outcome: Literal["warn", "fail"]
    undecided: bool
    waived: bool
    message: str
    file: str | None = None
    row: int | None = None


def outcome_word(finding: Finding | _Entry) -> str:
    """Return ``waived``, ``undecided``, ``warn`` or ``fail``."""
    return "waived" if finding.waived else "undecided" if finding.undecided else finding.outcome


def read_report(path: str | Path) -> list[Known]:
    """Return the findings of a JSON report. Raises :class:`InputError` if the file is none."""
    import json

    path = Path(path)
    text = read_text(path, "report")
    try:
        data = json.loads(text)
    except ValueError as error:
        raise InputError.at(
            str(path), f"is not JSON: {error}", remedy="make it with: capcheck check --format json"
        ) from None
    if not isinstance(data, dict) or data.get("schema") != SCHEMA or not isinstance(data.get("findings"), list):
        raise InputError.at(
            str(path), f"is not a report of the schema {SCHEMA}", remedy="make it with: capcheck check --format json"
        )
    try:
        entries = convert(data["findings"], list[_Entry])
    except ValidationError as error:
        raise InputError.at(str(path), f"holds a finding that is not whole: {error}") from None
    return [
        Known(
            rule=entry.rule,
            identity=identity,
            outcome=outcome_word(entry),
            subject=entry.subject.ref or entry.subject.side or entry.subject.machine or entry.subject.kind,
            message=entry.message,
            file=entry.file,
            row=entry.row,
        )
        for entry, identity in zip(entries, identities(entries), strict=True)
    ]


def compared(findings: Sequence[Finding], old: Sequence[Known]) -> tuple[list[Finding], list[Known]]:
    """Return *findings*, each marked new, worse or unchanged against *old*, and what of *old* is gone."""
    before = {known.identity: known for known in old}
    marked = []
    for finding, name in zip(findings, identities(findings), strict=True):
        known = before.pop(name, None)
        marked.append(replace(finding, baseline=_state(_RANK[outcome_word(finding)], known)))
    return marked, list(before.values())


def _state(rank: int, known: Known | None) -> State:
    return "new" if known is None else "worse" if rank > known.rank else "unchanged"


class Difference(Struct, frozen=True):
    """Two reports compared: *new* and *worse* as they are in the later, *gone* as they were in the earlier."""

    new: tuple[Known, ...]
    worse: tuple[Known, ...]
    gone: tuple[Known, ...]
    unchanged: tuple[Known, ...]

    @property
    def fails(self) -> bool:
        """Whether anything that is new or worse fails."""
        return any(known.outcome == "fail" for known in (*self.new, *self.worse))

    @property
    def warns(self) -> bool:
        """Whether anything that counts is new or worse."""
        return any(known.outcome != "waived" for known in (*self.new, *self.worse))


def difference(old: Sequence[Known], new: Sequence[Known]) -> Difference:
    """Return how a later report differs from an earlier one."""
    before = {known.identity: known for known in old}
    states: dict[str, list[Known]] = {"new": [], "worse": [], "unchanged": []}
    for known in new:
        states[_state(known.rank, before.pop(known.identity, None))].append(known)
    return Difference(tuple(states["new"]), tuple(states["worse"]), tuple(before.values()), tuple(states["unchanged"]))
