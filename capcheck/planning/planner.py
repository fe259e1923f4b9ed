"""Planning a job on a line: assignment, set-ups, times and verdict."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise
from typing import Final

import numpy as np

from capcheck.interval import Interval
from capcheck.machines.line import Line
from capcheck.planning.balance import as_balance, balance
from capcheck.planning.cycle_time import uptime
from capcheck.planning.deadline import Deadline
from capcheck.planning.infeasible import Reason, smallest_reason
from capcheck.planning.job import Job
from capcheck.planning.line_figures import Floor, PassFigures, floor_of, takt
from capcheck.planning.milp import Progress
from capcheck.planning.plan import Changeover, Demand, Nowhere, Plan, PlanSettings, SetUp, Shortage
from capcheck.planning.question import Answer, Question, Reasons
from capcheck.planning.reading import Capabilities, Reading, checked_capabilities, stations_of
from capcheck.planning.set_ups import set_up_of

_SETTINGS = PlanSettings()
_TOGETHER: Final = 0.2
"""Share of the time in which to find out whether all passes fit together."""
_FIRST: Final = 0.6
"""Share of a set-up's time in which to plan everything; the rest is for the reason why that fails, if it does."""
_WHY: Final = 0.5
"""Share of the time left in which to find the smallest reason for what does not fit."""
_EACH_READING: Final = 0.7
"""Share of the time left that a reading gets; one that has no plan is mostly told at once."""


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
    return _finished(question, set_ups, shortage)


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
    answer = _best(asked, deadline.part(_FIRST))
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
    return set_up_of(asked, answer, passes, _takt(question)), short


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
        seconds = deadline.seconds(_EACH_READING)
        found = balance(stations, time_limit=seconds, gap=settings.gap, progress=question.progress)
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


def _changeovers(set_ups: Sequence[SetUp]) -> tuple[Changeover, ...]:
    return tuple(changeover(a, b) for a, b in pairwise(set_ups))


def changeover(before: SetUp, after: SetUp) -> Changeover:
    """Return the feeders to take out and to bring in from one set-up to another."""
    old = {(f.machine, f.part) for f in before.feeders}
    new = {(f.machine, f.part) for f in after.feeders}
    return Changeover(before.name, after.name, tuple(sorted(old - new)), tuple(sorted(new - old)))


def _takt(question: Question) -> float | None:
    """Return the seconds that demand leaves each board of any pass: scheduled hours × uptime / passes a year."""
    yearly = [p.per_year for p in question.job.passes]
    known = [y for y in yearly if y is not None]
    hours = question.settings.hours_per_year
    if hours is None or len(known) < len(yearly):
        return None
    share = uptime(question.line.machines)
    return takt(hours, sum(known), share.low if share is not None else 1.0)


def _demand(question: Question, set_ups: Sequence[SetUp]) -> Demand | None:
    allowed, hours = _takt(question), question.settings.hours_per_year
    if allowed is None or hours is None:
        return None
    passes = question.job.passes
    low = high = 0.0
    for set_up in set_ups:
        for p, figures in zip(set_up.passes, set_up.figures, strict=True):
            boards = passes[p].per_year or 0.0
            low += boards * figures.cycle.low / 3600
            high += boards * figures.cycle.high / 3600
    return Demand(
        hours, sum(p.per_year or 0.0 for p in passes), uptime(question.line.machines), allowed, Interval(low, high)
    )


def _finished(question: Question, set_ups: list[SetUp], shortage: Shortage | None) -> Plan:
    job, line = question.job, question.line
    demand = _demand(question, set_ups)
    floor = floor_of(line)
    failed, warned = _judged(line, set_ups, shortage, demand, floor)
    planned = {p for s in set_ups for p in s.passes}
    warned += [f"{b.name}: no plan was found in the time limit" for p, b in enumerate(job.passes) if p not in planned]
    rates = [m.rated_per_hour for m in line.machines]
    return Plan(
        job, line.name, tuple(m.name for m in line.machines), "fail" if failed else "warn" if warned else "pass",
        (*failed, *warned), tuple(set_ups), shortage, _changeovers(set_ups), floor, uptime(line.machines), demand,
        sum(r for r in rates if r is not None) if all(r is not None for r in rates) else None,
        _not_computed(line, set_ups, job), _notes(job),
    )  # fmt: skip


def _judged(
    line: Line, set_ups: Sequence[SetUp], shortage: Shortage | None, demand: Demand | None, floor: Floor
) -> tuple[list[str], list[str]]:
    failed: list[str] = []
    warned: list[str] = []
    if shortage is not None:
        by_hand = line.file is not None and line.file.hand_placement
        number = f"{len(shortage.take_off)} part numbers are left over: "
        if shortage.impossible:
            text = f"{number}the machines cannot place them"
            (warned if by_hand else failed).append(text + (" and go to the hand-placing station" if by_hand else ""))
        else:
            warned.append(f"{number}the time limit ended the search before a place was found for them")
    for set_up in set_ups:
        open_parts = sorted({f.part for f in set_up.feeders if f.undecided})
        if open_parts:
            warned.append(f"{set_up.name}: {len(open_parts)} part numbers stand where it is not proved that they can")
        warned += [
            f"{set_up.name}: {o.machine} is not proved to have the slots and tray places"
            for o in set_up.occupied
            if o.fits is not True
        ]
        warned += [f"{f.board}: the cycle time is open" for f in set_up.figures if not math.isfinite(f.cycle.high)]
    if floor.fits is False:
        failed.append(f"the line is {floor.length_mm:,.0f} mm long, the floor {floor.free_length_mm:,.0f} mm")
    elif floor.fits is None and floor.free_length_mm is not None:
        warned.append(f"the length of the line is open: {', '.join(floor.missing)} state none")
    if demand is not None and demand.is_met is not True:
        text = "the demand is not met" if demand.is_met is False else "it is not proved that the demand is met"
        (failed if demand.is_met is False else warned).append(text)
    return failed, warned


def _not_computed(line: Line, set_ups: Sequence[SetUp], job: Job) -> tuple[str, ...]:
    out: list[str] = []
    if any(s.by_count for s in set_ups):
        out.append("seconds: a head has neither times nor a rated speed, so placements are balanced by number")
    for set_up in set_ups:
        for times in set_up.times:
            out += [
                f"{t.machine}, full time for {t.board}: not stated: {', '.join(t.missing)}" for t in times if t.missing
            ]
    for m in line.machines:
        if m.feeders.slots is None:
            out.append(f"{m.name}: free slots, as the profile states no number of slots")
        if m.feeders.tray_places is None and any(p.supply == "tray" for p in job.parts):
            out.append(f"{m.name}: free tray places, as the profile states no number")
    return tuple(dict.fromkeys(out))


def _notes(job: Job) -> tuple[str, ...]:
    out = []
    unknown = [p.name for p in job.parts if p.supply is None]
    if unknown:
        out.append(f"unknown form of supply ({len(unknown)}): {', '.join(unknown[:10])}")
    if all(p.nozzle is None for p in job.parts):
        out.append("nozzle kinds of the parts are unknown: nozzle changes and the changer's places are not counted")
    return tuple(out)


def cycle_of(plan: Plan) -> tuple[tuple[str, PassFigures], ...]:
    """Return the figures of each pass by its name."""
    return tuple((f.board, f) for s in plan.set_ups for f in s.figures)


def mean_cycle(plan: Plan) -> float:
    """Return the planned cycle, weighted by yearly quantities: infinite where there is no plan for some pass."""
    weights = plan.job.weights()
    planned: dict[int, float] = {}
    for s in plan.set_ups:
        planned |= {p: f.planned for p, f in zip(s.passes, s.figures, strict=True)}
    return float(np.sum([w * planned.get(p, math.inf) for p, w in enumerate(weights)]))
