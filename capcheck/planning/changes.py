"""Single changes to a line that may help it: what each is, as the job, line and capabilities that it would make."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from capcheck.machines import Line, MachineProfile
from capcheck.model import Ints
from capcheck.planning.assignment import Reasons
from capcheck.planning.job import Job
from capcheck.planning.results import Shortage
from capcheck.planning.undecided_cases import Capabilities

_FEW = 4

_More = tuple[MachineProfile, Capabilities]
"""A machine more, with what its heads take."""


class Candidate(Struct, frozen=True):
    """A change that is worth planning: its kind, what it is in words, and what would then be planned."""

    kind: str
    what: str
    job: Job
    line: Line
    can: Capabilities
    hand_seconds: float | None = None
    hand_mean: float | None = None
    """Seconds by hand of a pass, the mean of the passes as the cycle is."""


def by_hand(job: Job, line: Line, can: Capabilities, first: list[int]) -> list[Candidate]:
    """Return each of the parts *first* placed by hand, unless a board would then be without parts."""
    out = []
    counts = job.counts()
    for j in first:
        part = job.parts[j]
        others = [k for k in range(len(job.parts)) if k != j]
        if not all(any(job.parts[k].counts[p] for k in others) for p in range(len(job.passes))):
            continue
        rest = replace(job, parts=tuple(job.parts[k] for k in others))
        placements = int(counts[j].sum())
        hand = None if part.hand_seconds is None else part.hand_seconds * placements
        what = f"{part.name} by hand ({placements} {job.per})"
        out.append(Candidate("by hand", what, rest, line, can[others], hand, _mean(hand, counts[j], job)))
    return out


def _mean(hand: float | None, counts: Ints, job: Job) -> float | None:
    """Return the share of the seconds by hand that falls to a pass, the mean as of the cycle."""
    return None if hand is None else hand * float(counts @ np.array(job.weights())) / float(counts.sum())


def machine_more(job: Job, line: Line, can: Capabilities, spare: Sequence[_More]) -> list[Candidate]:
    """Return the line with each of its machines once more, behind itself, and with each spare one.

    A spare machine stands before the first that leaves more room above the board, so that no tall part is in its way.
    """
    out = []
    for place, (machine, heads) in enumerate(_heads_of(line), 1):
        out.append(_added(job, line, can, (machine, can[:, heads]), place))
    for profile, its in spare:
        room = _room(profile)
        place = next((k for k, m in enumerate(line.machines) if _room(m) > room), len(line.machines))
        out.append(_added(job, line, can, (profile, its), place))
    return out


def _room(machine: MachineProfile) -> float:
    return math.inf if machine.board.top_clearance is None else machine.board.top_clearance


def _added(job: Job, line: Line, can: Capabilities, more: _More, place: int) -> Candidate:
    """Return the line with a machine more at a place."""
    profile, its = more
    taken = {m.name for m in line.machines}
    name = next(n for n in (profile.name, *(f"{profile.name} #{k}" for k in range(2, 99))) if n not in taken)
    machines = list(line.machines)
    machines.insert(place, profile.model_copy(update={"name": name}))
    column = sum(len(m.head) for m in line.machines[:place])
    longer = replace(line, machines=tuple(machines))
    return Candidate("machine more", f"{name} added", job, longer, np.insert(can, [column], its, axis=1))


def limits_raised(job: Job, line: Line, can: Capabilities, reasons: Reasons, first: list[int]) -> list[Candidate]:
    """Return each machine with one of its limits raised for the parts *first* that this limit keeps off it.

    A part's limit is the first that stops it on the machine; what stops it besides is not looked at.
    """
    out = []
    for machine, heads in _heads_of(line):
        kept_off: dict[str, list[tuple[int, str]]] = {}
        for j in first:
            if (can[j, heads] < 0).all():
                rule, margin = _first_reason(reasons, j, heads)
                kept_off.setdefault(rule, []).append((j, margin))
        for rule, parts in kept_off.items():
            raised = can.copy()
            for j, _ in parts:
                raised[j, heads] = 1
            named = [f"{job.parts[j].name} ({margin})" if margin else job.parts[j].name for j, margin in parts]
            more = f" and {len(named) - _FEW} more" if len(named) > _FEW else ""
            which = f"limit {rule} raised" if rule else "made able to take"
            what = f"{machine.name}: {which}{' for' if rule else ''} {', '.join(named[:_FEW])}{more}"
            out.append(Candidate("limit raised", what, job, line, raised))
    return out


def _first_reason(reasons: Reasons, j: int, heads: slice) -> tuple[str, str]:
    """Return the rule that stops a part on the first of the heads that has a reason, and by how much."""
    for h in range(heads.start, heads.stop):
        for text in reasons.get((j, h), ()):
            if text.startswith("no: "):
                rule, _, margin = text.removeprefix("no: ").partition(", ")
                return rule, margin
    return "", ""


def more_places(job: Job, line: Line, can: Capabilities, shortage: Shortage | None) -> list[Candidate]:
    """Return the line with the slots and tray places more that its shortage asks for."""
    if shortage is None or not (shortage.slots_short or shortage.trays_short):
        return []
    slots, trays = dict(shortage.slots_short), dict(shortage.trays_short)
    machines, words = [], []
    for m in line.machines:
        more = {}
        if m.name in slots and m.feeders.slots is not None:
            more["slots"] = m.feeders.slots + _whole(slots[m.name])
            words.append(f"{_whole(slots[m.name])} slots more on {m.name}")
        if m.name in trays and m.feeders.tray_places is not None:
            more["tray_places"] = m.feeders.tray_places + _whole(trays[m.name])
            words.append(f"{_whole(trays[m.name])} tray places more on {m.name}")
        machines.append(m.model_copy(update={"feeders": m.feeders.model_copy(update=more)}) if more else m)
    wider = replace(line, machines=tuple(machines))
    return [Candidate("limit raised", ", ".join(words), job, wider, can)]


def _whole(number: float) -> int:
    return int(np.ceil(number - 1e-6))


def _heads_of(line: Line) -> list[tuple[MachineProfile, slice]]:
    out = []
    begun = 0
    for machine in line.machines:
        out.append((machine, slice(begun, begun + len(machine.head))))
        begun += len(machine.head)
    return out
