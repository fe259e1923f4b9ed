"""From set-ups to the plan: takt, demand, floor, what stands against a pass, and what could not be worked out."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise

from capcheck.machines import Line
from capcheck.model import Said, say
from capcheck.planning.accuracy import CPK_CAPABLE, Missing
from capcheck.planning.assignment import Task
from capcheck.planning.hours_and_costs import Demand
from capcheck.planning.job import Job
from capcheck.planning.kept_slots import changeover, in_order
from capcheck.planning.part_accuracy import Placing, placings
from capcheck.planning.plan_data import Plan, SetUp, Shortage
from capcheck.planning.stations_of_line import line_heads
from capcheck.planning.times import floor_of, stated_uptime, takt, uptime
from capcheck.values import UNKNOWN_SIZE, Interval, total


def _uptime(task: Task) -> Interval | None:
    return uptime(task.line, task.settings.uptime)


def takt_of(task: Task) -> float | None:
    """Return the seconds that demand leaves each board of any pass: scheduled hours × uptime / passes a year."""
    yearly = [p.per_year for p in task.job.passes]
    known = [y for y in yearly if y is not None]
    hours = task.settings.hours_per_year
    if hours is None or not yearly or len(known) < len(yearly):
        return None
    share = _uptime(task)
    return takt(hours, sum(known), share.low if share is not None else 1.0)


def _demand(task: Task, set_ups: Sequence[SetUp]) -> Demand | None:
    allowed, hours = takt_of(task), task.settings.hours_per_year
    if allowed is None or hours is None:
        return None
    return Demand(
        hours_per_year=hours,
        passes_per_year=sum(p.per_year or 0.0 for p in task.job.passes),
        uptime=_uptime(task),
        takt=allowed,
        needed_hours=total(_seconds_a_year(task, set_ups)).scaled(1 / 3600),
    )


def _seconds_a_year(task: Task, set_ups: Sequence[SetUp]) -> Iterator[Interval]:
    """Yield the seconds that each pass runs in a year: any number where nobody states the quantity."""
    for set_up in set_ups:
        for p, figures in zip(set_up.passes, set_up.figures, strict=True):
            boards = task.job.passes[p].per_year
            yield UNKNOWN_SIZE if boards is None else figures.cycle.scaled(boards)


def _against_hours(task: Task, set_ups: Sequence[SetUp], demand: Demand | None) -> tuple[list[Said], list[Said]]:
    """Return that the hours are too few, or that it is open whether they suffice, where hours were given.

    Boards of known quantity may take more than there is; with others beside them nothing is proved to suffice.
    """
    hours, passes = task.settings.hours_per_year, task.job.passes
    if hours is None or not passes:
        return [], []
    if demand is not None:
        is_met = demand.is_met
    else:
        there = (_uptime(task) or Interval.exactly(1.0)).scaled(hours)
        is_met = False if total(_seconds_a_year(task, set_ups)).low / 3600 > there.high else None
    return (
        [say("planning.demand not met")] if is_met is False else [],
        [say("planning.demand open")] if is_met is None else [],
    )


def finished(task: Task, set_ups: Sequence[SetUp], shortage: Shortage | None) -> Plan:
    """Return the plan of set-ups, with what stands against a pass and what could not be worked out."""
    job, line = task.job, task.line
    set_ups, order = in_order(set_ups, line)
    demand, floor = _demand(task, set_ups), floor_of(line)
    used = {(f.machine, head, f.part) for s in set_ups for f in s.feeders for head in f.heads}
    accuracy = placings(job, line, task.can, used)
    failed: list[Said] = []
    warned: list[Said] = []
    if shortage is not None:
        sure, by_packing = _left_over(shortage, job, line)
        (failed if shortage.impossible and not line.has_hand_station else warned).extend(sure)
        warned += by_packing
    for set_up in set_ups:
        warned += _open_in(set_up)
    if floor.fits is False:
        failed.append(say("planning.floor too short", length=floor.length_mm, free=floor.free_length_mm))
    elif floor.fits is None and floor.free_length_mm is not None:
        warned.append(say("planning.length open", machines=floor.missing))
    unmet, open_demand = _against_hours(task, set_ups, demand)
    failed += unmet
    warned += open_demand
    below = sorted({p.part for p in accuracy if p.used and p.reaches is False})
    if below:
        warned.append(say("planning.inaccurate", parts=below, usual=CPK_CAPABLE))
    planned = {p for s in set_ups for p in s.passes}
    warned += [say("planning.no plan in time", board=b.name) for p, b in enumerate(job.passes) if p not in planned]
    rates = [m.rated_per_hour for m in line.machines]
    return Plan(
        job=job,
        line=line.name,
        machines=tuple(m.name for m in line.machines),
        devices=line,
        failed=tuple(failed),
        warned=tuple(warned),
        set_ups=set_ups,
        order=order,
        shortage=shortage,
        changeovers=tuple(changeover(a, b) for a, b in pairwise(set_ups)),
        floor=floor,
        uptime=_uptime(task),
        stated_uptime=stated_uptime(line, task.settings.uptime),
        demand=demand,
        rated_per_hour=sum(r for r in rates if r is not None) if all(r is not None for r in rates) else None,
        not_computed=(
            *_no_takt(task),
            *_cycles_open(set_ups),
            *_not_computed(line, set_ups, job),
            *_open_accuracy(accuracy),
        ),
        notes=(*_notes(job), *_short_if_wider(set_ups)),
        placings=accuracy,
        hours_per_year=task.settings.hours_per_year,
    )


def _left_over(shortage: Shortage, job: Job, line: Line) -> tuple[list[Said], list[Said]]:
    """Return what is said of parts without a place: those of which that is sure, and those that lack a tray place.

    That a part comes in a tray is what is usual for such a body, and another packaging may be asked for: as in a check,
    that only warns.
    """
    if not shortage.impossible:
        return [say("planning.no place found in time", parts=shortage.take_off)], []
    nowhere = {one.part for one in shortage.nowhere}
    in_trays = {part.name for part in job.parts if part.supply == "tray"} - nowhere
    displaced = set(shortage.displaced)
    found: tuple[list[Said], list[Said]] = [], []
    for which, said in enumerate(found):
        left = [one for one in shortage.take_off if one[0] not in displaced]
        parts = tuple(one for one in left if (one[0] in in_trays) == bool(which))
        usual_tapes = bool(shortage.slots_short) and any(p.usual_tape for p in job.parts) and not which
        if parts:
            told = {"usual_tapes": usual_tapes, "trays": bool(which), "by_hand": line.has_hand_station}
            said.append(say("planning.cannot be placed", parts=parts, **told))
    if displaced:
        parts = tuple(one for one in shortage.take_off if one[0] in displaced)
        found[1].append(say("planning.no place beside trays", parts=parts, by_hand=line.has_hand_station))
    return found


def _open_in(set_up: SetUp) -> list[Said]:
    """Return what is not proved of a set-up: parts and slots."""
    name = set_up.name
    parts = {f.part for f in set_up.feeders if f.undecided}
    found = [say("planning.parts not proved", set_up=name, parts=sorted(parts))] if parts else []
    return found + [
        say("planning.slots not proved", set_up=name, machine=o.where) for o in set_up.occupied if o.fits is not True
    ]


def _short_if_wider(set_ups: Sequence[SetUp]) -> Iterator[Said]:
    """Yield the slots that would not suffice for wider tapes than usual: by those a check judges too, and says so."""
    for set_up in set_ups:
        for o in set_up.occupied:
            if o.fits and not o.has_spare:
                shown = {"needed": o.slots_needed.high, "slots": o.slots, "wider": o.slots_if_wider}
                yield say("planning.slots short if wider", set_up=set_up.name, machine=o.where, **shown)


def _no_takt(task: Task) -> list[Said]:
    """Return why hours or quantities that were given lead to no takt."""
    passes, hours = task.job.passes, task.settings.hours_per_year
    without = list(dict.fromkeys(p.board for p in passes if p.per_year is None))
    if hours is not None and without:
        return [say("planning.no takt", boards=without)]
    if without and any(p.per_year is not None for p in passes):
        return [say("planning.passes count the same", boards=without)]
    return []


def _cycles_open(set_ups: Sequence[SetUp]) -> list[Said]:
    """Return which cycles are not known: a demand that they leave open warns, a board builds without them."""
    figures = [f for set_up in set_ups for f in set_up.figures if not math.isfinite(f.cycle.high)]
    return [say("planning.cycle open", board=f.board) for f in figures]


def _open_accuracy(accuracy: Sequence[Placing]) -> list[Said]:
    """Return for which parts no Cpk could be worked out on the heads in use, by what is missing."""
    by_gap: dict[tuple[Missing, ...], dict[str, None]] = {}
    for placing in accuracy:
        if placing.used and placing.missing:
            by_gap.setdefault(placing.missing, {})[placing.part] = None
    return [say("planning.Cpk unknown", parts=list(parts), missing=gap) for gap, parts in by_gap.items()]


def _not_computed(line: Line, set_ups: Sequence[SetUp], job: Job) -> list[Said]:
    out: list[Said] = []
    if any(s.by_count for s in set_ups):
        out.append(say("planning.no seconds", machines=[m.name for m in line.machines if line_heads((m,)).untimed]))
    lacking: dict[tuple[str, tuple[str, ...]], dict[str, None]] = {}
    for times in (t for set_up in set_ups for machines in set_up.times for t in machines if t.missing):
        lacking.setdefault((times.board, times.missing), {})[times.machine] = None
    out += [
        say("planning.times not stated", board=board, machines=list(names), missing=missing)
        for (board, missing), names in lacking.items()
    ]
    for m in line.machines:
        if m.slots is None:
            out.append(say("planning.slots not stated", machine=m.name))
        if m.tray_places is None and any(p.supply == "tray" for p in job.parts):
            out.append(say("planning.tray places not stated", machine=m.name))
    return out


def _notes(job: Job) -> tuple[Said, ...]:
    out = []
    unknown = [p.name for p in job.parts if p.supply is None]
    if unknown:
        out.append(say("planning.supply of parts unknown", parts=unknown))
    usual = [p.name for p in job.parts if p.usual_supply or p.usual_tape]
    if usual:
        out.append(say("planning.usual packing", parts=usual, few=len(usual) < len(job.parts)))
    if all(p.nozzle is None for p in job.parts):
        out.append(say("planning.nozzles unknown"))
    return tuple(out)
