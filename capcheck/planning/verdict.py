"""From set-ups to the plan: takt, demand, floor, the verdict with its reasons, and what could not be worked out."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise
from typing import Final

from capcheck.machines import Line
from capcheck.planning.assignment import Question
from capcheck.planning.job import Job
from capcheck.planning.placing import Placing, placings
from capcheck.planning.results import Changeover, Demand, Plan, SetUp, Shortage
from capcheck.planning.times import CPK_CAPABLE, Floor, floor_of, takt, uptime
from capcheck.planning.undecided_cases import line_heads
from capcheck.values import Interval


def changeover(before: SetUp, after: SetUp) -> Changeover:
    """Return the feeders to take out and to bring in from one set-up to another."""
    old = {(f.machine, f.part) for f in before.feeders}
    new = {(f.machine, f.part) for f in after.feeders}
    return Changeover(before.name, after.name, tuple(sorted(old - new)), tuple(sorted(new - old)))


def takt_of(question: Question) -> float | None:
    """Return the seconds that demand leaves each board of any pass: scheduled hours × uptime / passes a year."""
    yearly = [p.per_year for p in question.job.passes]
    known = [y for y in yearly if y is not None]
    hours = question.settings.hours_per_year
    if hours is None or len(known) < len(yearly):
        return None
    share = uptime(question.line.machines)
    return takt(hours, sum(known), share.low if share is not None else 1.0)


def _demand(question: Question, set_ups: Sequence[SetUp]) -> Demand | None:
    allowed, hours = takt_of(question), question.settings.hours_per_year
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


def finished(question: Question, set_ups: list[SetUp], shortage: Shortage | None) -> Plan:
    """Return the plan of set-ups with its verdict, and what could not be worked out."""
    job, line = question.job, question.line
    demand = _demand(question, set_ups)
    floor = floor_of(line)
    accuracy = placings(job, line, question.can, set_ups)
    failed, warned = _judged(line, set_ups, shortage, demand, floor, usual_tapes=any(p.usual_tape for p in job.parts))
    warned += _inaccurate(accuracy)
    planned = {p for s in set_ups for p in s.passes}
    warned += [f"{b.name}: no plan was found in the time limit" for p, b in enumerate(job.passes) if p not in planned]
    rates = [m.rated_per_hour for m in line.machines]
    return Plan(
        job,
        line.name,
        tuple(m.name for m in line.machines),
        "fail" if failed else "warn" if warned else "pass",
        (*failed, *warned),
        tuple(set_ups),
        shortage,
        tuple(changeover(a, b) for a, b in pairwise(set_ups)),
        floor,
        uptime(line.machines),
        demand,
        sum(r for r in rates if r is not None) if all(r is not None for r in rates) else None,
        (*_no_takt(question), *_not_computed(line, set_ups, job), *_open_accuracy(accuracy)),
        _notes(job),
        accuracy,
        len(failed),
    )


def _judged(
    line: Line,
    set_ups: Sequence[SetUp],
    shortage: Shortage | None,
    demand: Demand | None,
    floor: Floor,
    *,
    usual_tapes: bool,
) -> tuple[list[str], list[str]]:
    failed: list[str] = []
    warned: list[str] = []
    if shortage is not None:
        by_hand = line.file is not None and line.file.hand_placement
        number = f"{_counted(shortage.take_off)} left over: "
        if shortage.impossible:
            usual = " with the tapes usual for the bodies" if shortage.slots_short and usual_tapes else ""
            text = f"{number}the machines cannot place them{usual}"
            (warned if by_hand else failed).append(text + (" and go to the hand-placing station" if by_hand else ""))
        else:
            warned.append(f"{number}the time limit ended the search before a place was found for them")
    for set_up in set_ups:
        open_parts = sorted({f.part for f in set_up.feeders if f.undecided})
        if open_parts:
            warned.append(f"{set_up.name}: {_counted(open_parts)} not proved to fit where planned")
        warned += [
            f"{set_up.name}: {o.machine} is not proved to have the slots and tray places"
            for o in set_up.occupied
            if o.fits is not True
        ]
        warned += [
            f"{set_up.name}: the slots of {o.machine} suffice with the tapes usual for the bodies "
            f"({o.slots_needed.high:g} of {o.slots}), not if each came one width wider ({o.slots_if_wider:g}): check "
            "the packing"
            for o in set_up.occupied
            if o.fits and not o.has_spare
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


def _no_takt(question: Question) -> list[str]:
    """Return why hours or quantities that were given lead to no takt."""
    passes, hours = question.job.passes, question.settings.hours_per_year
    without = list(dict.fromkeys(p.board for p in passes if p.per_year is None))
    if hours is not None and without:
        return [f"takt and hours needed: no yearly quantity for {_listed(without)}"]
    if without and any(p.per_year is not None for p in passes):
        return [f"means by quantity: no yearly quantity for {_listed(without)}, so that every pass counts the same"]
    return []


def _inaccurate(accuracy: Sequence[Placing]) -> list[str]:
    """Return which parts are placed below the usual capability on a head that the plan uses."""
    below = sorted({p.part for p in accuracy if p.used and p.reaches is False})
    if not below:
        return []
    return [f"{_counted(below)} placed with a Cpk below {CPK_CAPABLE:g}: {_listed(below)}"]


def _open_accuracy(accuracy: Sequence[Placing]) -> list[str]:
    """Return for which parts no Cpk could be worked out on the heads in use, by what is missing."""
    by_gap: dict[str, list[str]] = {}
    for placing in accuracy:
        if placing.used and placing.missing and placing.part not in by_gap.setdefault(placing.missing, []):
            by_gap[placing.missing].append(placing.part)
    return [f"Cpk of {_counted(parts)}, not known: {gap}: {_listed(parts)}" for gap, parts in by_gap.items()]


def _counted(names: Sequence[object]) -> str:
    return f"{len(names)} part number{'s' if len(names) > 1 else ''}"


def _listed(names: Sequence[str]) -> str:
    more = f" and {len(names) - _MANY} more" if len(names) > _MANY else ""
    return ", ".join(names[:_MANY]) + more


_MANY: Final = 10


def _not_computed(line: Line, set_ups: Sequence[SetUp], job: Job) -> tuple[str, ...]:
    out: list[str] = []
    if any(s.by_count for s in set_ups):
        silent = [m.name for m in line.machines if line_heads((m,)).untimed]
        out.append(f"seconds: neither times nor a rated speed: {_listed(silent)}; placements are balanced by number")
    lacking: dict[tuple[str, str], list[str]] = {}
    for times in (t for set_up in set_ups for machines in set_up.times for t in machines if t.missing):
        lacking.setdefault((times.board, ", ".join(times.missing)), []).append(times.machine)
    out += [f"full time for {board} on {', '.join(names)}: not stated: {m}" for (board, m), names in lacking.items()]
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
        out.append(f"form of supply unknown: {_counted(unknown)}: {_listed(unknown)}")
    if len(unknown) < len(job.parts):
        out.append(
            "tapes, trays and sticks are the usual ones for the bodies where nobody states them: check the packing"
        )
    if all(p.nozzle is None for p in job.parts):
        out.append("kinds of nozzles are unknown: the plan counts no nozzle changes, slow ends the most there may be")
    return tuple(out)
