"""Who places what: the assignment of part types to heads that makes the slowest machine as fast as it can be.

The program (see :mod:`~capcheck.planning.search.formulation`) is solved in three steps: its relaxation gives a proven
bound; with most types held where the relaxation puts them, a small program gives a good plan; the whole program,
started from that plan, closes the gap or runs into the time limit. A large program begins with plans of whole types,
made near the relaxation and improved by moving types and shares of them (see
:mod:`~capcheck.planning.search.local_search`); none that is found later is taken unless it is better. Where time is too
short for a solver, each type goes whole to where it ends soonest (see
:mod:`~capcheck.planning.search.without_solver`).
"""

from __future__ import annotations

import math
import time
from typing import Final

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from capcheck.model import Floats, Ints
from capcheck.planning.search.deadline import Deadline
from capcheck.planning.search.formulation import Formulation, choices_of
from capcheck.planning.search.local_search import improved, weighted_cycle
from capcheck.planning.search.milp import Progress, Solved, Status
from capcheck.planning.search.stations import Stations
from capcheck.planning.search.without_solver import first_fit, simple_bound

_SMALL: Final = 260
"""Programs with at most this many yes-or-no choices go to the solver whole."""
_LARGE: Final = 1000
"""Programs with more choices let placements be any number at first."""
_ROUNDING: Final = 1e-9
_A_MOMENT: Final = 0.1
"""Seconds for which a search is not begun: the simple plan is as good."""
_SETTLING: Final = 1.0
"""Seconds in which the placements of a coarse solution are made whole; mostly it takes a tenth of that."""
_SETTLING_SHARE: Final = 0.1
"""Share of the time that is kept for that at most."""
_MOVING: Final = 0.3
"""Share of the time for moving types, which mostly ends sooner."""
_FREE_TYPES: Final = 0, 40, 120
"""How many types the small programs may move, one after the other, besides those that the relaxation splits."""


class Balance(Struct, frozen=True):
    """An assignment with its proof.

    *placed* counts placements by type, unit and pass; *seconds* is each machine's time by pass, worked out again from
    *placed*; *cycle* the slowest machine's by pass; *objective* their weighted mean and *bound* a proven lower bound
    of it.
    """

    status: Status
    placed: Ints
    seconds: Floats
    cycle: Floats
    objective: float
    bound: float
    begun_at: float = math.inf
    """The objective of the simple plan that is made without a solver; infinite where it finds no places."""

    @property
    def found(self) -> bool:
        """Whether there is a plan at all."""
        return math.isfinite(self.objective)

    @property
    def gap(self) -> float:
        """How far the plan may be from the best possible, as a share of the plan; infinite without a plan."""
        if not self.found:
            return math.inf
        return 0.0 if self.objective <= 0 else max(0.0, (self.objective - self.bound) / self.objective)


def _nothing(stations: Stations, status: Status, bound: float) -> Balance:
    types, passes = stations.counts.shape
    return Balance(
        status=status,
        placed=np.zeros((types, len(stations.units), passes), dtype=np.int64),
        seconds=np.full((stations.machines, passes), math.inf),
        cycle=np.full(passes, math.inf),
        objective=math.inf,
        bound=bound,
    )


def lower_bound(stations: Stations, *, time_limit: float = 30.0) -> float:
    """Return the bound that the relaxation proves: infinite where not even it has a solution."""
    solved = Formulation(stations).program.solve(relaxed=True, time_limit=time_limit)
    return solved.objective if solved.status in {Status.OPTIMAL, Status.INFEASIBLE} else -math.inf


def balance(
    stations: Stations,
    *,
    time_limit: float = 10.0,
    gap: float = 1e-4,
    progress: Progress | None = None,
    simple: Ints | None = None,
) -> Balance:
    """Assign placements to units so that the weighted cycle time is least.

    *time_limit* is in seconds for the whole search; *gap* the relative gap to the bound at which it stops (0: proved
    optimal). *progress* is called now and then with seconds, best so far and bound. *simple* is what
    :func:`~capcheck.planning.search.without_solver.first_fit` finds, where that is known: nothing slower comes out.
    """
    started = time.monotonic()
    found = _searched(stations, time_limit=time_limit, gap=gap, progress=progress, simple=simple)
    start = first_fit(stations) if simple is None else simple
    if start is None or found.status in {Status.INFEASIBLE, Status.FAILED}:
        return found
    begun_at = weighted_cycle(stations, start)
    if begun_at > found.objective - _ROUNDING:
        return replace(found, begun_at=begun_at)
    left = max(0.0, started + time_limit - time.monotonic())
    better = improved(stations, start, Deadline.after(min(left, _MOVING * time_limit)))
    plan = as_balance(stations, better, found.bound)
    status = Status.OPTIMAL if _is_close(plan.objective, plan.bound, gap) else Status.LIMIT
    return replace(plan, begun_at=begun_at, status=status)


def _searched(
    stations: Stations, *, time_limit: float, gap: float, progress: Progress | None, simple: Ints | None
) -> Balance:
    deadline = time.monotonic() + time_limit
    if stations.nowhere():
        return _nothing(stations, Status.INFEASIBLE, math.inf)
    if time_limit <= _A_MOMENT:
        return _without_solver(stations, simple=simple)
    choices = choices_of(stations)
    large, coarse = choices > _SMALL, choices > _LARGE and stations.split
    form = Formulation(stations, coarse=coarse)
    # Whole placements cost a coarse solution something again: it is searched for more closely.
    close = gap / 4 if coarse else gap
    end = deadline
    if coarse:
        deadline -= min(_SETTLING, _SETTLING_SHARE * time_limit)
    if deadline - time.monotonic() <= _A_MOMENT:
        # To write a large program down took the time there was.
        return _without_solver(stations, simple=simple)
    relaxed = form.program.solve(relaxed=True, time_limit=deadline - time.monotonic())
    if relaxed.status is Status.INFEASIBLE:
        return _nothing(stations, Status.INFEASIBLE, math.inf)
    bound = relaxed.objective if relaxed.status is Status.OPTIMAL else simple_bound(stations)
    moved = _by_moving(form, relaxed, time_limit) if large else None
    best = Solved(Status.LIMIT, math.inf, bound, None)
    if large and relaxed.values is not None:
        best = _good_start(form, relaxed, deadline, close, progress)
    if moved is not None and (cycle := weighted_cycle(stations, moved)) < best.objective:
        best = Solved(Status.LIMIT, cycle, bound, form.start(moved))
    proved = _is_close(best.objective, bound, close)
    left = deadline - time.monotonic()
    if not proved and (left > 0 or (best.values is None and not large)):
        found = form.program.solve(time_limit=max(left, _A_MOMENT), gap=close, start=best.values, progress=progress)
        if found.status is Status.INFEASIBLE and best.values is None:
            return _nothing(stations, Status.INFEASIBLE, math.inf)
        bound = max(bound, found.bound) if math.isfinite(found.bound) else bound
        best = found if found.values is not None and found.objective <= best.objective else best
        proved = found.status is Status.OPTIMAL
    plans = [] if moved is None else [as_balance(stations, moved, bound)]
    if best.values is None:
        return min([*plans, _without_solver(stations, bound)], key=_objective)
    if coarse:
        plans.append(as_balance(stations, form.placed(_settled(form, relaxed, best.values, gap, end)), bound))
        found_best = min(plans, key=_objective)
        close_enough = _is_close(found_best.objective, found_best.bound, gap)
        return replace(found_best, status=Status.OPTIMAL if close_enough else Status.LIMIT)
    status = Status.OPTIMAL if proved else Status.LIMIT
    return min([as_balance(stations, form.placed(best.values), bound, status), *plans], key=_objective)


def _objective(plan: Balance) -> float:
    return plan.objective


def _by_moving(form: Formulation, relaxed: Solved, time_limit: float) -> Ints | None:
    """Return the better of two plans made by moving types, one begun near the relaxation; None where there is none."""
    stations = form.stations
    nears = [None] if relaxed.values is None else [None, form.shares(relaxed.values)]
    plans = [plan for near in nears if (plan := first_fit(stations, near=near)) is not None]
    moved = [improved(stations, plan, Deadline.after(_MOVING / 2 * time_limit)) for plan in plans]
    return min(moved, key=lambda placed: weighted_cycle(stations, placed), default=None)


def _settled(form: Formulation, relaxed: Solved, values: Floats, gap: float, end: float) -> Floats:
    """Return a coarse solution with whole placements, its feeders kept where that is possible.

    Where that costs more than the gap allows, the types that the relaxation splits are shared out anew until the *end*.
    """
    left = max(end - time.monotonic(), _A_MOMENT / 2)
    found = form.program.solve(time_limit=min(_SETTLING, left), gap=gap / 4, upper=form.settle(values))
    if found.values is None:
        return values
    left = end - time.monotonic()
    if relaxed.values is None or left < _A_MOMENT or _is_close(found.objective, relaxed.objective, gap):
        return found.values
    upper = np.maximum(form.held_upper(relaxed.values, 0), np.minimum(np.round(found.values), 1.0))
    target = relaxed.objective * (1 + gap / 2)
    again = form.program.solve(time_limit=left, gap=gap / 4, start=found.values, upper=upper, target=target)
    return found.values if again.values is None or again.objective > found.objective else again.values


def as_balance(stations: Stations, placed: Ints, bound: float | None = None, status: Status = Status.LIMIT) -> Balance:
    """Return placements as a plan, their times worked out from the sums themselves; *bound* is proven by the caller."""
    seconds = stations.seconds_of(placed)
    cycle = seconds.max(axis=0)
    objective = float(cycle @ stations.weights)
    proved = simple_bound(stations) if bound is None else bound
    return Balance(
        status=status,
        placed=placed,
        seconds=seconds,
        cycle=cycle,
        objective=objective,
        bound=min(proved, objective),
    )


def _without_solver(stations: Stations, bound: float | None = None, simple: Ints | None = None) -> Balance:
    """Return the simple plan, or none, where there is no time for a search or it found nothing."""
    proved = simple_bound(stations) if bound is None else bound
    placed = first_fit(stations) if simple is None else simple
    if placed is None:
        return _nothing(stations, Status.LIMIT, proved)
    return as_balance(stations, placed, proved)


def _is_close(objective: float, bound: float, gap: float) -> bool:
    return math.isfinite(objective) and objective <= bound + gap * abs(objective) + _ROUNDING


def _good_start(form: Formulation, relaxed: Solved, deadline: float, gap: float, progress: Progress | None) -> Solved:
    """Return a good plan by small programs that hold most types where the relaxation puts them, ever fewer of them."""
    bound = relaxed.objective
    best = Solved(Status.LIMIT, math.inf, bound, None)
    if relaxed.values is None:
        return best
    for free in _FREE_TYPES:
        if deadline - time.monotonic() < _A_MOMENT:
            break
        upper = form.held_upper(relaxed.values, free)
        if best.values is not None:
            # The plan found so far stays possible.
            upper = np.maximum(upper, np.minimum(np.round(best.values), 1.0))
        found = form.program.solve(
            time_limit=max(0.3 * (deadline - time.monotonic()), _A_MOMENT),
            gap=gap / 2,
            start=best.values,
            upper=upper,
            target=bound * (1 + gap) if bound > 0 else None,
            progress=progress,
        )
        if found.values is not None and found.objective < best.objective:
            best = found
        if _is_close(best.objective, bound, gap):
            break
    return best
