"""What boards cost and what a plan asks of people and shelf, in lines: each figure as the sum that it is."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping
from typing import Final

from capcheck.planning import (
    BoardCost,
    CostTerm,
    Owned,
    Plan,
    SetUpWork,
    feeders_to_own,
    on_bottleneck,
    refills_an_hour,
)
from capcheck.report.plan.spans import count, ends, numbered, some
from capcheck.values import Interval

_SHOWN: Final = 10
"""Part numbers of the bottleneck that a text shows."""

NAMES: Final = {
    "machines": "machines",
    "operators": "operators",
    "set-up": "set-up",
    "feeders": "feeders",
    "hand": "placing by hand",
}
_LACKING: Final = {
    "plan": "not all of it is planned",
    "cycle": "times of the line are not stated",
    "uptime": "the uptime is not stated",
    "rate of a machine": "a machine has no rate",
    "operators": "how many operators run the line is not stated",
    "batch": "the size of a batch is not stated",
    "seconds by hand": "seconds for placing by hand are not stated",
}


def money(amount: Interval, currency: str) -> str:
    """Return an amount of money: three digits behind the point, as a board costs little more than they show."""
    text = f"at least {amount.low:,.3f}" if math.isinf(amount.high) else _ends(amount, 3)
    return f"{text} {currency}".rstrip()


def _ends(value: Interval, digits: int) -> str:
    """Return an interval with both its ends, zero too."""
    if math.isinf(value.high):
        return f"({value.low:,.{digits}f} or more)"
    low, high = (f"{end:,.{digits}f}" for end in (value.low, value.high))
    return low if low == high else f"{low} to {high}"


def _number(value: Interval) -> str:
    """Return a figure as it was stated, or a sum's, with as many digits as it needs."""
    if math.isinf(value.high):
        return f"({value.low:g} or more)"
    return f"{value.low:g}" if value.is_exact else f"{value.low:g} to {value.high:g}"


def _seconds(value: Interval) -> str:
    return f"{_ends(value, 2)} s"


def _hourly(f: Mapping[str, Interval]) -> str:
    return f"{_number(f['rate'])} an hour × {_seconds(f['seconds'])} / 3600"


def _set_up(f: Mapping[str, Interval]) -> str:
    parts = []
    if "stands" in f:
        parts.append(f"{_number(f['line_hour'])} × {_seconds(f['stands'])} / 3600")
    if "work" in f:
        parts.append(f"{_number(f['people_hour'])} × {_seconds(f['work'])} / 3600")
    if "fixed" in f:
        parts.append(_number(f["fixed"]))
    batch = "boards of a batch, not stated" if f["batch"].low == 0 else f"{_number(f['batch'])} boards"
    return f"({' + '.join(parts)}) / {batch}"


_SUMS: Final[Mapping[str, Callable[[Mapping[str, Interval]], str]]] = {
    "machines": _hourly,
    "operators": lambda f: f"{_number(f['number'])} × {_hourly(f)}",
    "set-up": _set_up,
    "feeders": lambda f: f"{_number(f['rate'])} an hour × {_seconds(f['seconds'])} of feeders / 3600",
    "hand": _hourly,
}


def sum_of_term(term: CostTerm) -> str:
    """Return the sum of a part of the cost."""
    return _SUMS[term.kind](term.figures)


def line_time(cost: BoardCost) -> str:
    """Return how long a board occupies the line, as a sum: its seconds, stops counted by the uptime."""
    uptime = "uptime, not stated" if cost.uptime is None else f"uptime {_ends(cost.uptime, 3)}"
    return f"{_seconds(cost.seconds)} / {uptime} = {_seconds(cost.occupied)}"


def set_up_time(cost: BoardCost) -> str:
    """Return what setting up for a batch takes, as a sum."""
    work = cost.set_up
    board, feeder = (m or Interval.exactly(0.0) for m in (work.board_seconds, work.feeder_seconds))
    sides = f"{work.sides} × {_seconds(board)}"
    each = f"{sides} × {work.people} people" if work.people > 1 else sides
    if work.cart_seconds is not None and work.carts.high:
        carts = f" + {_number(work.carts)} carts × {_seconds(work.cart_seconds)}"
        each += f"{carts} × {work.people} people" if work.people > 1 else carts
    feeders = f"{_number(work.feeders)} feeders × {_seconds(feeder)}"
    return f"line stands {_stands(work)} = {_seconds(work.stands)}; work {each} + {feeders} = {_seconds(work.work)}"


def _stands(work: SetUpWork) -> str:
    """Return for what the line stands, as a sum; at either end where the minutes leave open what is quicker."""
    if work.at_best is None or work.at_worst is None:
        return _way(work, work.one_by_one, work.carts)
    (carts, loose), (most_carts, most_loose) = work.at_best, work.at_worst
    if carts <= most_carts and loose <= most_loose:
        return _way(work, Interval(loose, most_loose), Interval(carts, most_carts))
    best = _way(work, Interval.exactly(loose), Interval.exactly(carts), only="low")
    worst = _way(work, Interval.exactly(most_loose), Interval.exactly(most_carts), only="high")
    return f"at best {best}, at worst {worst},"


def _way(work: SetUpWork, loose: Interval, carts: Interval, only: str = "") -> str:
    """Return the sum of one way to put a set-up on; *only* names the end of the minutes that counts, else both do."""

    def seconds(of: Interval | None) -> str:
        of = of or Interval.exactly(0.0)
        return _seconds(Interval.exactly(getattr(of, only)) if only else of)

    said = f"{work.sides} × {seconds(work.board_seconds)}"
    if not work.beside:
        shared = f" / {work.people} people" if work.people > 1 else ""
        said += f" + {_number(loose)} feeders × {seconds(work.feeder_seconds)}{shared}"
    if work.cart_seconds is not None and carts.high:
        said += f" + {_number(carts)} carts × {seconds(work.cart_seconds)}"
    return said


def cost_head(cost: BoardCost) -> str:
    """Return what a good board costs, as far as rates are stated."""
    if cost.total is None or cost.made is None:
        return f"Cost of {cost.board}: no rate is stated"
    exact = cost.good == Interval.exactly(1.0)
    good = "" if exact else f" ({money(cost.made, '')} a board made / {_ends(cost.good, 3)} good)"
    return f"Cost of {cost.board}: {money(cost.total, cost.currency)} a board{good}"


def cost_besides(cost: BoardCost) -> Iterator[str]:
    """Yield what the parts of the cost are made of, what is not counted or open, and the boards of a shift."""
    yield f"time of the line for a board: {line_time(cost)}"
    if cost.set_up.board_seconds is not None or cost.set_up.feeder_seconds is not None:
        yield f"set-up for a batch: {set_up_time(cost)}"
    if cost.terms and cost.not_counted:
        yield f"not counted, as no rate is stated: {', '.join(NAMES[kind] for kind in cost.not_counted)}"
    if cost.per_shift is not None:
        yield f"boards of a shift: {shift_sum(cost)} = {_ends(cost.per_shift, 1)}"
    if cost.good_share is not None:
        share = _ends(cost.good_share.scaled(100), 1)
        yield f"share of the time in which good boards are made (availability × quality): {share} %"
    if cost.open_because:
        yield f"open, as {'; '.join(_LACKING[key] for key in cost.open_because)}"


def cost_lines(cost: BoardCost) -> Iterator[str]:
    """Yield what a board costs, the sum first, then its parts and what is beside them."""
    yield cost_head(cost)
    yield from (f"  {NAMES[t.kind]}: {sum_of_term(t)} = {money(t.amount, '')}" for t in cost.terms)
    yield from (f"  {line}" for line in cost_besides(cost))


def shift_sum(cost: BoardCost) -> str:
    """Return how the boards of a shift come about."""
    hours = cost.shift_hours or Interval.exactly(0.0)
    batch = "a batch" if cost.batch is None else f"{_number(cost.batch)} boards"
    stands = f" + {_seconds(cost.set_up.stands)} / {batch}" if cost.set_up.stands.high else ""
    good = "" if cost.good == Interval.exactly(1.0) else f" × {_ends(cost.good, 3)} good"
    return f"{_number(hours)} h × 3600 / ({_seconds(cost.occupied)}{stands}){good}"


def kind_of_feeder(owned: Owned) -> str:
    """Return what a feeder is for: ``8 mm tape``, ``tube``, ``tray``."""
    if owned.kind == "tape":
        return "tape, width not known" if owned.width is None else f"{owned.width} mm tape"
    return {"stick": "tube/stick", "": "packaging not known"}.get(owned.kind, owned.kind)


def owned_lines(plan: Plan) -> Iterator[str]:
    """Yield the feeders that the shop needs for the plan's boards."""
    owned = feeders_to_own(plan)
    if not owned:
        return
    several = len(plan.set_ups) > 1
    each = [f"{kind_of_feeder(o)} {count(o.at_once)}" + (f" ({count(o.beside)})" if several else "") for o in owned]
    beside = " (in brackets: where the next set-up is prepared while the line runs)" if several else ""
    yield f"Feeders and trays to own{beside}: {', '.join(each)}"


def refill_lines(plan: Plan) -> Iterator[str]:
    """Yield the refills of an hour and the people whom they take, of passes where some are known."""
    for one in refills_an_hour(plan):
        if one.known.high == 0:
            continue
        open_ = f"; not known how much there is of {some(one.unknown)}" if one.unknown else ""
        people = "" if one.people is None else f", work of {_ends(one.people, 2)} people"
        yield f"Refills of {one.board}: {_ends(one.per_hour, 1)} an hour{people}{open_}"


def bottleneck_lines(plan: Plan) -> Iterator[str]:
    """Yield what stands on the slowest machine of each pass, what takes longest first."""
    for one in on_bottleneck(plan):
        slower = "" if one.sets_cycle else ", which another station exceeds"
        yield f"On the slowest machine for {one.board}, {one.machine}{slower}:"
        for row in one.parts[:_SHOWN]:
            yield f"  {row.part}: {numbered(row.placements, 'placement')}, {ends(row.seconds)} s"
        if len(one.parts) > _SHOWN:
            rest = sum(row.placements for row in one.parts[_SHOWN:])
            yield f"  {len(one.parts) - _SHOWN} more part numbers: {numbered(rest, 'placement')}"


def break_even_lines(plan: Plan) -> Iterator[str]:
    """Yield one common set-up against one for each pass: the sums, and the batch at which both take as long."""
    found = plan.break_even
    if found is None:
        return
    yield "One set-up for all against one for each board's side, by the times planned:"
    for one in found.boards:
        yield (
            f"  {one.board}: {one.common_s:.2f} s a board against {one.own_s:.2f} s; for a batch the line stands "
            f"{_seconds(one.common_stands)} against {_seconds(one.own_stands)}"
        )
    weighted = any(one.weight != 1.0 for one in found.boards)
    of = ", weighted by the boards a year" if weighted else ""
    if found.batch is not None:
        yield (
            f"  as quick at batches of {_ends(found.batch, 1)} boards: {_ends(found.saved, 0)} s of set-ups saved / "
            f"{found.slower:,.2f} s slower{of}; smaller ones are quicker with one set-up for all"
        )
    elif found.saved.high > 0:
        yield "  one set-up for all is no slower, and saves its changes at every batch"
    elif found.slower > 0:
        yield "  no minutes of a set-up are stated ([costs], feeder_minutes): nothing tells what its changes take"
    else:
        yield "  both take as long"
