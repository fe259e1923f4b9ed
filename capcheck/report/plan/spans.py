"""A plan in words: spans, rates, counts, lists and reasons, the same in every text of a plan."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Final

from capcheck.engine import Take
from capcheck.lexicon import sentence
from capcheck.model import Said
from capcheck.planning import Change, PartDemand, Plan, TwoLanes, TwoLines, on_two_lanes, on_two_lines
from capcheck.report.sentences import why_not
from capcheck.values import UNKNOWN_SIZE, Interval, shortened

MANY: Final = 10


def ends(value: Interval, digits: int = 2) -> str:
    """Return a span without its unit: ``17.70``, ``15.89 to 17.70``, ``at least 15.89``, ``at most 200``."""
    if math.isinf(value.high):
        return f"at least {value.low:,.{digits}f}" if 0 < value.low < math.inf else "unknown"
    low, high = (f"{end:,.{digits}f}" for end in (value.low, value.high))
    if low == high:
        return low
    return f"at most {high}" if value.low <= 0 else f"{low} to {high}"


def span(value: Interval, unit: str, digits: int = 2) -> str:
    """Return a span with its unit."""
    return f"{ends(value, digits)} {unit}"


def count(value: Interval) -> str:
    """Return a number of places, whole or not."""
    if math.isinf(value.low) and math.isinf(value.high):
        return "an unknown number"
    if math.isinf(value.high):
        return f"at least {value.low:g}"
    if math.isinf(value.low):
        return f"at most {value.high:g}"
    return f"{value.low:g}" if value.is_exact else f"{value.low:g} to {value.high:g}"


def some(names: Sequence[str]) -> str:
    """Return the first names, and how many more there are."""
    more = f" and {len(names) - MANY} more" if len(names) > MANY else ""
    return ", ".join(names[:MANY]) + more


def numbered(number: int, noun: str) -> str:
    """Return a number with its noun: ``1 part number``, ``3 part numbers``."""
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"


def reasons(found: Sequence[Take | Said | str]) -> list[str]:
    """Return why a head does not place a part, or what is open of it, each once: ``no: …, −1.2 mm``."""
    return list(dict.fromkeys(_answer(one) if isinstance(one, Take) else sentence(one) for one in found))


def _answer(take: Take) -> str:
    """Return a head's answer; one that places the part all the same has only what is warned of."""
    if take.state == 0 and take.headline:
        return f"undecided whether {why_not(take)}"
    word = {-1: "no", 0: "undecided", 1: ""}[take.state]
    return ": ".join(piece for piece in (word, why_not(take)) if piece)


def what(change: Change) -> str:
    """Return what a change is, with what is open of the boards passing a new machine."""
    passage = "; ".join(map(sentence, change.passage))
    return f"{sentence(change.what)} ({passage})" if passage else sentence(change.what)


def why_lines(plan: Plan) -> list[str]:
    """Return what stands against a pass, what fails first: ``fail: the demand is not met``."""
    failed, warned = (map(sentence, said) for said in (plan.failed, plan.warned))
    return [*(f"fail: {text}" for text in failed), *(f"warn: {text}" for text in warned)]


def why_by_kind(plan: Plan) -> list[tuple[str, list[str]]]:
    """Return what stands against a pass, and of warnings the first of each kind with the others of its kind."""
    kinds: dict[str, list[str]] = {}
    for said in plan.warned:
        kinds.setdefault(said.key, []).append(f"warn: {sentence(said)}")
    failed = [(f"fail: {sentence(said)}", list[str]()) for said in (*plan.unanswered, *plan.failed)]
    return [*failed, *((first, others) for first, *others in kinds.values())]


def hand_lines(by_hand: Mapping[tuple[str, str], tuple[str, ...]]) -> list[str]:
    """Return a line for each type of part with leads through holes: it is placed by hand or by an odd-form machine.

    *by_hand* are the references by board and part number.
    """
    several = len({board for board, _ in by_hand}) > 1
    return [
        f"{f'{board}: ' if several else ''}{part}: {shortened(refs)} ({len(refs)})"
        for (board, part), refs in by_hand.items()
    ]


def order_lines(plan: Plan) -> list[str]:
    """Return how many feeders a round of several set-ups puts on, and how far another order could be below."""
    order, one_for_all = plan.order, _one_for_all_lines(plan)
    if order is None or len(plan.set_ups) < 2:
        return one_for_all
    told = f"Round of {len(plan.set_ups)} set-ups, each once and back to the first: {order.moves} feeders put on"
    if order.order != tuple(range(len(order.order))):
        told += f" in the order listed, {order.as_given} as the boards were given"
    if order.moves > order.at_least:
        told += f"; no order needs fewer than {order.at_least}"
    slots = "each feeder has one slot in all of them"
    if order.in_other_slots:
        slots = f"{numbered(order.in_other_slots, 'feeder')} of several set-ups not in one slot in all of them"
    return [*one_for_all, f"{told}; {slots}"]


def _one_for_all_lines(plan: Plan) -> list[str]:
    """Return what one set-up for all passes lacks, where there is none."""
    lacks = plan.common_shortage
    if lacks is None:
        return []
    short = [f"{number:g} slots more on {place}" for place, number in lacks.slots_short]
    short += [f"{number:g} tray places more on {place}" for place, number in lacks.trays_short]
    if lacks.order:
        return ["One set-up for all: the order of heights along the line or the kinds of nozzles stand against it"]
    if not short:
        return ["One set-up for all: no places were found for everything in the time limit"]
    number = sum(n for _, n in lacks.slots_short)
    told = f"{number:g} slots short; " if number else ""
    return [f"One set-up for all: {told}it would take {' and '.join(short)}"]


def refill_sum(part: PartDemand, count: int) -> str:
    """Return how long a reel, tray or stick lasts, as a sum: ``5000 / 12``, with loss ``5000 / (12 × 1.003)``."""
    if not part.lost_per_thousand:
        return f"{part.per_container} / {count}"
    return f"{part.per_container} / ({count} × {1 + part.lost_per_thousand / 1000:g})"


def bench_lines(plan: Plan) -> list[str]:
    """Return what people place at each bench, as a sum, and whether that is slower than the line."""
    told = {True: "; slower than the line", False: "; no slower than the line", None: ""}
    found = []
    for one in plan.benches:
        placed = f"Bench {one.bench}, {one.board}: {count(one.placements)} placements"
        if one.seconds is None or one.each is None:
            found.append(f"{placed}, seconds not stated")
            continue
        people = f" / {one.people} people" if one.people > 1 else ""
        line = "" if one.line is None else f"{told[one.is_slower]} ({span(one.line, 's')})"
        found.append(f"{placed} × {one.each:g} s{people} = {span(one.seconds, 's')}{line}")
    return found


def two_lane_lines(plan: Plan) -> list[str]:
    """Return what each board with two sides takes with a side on each lane, or why that does not go."""
    found = []
    one_by_one = {one.board: one.seconds for one in plan.board_figures()}
    for one in on_two_lanes(plan):
        head = f"{one.board}, top and bottom at once on two lanes"
        if one.not_with:
            found.append(f"{head}: not with {some(one.not_with)}: no two lanes for this board")
        elif one.seconds is None:
            found.append(f"{head}: not without one set-up for both sides")
        else:
            unsure = f"; not stated how wide a board {some(one.open_with)} may take so" if one.open_with else ""
            against = f", against {span(one_by_one[one.board], 's')} one after the other"
            found.append(f"{head}: {_at_once(one)}, set by {one.slowest}{against}{unsure}")
    return found


def two_line_lines(plans: Sequence[Plan]) -> list[str]:
    """Return what each board with two sides takes with a side on each of two lines, the quickest pair as planned."""
    return [
        f"{one.board} on two lines at once: top on {one.top}, bottom on {one.bottom}: {_at_once(one)}"
        for one in on_two_lines(plans)
    ]


def _at_once(one: TwoLanes | TwoLines) -> str:
    seconds = one.seconds or UNKNOWN_SIZE
    panel = f" a panel of {one.pieces}" if one.pieces > 1 else ""
    rate = Interval(*(3600 * one.pieces / end if end else math.inf for end in (seconds.high, seconds.low)))
    return f"{span(seconds, 's')}{panel} = {span(rate, 'boards/h', 1)}"
