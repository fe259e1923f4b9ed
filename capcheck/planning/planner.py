"""Planning a job on a line: assignment, set-ups, times and verdict."""

from __future__ import annotations

import math
from typing import Final

import numpy as np
from msgspec.structs import replace

from capcheck.machines import Line
from capcheck.model import Floats, say
from capcheck.planning.assignment import Assignment, Task
from capcheck.planning.grouping import grouped
from capcheck.planning.job import Capabilities, Job, Reasons
from capcheck.planning.plan_data import CommonShortage, Nowhere, Plan, PlanSettings, SetUp, Shortage
from capcheck.planning.search import (
    Deadline,
    Progress,
    Reason,
    Stations,
    Status,
    as_balance,
    balance,
    evened,
    first_fit,
    smallest_reason,
    with_fewest_feeders,
)
from capcheck.planning.set_ups import set_up_of, times_of
from capcheck.planning.stations_of_line import LineHeads, Strictness, checked_capabilities, pools_of, stations_of
from capcheck.planning.times import place_name
from capcheck.planning.verdict import finished, takt_of

_SETTINGS = PlanSettings()
_TOGETHER: Final = 0.2
"""Share of the time in which to find out whether all passes fit together."""
_WHY: Final = 0.5
"""Share of the time left in which to find the smallest reason for what does not fit."""
_EACH_STRICTNESS: Final = 0.4
"""Share of the time left for each strictness of which it is not known that it has a plan; mostly it is told at once."""
_FIRST_STEP: Final = 0.85
"""Share of the time for the cycle; what is left of it at the end may save feeders."""
_SECOND_STEP: Final = 0.8
"""Share of what is left for saving feeders; with those that stay the machines are balanced once more."""


def plan_line(
    job: Job,
    line: Line,
    can: Capabilities,
    reasons: Reasons | None = None,
    *,
    settings: PlanSettings = _SETTINGS,
    progress: Progress | None = None,
    deadline: Deadline | None = None,
) -> Plan:
    """Plan a job on a line: who places what, so that the slowest machine is as fast as it can be.

    *can* holds 1 (the head takes the part), −1 (it does not) or 0 (undecided), parts × heads of the line in order.
    Undecided heads are used only if what is proved does not suffice, and the plan then says so. All searches together
    end at the *deadline*, else after the settings' time limit; the plan is then the best found so far.
    Raises :class:`InputError` where the capabilities do not fit or the solver is not installed.
    """
    end = deadline or Deadline.after(settings.time_limit)
    task = Task(job, line, checked_capabilities(job, line, can), reasons or {}, settings, progress)
    shortage: Shortage | None = None
    set_ups: list[SetUp] = []
    groups, short_of_one = _groups(task, end) if job.passes else ([], None)
    for number, group in enumerate(groups):
        set_up, short = _plan_group(task, group, end.part(1 / (len(groups) - number)))
        if set_up is not None:
            set_ups.append(set_up)
        if short is not None:
            shortage = short if shortage is None else _together(shortage, short)
    return replace(finished(task, set_ups, shortage), common_shortage=short_of_one)


def _groups(task: Task, deadline: Deadline) -> tuple[list[tuple[int, ...]], CommonShortage | None]:
    """Return the passes that share a set-up, all if they may and fit together, else as many as fit; what that lacks."""
    job, settings = task.job, task.settings
    every = tuple(range(len(job.passes)))
    alone: list[tuple[int, ...]] = [(p,) for p in every]
    if settings.set_up == "each" or len(every) == 1:
        return alone, None
    if settings.set_up == "common":
        return [every], None
    stations, _ = stations_of(job, task.line, task.can, strictness=Strictness.ALL_OPEN, split=settings.split)
    placeable = stations.keep([j for j in range(len(job.parts)) if j not in set(stations.nowhere())])
    if not len(placeable.counts):
        return [every], None
    reason = smallest_reason(placeable, deadline=deadline.part(_TOGETHER))
    if not reason.take_off:
        return [every], None
    slots, trays = _short_at(task, reason)
    return grouped(task, deadline.part(_TOGETHER)), CommonShortage(slots, trays, reason.order)


def _plan_group(task: Task, group: tuple[int, ...], deadline: Deadline) -> tuple[SetUp | None, Shortage | None]:
    """Plan passes that share a set-up; if not everything has a place, plan what is left and say what is short."""
    rows = [j for j, part in enumerate(task.job.parts) if any(part.counts[p] for p in group)]
    asked = task.of_passes(group, rows)
    assigned = _best(asked, deadline)
    short: Shortage | None = None
    if not assigned.balance.found:
        reason = smallest_reason(assigned.stations, deadline=deadline.part(_WHY))
        impossible = assigned.balance.status is Status.INFEASIBLE
        displaced = _displaced(asked, assigned.stations, reason, deadline.part(_WHY))
        short = _shortage(asked, reason, impossible=impossible, displaced=displaced)
        rows = [row for k, row in enumerate(rows) if k not in set(reason.take_off)]
        if not rows:
            return None, short
        kept = [k for k in range(len(assigned.stations.counts)) if k not in set(reason.take_off)]
        asked, fallback = task.of_passes(group, rows), _rest(assigned, kept, reason)
        assigned = _best(asked, deadline)
        if fallback is not None and not assigned.balance.found and _same_passes(asked, fallback):
            assigned = fallback
    if not assigned.balance.found:
        return None, short
    passes = tuple(p for p in group if any(task.job.parts[j].counts[p] for j in rows))
    found = set_up_of(asked, assigned, passes, takt_of(task))
    if 1 < len(passes) < len(task.job.passes):  # one of several: lists and changeovers go by its name
        names = tuple(task.job.passes[p].name for p in passes)
        found = replace(found, name=say("planning.common set-up of", passes=names))
    return found, short


def _rest(assigned: Assignment, kept: list[int], reason: Reason) -> Assignment | None:
    """Return the plan of what is left that the search for the reason came upon, None if there is none."""
    if reason.rest is None:
        return None
    stations = assigned.stations.keep(kept)
    return replace(assigned, balance=as_balance(stations, reason.rest[kept]), stations=stations)


def _same_passes(task: Task, assigned: Assignment) -> bool:
    return int(assigned.stations.counts.shape[1]) == len(task.job.passes)


def _best(task: Task, deadline: Deadline) -> Assignment:
    """Return the best plan, as strict as there is one; without any, how the least strict one failed.

    A reading that asks the same of the line as one that has no plan has none either.
    """
    job, line, split = task.job, task.line, task.settings.split
    first, *less_strict = Strictness
    assigned = _balanced(task, first, *stations_of(job, line, task.can, strictness=first, split=split), deadline)
    for strictness in less_strict:
        if assigned.balance.found:
            break
        stations, heads = stations_of(job, line, task.can, strictness=strictness, split=split)
        if assigned.balance.status is Status.INFEASIBLE and stations.is_no_freer(assigned.stations):
            continue
        assigned = _balanced(task, strictness, stations, heads, deadline)
    return assigned


def _balanced(
    task: Task, strictness: Strictness, stations: Stations, heads: LineHeads, deadline: Deadline
) -> Assignment:
    settings = task.settings
    # Where even the simple way finds places for everything, nothing else will be asked: it gets all the time.
    simple = first_fit(stations)
    share = _EACH_STRICTNESS if simple is None else 1.0
    found = balance(
        stations,
        time_limit=_FIRST_STEP * deadline.seconds(share),
        gap=settings.gap,
        progress=task.progress,
        simple=simple,
    )
    if share < 1.0 and found.status is Status.LIMIT and found.found and not deadline.passed:
        found = balance(stations, time_limit=_FIRST_STEP * deadline.seconds(), gap=settings.gap, progress=task.progress)
    if not found.found:
        return Assignment(found, strictness, stations, heads)
    first = Assignment(found, strictness, stations, heads, first_cycle=found.cycle)
    others, reserve = _other_stations(task, first)
    fewest, feeders = with_fewest_feeders(
        stations,
        found,
        allowed=None if others is None else others - reserve,
        kept=others,
        thorough=settings.thorough,
        time_limit=_SECOND_STEP * deadline.left,
    )
    even = evened(stations, fewest, gap=settings.gap, time_limit=deadline.left)
    return replace(first, balance=even, second_cycle=fewest.cycle, feeders_needed=feeders)


def _other_stations(task: Task, assigned: Assignment) -> tuple[Floats | None, Floats]:
    """Return by pass the seconds that a printer, an oven or the like takes, and what of them machines may need more.

    None where none is known, or where placements are counted instead of seconds. A machine may take longer than
    planned by infinitely long where its times are not stated.
    """
    known = [s.cycle for s in task.line.stations if s.cycle is not None]
    passes = range(len(task.job.passes))
    over = np.array([max(t.seconds.high - t.planned for t in times_of(task, assigned, p)) for p in passes])
    return None if assigned.heads.untimed or not known else np.full(len(over), max(known)), over


def _displaced(task: Task, stations: Stations, reason: Reason, deadline: Deadline) -> tuple[str, ...]:
    """Return the parts that only tray units keep from a place: without what comes in trays everything fits."""
    in_trays = [part.supply == "tray" for part in task.job.parts]
    left = [j for j in reason.take_off if j not in reason.nowhere and not in_trays[j]]
    rest = [j for j, tray in enumerate(in_trays) if not tray and j not in reason.nowhere]
    if not left or not any(in_trays) or smallest_reason(stations.keep(rest), deadline=deadline).take_off:
        return ()
    return tuple(task.job.parts[j].name for j in left)


def _shortage(task: Task, reason: Reason, *, impossible: bool, displaced: tuple[str, ...]) -> Shortage | None:
    """Return what is short; None where the search for the reason found a place for everything after all."""
    if not reason.take_off:
        return None
    counts = task.job.counts()
    slots, trays = _short_at(task, reason)
    return Shortage(
        nowhere=tuple(_nowhere(task, j) for j in reason.nowhere),
        slots_short=slots,
        trays_short=trays,
        take_off=tuple((task.job.parts[j].name, int(counts[j].sum())) for j in reason.take_off),
        proved=reason.proved,
        order=reason.order,
        impossible=impossible or bool(reason.nowhere),
        displaced=displaced,
    )


def _short_at(task: Task, reason: Reason) -> tuple[tuple[tuple[str, float], ...], tuple[tuple[str, float], ...]]:
    """Return the slots and the tray places that are short, by machine or bank."""
    names = [place_name(task.line.machines[pool.machine].name, pool.at.name) for pool in pools_of(task.line)]
    slots, trays = (
        tuple((names[k], n) for k, n in sorted(short.items())) for short in (reason.slots_short, reason.trays_short)
    )
    return slots, trays


def _nowhere(task: Task, j: int) -> Nowhere:
    names = [f"{m.name}/{h.name}" for m in task.line.machines for h in m.head]
    reasons = tuple((name, task.reasons[j, h]) for h, name in enumerate(names) if (j, h) in task.reasons)
    refused = bool((task.can[j] < 0).all())
    return Nowhere(task.job.parts[j].name, int(task.job.counts()[j].sum()), reasons, refused)


def _together(one: Shortage, other: Shortage) -> Shortage:
    take_off = dict(one.take_off)
    for part, count in other.take_off:
        take_off[part] = take_off.get(part, 0) + count
    names = {n.part for n in one.nowhere}
    return Shortage(
        nowhere=(*one.nowhere, *(n for n in other.nowhere if n.part not in names)),
        slots_short=_largest(one.slots_short, other.slots_short),
        trays_short=_largest(one.trays_short, other.trays_short),
        take_off=tuple(take_off.items()),
        proved=one.proved and other.proved,
        order=one.order or other.order,
        impossible=one.impossible or other.impossible,
        displaced=tuple(sorted({*one.displaced, *other.displaced} - _short_of_slots(one) - _short_of_slots(other))),
    )


def _short_of_slots(shortage: Shortage) -> set[str]:
    """Return what is taken off whatever comes in trays."""
    return {part for part, _ in shortage.take_off} - set(shortage.displaced)


def _largest(one: tuple[tuple[str, float], ...], other: tuple[tuple[str, float], ...]) -> tuple[tuple[str, float], ...]:
    most = dict(one)
    for place, number in other:
        most[place] = max(most.get(place, 0.0), number)
    return tuple(most.items())


def mean_cycle(plan: Plan) -> float:
    """Return the planned cycle, weighted by yearly quantities: infinite where there is no plan for some pass."""
    weights = plan.job.weights()
    planned: dict[int, float] = {}
    for s in plan.set_ups:
        planned |= {p: f.planned for p, f in zip(s.passes, s.figures, strict=True)}
    return float(np.sum([w * planned.get(p, math.inf) for p, w in enumerate(weights)]))
