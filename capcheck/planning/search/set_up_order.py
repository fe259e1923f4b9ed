"""The order in which set-ups follow each other so that the fewest feeders are put on, all round and back to the first.

What is put on for a set-up is what it has and the one before it has not. Of few set-ups the order is the least there
is (dynamic programming over sets: Held and Karp, A dynamic programming approach to sequencing problems, 1962); of many
a greedy one is improved by reversing pieces of it, and a bound tells how far the least may be below.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Sequence
from itertools import combinations
from typing import Final

import numpy as np
from msgspec import Struct

from capcheck.model import Ints

_EXACT: Final = 11
"""Set-ups up to which every order is compared: 11 x 11 x 2**10 steps."""


class SetUpOrder(Struct, frozen=True):
    """An order of set-ups, by their indices, and the feeders put on in one round of it.

    *as_given* is the same for the set-ups as they were given, *at_least* what no order goes below. *in_other_slots* are
    feeders of several set-ups that have not one slot in all of them.
    """

    order: tuple[int, ...]
    moves: int
    as_given: int
    at_least: int
    in_other_slots: int = 0


def fewest_moves(set_ups: Sequence[frozenset[Hashable]]) -> SetUpOrder:
    """Return the order of set-ups, each with its feeders, in which a round puts the fewest on; the first stays first.

    Where no order is better than the given one, that is it.
    """
    number = len(set_ups)
    shared = np.array([[len(one & other) for other in set_ups] for one in set_ups], dtype=np.int64).reshape(
        number, number
    )
    every = sum(map(len, set_ups))
    given = tuple(range(number))
    if number < 2:
        return SetUpOrder(given, 0, 0, 0)
    found = _best(shared) if number <= _EXACT else _improved(shared, [given, _greedy(shared)])
    kept = {order: _kept(shared, order) for order in (given, found)}
    order = found if kept[found] > kept[given] else given
    at_least = every - (kept[order] if number <= _EXACT else _most_kept(shared))
    return SetUpOrder(order, every - kept[order], every - kept[given], at_least)


def _kept(shared: Ints, order: Sequence[int]) -> int:
    """Return the feeders that stay in a round."""
    return int(sum(shared[order[k - 1], order[k]] for k in range(len(order))))


def _most_kept(shared: Ints) -> int:
    """Return what no round of three set-ups or more exceeds: the two neighbours of each share at best most with it."""
    alone = shared.copy()
    np.fill_diagonal(alone, -1)
    return int(np.sort(alone, axis=1)[:, -2:].sum() // 2)


def _best(shared: Ints) -> tuple[int, ...]:
    """Return a round that keeps most: for each set of set-ups behind the first, and its last, the most kept so far."""
    number = len(shared)
    most: dict[tuple[frozenset[int], int], tuple[int, int]] = {
        (frozenset({k}), k): (int(shared[0, k]), 0) for k in range(1, number)
    }
    for size in range(2, number):
        for chosen in map(frozenset, combinations(range(1, number), size)):
            for last in chosen:
                rest = chosen - {last}
                most[chosen, last] = max((most[rest, k][0] + int(shared[k, last]), k) for k in sorted(rest))
    left = frozenset(range(1, number))
    last = max(sorted(left), key=lambda k: most[left, k][0] + int(shared[k, 0]))
    back = []
    while left:
        back.append(last)
        left, last = left - {last}, most[left, last][1]
    return (0, *reversed(back))


def _greedy(shared: Ints) -> tuple[int, ...]:
    """Return the order in which each set-up is followed by the one that shares most with it."""
    order, left = [0], set(range(1, len(shared)))
    while left:
        order.append(max(sorted(left), key=lambda k: int(shared[order[-1], k])))
        left.remove(order[-1])
    return tuple(order)


def _improved(shared: Ints, starts: Iterable[tuple[int, ...]]) -> tuple[int, ...]:
    """Return the best of the starts once no reversal of a piece keeps more."""
    return max((_without_crossing(shared, start) for start in starts), key=lambda order: _kept(shared, order))


def _without_crossing(shared: Ints, start: tuple[int, ...]) -> tuple[int, ...]:
    order, improves = list(start), True
    while improves:
        improves = False
        for a, b in combinations(range(1, len(order)), 2):
            before, after = order[a - 1], order[(b + 1) % len(order)]
            gain = (
                shared[before, order[b]] + shared[order[a], after] - shared[before, order[a]] - shared[order[b], after]
            )
            if gain > 0:
                order[a : b + 1] = reversed(order[a : b + 1])
                improves = True
    return tuple(order)
