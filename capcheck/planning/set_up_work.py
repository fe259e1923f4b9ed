"""What setting the line up takes: changes of board, feeders put on one by one, carts exchanged as a whole.

A bank that is a cart is exchanged as a whole where that is quicker than its feeders one by one; what is put on it is
prepared all the same, beside the line.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Final

from msgspec import Struct

from capcheck.machines import Line
from capcheck.planning.hours_and_costs import SetUpWork
from capcheck.planning.kept_slots import put_on
from capcheck.planning.plan_data import Feeder, Plan
from capcheck.planning.times import place_name
from capcheck.shop import Costs, within
from capcheck.values import UNKNOWN_SIZE, Interval, product, total

_NOTHING: Final = Interval.exactly(0.0)

Moved = Mapping[str, int]
"""Feeders that are put on, by machine or bank."""


def carts_of(line: Line) -> frozenset[str]:
    """Return the banks of a line that are carts, as reports name them."""
    return frozenset(place_name(m.name, bank.name) for m in line.machines for bank in m.bank or () if bank.cart)


def set_up_work(found: Plan, passes: Sequence[int], rates: Costs, carts: frozenset[str]) -> SetUpWork:
    """Return what setting the line up for a batch of a board takes: changes of board, feeders, carts, seconds, work.

    A job of one board begins with an empty line. Of several the set-up before is any of the plan: as few feeders move
    as from the one before it in the plan's own round, as many as the board uses.
    """
    own = [k for k, s in enumerate(found.set_ups) if set(s.passes) & set(passes)]
    planned = sum(len(set(found.set_ups[k].passes) & set(passes)) for k in own)
    if planned != len(passes):
        return work_of(len(passes), None, rates, carts)
    return work_of(len(passes), [_moved(found, k, passes) for k in own], rates, carts)


def work_of(sides: int, moved: Sequence[tuple[Moved, Moved]] | None, rates: Costs, carts: frozenset[str]) -> SetUpWork:
    """Return what so many changes of board take with the feeders *moved* at least and at most; None where unknown.

    Whether a cart is exchanged hangs on the minutes: the bounds hold whatever these are within their ends.
    """
    change, feeder, cart = (
        _in_seconds(within(m)) for m in (rates.board_minutes, rates.feeder_minutes, rates.cart_minutes)
    )
    people, slot = rates.set_up_people, feeder or _NOTHING
    changes = (change or _NOTHING).scaled(sides)
    by_hand = _NOTHING if rates.feeders_beside else slot.scaled(1 / people)
    best = worst = None
    if moved is None:
        feeders = loose = UNKNOWN_SIZE
        exchanged = UNKNOWN_SIZE if carts and cart is not None else _NOTHING
        stands = total([changes, product(loose, by_hand), product(exchanged, cart or _NOTHING)])
    else:
        ways = [_Ways.of(pair, rates, carts) for pair in moved]
        feeders = total(Interval(*sorted(float(sum(m.values())) for m in pair)) for pair in moved)
        exchanged, loose = total(way.carts for way in ways), total(way.loose for way in ways)
        best, worst = _summed(way.best for way in ways), _summed(way.worst for way in ways)
        least, most = (end(cart or _NOTHING) * n + end(by_hand) * k for end, (n, k) in ((_fast, best), (_slow, worst)))
        stands = Interval(changes.low + least, changes.high + most)
    whole = product(exchanged, cart or _NOTHING).scaled(people)
    return SetUpWork(
        sides=sides,
        feeders=feeders,
        people=people,
        board_seconds=change,
        feeder_seconds=feeder,
        beside=rates.feeders_beside,
        stands=stands,
        work=total([changes.scaled(people), product(feeders, slot), whole]),
        carts=exchanged,
        cart_seconds=cart,
        one_by_one=loose,
        at_best=best,
        at_worst=worst,
    )


_End = Callable[[Interval], float]


def _slow(value: Interval) -> float:
    return value.high


def _fast(value: Interval) -> float:
    return value.low


class _Ways(Struct, frozen=True):
    """How a set-up is put on: carts and feeders one by one, at least and at most; the quickest way and the slowest."""

    carts: Interval
    loose: Interval
    best: tuple[int, int]
    worst: tuple[int, int]

    @classmethod
    def of(cls, pair: tuple[Moved, Moved], rates: Costs, carts: frozenset[str]) -> _Ways:
        seldom, often, quick, slow = (
            [_exchanged(moved, rates, carts, cart, feeder) for moved in pair]
            for cart, feeder in ((_slow, _fast), (_fast, _slow), (_fast, _fast), (_slow, _slow))
        )
        return cls(
            carts=Interval(min(n for n, _ in seldom), max(n for n, _ in often)),
            loose=Interval(min(k for _, k in often), max(k for _, k in seldom)),
            best=min(quick, key=lambda way: _minutes(way, rates, _fast)),
            worst=max(slow, key=lambda way: _minutes(way, rates, _slow)),
        )


def _minutes(way: tuple[int, int], rates: Costs, end: _End) -> float:
    """Return how long the line stands for so many carts, and feeders one by one."""
    cart, feeder = (end(within(m) or _NOTHING) for m in (rates.cart_minutes, rates.feeder_minutes))
    return way[0] * cart + (0.0 if rates.feeders_beside else way[1] * feeder / rates.set_up_people)


def _summed(ways: Iterable[tuple[int, int]]) -> tuple[int, int]:
    listed = list(ways)
    return sum(n for n, _ in listed), sum(k for _, k in listed)


def _exchanged(moved: Moved, rates: Costs, carts: frozenset[str], of_cart: _End, of_feeder: _End) -> tuple[int, int]:
    """Return how many carts are exchanged, and how many feeders are put on one by one: whichever stops the line less.

    *of_cart* and *of_feeder* are the ends of the minutes by which it is judged.
    Feeders that are prepared beside the running line come on with the cart where there is one.
    """
    cart, feeder = within(rates.cart_minutes), within(rates.feeder_minutes)
    if cart is None:
        return 0, sum(moved.values())
    whole = {
        place
        for place, number in moved.items()
        if place in carts
        and number
        and (rates.feeders_beside or feeder is None or of_cart(cart) < number * of_feeder(feeder) / rates.set_up_people)
    }
    return len(whole), sum(number for place, number in moved.items() if place not in whole)


def _in_seconds(minutes: Interval | None) -> Interval | None:
    return None if minutes is None else minutes.scaled(60.0)


def by_place(feeders: Iterable[Feeder]) -> Moved:
    """Return how many feeders stand at each machine or bank."""
    return Counter(f.where for f in feeders)


def _moved(found: Plan, number: int, passes: Sequence[int]) -> tuple[Moved, Moved]:
    """Return how many feeders and trays are put on for a set-up, at least and at most."""
    set_up, boards = found.set_ups[number], {p.board for p in found.job.passes}
    used = by_place(
        feeder
        for feeder in set_up.feeders
        if any(count and p in passes for p, count in zip(set_up.passes, feeder.counts, strict=True))
    )
    if len(boards) == 1:
        into = by_place(put_on(found.set_ups[number - 1], set_up) if number else set_up.feeders)
        return into, into
    least = by_place(put_on(found.set_ups[number - 1], set_up))
    return (least if sum(least.values()) <= sum(used.values()) else used), used
