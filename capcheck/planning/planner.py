"""Planning a job on a line: assignment, set-ups, times and verdict."""

from __future__ import annotations

import math
from typing import Final

import numpy as np

from capcheck.machines import Line
from capcheck.planning.assignment import Answer, Question, Reasons
from capcheck.planning.job import Job
from capcheck.planning.results import Nowhere, Plan, PlanSettings, SetUp, Shortage
from capcheck.planning.search import Deadline, Progress, Reason, as_balance, balance, first_fit, smallest_reason
from capcheck.planning.set_ups import set_up_of
from capcheck.planning.undecided_cases import Capabilities, Reading, checked_capabilities, stations_of
from capcheck.planning.verdict import finished, takt_of

_SETTINGS = PlanSettings()
_TOGETHER: Final = 0.2
"""Share of the time in which to find out whether all passes fit together."""
_WHY: Final = 0.5
"""Share of the time left in which to find the smallest reason for what does not fit."""
_EACH_READING: Final = 0.4
"""Share of the time left that a reading gets where it is not known that it has a plan; mostly it is told at once."""


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
    question = Question(job, line, checked_capabilities(job, line, can), reasons or {}, settings, progress)
    shortage: Shortage | None = None
    set_ups: list[SetUp] = []
    groups = _groups(question, end)
    for number, group in enumerate(groups):
        set_up, short = _plan_group(question, group, end.part(1 / (len(groups) - number)))
        if set_up is not None:
            set_ups.append(set_up)
        if short is not None:
            shortage = short if shortage is None else _together(shortage, short)
    return finished(question, set_ups, shortage)


def _groups(question: Question, deadline: Deadline) -> list[tuple[int, ...]]:
    """Return the passes that share a set-up: all if they may and fit together, else each alone."""
    job, settings = question.job, question.settings
    every = tuple(range(len(job.passes)))
    alone: list[tuple[int, ...]] = [(p,) for p in every]
    if settings.set_up == "each" or len(every) == 1:
        return alone
    if settings.set_up == "common":
        return [every]
    stations, _ = stations_of(job, question.line, question.can, reading=Reading.OPEN_NARROW, split=settings.split)
    placeable = stations.keep([j for j in range(len(job.parts)) if j not in set(stations.nowhere())])
    if not len(placeable.counts):
        return [every]
    reason = smallest_reason(placeable, deadline=deadline.part(_TOGETHER))
    return alone if reason.take_off else [every]


def _plan_group(question: Question, group: tuple[int, ...], deadline: Deadline) -> tuple[SetUp | None, Shortage | None]:
    """Plan passes that share a set-up; if not everything has a place, plan what is left and say what is short."""
    rows = [j for j, part in enumerate(question.job.parts) if any(part.counts[p] for p in group)]
    asked = question.of_passes(group, rows)
    answer = _best(asked, deadline)
    short: Shortage | None = None
    if not answer.balance.found:
        reason = smallest_reason(answer.stations, deadline=deadline.part(_WHY))
        short = _shortage(asked, reason, impossible=answer.balance.status == "infeasible")
        rows = [row for k, row in enumerate(rows) if k not in set(reason.take_off)]
        if not rows:
            return None, short
        kept = [k for k in range(len(answer.stations.counts)) if k not in set(reason.take_off)]
        asked, fallback = question.of_passes(group, rows), _rest(answer, kept, reason)
        answer = _best(asked, deadline)
        if fallback is not None and not answer.balance.found and _same_passes(asked, fallback):
            answer = fallback
    if not answer.balance.found:
        return None, short
    passes = tuple(p for p in group if any(question.job.parts[j].counts[p] for j in rows))
    return set_up_of(asked, answer, passes, takt_of(question)), short


def _rest(answer: Answer, kept: list[int], reason: Reason) -> Answer | None:
    """Return the plan of what is left that the search for the reason came upon, None if there is none."""
    if reason.rest is None:
        return None
    stations = answer.stations.keep(kept)
    return Answer(as_balance(stations, reason.rest[kept]), answer.reading, stations, answer.heads)


def _same_passes(question: Question, answer: Answer) -> bool:
    return int(answer.stations.counts.shape[1]) == len(question.job.passes)


def _best(question: Question, deadline: Deadline) -> Answer:
    """Return the best plan under the strictest reading that has one; without any, the most open reading's failure."""
    settings = question.settings
    answer: Answer | None = None
    for reading in Reading:
        stations, heads = stations_of(question.job, question.line, question.can, reading=reading, split=settings.split)
        # Where even the simple way finds places for everything, nothing else will be asked: it gets all the time.
        share = _EACH_READING if first_fit(stations) is None else 1.0
        for part in dict.fromkeys((share, 1.0)):
            seconds = deadline.seconds(part)
            found = balance(stations, time_limit=seconds, gap=settings.gap, progress=question.progress)
            if found.status != "limit" or not found.found or deadline.passed:
                break
        answer = Answer(found, reading, stations, heads)
        if found.found:
            break
    if answer is None:
        raise AssertionError("there is always a reading")
    return answer


def _shortage(question: Question, reason: Reason, *, impossible: bool) -> Shortage | None:
    """Return what is short; None where the search for the reason found a place for everything after all."""
    if not reason.take_off:
        return None
    machines = [m.name for m in question.line.machines]
    counts = question.job.counts()
    return Shortage(
        tuple(_nowhere(question, j) for j in reason.nowhere),
        tuple((machines[m], n) for m, n in sorted(reason.slots_short.items())),
        tuple((machines[m], n) for m, n in sorted(reason.trays_short.items())),
        tuple((question.job.parts[j].name, int(counts[j].sum())) for j in reason.take_off),
        reason.proved,
        reason.order,
        impossible or bool(reason.nowhere),
    )


def _nowhere(question: Question, j: int) -> Nowhere:
    names = [f"{m.name}/{h.name}" for m in question.line.machines for h in m.head]
    said = tuple((name, "; ".join(question.reasons.get((j, h), ()))) for h, name in enumerate(names))
    placements = int(question.job.counts()[j].sum())
    return Nowhere(question.job.parts[j].name, placements, tuple(s for s in said if s[1]))


def _together(one: Shortage, other: Shortage) -> Shortage:
    take_off = dict(one.take_off)
    for part, count in other.take_off:
        take_off[part] = take_off.get(part, 0) + count
    names = {n.part for n in one.nowhere}
    return Shortage(
        (*one.nowhere, *(n for n in other.nowhere if n.part not in names)),
        _largest(one.slots_short, other.slots_short),
        _largest(one.trays_short, other.trays_short),
        tuple(take_off.items()),
        one.proved and other.proved,
        one.order or other.order,
        one.impossible or other.impossible,
    )


def _largest(one: tuple[tuple[str, float], ...], other: tuple[tuple[str, float], ...]) -> tuple[tuple[str, float], ...]:
    most = dict(one)
    for machine, number in other:
        most[machine] = max(most.get(machine, 0.0), number)
    return tuple(most.items())


def mean_cycle(plan: Plan) -> float:
    """Return the planned cycle, weighted by yearly quantities: infinite where there is no plan for some pass."""
    weights = plan.job.weights()
    planned: dict[int, float] = {}
    for s in plan.set_ups:
        planned |= {p: f.planned for p, f in zip(s.passes, s.figures, strict=True)}
    return float(np.sum([w * planned.get(p, math.inf) for p, w in enumerate(weights)]))
