"""What a board costs on a line: machines, operators, set-up, feeders and hand, each as a sum that can be redone.

The rates are the shop's own (:class:`~capcheck.shop.Costs`). The time of a board is what the plan says within bounds,
divided by the uptime of the line, as an hour is paid with its stops. A batch carries its set-up: C = C_set-up / Q +
C_run, the usual sum for batches in textbooks of production economics. What is not known opens the upper end.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from typing import Final, Literal

from msgspec import Struct
from msgspec.structs import replace

from capcheck.checking import Report
from capcheck.machines import Line
from capcheck.planning.benches import by_hand
from capcheck.planning.hours_and_costs import BoardCost, CostTerm, SetUpWork
from capcheck.planning.plan_data import Plan
from capcheck.planning.set_up_work import carts_of, set_up_work
from capcheck.shop import Costs, within
from capcheck.values import UNKNOWN_SIZE, Interval, product, quotient, total

_NOTHING: Final = Interval.exactly(0.0)
_ONE: Final = Interval.exactly(1.0)
_HOUR: Final = 3600.0


def with_costs(found: Plan, reports: Sequence[Report]) -> Plan:
    """Return the plan with what each board costs, where its shop states rates."""
    costs = tuple(_cost(found, r, r.line) for r in reports if r.line is not None and r.costs.model_fields_set)
    return replace(found, costs=costs)


class _Run(Struct, frozen=True):
    """One board on the line: seconds of the line for one of it, and the same with stops."""

    seconds: Interval
    occupied: Interval


def _cost(found: Plan, report: Report, line: Line) -> BoardCost:
    rates, name = report.costs, report.board.name
    passes = [p for p, one in enumerate(found.job.passes) if one.board == name]
    pieces = found.job.passes[passes[0]].boards if passes else report.carried.circuits
    run = _run(found, name, passes)
    batch = within(rates.batch)
    work = set_up_work(found, passes, rates, carts_of(line))
    placed = total([w.placements for w in by_hand(found, report)])
    hand = _hand_seconds(found, report, placed, pieces)
    hourly = _hourly(line, rates)
    line_hour, without_rate = _line_hour(line, hourly)
    terms = [
        _per_hour("machines", line_hour, run.occupied),
        _operators(rates, run.occupied),
        _set_up(rates, line_hour, work, batch),
        _feeders(found, passes, rates, work, batch),
        _by_hand(rates, placed, hand),
    ]
    lacking = [*_open(found, passes, rates, work)]
    lacking += ["rate of a machine"] if without_rate else []
    lacking += ["seconds by hand"] if math.isinf(hand.high) and rates.hand_hour is not None else []
    share = within(rates.good) or _ONE
    stopped = _share(work.stands, batch)
    return BoardCost(
        board=name,
        currency=rates.currency,
        terms=tuple(term for term in terms if term is not None),
        not_counted=tuple(kind for kind, term in zip(KINDS, terms, strict=True) if term is None),
        good=share,
        open_because=tuple(lacking),
        seconds=run.seconds,
        uptime=found.uptime,
        occupied=run.occupied,
        batch=batch,
        set_up=work,
        shift_hours=within(rates.shift_hours),
        per_shift=_per_shift(within(rates.shift_hours), run.occupied, stopped, share),
        good_share=_good_share(found, run.seconds, stopped, share),
        refill_minutes=within(rates.refill_minutes),
        hourly=hourly,
    )


Kind = Literal["machines", "operators", "set-up", "feeders", "hand"]
KINDS: Final[tuple[Kind, ...]] = ("machines", "operators", "set-up", "feeders", "hand")


def _run(found: Plan, name: str, passes: Sequence[int]) -> _Run:
    """Return the line's seconds for a board; nothing for one that no machine places anything of."""
    known = {one.board: one.seconds_a_board for one in found.board_figures()}
    seconds = known.get(name, UNKNOWN_SIZE) if passes else _NOTHING
    return _Run(seconds, quotient(seconds, found.uptime or Interval(0.0, 1.0)))


def _hourly(line: Line, rates: Costs) -> dict[str, Interval | None]:
    """Return the rate of each machine, None without one, and of the stations that have one."""
    machines = {m.name: within(rates.machines.get(m.name, rates.machine_hour)) for m in line.machines}
    stations = {s.name: within(rates.machines[s.name]) for s in line.stations if s.name in rates.machines}
    return {**stations, **machines}


def _line_hour(line: Line, hourly: Mapping[str, Interval | None]) -> tuple[Interval | None, list[str]]:
    """Return what an hour of the line costs, and the machines without a rate; None where none has one."""
    without = [m.name for m in line.machines if hourly[m.name] is None]
    if len(without) == len(hourly):
        return None, []
    return total(UNKNOWN_SIZE if rate is None else rate for rate in hourly.values()), without


def _per_hour(kind: Kind, rate: Interval | None, seconds: Interval) -> CostTerm | None:
    if rate is None:
        return None
    return CostTerm(kind, {"rate": rate, "seconds": seconds}, product(rate, seconds.scaled(1 / _HOUR)))


def _operators(rates: Costs, occupied: Interval) -> CostTerm | None:
    rate, number = within(rates.operator_hour), within(rates.operators)
    if rate is None:
        return None
    people = UNKNOWN_SIZE if number is None else number
    amount = product(people, rate, occupied.scaled(1 / _HOUR))
    return CostTerm("operators", {"number": people, "rate": rate, "seconds": occupied}, amount)


def _set_up(rates: Costs, line_hour: Interval | None, work: SetUpWork, batch: Interval | None) -> CostTerm | None:
    """Return what the set-up of a batch costs each of its boards; None where nothing of it has a price."""
    people = within(rates.operator_hour if rates.set_up_hour is None else rates.set_up_hour)
    fixed = within(rates.per_batch)
    timed = work.board_seconds is not None or work.feeder_seconds is not None
    if fixed is None and not (timed and (people is not None or line_hour is not None)):
        return None
    parts: dict[str, Interval] = {}
    amounts = []
    if timed and line_hour is not None:
        parts |= {"line_hour": line_hour, "stands": work.stands}
        amounts.append(product(line_hour, work.stands.scaled(1 / _HOUR)))
    if timed and people is not None:
        parts |= {"people_hour": people, "work": work.work}
        amounts.append(product(people, work.work.scaled(1 / _HOUR)))
    if fixed is not None:
        parts["fixed"] = fixed
        amounts.append(fixed)
    whole = total(amounts)
    return CostTerm("set-up", {**parts, "whole": whole, "batch": batch or UNKNOWN_SIZE}, _share(whole, batch))


def _share(of_batch: Interval, batch: Interval | None) -> Interval:
    """Return the share of one board; a batch that nobody states may be of one board or of any number."""
    return quotient(of_batch, Interval(1.0, math.inf) if batch is None else batch)


def _feeders(
    found: Plan, passes: Sequence[int], rates: Costs, work: SetUpWork, batch: Interval | None
) -> CostTerm | None:
    """Return what the feeders cost that stand on the line while a board is made, and while the line is set up."""
    rate = within(rates.feeder_hour)
    if rate is None:
        return None
    if not passes:
        return CostTerm("feeders", {"rate": rate, "seconds": _NOTHING}, _NOTHING)
    uptime = found.uptime or Interval(0.0, 1.0)
    seconds, planned, most = [], 0, 0
    for set_up in found.set_ups:
        for p, figures in zip(set_up.passes, set_up.figures, strict=True):
            if p in passes:
                cycle = UNKNOWN_SIZE if set_up.by_count else figures.cycle
                here = quotient(cycle.scaled(1 / found.job.passes[p].boards), uptime)
                seconds.append(product(here, Interval.exactly(len(set_up.feeders))))
                planned, most = planned + 1, max(most, len(set_up.feeders))
    seconds.append(product(_share(work.stands, batch), Interval(0.0, most)))
    whole = total(seconds) if planned == len(passes) else UNKNOWN_SIZE
    return CostTerm("feeders", {"rate": rate, "seconds": whole}, product(rate, whole.scaled(1 / _HOUR)))


def _by_hand(rates: Costs, placed: Interval, seconds: Interval) -> CostTerm | None:
    """Return what hands cost a board that has so many parts *placed* by them, a panel's together."""
    term, own = _per_hour("hand", within(rates.hand_hour), seconds), within(rates.hand_seconds)
    if term is None:
        return None
    stated = {} if own is None else {"seconds_each": own}
    return CostTerm(term.kind, {**term.figures, "placements": placed, **stated}, term.amount)


def _hand_seconds(found: Plan, report: Report, placed: Interval, pieces: int) -> Interval:
    """Return the work of hands for one board: by bench where the line has some, else by the shop's own seconds.

    *placed* are the parts of a panel.
    """
    name = report.board.name
    benches = [one for one in found.benches if one.board == name]
    own = within(report.costs.hand_seconds) or UNKNOWN_SIZE
    here = [product(b.placements, own if b.each is None else Interval.exactly(b.each)) for b in benches]
    counted = total([b.placements for b in benches])
    left = Interval(max(0.0, placed.low - counted.low), max(0.0, placed.high - counted.high))
    return total([*here, product(left, own)]).scaled(1 / pieces)


def _open(found: Plan, passes: Sequence[int], rates: Costs, work: SetUpWork) -> Iterator[str]:
    """Yield what is lacking of plan, line and rates, so that the upper end is open."""
    planned = {p for s in found.set_ups for p in s.passes}
    cycles = [f.cycle for s in found.set_ups for p, f in zip(s.passes, s.figures, strict=True) if p in passes]
    if not set(passes) <= planned:
        yield "plan"
    if any(math.isinf(c.high) for c in cycles) or any(s.by_count for s in found.set_ups if set(s.passes) & set(passes)):
        yield "cycle"
    if passes and found.uptime is None:
        yield "uptime"
    if rates.operator_hour is not None and rates.operators is None:
        yield "operators"
    if rates.batch is None and (work.stands.high > 0 or work.work.high > 0 or rates.per_batch is not None):
        yield "batch"


def _per_shift(hours: Interval | None, occupied: Interval, stopped: Interval, share: Interval) -> Interval | None:
    """Return good boards of a shift in which batches of the board follow each other; None without hours or machines."""
    if hours is None or occupied.high == 0:
        return None
    return product(quotient(hours.scaled(_HOUR), total([occupied, stopped])), share)


def _good_share(found: Plan, seconds: Interval, stopped: Interval, share: Interval) -> Interval | None:
    """Return the share of the time in which good boards are made as fast as planned, stops and set-ups counted.

    These are availability × quality of the usual overall equipment effectiveness; of losses of speed nothing is known
    beyond the cycle's own bounds.
    """
    if found.uptime is None or seconds.low <= 0:
        return None
    # occupied = s / u: s / (s / u + stopped) = 1 / (1 / u + stopped / s), which rises with u and s.
    of_board = quotient(stopped, seconds)
    whole = total([quotient(_ONE, found.uptime), of_board])
    return product(quotient(_ONE, whole), share)


def mean_cost(costs: Sequence[BoardCost], yearly: Mapping[str, float | None]) -> Interval | None:
    """Return the mean cost of a board, by yearly quantities where all are given; None where a board has none."""
    if not costs or any(one.total is None for one in costs):
        return None
    weights = [yearly.get(one.board) for one in costs]
    known = [1.0] * len(costs) if None in weights else [w or 0.0 for w in weights]
    amounts = [one.total or _NOTHING for one in costs]
    return total([a.scaled(w / sum(known)) for a, w in zip(amounts, known, strict=True)])
