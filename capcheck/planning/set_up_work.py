"""What setting the line up takes: changes of board, feeders put on one by one, carts exchanged as a whole.

A bank that is a cart is exchanged as a whole where that is quicker than its feeders one by one; what is put on it is
prepared all the same, beside the line.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Final

from capcheck.machines import Line
from capcheck.planning.hours_and_costs import SetUpWork
from capcheck.planning.kept_slots import put_on
from capcheck.planning.plan_data import Feeder, Plan
from capcheck.planning.times import place_name
from capcheck.shop import Costs, within
from capcheck.values import UNKNOWN_SIZE, Interval, product, total

_NOTHING: Final = Interval.exactly(0.0)
_ROUNDING: Final = 1e-9

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
    """Return what so many changes of board take with the feeders *moved* at least and at most; None where unknown."""
    change, feeder, cart = (
        _in_seconds(within(m)) for m in (rates.board_minutes, rates.feeder_minutes, rates.cart_minutes)
    )
    people = rates.set_up_people
    if moved is None:
        feeders = loose = UNKNOWN_SIZE
        exchanged = UNKNOWN_SIZE if carts and cart is not None else _NOTHING
    else:
        feeders = total(Interval(sum(least.values()), sum(most.values())) for least, most in moved)
        ways = [[_exchanged(of, rates, carts, _slow) for of in pair] for pair in moved]
        exchanged = total(_hull(a[0], b[0]) for a, b in ways)
        loose = total(_hull(a[1], b[1]) for a, b in ways)
    changes = (change or _NOTHING).scaled(sides)
    by_hand = _NOTHING if rates.feeders_beside else product(loose, feeder or _NOTHING).scaled(1 / people)
    whole = product(exchanged, cart or _NOTHING)
    stands = total([changes, by_hand, whole])
    work = total([changes.scaled(people), product(feeders, feeder or _NOTHING), whole.scaled(people)])
    at_best = stands.low
    if moved is not None and cart is not None and feeder is not None:
        ways = [[_exchanged(of, rates, carts, _fast) for of in pair] for pair in moved]
        each = 0.0 if rates.feeders_beside else feeder.low / people
        at_best = changes.low + sum(min(n * cart.low + loose * each for n, loose in pair) for pair in ways)
        if at_best < stands.low - _ROUNDING:
            more = sum(max(n for n, _ in pair) for pair in ways) * cart.low * people
            work = Interval(work.low, work.high + more)
    return SetUpWork(
        sides=sides,
        feeders=feeders,
        people=people,
        board_seconds=change,
        feeder_seconds=feeder,
        beside=rates.feeders_beside,
        stands=Interval(min(at_best, stands.low), stands.high),
        work=work,
        carts=exchanged,
        cart_seconds=cart,
        one_by_one=loose,
        other_way=at_best < stands.low - _ROUNDING,
    )


def _slow(value: Interval) -> float:
    return value.high


def _fast(value: Interval) -> float:
    return value.low


def _exchanged(moved: Moved, rates: Costs, carts: frozenset[str], end: Callable[[Interval], float]) -> tuple[int, int]:
    """Return how many carts are exchanged, and how many feeders are put on one by one: whichever stops the line less.

    *end* is that of the minutes by which it is judged.

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
        and (rates.feeders_beside or feeder is None or end(cart) < number * end(feeder) / rates.set_up_people)
    }
    return len(whole), sum(number for place, number in moved.items() if place not in whole)


def _hull(one: int, other: int) -> Interval:
    return Interval(min(one, other), max(one, other))


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
