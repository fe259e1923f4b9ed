"""What the shop has accepted by a waiver: parts that no head takes, or is proved to take, and slots that may be short.

What a check asks of the whole line, a plan asks by machine: who accepts the one accepts the other. Who accepts that no
head takes a part has said nothing of the feeder that a part needs which heads do take: rules on feeders ask about that.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Final

from msgspec.structs import replace

from capcheck.checking import Report
from capcheck.engine import Take
from capcheck.model import Said, say
from capcheck.planning.plan_data import Plan

_ON_HEADS: Final = "part on head"
_OF_SLOTS: Final = frozenset({"feeder-slots", "tray-places", "bank-slots", "bank-trays"})
"""Rules on feeders and trays of the whole line."""
_OF_FEEDERS: Final = "feeders"
"""The tag of rules on what a part comes in."""
_SLOTS_OPEN: Final = "planning.slots not proved"
_OF_PARTS: Final = frozenset(
    {"planning.cannot be placed", "planning.no place beside trays", "planning.parts not proved"}
)
"""Sentences on single parts that checks answer too."""


def without_accepted(found: Plan, reports: Sequence[Report]) -> Plan:
    """Return the plan without what stands against a pass for accepted parts alone; a note tells of them instead."""
    placeable, proved = _accepted(found, reports)
    told = [say("planning.parts accepted", parts=sorted(placeable))] if placeable else []
    warned: Iterable[Said] = found.warned
    by_head, by_feeder = _undecided(found)
    if _slots_accepted(reports):
        proved |= by_feeder - by_head
        told += [say("planning.slots accepted")]
        warned = [said for said in warned if said.key != _SLOTS_OPEN]
    else:
        proved -= by_feeder - _fed(found, reports)
    nowhere = found.shortage.nowhere if found.shortage is not None else ()
    placeable &= {part.part for part in nowhere if part.refused}
    if not told:
        return found
    return replace(
        found,
        failed=tuple(_rest(found.failed, placeable)),
        warned=tuple(_rest(warned, proved)),
        notes=(*found.notes, *told),
    )


def _slots_accepted(reports: Iterable[Report]) -> bool:
    """Whether waivers accept all that the checks find of the line's feeders, and there is something."""
    found = [finding.waived for report in reports for finding in report.findings if finding.rule in _OF_SLOTS]
    return bool(found) and all(found)


def _undecided(found: Plan) -> tuple[set[str], set[str]]:
    """Return the part numbers of which a head is not proved, and those whose feeder or place in the line is not."""
    reasons = [(f.part, isinstance(why, Take)) for s in found.set_ups for f in s.feeders for why in f.undecided]
    return {part for part, of_head in reasons if of_head}, {part for part, of_head in reasons if not of_head}


def _fed(found: Plan, reports: Iterable[Report]) -> set[str]:
    """Return the part numbers of which each reference has a waived finding of a rule on feeders."""
    waived: set[tuple[str, str]] = set()
    for report in reports:
        rules = {rule.id for rule in report.answers.rules if _OF_FEEDERS in rule.tags}
        on_heads = (f for f in report.findings if f.waived and f.subject.kind == _ON_HEADS and f.rule in rules)
        waived |= {(report.board.name, f.subject.ref) for f in on_heads if f.subject.ref is not None}
    return {name for name, places in _places(found).items() if places <= waived}


def _places(found: Plan) -> dict[str, set[tuple[str, str]]]:
    """Return the board and reference of each part by its number; a job of counts alone names nothing to accept."""
    return {
        part.name: {(of.board, ref) for of, refs in zip(found.job.passes, part.refs, strict=True) for ref in refs}
        for part in found.job.parts
        if part.refs
    }


def _accepted(found: Plan, reports: Iterable[Report]) -> tuple[set[str], set[str]]:
    """Return the part numbers of which no head needs to take the part, and those of which none needs to be proved to.

    Each of their references has a waived finding on the heads, and none that fails, or none at all, that counts.
    """
    waived, failing, live = set[tuple[str, str]](), set[tuple[str, str]](), set[tuple[str, str]]()
    for report in reports:
        for finding in report.findings:
            if finding.subject.kind != _ON_HEADS or finding.subject.ref is None:
                continue
            place = report.board.name, finding.subject.ref
            (waived if finding.waived else live).add(place)
            if not finding.waived and finding.outcome == "fail":
                failing.add(place)
    parts = _places(found)
    placeable = {name for name, places in parts.items() if places & waived and not places & failing}
    return placeable, {name for name in placeable if not parts[name] & live}


def _rest(said: Iterable[Said], accepted: set[str]) -> Iterable[Said]:
    """Yield what is said, each statement on parts without those that are accepted."""
    for one in said:
        if one.key not in _OF_PARTS:
            yield one
            continue
        parts: Sequence[object] = one.values["parts"]  # type: ignore[assignment]  # a list by the sentence's own rule
        rest = [part for part in parts if (part[0] if isinstance(part, tuple) else part) not in accepted]
        if rest:
            yield say(one.key, **{**one.values, "parts": rest})
