"""Set-ups that follow each other: their order, feeders that keep their slots, and what is moved between two of them.

What moves is counted from the set-up lists themselves: a feeder stays where part, place and slot stay.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from typing import Final

from msgspec.structs import replace

from capcheck.machines import BankPlaces, Line, places_of
from capcheck.planning.plan_data import Changeover, Feeder, SetUp
from capcheck.planning.search import SetUpOrder, fewest_moves
from capcheck.planning.times import place_name

_ROUNDING: Final = 1e-9

_Key = tuple[str, str, int | None]


def _key(feeder: Feeder) -> _Key:
    """Return what a feeder is: part and place, and the gantry where each has feeders of its own."""
    return feeder.where, feeder.part, None if feeder.bank else feeder.gantry


def in_order(set_ups: Sequence[SetUp], line: Line) -> tuple[tuple[SetUp, ...], SetUpOrder]:
    """Return set-ups in the order in which a round of them puts the fewest feeders on, and the order itself.

    A feeder that is in the set-up before keeps its slot, wherever the others then find slots beside it.
    """
    found = fewest_moves([frozenset(map(_key, one.feeders)) for one in set_ups])
    spans = {
        place_name(machine.name, at.name): _Span.of(at)
        for machine in line.machines
        for at in places_of(machine)
        if at.slots is not None
    }
    out: list[SetUp] = []
    for number in found.order:
        one = set_ups[number]
        out.append(replace(one, feeders=_keeping(one.feeders, out[-1].feeders, spans)) if out else one)
    moved = sum(len(put_on(out[k - 1], one)) for k, one in enumerate(out)) if len(out) > 1 else 0
    return tuple(out), replace(found, moves=moved)


def put_on(before: SetUp, after: SetUp) -> list[Feeder]:
    """Return the feeders of a set-up that have to be put on after another one: new ones, and those in another slot."""
    there = {_key(f): f.slot for f in before.feeders}
    return [f for f in after.feeders if _key(f) not in there or _moves(there[_key(f)], f.slot)]


def _moves(before: float | None, after: float | None) -> bool:
    return before is not None and after is not None and before != after


def changeover(before: SetUp, after: SetUp) -> Changeover:
    """Return the feeders to take out and to bring in from one set-up to another."""
    return Changeover(
        before.name,
        after.name,
        tuple(sorted((f.where, f.part) for f in put_on(after, before))),
        tuple(sorted((f.where, f.part) for f in put_on(before, after))),
    )


class _Span:
    """The slots of a place for feeders, with and without its tray unit, as first slot and first one behind."""

    def __init__(self, first: float, behind: float, covered: float, *, covers_first: bool) -> None:
        self._first, self._behind, self._covered, self._covers_first = first, behind, covered, covers_first

    @classmethod
    def of(cls, at: BankPlaces) -> _Span:
        behind = at.first_slot + (at.slots or 0)
        return cls(at.first_slot, behind, at.tray_slots if at.shared else 0, covers_first=at.covers_first)

    def free(self, *, with_trays: bool) -> tuple[float, float]:
        """Return the first slot and the first one behind for feeders."""
        covered = self._covered if with_trays else 0
        if self._covers_first:
            return self._first + covered, self._behind
        return self._first, self._behind - covered


def _keeping(feeders: Sequence[Feeder], before: Sequence[Feeder], spans: Mapping[str, _Span]) -> tuple[Feeder, ...]:
    """Return feeders with the slots that they have in the set-up before, and the others beside them."""
    slots: dict[int, float] = {}
    for where in dict.fromkeys(f.where for f in feeders):
        here = [k for k, f in enumerate(feeders) if f.where == where and f.slots.high > 0]
        # Of what has no slot of its own yet, nothing is known to stand beside it.
        if where in spans and all(feeders[k].slot is not None for k in here):
            with_trays = any(f.where == where and f.supply not in {"tape", "stick"} for f in feeders)
            slots |= _slots([feeders[k] for k in here], here, before, spans[where].free(with_trays=with_trays))
    return tuple(replace(f, slot=slots.get(k, f.slot)) for k, f in enumerate(feeders))


def _slots(
    here: Sequence[Feeder], numbers: Sequence[int], before: Sequence[Feeder], free: tuple[float, float]
) -> dict[int, float]:
    """Return the slots of a place's feeders by number; nothing where they find none beside those that stay."""
    alike = Counter(map(_key, here))
    old = {_key(f): f.slot for f in before if f.slot is not None}
    taken: list[tuple[float, float]] = []
    found: dict[int, float] = {}
    for number, feeder in zip(numbers, here, strict=True):
        slot = old.get(_key(feeder)) if alike[_key(feeder)] == 1 else None
        if slot is None:
            continue
        end = slot + feeder.slots.high
        if free[0] <= slot and end <= free[1] + _ROUNDING and all(end <= a or slot >= b for a, b in taken):
            found[number] = slot
            taken.append((slot, end))
    rest = [(number, feeder.slots.high) for number, feeder in zip(numbers, here, strict=True) if number not in found]
    for number, width in sorted(rest, key=lambda one: (-one[1], one[0])):
        slot = _first_gap(sorted(taken), width, free)
        if slot is None:
            return {}
        found[number] = slot
        taken.append((slot, slot + width))
    return found


def _first_gap(taken: Sequence[tuple[float, float]], width: float, free: tuple[float, float]) -> float | None:
    slot = free[0]
    for begins, ends in taken:
        if slot + width <= begins + _ROUNDING:
            return slot
        slot = max(slot, ends)
    return slot if slot + width <= free[1] + _ROUNDING else None
