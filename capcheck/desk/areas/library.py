"""Parts of which something is not known that a rule asks for, those that stop most first."""

from __future__ import annotations

from collections import Counter
from typing import Final

from msgspec import Struct

from capcheck.desk.areas.area import Area, Found, Seen


class UnknownPart(Struct, frozen=True):
    """A kind of part, by its names in the files, with its designators and the facts that are missing of it."""

    part_number: str
    footprint: str
    value: str
    refs: tuple[str, ...]
    missing: tuple[str, ...]
    verdicts: int = 0
    """How many verdicts wait for it."""


class Unknown(Struct, frozen=True):
    """The kinds of parts of which something is missing."""

    parts: tuple[UnknownPart, ...]


def made(found: Found) -> Unknown:
    """Return the kinds of parts that undecided findings are about, on the line that suits the board best."""
    report = found.asking
    placements = report.board.placements
    kind_of = dict(zip(placements.ref, placements.part_type.tolist(), strict=True))
    missing: dict[int, dict[str, None]] = {}
    waiting: Counter[int] = Counter()
    for finding in report.findings:
        kind = kind_of.get(finding.subject.ref or "", -1)
        if finding.undecided and not finding.waived and kind >= 0:
            facts = [fact for fact in finding.missing if fact.startswith("part.")]
            waiting[kind] += bool(facts)
            missing.setdefault(kind, {}).update(dict.fromkeys(facts))
    refs: dict[int, list[str]] = {}
    for ref, kind in kind_of.items():
        refs.setdefault(kind, []).append(ref)
    parts = [
        UnknownPart(name.part_number, name.footprint, name.value, tuple(refs[kind]), tuple(facts), waiting[kind])
        for kind, facts in missing.items()
        if facts
        for name in [report.board.types[kind]]
    ]
    return Unknown(tuple(sorted(parts, key=lambda part: (-part.verdicts, -len(part.refs)))))


def shown(_: Seen, data: Unknown | None) -> Unknown | None:
    """Return them as they are."""
    return data


AREA: Final = Area("library", "Parts not known", shown, Unknown, made, ("checked",))
