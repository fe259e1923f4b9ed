"""From an assignment's numbers to a set-up: feeders with their slots and references, places taken, times."""

from __future__ import annotations

import numpy as np
from msgspec.structs import replace

from capcheck.planning.assignment import Answer, Question
from capcheck.planning.job import Job, PartDemand
from capcheck.planning.results import Feeder, SetUp
from capcheck.planning.times import (
    HeadLoad,
    MachineTime,
    Occupied,
    PassFigures,
    StationTime,
    boards_between_refills,
    machine_time,
    occupied,
    pass_figures,
    places,
)


def set_up_of(question: Question, answer: Answer, passes: tuple[int, ...], takt: float | None) -> SetUp:
    """Return the set-up that an assignment stands for.

    *passes* are the indices of the question's passes in the whole job; *takt* is in seconds, None without a demand.
    """
    job, found = question.job, answer.balance
    times = tuple(_times(question, answer, p) for p in range(len(job.passes)))
    name = job.passes[0].name if len(job.passes) == 1 else "common set-up"
    return SetUp(
        name,
        passes,
        str(answer.reading),
        _feeders(question, answer),
        _occupied(question, answer),
        times,
        tuple(_figures(question, t, p, takt) for p, t in enumerate(times)),
        found.status,
        found.objective,
        found.bound,
        found.gap,
        found.elapsed,
        answer.heads.untimed,
        job.weights(),
    )


def _figures(question: Question, times: tuple[MachineTime, ...], p: int, takt: float | None) -> PassFigures:
    stations = [StationTime(t.machine, t.planned, t.seconds, places=True) for t in times]
    name = question.job.passes[p].name
    return pass_figures(name, stations, question.line, sum(t.placements for t in times), takt)


def _times(question: Question, answer: Answer, p: int) -> tuple[MachineTime, ...]:
    job, heads, placed = question.job, answer.heads, answer.balance.placed
    tray = np.array([part.supply == "tray" for part in job.parts])
    changes, most = answer.stations.changes(placed), answer.stations.most_changes(placed)
    out = []
    for m, machine in enumerate(question.line.machines):
        loads = []
        for u in (u for u, owner in enumerate(heads.machine_of) if owner == m):
            parts = int(placed[:, u, p].sum())
            size = heads.times[u].per_trip
            trips = -(-parts // size) if size else 0
            trays = int(placed[tray, u, p].sum())
            loads.append(HeadLoad(heads.times[u], parts, trips, trays, int(changes[u, p]), int(most[u, p])))
        out.append(machine_time(machine, job.passes[p], loads))
    return tuple(out)


def _units_of_site(answer: Answer, site: int) -> list[int]:
    return [u for u, s in enumerate(answer.stations.site_of) if s == site]


def _stocked(answer: Answer, site: int) -> list[int]:
    """Return the types that have a feeder at a site, most placements first."""
    totals = answer.balance.placed[:, _units_of_site(answer, site)].sum(axis=(1, 2))
    return sorted((int(j) for j in np.flatnonzero(totals)), key=lambda j: (-int(totals[j]), j))


def _occupied(question: Question, answer: Answer) -> tuple[Occupied, ...]:
    out = []
    for m, machine in enumerate(question.line.machines):
        here: list[PartDemand] = []
        for s, (owner, _) in enumerate(answer.stations.sites):
            if owner == m:
                here += [question.job.parts[j] for j in _stocked(answer, s)]
        out.append(occupied(machine.name, machine.feeders, here))
    return tuple(out)


def _feeders(question: Question, answer: Answer) -> tuple[Feeder, ...]:
    out: list[Feeder] = []
    given: dict[tuple[int, int], int] = {}
    for m, machine in enumerate(question.line.machines):
        next_slot: float | None = None if machine.feeders.slots is None else 1.0
        for site, (owner, _) in enumerate(answer.stations.sites):
            if owner != m:
                continue
            for j in _stocked(answer, site):
                feeder = _feeder(question, answer, site, j, given=given)
                if feeder.slots.high > 0 and next_slot is not None:
                    # Room is left for the widest feeder that it may be; one that has none leaves the next ones open.
                    after = next_slot + feeder.slots.high
                    fits = after - 1 <= (machine.feeders.slots or 0)
                    feeder, next_slot = (replace(feeder, slot=next_slot), after) if fits else (feeder, None)
                out.append(feeder)
    return tuple(out)


def _feeder(question: Question, answer: Answer, site: int, j: int, *, given: dict[tuple[int, int], int]) -> Feeder:
    machine_index, gantry = answer.stations.sites[site]
    machine = question.line.machines[machine_index]
    part, placed = question.job.parts[j], answer.balance.placed
    need = places(part, machine.feeders)
    units = _units_of_site(answer, site)
    used = [u for u in units if placed[j, u].sum()]
    counts = tuple(int(n) for n in placed[j, units].sum(axis=0))
    undecided = _undecided(question, j, used)
    if need.open_because and not need.mounts:
        undecided = (*undecided, need.open_because)
    return Feeder(
        machine.name,
        gantry,
        tuple(answer.heads.heads[u].name for u in used),
        part.name,
        part.supply,
        part.tape_width,
        part.tape_pitch,
        need.slots,
        None,
        counts,
        _references(question.job, j, counts, given),
        _refills(part, counts),
        undecided,
    )


def _undecided(question: Question, j: int, used: list[int]) -> tuple[str, ...]:
    """Return what is not proved of a part on the heads that place it, and what stands against one that is proved."""
    out: list[str] = []
    for u in used:
        out += question.reasons.get((j, u), ())
        if question.can[j, u] == 0 and not question.reasons.get((j, u)):
            out.append("it is undecided whether the head takes the part")
    return tuple(dict.fromkeys(out))


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


def _refills(part: PartDemand, counts: tuple[int, ...]) -> tuple[float | None, ...]:
    return tuple(
        None if part.per_container is None or not c else boards_between_refills(part.per_container, c) for c in counts
    )
