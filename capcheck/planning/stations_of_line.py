"""A job on a line as numbers for the assignment, more or less strict about what is undecided."""

from __future__ import annotations

import enum
import math

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from capcheck.machines import Head, Line, MachineProfile
from capcheck.model import Flags, Floats
from capcheck.planning.job import Capabilities, Job
from capcheck.planning.search import Stations, Unit
from capcheck.planning.times import HeadTimes, Places, TimeBasis, fixed_times, head_times, lanes_hide_transfer, places
from capcheck.values import InputError, Interval


class Strictness(enum.StrEnum):
    """How undecided facts are taken, strictest first. The value is the phrase that reports use."""

    PROVED = "only what is proved"
    PROVED_FIRST = "what is proved; undecided only for parts that no machine is proved to take, on the most able heads"
    OPEN = "undecided counted as possible"
    OPEN_NARROW = "undecided counted as possible, unknown tapes at the fewest slots"


class LineHeads(Struct, frozen=True):
    """The heads of a line in order: machine index, profile and times of each."""

    machine_of: tuple[int, ...]
    heads: tuple[Head, ...]
    times: tuple[HeadTimes, ...]

    @property
    def untimed(self) -> bool:
        """Whether some head has neither times nor a rated speed."""
        return any(t.basis is TimeBasis.UNKNOWN for t in self.times)


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
    return each, above


def _taken(value: Interval, strictness: Strictness) -> float:
    if strictness is Strictness.OPEN_NARROW or (strictness is not Strictness.PROVED and math.isinf(value.high)):
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
    needs = [[places(part, m.feeders) for m in machines] for part in job.parts]
    slots, trays = _place_arrays(needs, machines, strictness)
    fits = np.isfinite(slots)
    allowed = _allowed(job, can, needs, heads, strictness)
    each = np.where(allowed & fits[:, list(heads.machine_of)], each, np.nan)
    fixed, hidden = _fixed(job, machines, by_count=by_count)
    kinds = sorted({p.nozzle for p in job.parts if p.nozzle is not None})
    stations = Stations(
        counts=job.counts(),
        weights=np.array(job.weights()),
        units=tuple(
            _unit(m, h, t, by_count=by_count)
            for m, h, t in zip(heads.machine_of, heads.heads, heads.times, strict=True)
        ),
        seconds=each,
        on_board=above,
        fixed=fixed,
        hidden=hidden,
        slots=np.where(fits, slots, 0.0),
        slots_there=np.array([_there(m.feeders.slots) for m in machines]),
        trays=trays,
        trays_there=np.array([_there(m.feeders.tray_places) for m in machines]),
        tray_unit=np.array([float(m.feeders.tray_slots or 0) for m in machines]),
        kind=np.array([-1 if p.nozzle is None else kinds.index(p.nozzle) for p in job.parts], dtype=np.int64),
        split=split,
        in_the_way=_in_the_way(job, machines, strictness),
    )
    return stations, heads


def _allowed(job: Job, can: Capabilities, needs: list[list[Places]], heads: LineHeads, strictness: Strictness) -> Flags:
    """Return which heads may place which part: a head that takes it, on a machine with a feeder or tray for it."""
    if strictness in {Strictness.OPEN, Strictness.OPEN_NARROW}:
        return _open(can, heads)
    mounts = np.array([[n.mounts for n in row] for row in needs], dtype=np.bool_).reshape(len(needs), -1)
    sure: Flags = np.asarray((can > 0) & mounts[:, list(heads.machine_of)])
    if strictness is Strictness.PROVED:
        return sure
    allowed = sure.copy()
    takes = np.asarray((can > 0).any(axis=1))
    allowed[~sure.any(axis=1) & takes] = (can > 0)[~sure.any(axis=1) & takes]
    able = _by_ability(heads)
    # Few open parts go where most is possible; if much were open, that one head would only be a bottleneck.
    placements = job.counts().sum(axis=1)
    left = _FEW_OPEN * placements.sum()
    for j in sorted(np.flatnonzero(~takes).tolist(), key=lambda k: (placements[k], k)):
        may = can[j] >= 0
        left -= placements[j]
        allowed[j] = may & (able == able[may].max()) if left >= 0 and may.any() else may
    return allowed


def _open(can: Capabilities, heads: LineHeads) -> Flags:
    """Return which heads may place which part, undecided ones too, but none beside a proved one of its machine.

    A feeder takes as many slots for either head, so that the proved one makes no place short.
    """
    machine_of = np.array(heads.machine_of)
    allowed: Flags = np.asarray(can >= 0)
    for machine in set(heads.machine_of):
        here = machine_of == machine
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


def _place_arrays(
    needs: list[list[Places]], machines: tuple[MachineProfile, ...], strictness: Strictness
) -> tuple[Floats, Floats]:
    shape = (len(needs), len(machines))
    slots = np.array([[_taken(n.slots, strictness) for n in row] for row in needs], dtype=np.float64).reshape(shape)
    trays = np.array([[_taken(n.trays, strictness) for n in row] for row in needs], dtype=np.float64).reshape(shape)
    for m, machine in enumerate(machines):
        if machine.feeders.slots is None:
            # Without a number of slots there is no limit to count against; the plan says so.
            slots[:, m] = 0.0
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
                fixed[m, p], hidden[m, p] = times.fiducials.total, times.transfer.total
            else:
                fixed[m, p] = times.fiducials.total + times.transfer.total
    return fixed, hidden


def _in_the_way(
    job: Job, machines: tuple[MachineProfile, ...], strictness: Strictness
) -> tuple[tuple[int, int, int], ...]:
    """Return which parts, placed on a machine, are too tall for what a later machine carries over the board."""
    out: list[tuple[int, int, int]] = []
    for later, machine in enumerate(machines):
        clearance = machine.board.top_clearance
        if clearance is None or later == 0:
            continue
        for j, part in enumerate(job.parts):
            if _taken(part.height, strictness) > clearance:
                out.extend((j, m, later) for m in range(later))
    return tuple(out)
