"""From an assignment's numbers to a set-up: feeders with their slots and references, places taken, times."""

from __future__ import annotations

import numpy as np
from msgspec.structs import replace

from capcheck.engine import Take
from capcheck.model import Said, say
from capcheck.planning.assignment import Assignment, Task
from capcheck.planning.job import Job, PartDemand
from capcheck.planning.plan_data import Feeder, SetUp
from capcheck.planning.times import (
    HeadLoad,
    MachineTime,
    Occupied,
    PassFigures,
    StationTime,
    machine_time,
    occupied,
    pass_figures,
    places,
)


def set_up_of(task: Task, assigned: Assignment, passes: tuple[int, ...], takt: float | None) -> SetUp:
    """Return the set-up that an assignment stands for.

    *passes* are the indices of the task's passes in the whole job; *takt* is in seconds, None without a demand.
    """
    job, found = task.job, assigned.balance
    times = tuple(times_of(task, assigned, p) for p in range(len(job.passes)))
    return SetUp(
        name=job.passes[0].name if len(job.passes) == 1 else say("planning.common set-up"),
        passes=passes,
        strictness=assigned.strictness,
        feeders=_feeders(task, assigned),
        occupied=_occupied(task, assigned),
        times=times,
        figures=tuple(_figures(task, t, p, takt) for p, t in enumerate(times)),
        status=found.status,
        seconds=found.objective,
        bound=found.bound,
        gap=found.gap,
        by_count=assigned.heads.untimed,
        weights=job.weights(),
        first_cycle=tuple((found.cycle if assigned.first_cycle is None else assigned.first_cycle).tolist()),
        feeders_needed=assigned.feeders_needed,
    )


def _figures(task: Task, times: tuple[MachineTime, ...], p: int, takt: float | None) -> PassFigures:
    stations = [StationTime(t.machine, t.planned, t.seconds, places=True) for t in times]
    name = task.job.passes[p].name
    return pass_figures(name, stations, task.line, sum(t.placements for t in times), takt)


def times_of(task: Task, assigned: Assignment, p: int) -> tuple[MachineTime, ...]:
    """Return the times of the machines, in order, for one pass of the task."""
    job, heads, placed = task.job, assigned.heads, assigned.balance.placed
    tray = np.array([part.supply == "tray" for part in job.parts])
    changes, most = assigned.stations.changes(placed), assigned.stations.most_changes(placed)
    out = []
    for m, machine in enumerate(task.line.machines):
        loads = []
        for u in (u for u, owner in enumerate(heads.machine_of) if owner == m):
            parts = int(placed[:, u, p].sum())
            size = heads.times[u].per_trip
            trips = -(-parts // size) if size else 0
            trays = int(placed[tray, u, p].sum())
            loads.append(HeadLoad(heads.times[u], parts, trips, trays, int(changes[u, p]), int(most[u, p])))
        out.append(machine_time(machine, job.passes[p], loads))
    return tuple(out)


def _units_of_site(assigned: Assignment, site: int) -> list[int]:
    return [u for u, s in enumerate(assigned.stations.site_of) if s == site]


def _stocked(assigned: Assignment, site: int) -> list[int]:
    """Return the types that have a feeder at a site, most placements first."""
    totals = assigned.balance.placed[:, _units_of_site(assigned, site)].sum(axis=(1, 2))
    return sorted((int(j) for j in np.flatnonzero(totals)), key=lambda j: (-int(totals[j]), j))


def _occupied(task: Task, assigned: Assignment) -> tuple[Occupied, ...]:
    out = []
    for m, machine in enumerate(task.line.machines):
        here: list[PartDemand] = []
        for s, (owner, _) in enumerate(assigned.stations.sites):
            if owner == m:
                here += [task.job.parts[j] for j in _stocked(assigned, s)]
        out.append(occupied(machine.name, machine.feeders, here))
    return tuple(out)


def _feeders(task: Task, assigned: Assignment) -> tuple[Feeder, ...]:
    out: list[Feeder] = []
    given: dict[tuple[int, int], int] = {}
    for m, machine in enumerate(task.line.machines):
        next_slot: float | None = None if machine.feeders.slots is None else 1.0
        for site, (owner, _) in enumerate(assigned.stations.sites):
            if owner != m:
                continue
            for j in _stocked(assigned, site):
                feeder = _feeder(task, assigned, site, j, given=given)
                if feeder.slots.high > 0 and next_slot is not None:
                    # Room is left for the widest feeder that it may be; one that has none leaves the next ones open.
                    after = next_slot + feeder.slots.high
                    fits = after - 1 <= (machine.feeders.slots or 0)
                    feeder, next_slot = (replace(feeder, slot=next_slot), after) if fits else (feeder, None)
                out.append(feeder)
    return tuple(out)


def _feeder(task: Task, assigned: Assignment, site: int, j: int, *, given: dict[tuple[int, int], int]) -> Feeder:
    machine_index, gantry = assigned.stations.sites[site]
    machine = task.line.machines[machine_index]
    part, placed = task.job.parts[j], assigned.balance.placed
    need = places(part, machine.feeders)
    units = _units_of_site(assigned, site)
    used = [u for u in units if placed[j, u].sum()]
    counts = tuple(int(n) for n in placed[j, units].sum(axis=0))
    return Feeder(
        machine=machine.name,
        gantry=gantry,
        heads=tuple(assigned.heads.heads[u].name for u in used),
        part=part.name,
        supply=part.supply,
        tape_width=part.tape_width,
        tape_pitch=part.tape_pitch,
        slots=need.slots,
        slot=None,
        counts=counts,
        refs=_references(task.job, j, counts, given),
        passes_between_refills=tuple(part.per_container / c if part.per_container and c else None for c in counts),
        undecided=(
            *_undecided(task, j, used, "" if need.mounts else need.open_because),
            *_maybe_too_tall(task, assigned, machine_index, j),
        ),
    )


def _maybe_too_tall(task: Task, assigned: Assignment, machine: int, j: int) -> tuple[Said, ...]:
    """Return for which later machines a part that stands on the board already may be too tall.

    A plan that is found takes no part for such a machine that is proved to be too tall.
    """
    part, placed, units = task.job.parts[j], assigned.balance.placed, assigned.stations.units
    here = placed[j, [u.machine == machine for u in units]].sum(axis=0) > 0
    out = []
    for later, profile in enumerate(task.line.machines[machine + 1 :], machine + 1):
        room = profile.board.top_clearance
        works = placed[:, [u.machine == later for u in units]].sum(axis=(0, 1)) > 0
        if room is not None and part.height.high > room and (here & works).any():
            out.append(say("planning.maybe too tall", machine=profile.name, room=room))
    return tuple(out)


def _undecided(task: Task, j: int, used: list[int], feeder: Said | str) -> tuple[Take | Said | str, ...]:
    """Return what is not proved of a part on the heads that place it, what stands against one that is proved anyway.

    *feeder* is why it is not proved that the machine has a feeder for the part.
    """
    out: list[Take | Said | str] = []
    for u in used:
        takes = task.reasons.get((j, u), ())
        out += takes
        if task.can[j, u] == 0 and not takes:
            out.append(say("planning.head undecided"))
    return tuple(dict.fromkeys([*out, feeder] if feeder else out))


def _references(
    job: Job, j: int, counts: tuple[int, ...], given: dict[tuple[int, int], int]
) -> tuple[tuple[str, ...], ...]:
    """Return the references that a feeder serves: in order, as many as it places; with circuits all of the part's."""
    part = job.parts[j]
    if not part.refs:
        return tuple(() for _ in counts)
    out: list[tuple[str, ...]] = []
    for p, count in enumerate(counts):
        if job.passes[p].circuits > 1:
            out.append(part.refs[p] if count else ())
            continue
        begun = given.get((j, p), 0)
        out.append(part.refs[p][begun : begun + count])
        given[j, p] = begun + count
    return tuple(out)
