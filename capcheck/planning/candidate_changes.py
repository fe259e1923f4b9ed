"""Single changes to a line that may help it: what each is, as the job, line and capabilities that it would make."""

from __future__ import annotations

import enum
import math
from collections.abc import Iterator, Mapping, Sequence
from typing import TypeVar

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from capcheck.engine import Take
from capcheck.machines import TRAY_UNIT, Bank, Feeders, Line, MachineProfile
from capcheck.model import Ints, Said, say
from capcheck.planning.job import Capabilities, Job, Reasons
from capcheck.planning.plan_data import Shortage
from capcheck.planning.times import floor_of, place_name

_Places = TypeVar("_Places", Feeders, Bank)


class ChangeKind(enum.StrEnum):
    """What is changed. The value is the name that reports use."""

    BY_HAND = "by hand"
    MACHINE_MORE = "machine more"
    LIMIT_RAISED = "limit raised"
    STATION_FASTER = "station faster"


class Spare(Struct, frozen=True):
    """A machine that could join the line: what its heads can place, and what is open of the boards passing it."""

    machine: MachineProfile
    can: Capabilities
    passage: tuple[Said, ...] = ()


class Candidate(Struct, frozen=True, kw_only=True):
    """A change that is worth planning: its kind, what it is, and what would then be planned.

    *machine* and *parts* are those that it is about; *passage* is what is open of the boards passing a new machine.
    """

    kind: ChangeKind
    what: Said
    machine: str = ""
    parts: tuple[str, ...] = ()
    passage: tuple[Said, ...] = ()
    job: Job
    line: Line
    can: Capabilities
    hand_seconds: float | None = None
    hand_mean: float | None = None
    """Seconds by hand of a pass, the mean of the passes as the cycle is."""


def by_hand(job: Job, line: Line, can: Capabilities, first: list[int]) -> Iterator[Candidate]:
    """Yield each of the parts *first* placed by hand, unless a board would then be without parts."""
    counts = job.counts()
    for j in first:
        part = job.parts[j]
        others = [k for k in range(len(job.parts)) if k != j]
        if not all(any(job.parts[k].counts[p] for k in others) for p in range(len(job.passes))):
            continue
        placements = int(counts[j].sum())
        hand = None if part.hand_seconds is None else part.hand_seconds * placements
        yield Candidate(
            kind=ChangeKind.BY_HAND,
            what=say("planning.by hand", part=part.name, placements=placements, per=job.per),
            parts=(part.name,),
            job=replace(job, parts=tuple(job.parts[k] for k in others)),
            line=line,
            can=can[others],
            hand_seconds=hand,
            hand_mean=mean_by_hand(hand, counts[j], job),
        )


def mean_by_hand(hand: float | None, counts: Ints, job: Job) -> float | None:
    """Return the share of the seconds by hand that falls to a pass, by its *counts*; the mean as of the cycle."""
    return None if hand is None else hand * float(counts @ np.array(job.weights())) / float(counts.sum())


def machine_more(job: Job, line: Line, can: Capabilities, spare: Sequence[Spare]) -> Iterator[Candidate]:
    """Yield the line with each of its machines once more, behind itself, and with each spare one, as the floor allows.

    A spare machine stands before the first that leaves more room above the board, so that no tall part is in its way.
    One with the profile of a machine of the line is that machine once more.
    """
    for place, (machine, heads) in enumerate(_heads_of(line), 1):
        if _fits(line, machine) is not False:
            yield _added(job, line, can, Spare(machine, can[:, heads]), place)
    for more in spare:
        if _fits(line, more.machine) is False or more.machine in line.machines:
            continue
        room = room_above(more.machine)
        place = next((k for k, m in enumerate(line.machines) if room_above(m) > room), len(line.machines))
        yield _added(job, line, can, more, place)


def without_room(line: Line, machines: Sequence[MachineProfile]) -> list[Said]:
    """Return which of the machines that might be added the floor has no length for; nothing where all have it."""
    names = list(dict.fromkeys(m.name for m in machines if _fits(line, m) is False))
    floor = floor_of(line)
    if not names or floor.free_length_mm is None:
        return []
    left = max(0.0, floor.free_length_mm - (floor.length_mm or 0.0))
    return [say("planning.no floor", machines=names, known=floor.length_mm is not None, free=left)]


def _fits(line: Line, machine: MachineProfile) -> bool | None:
    """Whether a line with a machine more fits its floor; None where a length is not known, True where none is asked."""
    floor = floor_of(replace(line, machines=(*line.machines, machine)))
    return True if floor.free_length_mm is None else floor.fits


def room_above(machine: MachineProfile) -> float:
    """Return the room that a machine leaves above the board, mm; one that states none is taken to need none."""
    room = machine.room_above
    return math.inf if room is None else room.low


def _added(job: Job, line: Line, can: Capabilities, more: Spare, place: int) -> Candidate:
    """Return the line with a machine more at a place."""
    profile, taken = more.machine, {m.name for m in line.machines}
    name = next(n for n in (profile.name, *(f"{profile.name} #{k}" for k in range(2, 99))) if n not in taken)
    machines = list(line.machines)
    machines.insert(place, profile.model_copy(update={"name": name}))
    column = sum(len(m.head) for m in line.machines[:place])
    return Candidate(
        kind=ChangeKind.MACHINE_MORE,
        what=say("planning.machine added", machine=name),
        machine=name,
        passage=more.passage if _fits(line, profile) else (*more.passage, _open_length(line, profile)),
        job=job,
        line=replace(line, machines=tuple(machines)),
        can=np.insert(can, [column], more.can, axis=1),
    )


def _open_length(line: Line, machine: MachineProfile) -> Said:
    return say("planning.length open", machines=floor_of(replace(line, machines=(*line.machines, machine))).missing)


def limits_raised(job: Job, line: Line, can: Capabilities, reasons: Reasons, first: list[int]) -> Iterator[Candidate]:
    """Yield each machine with one of its limits raised for the parts *first* that this limit keeps off it.

    A part's limit is the first that stops it on the machine; what stops it besides is not looked at.
    """
    for machine, heads in _heads_of(line):
        kept_off: dict[str, list[tuple[int, Take | None]]] = {}
        for j in first:
            if (can[j, heads] < 0).all():
                stop = _first_stop(reasons, j, heads)
                kept_off.setdefault(stop.rule if stop else "", []).append((j, stop))
        for rule, parts in kept_off.items():
            raised = can.copy()
            for j, _ in parts:
                raised[j, heads] = 1
            named = [
                say("planning.part by margin", part=job.parts[j].name, margin=stop.margin)
                if stop is not None and stop.margin is not None
                else job.parts[j].name
                for j, stop in parts
            ]
            key = "planning.limit raised" if rule else "planning.made able"
            yield Candidate(
                kind=ChangeKind.LIMIT_RAISED,
                what=say(key, machine=machine.name, rule=rule, parts=named),
                machine=machine.name,
                parts=(rule, *(job.parts[j].name for j, _ in parts)),
                job=job,
                line=line,
                can=raised,
            )


def _first_stop(reasons: Reasons, j: int, heads: slice) -> Take | None:
    """Return what stops a part on the first of the heads that has a reason."""
    takes = (take for h in range(heads.start, heads.stop) for take in reasons.get((j, h), ()))
    return next((take for take in takes if take.state < 0 and take.rule), None)


def more_places(job: Job, line: Line, can: Capabilities, shortage: Shortage | None) -> Iterator[Candidate]:
    """Yield the line with the slots and tray places more that its shortage asks for, if it does."""
    if shortage is None or not (shortage.slots_short or shortage.trays_short):
        return
    slots, trays = dict(shortage.slots_short), dict(shortage.trays_short)
    machines: list[MachineProfile] = []
    said: list[Said] = []
    for m in line.machines:
        banks = tuple(_with_places(bank, place_name(m.name, bank.name), slots, trays, said) for bank in m.bank or ())
        feeders = _with_places(m.feeders, place_name(m.name, TRAY_UNIT if banks else ""), slots, trays, said)
        machines.append(m.model_copy(update={"feeders": feeders, "bank": banks or None}))
    yield Candidate(
        kind=ChangeKind.LIMIT_RAISED,
        what=say("planning.places more", places=said),
        job=job,
        line=replace(line, machines=tuple(machines)),
        can=can,
    )


def _with_places(
    has: _Places, name: str, slots: Mapping[str, float], trays: Mapping[str, float], said: list[Said]
) -> _Places:
    """Return a bank, or the feeders of a machine, with the places that are short; what that is joins *said*."""
    more = {}
    if name in slots and has.slots is not None:
        more["slots"] = has.slots + _whole(slots[name])
        said.append(say("planning.slots more", number=_whole(slots[name]), machine=name))
    if name in trays and has.tray_places is not None:
        more["tray_places"] = has.tray_places + _whole(trays[name])
        said.append(say("planning.tray places more", number=_whole(trays[name]), machine=name))
    return has.model_copy(update=more) if more else has


def _whole(number: float) -> int:
    return int(np.ceil(number - 1e-6))


def _heads_of(line: Line) -> list[tuple[MachineProfile, slice]]:
    out = []
    begun = 0
    for machine in line.machines:
        out.append((machine, slice(begun, begun + len(machine.head))))
        begun += len(machine.head)
    return out
