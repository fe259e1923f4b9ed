"""Two reports compared: what is new, what is worse, what is unchanged, what is gone.

A finding is known again by its rule, machine, side and reference; neither its numbers nor its row count, so that a
file that gained a line does not make all its findings new.
"""

from __future__ import annotations

import hashlib
import json
from collections import Counter
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, Literal

from msgspec import Struct
from msgspec.structs import replace

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


def identity_of(rule: str, machine: str | None, side: str | None, ref: str | None) -> str:
    """Return what a finding is known by from one revision to the next: 16 hexadecimal digits."""
    text = "\0".join((rule, machine or "", side or "", ref or ""))
    return hashlib.sha256(text.encode()).hexdigest()[:16]


def identities(findings: Iterable[Finding]) -> list[str]:
    """Return the identity of each finding; equal ones are numbered in their order."""
    names = (identity_of(f.rule, f.subject.machine, f.subject.side, f.subject.ref) for f in findings)
    return _numbered(names)


def _numbered(names: Iterable[str]) -> list[str]:
    seen: Counter[str] = Counter()
    numbered = []
    for name in names:
        seen[name] += 1
        numbered.append(name if seen[name] == 1 else f"{name}-{seen[name]}")
    return numbered


def outcome_word(finding: Finding) -> str:
    """Return ``waived``, ``undecided``, ``warn`` or ``fail``."""
    return "waived" if finding.waived else "undecided" if finding.undecided else finding.outcome


def read_report(path: str | Path) -> list[Known]:
    """Return the findings of a JSON report. Raises :class:`InputError` if the file is none."""
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
        return _known(data["findings"])
    except (KeyError, TypeError, AttributeError) as error:
        raise InputError.at(str(path), f"holds a finding that is not whole: {error}") from None


def _known(entries: Sequence[dict[str, Any]]) -> list[Known]:
    subjects = [entry["subject"] for entry in entries]
    names = _numbered(
        identity_of(e["rule"], s.get("machine"), s.get("side"), s.get("ref"))
        for e, s in zip(entries, subjects, strict=True)
    )
    return [
        Known(
            entry["rule"],
            name,
            "waived" if entry["waived"] else "undecided" if entry["undecided"] else entry["outcome"],
            subject.get("ref") or subject.get("side") or subject.get("machine") or subject["kind"],
            entry["message"],
            entry.get("file"),
            entry.get("row"),
        )
        for entry, name, subject in zip(entries, names, subjects, strict=True)
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
