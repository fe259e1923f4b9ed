"""Set-ups that follow each other: their order, feeders that keep their slots, and what is moved between two of them.

What moves is counted from the set-up lists themselves: a feeder stays where part, place and slot stay.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from typing import Final

from msgspec.structs import replace

from capcheck.machines import WITHOUT_TAPE, BankPlaces, Line, places_of
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

    Which feeders they share tells the order; where those that change their slots make it the worse one, the order stays
    as given.
    """
    found = fewest_moves([frozenset(map(_key, one.feeders)) for one in set_ups])
    spans = {
        place_name(machine.name, at.name): _Span.of(at)
        for machine in line.machines
        for at in places_of(machine)
        if at.slots is not None
    }
    given = tuple(range(len(set_ups)))
    if len(given) < 2:
        return tuple(set_ups), found
    ways = {order: _with_slots([set_ups[k] for k in order], spans) for order in dict.fromkeys((found.order, given))}
    moves = {order: _moved_in_round(way) for order, way in ways.items()}
    best = min(moves, key=lambda order: moves[order])
    out, as_given = ways[best], moves[given]
    in_other = _in_other_slots(out)
    return tuple(out), replace(found, order=best, moves=moves[best], as_given=as_given, in_other_slots=in_other)


def _with_slots(listed: Sequence[SetUp], spans: Mapping[str, _Span]) -> list[SetUp]:
    """Return set-ups, in their order, with slots in which as few feeders move as is found.

    A feeder that several set-ups have stands in one slot in all of them, wherever the others find slots beside it; else
    it keeps at least that of the set-up before, where that moves fewer.
    """
    step_by_step: list[SetUp] = []
    for one in listed:
        feeders = _keeping(one.feeders, step_by_step[-1].feeders, spans) if step_by_step else one.feeders
        step_by_step.append(replace(one, feeders=feeders))
    return min(_fixed(listed, spans), step_by_step, key=_moved_in_round)


def _moved_in_round(set_ups: Sequence[SetUp]) -> int:
    return sum(len(put_on(set_ups[k - 1], one)) for k, one in enumerate(set_ups))


def _in_other_slots(set_ups: Sequence[SetUp]) -> int:
    """Return how many feeders of several set-ups do not stand in the same slot in all of them."""
    slots: dict[_Key, set[float]] = {}
    for feeder in (f for one in set_ups for f in one.feeders):
        if feeder.slot is not None:
            slots.setdefault(_key(feeder), set()).add(feeder.slot)
    return sum(len(stood) > 1 for stood in slots.values())


def _fixed(set_ups: Sequence[SetUp], spans: Mapping[str, _Span]) -> list[SetUp]:
    """Return set-ups in which each feeder has one slot in all that have it, place by place where that is found.

    Those in most set-ups come first, then the widest; each takes the first slots that are free in all of its set-ups.
    """
    new: list[dict[int, float]] = [{} for _ in set_ups]
    for where in dict.fromkeys(f.where for one in set_ups for f in one.feeders if f.where in spans):
        here = [[k for k, f in enumerate(one.feeders) if f.where == where and f.slots.high > 0] for one in set_ups]
        free = [_free(one.feeders, where, spans[where]) for one in set_ups]
        same: dict[tuple[object, ...], list[tuple[int, int]]] = {}
        for number, (one, rows) in enumerate(zip(set_ups, here, strict=True)):
            alike = Counter(_key(one.feeders[k]) for k in rows)
            for k in rows:
                key = _key(one.feeders[k])
                same.setdefault(key if alike[key] == 1 else (key, number, k), []).append((number, k))
        # Of what has no slot of its own yet, nothing is known to stand beside it.
        sure = all(set_ups[n].feeders[k].slot is not None for n, rows in enumerate(here) for k in rows)
        found = _slots_for_all(list(same.values()), set_ups, free) if sure else None
        for (number, k), slot in (found or {}).items():
            new[number][k] = slot
    return [
        replace(one, feeders=tuple(replace(f, slot=slots.get(k, f.slot)) for k, f in enumerate(one.feeders)))
        for one, slots in zip(set_ups, new, strict=True)
    ]


def _free(feeders: Sequence[Feeder], where: str, span: _Span) -> tuple[float, float]:
    return span.free(with_trays=any(f.where == where and f.supply not in {"tape", *WITHOUT_TAPE} for f in feeders))


def _slots_for_all(
    same: Sequence[list[tuple[int, int]]], set_ups: Sequence[SetUp], free: Sequence[tuple[float, float]]
) -> dict[tuple[int, int], float] | None:
    """Return a slot for each feeder, by set-up and number; *same* are those of one kind, None where one finds none."""
    taken: list[list[tuple[float, float]]] = [[] for _ in set_ups]
    found: dict[tuple[int, int], float] = {}

    def width(feeder: tuple[int, int]) -> float:
        return set_ups[feeder[0]].feeders[feeder[1]].slots.high

    waiting = sorted(same, key=lambda feeders: (-len(feeders), -width(feeders[0]), feeders))
    for feeders in waiting:
        numbers = [number for number, _ in feeders]
        most = max(map(width, feeders))
        slot = _first_common_gap([taken[n] for n in numbers], most, [free[n] for n in numbers])
        each = dict.fromkeys(feeders, slot)
        if slot is None:  # then it moves between its set-ups
            each = {f: _first_gap(sorted(taken[f[0]]), width(f), free[f[0]]) for f in feeders}
        for (number, k), own in each.items():
            if own is None:
                return None
            found[number, k] = own
            taken[number].append((own, own + width((number, k))))
    return found


def _first_common_gap(
    taken: Sequence[Sequence[tuple[float, float]]], width: float, free: Sequence[tuple[float, float]]
) -> float | None:
    """Return the first slot from which *width* is free in all of the set-ups."""
    begin, behind = max(first for first, _ in free), min(end for _, end in free)
    busy = sorted(span for spans in taken for span in spans)
    return _first_gap(busy, width, (begin, behind))


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
            slots |= _slots([feeders[k] for k in here], here, before, _free(feeders, where, spans[where]))
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
