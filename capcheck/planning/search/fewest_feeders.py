"""The second step of a plan: with the cycle settled, as few feeders as keep it.

A part number on two machines takes two feeders and two reels. The first step puts it there wherever that saves a
thousandth of a second; each feeder that does not shorten the line's cycle costs its set-up for nothing.
"""

from __future__ import annotations

import math
from typing import Final

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from capcheck.model import Floats, Ints
from capcheck.planning.search.balancing import Balance
from capcheck.planning.search.deadline import Deadline
from capcheck.planning.search.formulation import Formulation
from capcheck.planning.search.stations import Stations

_ROUNDING: Final = 1e-9
_A_MOMENT: Final = 0.05
"""Seconds for which a search is not begun."""
_NODES: Final = 200
"""Of the search tree, where the time allows: two runs then save the same feeders."""


class Feeders(Struct, frozen=True):
    """How many feeders and tray places a plan takes: *before* this step, and *least* that is proved for its cycles."""

    planned: int
    before: int
    least: int


def feeders_of(stations: Stations, placed: Ints) -> int:
    """Return how many feeders the placements need: one for each type at each stand that it is placed from."""
    stands = np.array(stations.stand_of)
    return sum(int((placed[:, stands == s].sum(axis=(1, 2)) > 0).sum()) for s in range(len(stations.stands)))


def with_fewest_feeders(
    stations: Stations,
    plan: Balance,
    *,
    allowed: Floats | None = None,
    kept: Floats | None = None,
    thorough: bool = True,
    time_limit: float = 10.0,
) -> tuple[Balance, Feeders]:
    """Return a plan with as few feeders as are found in *time_limit* seconds, and what is proved of their number.

    Without *thorough* feeders are only taken away, none is moved: a tenth of the time, and often a few feeders more.
    No pass gets slower than *plan* has it, or than *allowed* (by pass, in seconds) where another station takes longer
    than the machines do. Where that station allows them even the time *kept*, and *allowed* holds some of it in
    reserve, fewer feeders might do: what the search excludes is then not proved of the cycle. Objective, bound and
    status stay those of *plan*: of the first step.
    """
    now, least = feeders_of(stations, plan.placed), len(stations.counts)
    deadline = Deadline.after(time_limit)
    if now == least or not stations.split or time_limit < _A_MOMENT:
        return plan, Feeders(now, now, least)
    most = plan.cycle if allowed is None else np.maximum(plan.cycle, allowed)
    of_the_cycle = kept is None or bool((kept <= most).all())
    form = Formulation(stations)
    for column, seconds in zip(form.cycle, most.tolist(), strict=True):
        form.program.cost[column], form.program.upper[column] = 0.0, seconds + _ROUNDING
    for column in form.y.values():
        form.program.cost[column] = 1.0
    placed = _gathered(stations, plan.placed, most)
    for upper in (only_those_standing(form, placed), *((None,) if thorough else ())):
        # One feeder is the least that can be saved: whatever is closer than that is the fewest.
        found = form.program.solve(
            time_limit=max(deadline.left, _A_MOMENT),
            gap=0.99 / now,
            start=form.start(placed),
            upper=upper,
            nodes=_NODES,
        )
        if found.values is not None:
            placed = min(placed, form.placed(found.values), key=lambda one: feeders_of(stations, one))
        if upper is None and of_the_cycle and math.isfinite(found.bound):
            least = max(least, math.ceil(found.bound - 1e-6))
    seconds = stations.seconds_of(placed)
    if (seconds.max(axis=0) > most + 1e-6).any():
        return plan, Feeders(now, now, least)
    better = replace(plan, placed=placed, seconds=seconds, cycle=seconds.max(axis=0))
    return better, Feeders(feeders_of(stations, placed), now, least)


def _gathered(stations: Stations, placed: Ints, most: Floats) -> Ints:
    """Return placements with types taken off one of their stands where another of theirs has the time for all of it."""
    placed = placed.copy()
    stands = np.array(stations.stand_of)
    shares = [
        (int(placed[j, stands == s].sum()), j, s)
        for j in range(len(placed))
        for s in range(len(stations.stands))
        if placed[j, stands == s].any()
    ]
    for _, j, s in sorted(shares):
        here = stands == s
        for u in np.flatnonzero(placed[j].any(axis=1) & ~here):
            moved = placed.copy()
            moved[j, u] += placed[j, here].sum(axis=0)
            moved[j, here] = 0
            if (stations.seconds_of(moved).max(axis=0) <= most).all() and stations.way_is_free(moved):
                placed = moved
                break
    return placed


def only_those_standing(form: Formulation, placed: Ints) -> Floats:
    """Return upper bounds that let feeders be taken away and none be put where there is none: a smaller program."""
    upper = np.array(form.program.upper)
    start = form.start(placed)
    for column in form.y.values():
        upper[column] = start[column]
    return upper
