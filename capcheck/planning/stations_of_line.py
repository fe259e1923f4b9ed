"""A job on a line as numbers for the assignment, more or less strict about what is undecided."""

from __future__ import annotations

import enum
import math
from typing import Final

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from capcheck.machines import BankPlaces, Head, Line, MachineProfile, Packing, places_of
from capcheck.model import Flags, Floats, Ints
from capcheck.planning.job import Capabilities, Job
from capcheck.planning.search import Stations, Unit
from capcheck.planning.times import (
    HeadTimes,
    Places,
    TimeBasis,
    fixed_times,
    head_times,
    lanes_hide_transfer,
    places_at,
)
from capcheck.values import InputError, Interval


class Strictness(enum.StrEnum):
    """How undecided facts are taken, strictest first. The value is the phrase that reports use.

    Heights along the line count at their high end wherever the phrase does not say otherwise.
    """

    PROVED = "only what is proved"
    PROVED_FIRST = "what is proved; undecided only for parts that no machine is proved to take, on the most able heads"
    HEIGHTS_OPEN = "what is proved; undecided heads, and heights that nobody knows, only where nothing else is left"
    OPEN = "undecided counted as possible"
    OPEN_NARROW = "undecided counted as possible, unknown tapes at the fewest slots"
    ALL_OPEN = "undecided counted as possible, unknown tapes at the fewest slots, least heights under the highest heads"


class LineHeads(Struct, frozen=True):
    """The heads of a line in order: machine index, profile and times of each."""

    machine_of: tuple[int, ...]
    heads: tuple[Head, ...]
    times: tuple[HeadTimes, ...]

    @property
    def untimed(self) -> bool:
        """Whether some head has neither times nor a rated speed."""
        return any(t.basis is TimeBasis.UNKNOWN for t in self.times)


class Pool(Struct, frozen=True):
    """Where feeders of a line stand: a bank of the machine with this index, or all slots of a machine without banks."""

    machine: int
    at: BankPlaces


def pools_of(line: Line) -> tuple[Pool, ...]:
    """Return where feeders of a line may stand, machines in order; indices of *slots* in the assignment."""
    return tuple(Pool(m, at) for m, machine in enumerate(line.machines) for at in places_of(machine))


def line_heads(machines: tuple[MachineProfile, ...]) -> LineHeads:
    """Return the heads of a line's machines in order."""
    pairs = [(m, head) for m, machine in enumerate(machines) for head in machine.head]
    return LineHeads(
        machine_of=tuple(m for m, _ in pairs),
        heads=tuple(head for _, head in pairs),
        times=tuple(head_times(machines[m], head) for m, head in pairs),
    )


def checked_capabilities(job: Job, line: Line, can: Capabilities) -> Capabilities:
    """Return the capabilities, or raise :class:`InputError` where they do not fit the job and the line."""
    heads = sum(len(m.head) for m in line.machines)
    array = np.asarray(can)
    if array.shape != (len(job.parts), heads):
        raise InputError.at(
            job.file,
            f"capabilities have the shape {array.shape}, but there are {len(job.parts)} parts and {heads} heads",
            "each part needs a verdict for each head of the line",
        )
    return array.astype(np.int8)


def _units(heads: LineHeads, pools: tuple[Pool, ...], *, by_count: bool) -> tuple[Unit, ...]:
    """Return a unit for each head and each place for feeders that it reaches."""
    first = {m: heads.machine_of.index(m) for m in set(heads.machine_of)}
    return tuple(
        replace(_unit(m, heads.heads[k], heads.times[k], by_count=by_count), pool=number, shared=pool.at.shared, head=k)
        for k, m in enumerate(heads.machine_of)
        for number, pool in enumerate(pools)
        if pool.machine == m and k - first[m] in pool.at.heads
    )


def _unit(machine: int, head: Head, times: HeadTimes, *, by_count: bool) -> Unit:
    unit = Unit(machine, head.gantry, on_head=head.nozzles, held=head.nozzle_kinds)
    if by_count:
        return unit
    return replace(
        unit,
        per_trip=times.per_trip,
        trip=times.trip,
        trip_on_board=times.trip_over_board,
        change=times.change,
    )


def _seconds(job: Job, heads: LineHeads, *, by_count: bool) -> tuple[Floats, Floats]:
    tray = np.array([part.supply == "tray" for part in job.parts])
    each = np.empty((len(job.parts), len(heads.heads)))
    above = np.zeros_like(each)
    for k, times in enumerate(heads.times):
        each[:, k] = 1.0 if by_count else np.where(tray, times.each(from_tray=True), times.each())
        above[:, k] = 0.0 if by_count else times.over_board
        if times.sizes and not by_count:
            longer = np.array([times.longer(part.length) for part in job.parts])
            each[:, k] += longer[:, 0]
            above[:, k] += longer[:, 1]
    return each, above


_OPEN: Final = frozenset({Strictness.OPEN, Strictness.OPEN_NARROW, Strictness.ALL_OPEN})
"""Readings in which every head counts of which it is open whether it takes a part."""
_NARROW: Final = frozenset({Strictness.OPEN_NARROW, Strictness.ALL_OPEN})


def _taken(value: Interval, strictness: Strictness) -> float:
    if strictness in _NARROW or (strictness is not Strictness.PROVED and math.isinf(value.high)):
        return value.low
    return value.high


def _height(value: Interval, strictness: Strictness) -> float:
    if strictness is Strictness.ALL_OPEN or (strictness is Strictness.HEIGHTS_OPEN and math.isinf(value.high)):
        return value.low
    return value.high


def stations_of(
    job: Job, line: Line, can: Capabilities, *, strictness: Strictness, split: bool = True
) -> tuple[Stations, LineHeads]:
    """Return the assignment's numbers for a job on a line.

    Where some head has neither times nor a rated speed, placements are balanced by count: each takes one unit.
    """
    machines = line.machines
    heads = line_heads(machines)
    by_count = heads.untimed
    each, above = _seconds(job, heads, by_count=by_count)
    pools = pools_of(line)
    needs = _needs(job, machines, pools)
    slots, trays = _place_arrays(needs, pools, strictness)
    may = np.array([[n.may_stand for n in row] for row in needs], dtype=np.bool_).reshape(slots.shape)
    fits = np.isfinite(slots) & may
    units = _units(heads, pools, by_count=by_count)
    head_of, pool_of = [u.head or 0 for u in units], [u.pool or 0 for u in units]
    here = fits[:, pool_of]
    can = np.where(may[:, pool_of], can[:, head_of], np.int8(-1))
    allowed = _allowed(job, needs, units, strictness, can=can, able=_by_ability(heads)[head_of])
    each = np.where(allowed & here, each[:, head_of], np.nan)
    fixed, hidden = _fixed(job, machines, by_count=by_count)
    kinds = sorted({p.nozzle for p in job.parts if p.nozzle is not None})
    stations = Stations(
        counts=job.counts(),
        weights=np.array(job.weights()),
        units=units,
        seconds=each,
        on_board=above[:, head_of],
        fixed=fixed,
        hidden=hidden,
        slots=np.where(fits, slots, 0.0),
        slots_there=np.array([_there(pool.at.slots) for pool in pools]),
        trays=trays,
        trays_there=np.array([_there(pool.at.tray_places) for pool in pools]),
        tray_unit=np.array([float(pool.at.tray_slots) for pool in pools]),
        kind=np.array([-1 if p.nozzle is None else kinds.index(p.nozzle) for p in job.parts], dtype=np.int64),
        split=split,
        in_the_way=_in_the_way(job, machines, strictness),
    )
    return stations, heads


def _needs(job: Job, machines: tuple[MachineProfile, ...], pools: tuple[Pool, ...]) -> list[list[Places]]:
    """Return what a feeder of each part takes at each pool: the same for all parts that are packed alike."""
    known: dict[Packing, list[Places]] = {}
    out = []
    for part in job.parts:
        packing = part.packing
        if packing not in known:
            known[packing] = [places_at(part, machines[pool.machine], pool.at) for pool in pools]
        out.append(known[packing])
    return out


def _allowed(
    job: Job,
    needs: list[list[Places]],
    units: tuple[Unit, ...],
    strictness: Strictness,
    *,
    can: Capabilities,
    able: Floats,
) -> Flags:
    """Return which units may place which part: of a head that takes it, where there is a feeder or tray for it.

    *can* are capabilities and *able* the heads' abilities by unit.
    """
    pool_of = np.array([u.pool or 0 for u in units])
    mounts = np.array([[n.mounts for n in row] for row in needs], dtype=np.bool_).reshape(len(needs), -1)[:, pool_of]
    if strictness in _OPEN:
        return _open(can, pool_of)
    sure: Flags = np.asarray((can > 0) & mounts)
    if strictness is Strictness.PROVED:
        return sure
    allowed = sure.copy()
    takes = np.asarray((can > 0).any(axis=1))
    allowed[~sure.any(axis=1) & takes] = (can > 0)[~sure.any(axis=1) & takes]
    # Few open parts go where most is possible; if much were open, that one head would only be a bottleneck.
    placements = job.counts().sum(axis=1)
    left = _FEW_OPEN * placements.sum()
    for j in sorted(np.flatnonzero(~takes).tolist(), key=lambda k: (placements[k], k)):
        may = can[j] >= 0
        left -= placements[j]
        allowed[j] = may & (able == able[may].max()) if left >= 0 and may.any() else may
    return allowed


def _open(can: Capabilities, pool_of: Ints) -> Flags:
    """Return which units may place which part, undecided ones too, but none beside a proved one of its pool.

    A feeder takes as many slots for either head, so that the proved one makes no place short.
    """
    allowed: Flags = np.asarray(can >= 0)
    for pool in set(pool_of.tolist()):
        here = pool_of == pool
        proved: Flags = np.asarray((can[:, here] > 0).any(axis=1))
        allowed[:, here] &= (can[:, here] > 0) | ~proved[:, None]
    return allowed


_FEW_OPEN = 0.1
"""Share of the placements up to which parts that are open on every head go to the most able one."""


def _by_ability(heads: LineHeads) -> Floats:
    """Return for each head how able it is beside the others: the sum of its ranks by what limits parts."""
    limits = np.array(
        [
            [
                h.max_body_length or 0.0,
                h.max_part_height or 0.0,
                -(h.min_lead_pitch or math.inf),
                bool(h.recognises_balls),
            ]
            for h in heads.heads
        ]
    )
    return np.asarray([(limits < row).sum() for row in limits], dtype=np.float64)


def _there(places_there: int | None) -> float:
    return math.inf if places_there is None else float(places_there)


def _place_arrays(needs: list[list[Places]], pools: tuple[Pool, ...], strictness: Strictness) -> tuple[Floats, Floats]:
    shape = (len(needs), len(pools))
    slots = np.array([[_taken(n.slots, strictness) for n in row] for row in needs], dtype=np.float64).reshape(shape)
    trays = np.array([[_taken(n.trays, strictness) for n in row] for row in needs], dtype=np.float64).reshape(shape)
    for number, pool in enumerate(pools):
        if pool.at.slots is None:
            # Without a number of slots there is no limit to count against; the plan says so.
            slots[:, number] = 0.0
    return slots, trays


def _fixed(job: Job, machines: tuple[MachineProfile, ...], *, by_count: bool) -> tuple[Floats, Floats]:
    fixed = np.zeros((len(machines), len(job.passes)))
    hidden = np.zeros_like(fixed)
    if by_count:
        return fixed, hidden
    for m, machine in enumerate(machines):
        for p, board in enumerate(job.passes):
            times = fixed_times(machine, board)
            if lanes_hide_transfer(machine, board) is True:
                fixed[m, p], hidden[m, p] = times.on_machine, times.transfer.total
            else:
                fixed[m, p] = times.on_machine + times.transfer.total
    return fixed, hidden


def _in_the_way(
    job: Job, machines: tuple[MachineProfile, ...], strictness: Strictness
) -> tuple[tuple[int, int, int], ...]:
    """Return which parts, placed on a machine, are too tall for what a later machine carries over the board."""
    out: list[tuple[int, int, int]] = []
    for later, machine in enumerate(machines):
        clearance = machine.room_above
        if clearance is None or later == 0:
            continue
        # The plan does not say which of its heads a machine uses: what the highest would clear is not excluded.
        room = clearance.high if strictness is Strictness.ALL_OPEN else clearance.low
        for j, part in enumerate(job.parts):
            if _height(part.height, strictness) > room:
                out.extend((j, m, later) for m in range(later))
    return tuple(out)
