"""The third step of a plan: with cycle and feeders settled, the machines' own work as even as these feeders allow.

The second step may load a machine up to what an oven takes, or a printer. Where the feeders that are left allow a
shorter time of the slowest machine, that costs nothing: it waits less for the next board, and has more in reserve.
"""

from __future__ import annotations

from typing import Final

from msgspec.structs import replace

from capcheck.model import Ints
from capcheck.planning.search.balancing import Balance
from capcheck.planning.search.deadline import Deadline
from capcheck.planning.search.fewest_feeders import feeders_of, only_those_standing
from capcheck.planning.search.formulation import Formulation
from capcheck.planning.search.stations import Stations

_ROUNDING: Final = 1e-9
_SLACK: Final = 1e-6
_A_MOMENT: Final = 0.05
"""Seconds for which a search is not begun."""
_NODES: Final = 200
"""Of the search tree, where the time allows: two runs then come to the same."""


def evened(stations: Stations, plan: Balance, *, gap: float = 1e-4, time_limit: float = 10.0) -> Balance:
    """Return a plan with as many feeders at most, in which the weighted time of the slowest machine is least.

    Their stands may be others; first it is tried with those there are, which is a smaller program. No pass gets slower
    than *plan* has it. Objective, bound and status stay those of *plan*: of the first step.
    """
    if time_limit < _A_MOMENT or plan.cycle @ stations.weights <= plan.objective + _ROUNDING:
        return plan
    deadline = Deadline.after(time_limit)
    form = Formulation(stations)
    for column, seconds in zip(form.cycle, plan.cycle.tolist(), strict=True):
        form.program.upper[column] = seconds + _ROUNDING
    feeders = list(form.y.values())
    form.program.row(feeders, [1.0] * len(feeders), upper=float(feeders_of(stations, plan.placed)))
    best = plan
    for upper in (only_those_standing(form, plan.placed), None):
        start = form.start(best.placed)
        found = form.program.solve(
            time_limit=max(deadline.left, _A_MOMENT), gap=gap, start=start, upper=upper, nodes=_NODES
        )
        if found.values is not None:
            best = _quicker(stations, best, form.placed(found.values))
    return best


def _quicker(stations: Stations, plan: Balance, placed: Ints) -> Balance:
    """Return the plan with other placements where no pass is slower and the whole is quicker."""
    seconds = stations.seconds_of(placed)
    cycle = seconds.max(axis=0)
    if (cycle > plan.cycle + _SLACK).any() or cycle @ stations.weights >= plan.cycle @ stations.weights - _ROUNDING:
        return plan
    return replace(plan, placed=placed, seconds=seconds, cycle=cycle)
