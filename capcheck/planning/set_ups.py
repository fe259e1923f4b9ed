"""From an assignment's numbers to a set-up: feeders with their slots and references, places taken, times."""

from __future__ import annotations

import numpy as np
from msgspec.structs import replace

from capcheck.engine import Take
from capcheck.model import Ints, Said, say
from capcheck.planning.assignment import Assignment, Task
from capcheck.planning.job import Job
from capcheck.planning.plan_data import Feeder, SetUp
from capcheck.planning.stations_of_line import pools_of
from capcheck.planning.times import (
    HeadLoad,
    HeadTimes,
    MachineTime,
    Occupied,
    PassFigures,
    StationTime,
    machine_time,
    occupied,
    pass_figures,
    places_at,
    size_of,
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
        second_cycle=tuple((found.cycle if assigned.second_cycle is None else assigned.second_cycle).tolist()),
        feeders_needed=assigned.feeders_needed,
        begun_at=found.begun_at,
    )


def _figures(task: Task, times: tuple[MachineTime, ...], p: int, takt: float | None) -> PassFigures:
    stations = [StationTime(t.machine, t.planned, t.seconds, places=True) for t in times]
    name = task.job.passes[p].name
    return pass_figures(name, stations, task.line, sum(t.placements for t in times), takt)


def times_of(task: Task, assigned: Assignment, p: int) -> tuple[MachineTime, ...]:
    """Return the times of the machines, in order, for one pass of the task."""
    job, heads, stations = task.job, assigned.heads, assigned.stations
    tray = np.array([part.supply == "tray" for part in job.parts])
    changes, most = stations.changes(assigned.balance.placed), stations.most_changes(assigned.balance.placed)
    placed = stations.by_head(assigned.balance.placed)
    out = []
    for m, machine in enumerate(task.line.machines):
        loads = []
        for u in (u for u, owner in enumerate(heads.machine_of) if owner == m):
            parts = int(placed[:, u, p].sum())
            size = heads.times[u].per_trip
            trips = -(-parts // size) if size else 0
            trays = int(placed[tray, u, p].sum())
            loads.append(
                HeadLoad(
                    heads.times[u],
                    parts,
                    trips,
                    trays,
                    int(changes[u, p]),
                    int(most[u, p]),
                    by_size=_by_size(job, heads.times[u], placed[:, u, p], fast=False),
                    by_size_fast=_by_size(job, heads.times[u], placed[:, u, p], fast=True),
                )
            )
        out.append(machine_time(machine, job.passes[p], loads))
    return tuple(out)


def _by_size(job: Job, times: HeadTimes, placed: Ints, *, fast: bool) -> tuple[int, ...]:
    """Return how many of the parts placed by a head count as lying in each of its ranges."""
    found = [0] * len(times.sizes)
    for part, count in zip(job.parts, placed.tolist(), strict=True) if times.sizes else ():
        at = size_of(part.length, times.sizes, fast=fast)
        if at is not None:
            found[at] += count
    return tuple(found)


def _units_of(assigned: Assignment, stand: int) -> list[int]:
    return [u for u, s in enumerate(assigned.stations.stand_of) if s == stand]


def _stocked(assigned: Assignment, stand: int) -> list[int]:
    """Return the types that have a feeder at a stand, most placements first."""
    totals = assigned.balance.placed[:, _units_of(assigned, stand)].sum(axis=(1, 2))
    return sorted((int(j) for j in np.flatnonzero(totals)), key=lambda j: (-int(totals[j]), j))


def _at(assigned: Assignment, pool: int) -> list[tuple[int, int]]:
    """Return the feeders that stand in a pool of slots, as stand and type, stands in order."""
    stands = assigned.stations.stands
    return [(s, j) for s, (_, own, _) in enumerate(stands) if own == pool for j in _stocked(assigned, s)]


def _occupied(task: Task, assigned: Assignment) -> tuple[Occupied, ...]:
    out = []
    for number, pool in enumerate(pools_of(task.line)):
        machine = task.line.machines[pool.machine]
        here = [task.job.parts[j] for _, j in _at(assigned, number)]
        if here or not pool.at.only_trays:
            out.append(occupied(machine.name, pool.at.feeders_of(machine), here, pool.at.name))
    return tuple(out)


def _feeders(task: Task, assigned: Assignment) -> tuple[Feeder, ...]:
    out: list[Feeder] = []
    given: dict[tuple[int, int], int] = {}
    for number, pool in enumerate(pools_of(task.line)):
        here, at = _at(assigned, number), pool.at
        covered = at.tray_slots if any(assigned.stations.trays[j, number] for _, j in here) else 0
        next_slot: float | None = None
        if at.slots is not None:
            next_slot = float(at.first_slot + (covered if at.covers_first else 0))
        behind = at.first_slot + (at.slots or 0) - (0 if at.covers_first or not at.shared else covered)
        for stand, j in here:
            feeder = _feeder(task, assigned, stand, j, given=given)
            if feeder.slots.high > 0 and next_slot is not None:
                # Room is left for the widest feeder that it may be; one that has none leaves the next ones open.
                after = next_slot + feeder.slots.high
                feeder, next_slot = (replace(feeder, slot=next_slot), after) if after <= behind else (feeder, None)
            out.append(feeder)
    return tuple(out)


def _feeder(task: Task, assigned: Assignment, stand: int, j: int, *, given: dict[tuple[int, int], int]) -> Feeder:
    machine_index, number, _ = assigned.stations.stands[stand]
    machine, at = task.line.machines[machine_index], pools_of(task.line)[number].at
    part, placed = task.job.parts[j], assigned.balance.placed
    need = places_at(part, machine, at)
    units = _units_of(assigned, stand)
    used = [u for u in units if placed[j, u].sum()]
    heads = [assigned.stations.units[u].head or 0 for u in used]
    gantries = {assigned.stations.units[u].gantry for u in used}
    counts = tuple(int(n) for n in placed[j, units].sum(axis=0))
    return Feeder(
        machine=machine.name,
        bank=at.name,
        gantry=gantries.pop() if len(gantries) == 1 else None,
        heads=tuple(assigned.heads.heads[head].name for head in heads),
        part=part.name,
        supply=part.supply,
        tape_width=part.tape_width,
        tape_pitch=part.tape_pitch,
        slots=need.slots,
        slot=None,
        counts=counts,
        refs=_references(task.job, j, counts, given),
        passes_between_refills=tuple(map(part.passes_of_container, counts)),
        undecided=(
            *_undecided(task, j, heads, "" if need.mounts else need.open_because),
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
        room = profile.room_above
        works = placed[:, [u.machine == later for u in units]].sum(axis=(0, 1)) > 0
        if room is not None and part.height.high > room.low and (here & works).any():
            out.append(say("planning.maybe too tall", machine=profile.name, room=room.low))
    return tuple(out)


def _undecided(task: Task, j: int, heads: list[int], feeder: Said | str) -> tuple[Take | Said | str, ...]:
    """Return what is not proved of a part on the heads that place it, what stands against one that is proved anyway.

    *feeder* is why it is not proved that the machine has a feeder for the part.
    """
    out: list[Take | Said | str] = []
    for head in heads:
        takes = task.reasons.get((j, head), ())
        out += takes
        if task.can[j, head] == 0 and not takes:
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
