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
from capcheck.machines import WITHOUT_TAPE
from capcheck.model import Said, say
from capcheck.planning.plan_data import Plan

_ON_HEADS: Final = "part on head"
_OF_SLOTS: Final = frozenset({"feeder-slots", "bank-slots"})
_OF_TRAYS: Final = frozenset({"tray-places", "bank-trays"})
"""Rules on feeders and on trays of the whole line; those on trays ask about the slots that a tray unit leaves, too."""
_OF_FEEDERS: Final = "feeders"
"""The tag of rules on what a part comes in."""
_SLOTS_OPEN: Final = "planning.slots not proved"
_NOT_PROVED: Final = "planning.parts not proved"
_WITHOUT_PLACE: Final = frozenset(
    {"planning.cannot be placed", "planning.no place beside trays", "planning.no place found in time"}
)
"""Sentences on parts without a place: who accepts what heads leave open has not said that a slot is not needed."""


def without_accepted(found: Plan, reports: Sequence[Report]) -> Plan:
    """Return the plan without what stands against a pass for accepted parts alone; a note tells of them instead."""
    placeable, proved = _accepted(found, reports)
    told = [say("planning.parts accepted", parts=sorted(placeable))] if placeable else []
    by_head, by_feeder = _undecided(found)
    slots = _Slots(found, reports)
    of_slots = {name for name in by_feeder - by_head if slots.accept_part(name)}
    open_slots = {said for said in found.warned if said.key == _SLOTS_OPEN and slots.accept_place(said)}
    told += [say("planning.slots accepted")] if of_slots or open_slots else []
    proved = (proved - by_feeder) | (proved & by_feeder & (of_slots | _fed(found, reports))) | of_slots
    short = slots.left_over()
    told += [say("planning.shortage accepted", parts=short)] if short else []
    nowhere = found.shortage.nowhere if found.shortage is not None else ()
    placeable &= {part.part for part in nowhere if part.refused}
    placeable |= set(short)
    if not told:
        return found
    return replace(
        found,
        failed=tuple(_rest(found.failed, placeable, proved)),
        warned=tuple(_rest((said for said in found.warned if said not in open_slots), placeable, proved)),
        notes=(*found.notes, *told),
    )


class _Slots:
    """For which boards waivers accept what the checks find of the line's slots, and of its tray places.

    A set-up is of several boards: what is accepted of one is open for another.
    """

    def __init__(self, found: Plan, reports: Iterable[Report]) -> None:
        self._found, self._slots, self._trays, self._live = found, set[str](), set[str](), set[str]()
        self._of_part = {name: {board for board, _ in places} for name, places in _places(found).items()}
        self._supply = {part.name: part.supply for part in found.job.parts}
        for report in reports:
            for rules, accepted in ((_OF_SLOTS, self._slots), (_OF_TRAYS, self._trays)):
                asked = [f.waived for f in report.findings if f.rule in rules]
                if asked:
                    (accepted if all(asked) else self._live).add(report.board.name)

    def accept_part(self, name: str, *, beside_trays: bool = False) -> bool:
        """Whether it is accepted that the feeder or tray of a part has no place, or is not proved to have one.

        *beside_trays* tells that a tray unit takes the slots that it would need.
        """
        boards = self._of_part.get(name, set())
        trays = beside_trays or self._supply[name] not in {"tape", *WITHOUT_TAPE}
        return bool(boards) and self._accept(boards, trays=trays)

    def left_over(self) -> list[str]:
        """Return the parts that are left over for want of a slot or tray place, where that is accepted.

        Of a part that no head takes other rules ask. Where heights along the line or kinds of nozzles stand against a
        plan, or nothing was found of what is short, no waiver of slots has accepted it.
        """
        shortage = self._found.shortage
        if shortage is None or shortage.order or not (shortage.slots_short or shortage.trays_short):
            return []
        nowhere = {one.part for one in shortage.nowhere}
        names = [name for name, _ in shortage.take_off if name not in nowhere]
        return [name for name in names if self.accept_part(name, beside_trays=name in shortage.displaced)]

    def accept_place(self, said: Said) -> bool:
        """Whether it is accepted that slots and tray places of a machine are not proved to suffice for a set-up."""
        passes = self._found.job.passes
        return all(
            self._accept({passes[p].board for p in one.passes}, trays=o.trays_needed.high > 0)
            for one in self._found.set_ups
            for o in one.occupied
            if one.name == said.values["set_up"] and o.where == said.values["machine"]
        )

    def _accept(self, boards: set[str], *, trays: bool) -> bool:
        return boards <= ((self._slots | self._trays) - self._live if trays else self._slots)


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


def _rest(said: Iterable[Said], placeable: set[str], proved: set[str]) -> Iterable[Said]:
    """Yield what is said, each statement on parts without those that are accepted.

    *placeable* are parts that no head takes, *proved* those of which nothing else is open.
    """
    for one in said:
        accepted = placeable if one.key in _WITHOUT_PLACE else proved if one.key == _NOT_PROVED else None
        if accepted is None:
            yield one
            continue
        parts: Sequence[object] = one.values["parts"]  # type: ignore[assignment]  # a list by the sentence's own rule
        rest = [part for part in parts if (part[0] if isinstance(part, tuple) else part) not in accepted]
        if rest:
            yield say(one.key, **{**one.values, "parts": rest})
