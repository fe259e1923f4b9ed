"""Hours in which the line stands for set-ups, against the hours that a year's boards leave.

A board is made in batches, and each begins with a set-up: its yearly number D in batches of Q is set up D / Q times, as
in textbooks of production planning; a batch that is begun is set up for. Between batches that follow each other as in
the plan, feeders that stay are not counted.
"""

from __future__ import annotations

import math
from typing import Final

from msgspec.structs import replace

from capcheck.model import Said, say
from capcheck.planning.hours_and_costs import BoardCost, YearlySetUps
from capcheck.planning.plan_data import Plan
from capcheck.values import Interval

_ONE_OR_MORE: Final = Interval(1.0, math.inf)
"""Boards of a batch that nobody states."""


def with_set_up_hours(found: Plan) -> Plan:
    """Return the plan whose demand counts set-ups too, where the shop states what they take; without a demand as is."""
    demand = found.demand
    set_ups = tuple(one for cost in found.costs for one in _yearly(found, cost))
    if demand is None or not set_ups:
        return found
    counted = replace(demand, set_ups=set_ups)
    kept = [said for said in found.failed if said.key != "planning.demand not met"]
    warned = [said for said in found.warned if said.key != "planning.demand open"]
    failed: list[Said] = []
    if demand.is_met is False:
        failed = [say("planning.demand not met")]
    elif counted.is_met is False:
        failed = [say("planning.set-ups leave too few hours", stands=counted.set_up_hours.low)]
    elif counted.is_met is None:
        warned.append(say("planning.demand open"))
    return replace(found, demand=counted, failed=(*kept, *failed), warned=tuple(warned))


def _yearly(found: Plan, cost: BoardCost) -> list[YearlySetUps]:
    """Return the set-ups of a board, nothing where nobody states minutes or a quantity."""
    work, panels = cost.set_up, found.job.yearly(cost.board)
    pieces = [one.boards for one in found.job.passes if one.board == cost.board]
    if panels is None or not pieces or (work.board_seconds is None and work.feeder_seconds is None):
        return []
    size, boards = cost.batch or _ONE_OR_MORE, panels * pieces[0]
    least = 0.0 if math.isinf(size.high) else boards / size.high
    return [YearlySetUps(cost.board, Interval(least, max(least, float(math.ceil(boards / size.low)))), work.stands)]
