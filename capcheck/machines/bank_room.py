"""How many of what has to stand in feeder banks finds no place there at best.

Each thing stands in one of the banks that take it and fills so many slots of it. That is a packing problem: a simple
way and a bound from sets of banks mostly meet; where they do not, a search looks for what is between them, up to a
limit of work, and what is still open after it stays an interval.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from itertools import accumulate, chain, combinations
from typing import Final

from msgspec import Struct, field

from capcheck.values import Interval

Wanted = Mapping[int, float]
"""What one thing takes of each bank that it may stand in, by the bank's index."""

_BANKS_IN_SETS: Final = 10
"""Up to so many banks every set of them bounds the answer; of more, each alone, and all together."""
_WORK: Final = 1_000_000
"""Looks at a thing for a set of banks, about a second of them, after which a search ends."""
_DEEPEST: Final = 400
"""Things up to which a search is begun: each is a step deeper."""
_ROUNDING: Final = 1e-9


class Room(Struct, frozen=True):
    """Slots and tray places of a bank, and the slots that its tray unit covers once a tray stands there."""

    slots: float
    trays: float = 0.0
    covered: float = 0.0


def fewest_without_place(feeders: Sequence[Wanted], trays: Sequence[frozenset[int]], rooms: Sequence[Room]) -> Interval:
    """Return how many feeders and trays have no place at best: exact, or its bounds where the search ended before.

    *trays* are the banks that each tray may stand at.
    """
    units = [k for k, room in enumerate(rooms) if room.trays and room.covered and any(k in may for may in trays)]
    bounds = []
    # Of many tray units not every choice is tried: what could still be found is then left open.
    least = 0 if len(units) > _BANKS_IN_SETS else math.inf
    for mounted in _sets_of(units):
        offered = [0.0 if room.covered and k not in mounted else room.trays for k, room in enumerate(rooms)]
        slots = [room.slots - (room.covered if k in mounted else 0.0) for k, room in enumerate(rooms)]
        one, other = _fewest_left([dict.fromkeys(may, 1.0) for may in trays], offered), _fewest_left(feeders, slots)
        bounds.append((one[0] + other[0], one[1] + other[1]))
    return Interval(float(min(least, *(low for low, _ in bounds))), float(min(high for _, high in bounds)))


def _sets_of(banks: Sequence[int]) -> list[tuple[int, ...]]:
    """Return every set of a few banks; of many each alone, all together, and none of them."""
    if len(banks) <= _BANKS_IN_SETS:
        return list(chain.from_iterable(combinations(banks, size) for size in range(len(banks) + 1)))
    return [(), *((bank,) for bank in banks), tuple(banks)]


def _fewest_left(wanted: Sequence[Wanted], slots: Sequence[float]) -> tuple[int, int]:
    """Return how many of the things have no place at best, within bounds that mostly meet."""
    placeable = sorted((w for w in wanted if w), key=lambda w: (len(w), -min(w.values()), sorted(w.items())))
    sets = [frozenset(chosen) for chosen in _sets_of(sorted({k for w in placeable for k in w}))]
    search = _Search(placeable, sets)
    least, found = search.at_least(0, slots), len(placeable)
    for left in _simple_ways(placeable, slots, least):
        found = min(found, left)
        if found == least:
            break
    while least < found and not search.ended:
        if search.fits(0, tuple(slots), least):
            found = least
        elif not search.ended:
            least += 1
    nowhere = len(wanted) - len(placeable)
    return nowhere + least, nowhere + found


def _simple_ways(wanted: Sequence[Wanted], slots: Sequence[float], least: int) -> Iterator[int]:
    """Yield how many are left by simple ways: the least free to move first, the widest, the narrowest.

    Then the widest of those that must be left are left from the outset.
    """
    yield _left_by(wanted, slots)
    widest_first = sorted(wanted, key=lambda w: -min(w.values()))
    yield _left_by(widest_first, slots)
    yield _left_by(sorted(wanted, key=lambda w: (min(w.values()), len(w))), slots)
    if least:
        yield least + _left_by(widest_first[least:], slots)
        yield least + _left_by(sorted(widest_first[least:], key=len), slots)


def _left_by(wanted: Sequence[Wanted], slots: Sequence[float]) -> int:
    """Return how many have no place where each goes to the bank with most slots left."""
    free, left = list(slots), 0
    for takes in wanted:
        fits = [k for k, width in takes.items() if width <= free[k] + _ROUNDING]
        if not fits:
            left += 1
            continue
        best = max(fits, key=lambda k: (free[k] - takes[k], -k))
        free[best] -= takes[best]
    return left


class _Search(Struct):
    """Things in a fixed order, and how much was looked at in search of places for them."""

    wanted: Sequence[Wanted]
    sets: Sequence[frozenset[int]]
    work: int = 0
    failed: set[tuple[int, tuple[float, ...], int]] = field(default_factory=set)
    needed: dict[int, list[tuple[frozenset[int], list[float]]]] = field(default_factory=dict)
    """By the place in the order: each set of banks with what those from there on need that may stand in no other.

    It is what all of them need, what is needed without the widest, without the two widest and so on.
    """

    narrowest_first: dict[frozenset[int], list[tuple[float, int]]] = field(default_factory=dict)
    """By the set of banks: what may stand in no other, by the least that it takes, with its place in the order."""

    @property
    def ended(self) -> bool:
        """Whether the limit of work is reached, so that what was not found may be there all the same."""
        return self.work > _WORK or len(self.wanted) > _DEEPEST

    def fits(self, at: int, free: tuple[float, ...], may_leave: int) -> bool:
        """Whether all things from *at* on find places if so many may be left out; False too where the search ended."""
        if at == len(self.wanted):
            return True
        state = at, free, may_leave
        self.work += len(self.sets) * (len(self.wanted) - at)
        if self.ended or state in self.failed or self.at_least(at, free) > may_leave:
            return False
        for bank, width in sorted(self.wanted[at].items(), key=lambda item: (-free[item[0]], item)):
            if width <= free[bank] + _ROUNDING:
                rest = (*free[:bank], round(free[bank] - width, 9), *free[bank + 1 :])
                if self.fits(at + 1, rest, may_leave):
                    return True
        if may_leave and self.fits(at + 1, free, may_leave - 1):
            return True
        self.failed.add(state)
        return False

    def at_least(self, at: int, free: Sequence[float]) -> int:
        """Return a number that must be left from *at* on: what may only stand in some banks has only their slots."""
        if at not in self.needed:
            self.needed[at] = [(chosen, self._needs_of(at, chosen)) for chosen in self.sets]
        least = 0
        for chosen, needs in self.needed[at]:
            slots = sum(free[k] for k in chosen) + _ROUNDING
            if least < len(needs) and needs[least] > slots:
                least = next((left for left in range(least + 1, len(needs)) if needs[left] <= slots), len(needs))
        return least

    def _needs_of(self, at: int, chosen: frozenset[int]) -> list[float]:
        if chosen not in self.narrowest_first:
            least = ((min(w.values()), i) for i, w in enumerate(self.wanted) if w.keys() <= chosen)
            self.narrowest_first[chosen] = sorted(least)
        return list(accumulate([width for width, i in self.narrowest_first[chosen] if i >= at]))[::-1]
