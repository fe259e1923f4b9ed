"""Both sides of a board at once: on the two lanes of a line, or each side on a line of its own.

A finished board takes a top and a bottom pass, of one board or of two that run beside each other. On two lanes a
machine's heads work for both in turn, so their seconds add up, and the transfer of one lane hides behind the other;
on two lines the slower of both sides sets the pace.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import permutations

from msgspec import Struct

from capcheck.machines import Line
from capcheck.planning.plan_data import Plan, SetUp
from capcheck.planning.times import MachineTime, lanes_hide_transfer
from capcheck.values import Interval

_SIDES = 2


class TwoLanes(Struct, frozen=True):
    """A board with a side on each lane of a line: seconds from one finished panel, or board, to the next.

    *slowest* is what sets *seconds* as planned. *not_with* are machines without two lanes for the board, *no_set_up*
    tells that the sides have no set-up in common: then it does not go, and there are no seconds. *open_with* are the
    machines of which it is not stated how wide a board may be on two lanes.
    """

    board: str
    pieces: int
    seconds: Interval | None
    planned: float
    slowest: str
    not_with: tuple[str, ...]
    no_set_up: bool
    open_with: tuple[str, ...]


def pair_seconds(top: tuple[float, float, float], bottom: tuple[float, float, float]) -> float:
    """Return a machine's seconds for a board on each of two lanes; each side as transfer, fiducials, placing.

    Heads serve one lane at a time: Σ fiducials + placing; and each lane takes its own board's whole time.
    """
    return max(sum(top[1:]) + sum(bottom[1:]), sum(top), sum(bottom))


def on_two_lanes(plan: Plan) -> list[TwoLanes]:
    """Return each board that is placed on both sides, where some machine of the line has two lanes."""
    line = plan.devices
    if line is None or all(m.board.lanes == 1 for m in line.machines):
        return []
    found = []
    for name in dict.fromkeys(p.board for p in plan.job.passes):
        passes = [k for k, p in enumerate(plan.job.passes) if p.board == name]
        if len(passes) == _SIDES:
            found.append(_on_two_lanes(plan, line, name, passes))
    return found


def _on_two_lanes(plan: Plan, line: Line, name: str, passes: Sequence[int]) -> TwoLanes:
    hides = {m.name: [lanes_hide_transfer(m, plan.job.passes[p]) for p in passes] for m in line.machines}
    without = tuple(machine for machine, each in hides.items() if False in each)
    unsure = tuple(machine for machine, each in hides.items() if None in each and False not in each)
    common = next((s for s in plan.set_ups if set(passes) <= set(s.passes) and not s.by_count), None)
    pieces = plan.job.passes[passes[0]].boards
    if without or common is None:
        return TwoLanes(name, pieces, None, math.inf, "", without, common is None, unsure)
    stations = list(_stations(line, common, [common.passes.index(p) for p in passes]))
    slowest = max(stations, key=lambda s: s[1])
    untimed = any(figures.untimed for p, figures in zip(common.passes, common.figures, strict=True) if p in passes)
    high = math.inf if untimed else max(known.high for _, _, known in stations)
    seconds = Interval(max(known.low for _, _, known in stations), high)
    return TwoLanes(name, pieces, seconds, slowest[1], slowest[0], (), no_set_up=False, open_with=unsure)


def _stations(line: Line, set_up: SetUp, places: Sequence[int]) -> Iterator[tuple[str, float, Interval]]:
    """Yield each station with its seconds for a pair, planned and within bounds.

    What places nothing takes its cycle once where it has two lanes itself, twice where not: nobody states which.
    """
    for top, bottom in zip(*(set_up.times[p] for p in places), strict=True):
        least, planned, most = (
            pair_seconds(_side(top, one), _side(bottom, other))
            for one, other in (
                (top.fast_placing, bottom.fast_placing),
                (top.placing, bottom.placing),
                (top.most_placing, bottom.most_placing),
            )
        )
        yield top.machine, planned, Interval(min(least, planned), max(most, planned))
    for other in line.stations:
        if other.cycle is not None:
            yield other.name, _SIDES * other.cycle, Interval(other.cycle, _SIDES * other.cycle)


def _side(time: MachineTime, placing: float) -> tuple[float, float, float]:
    return time.transfer.total, time.fiducials.total, placing


class TwoLines(Struct, frozen=True):
    """A board with its top side on one line and its bottom side on another, both running: seconds of a panel."""

    board: str
    top: str
    bottom: str
    pieces: int
    seconds: Interval
    planned: float


def on_two_lines(plans: Sequence[Plan]) -> list[TwoLines]:
    """Return for each board with two sides the pair of lines that is quickest as planned, among those that build it.

    The cycles are those of plans for both sides: a line with one side alone is no slower. Lines that carry different
    panels are no pair.
    """
    found: dict[str, TwoLines] = {}
    able = [plan for plan in plans if plan.feasible and plan.verdict in {"pass", "warn"}]
    for one, other in permutations(able, 2):
        for board in dict.fromkeys(p.board for p in one.job.passes):
            sides = [_cycle(one, board, "top"), _cycle(other, board, "bottom")]
            if any(side is None for side in sides):
                continue
            (top, a, pieces), (bottom, b, others) = (side for side in sides if side is not None)
            if pieces != others:
                continue
            seconds = Interval(max(top.low, bottom.low), max(top.high, bottom.high))
            pair = TwoLines(board, one.line, other.line, pieces, seconds, max(a, b))
            if board not in found or pair.planned < found[board].planned:
                found[board] = pair
    return list(found.values())


def _cycle(plan: Plan, board: str, side: str) -> tuple[Interval, float, int] | None:
    """Return the cycle of a side, within bounds and as planned, and the boards of its panel; None without seconds."""
    for set_up in plan.set_ups:
        for p, figures in zip(set_up.passes, set_up.figures, strict=True):
            one = plan.job.passes[p]
            if (one.board, one.side) == (board, side) and not set_up.by_count:
                return figures.cycle, figures.planned, one.boards
    return None
