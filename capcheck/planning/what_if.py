"""What would change a plan: one change at a time, and the seconds it brings."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from capcheck.machines.line import Line
from capcheck.machines.profile import MachineProfile
from capcheck.planning.balance import lower_bound
from capcheck.planning.deadline import Deadline
from capcheck.planning.job import Job
from capcheck.planning.plan import Plan, PlanSettings
from capcheck.planning.planner import mean_cycle, plan_line
from capcheck.planning.reading import Capabilities, Reading, stations_of

_SETTINGS = PlanSettings()


class Change(Struct, frozen=True):
    """One change and what it does.

    *kind* is ``by hand``, ``machine more`` or ``limit raised``; *seconds* the planned cycle after it, *saves* what it
    brings (None where there was no full plan before). *solves* tells that everything has a place after the change
    and had not before; *fewer_left* how many part numbers fewer are left over.
    """

    kind: str
    what: str
    seconds: float | None
    saves: float | None
    solves: bool
    fewer_left: int
    hand_seconds: float | None = None
    """Time by hand that the change costs per board, where the part states it."""


class _Candidate(Struct, frozen=True):
    kind: str
    what: str
    job: Job
    line: Line
    can: Capabilities
    hand_seconds: float | None = None


def what_if(
    plan: Plan,
    line: Line,
    can: Capabilities,
    *,
    spare: Sequence[tuple[MachineProfile, Capabilities]] = (),
    settings: PlanSettings = _SETTINGS,
    most: int = 12,
    deadline: Deadline | None = None,
) -> tuple[Change, ...]:
    """Return single changes to a planned line, the one that helps most first.

    Tried are: a part by hand (those left over, then those placed most often), each machine of the line once more and
    each of *spare* (profile and its heads' capabilities) as a machine more, and a machine made able to take a part
    that it does not take. The relaxation's bound puts them in order; the *most* best are planned in full, as far as
    the *deadline*, else the settings' time limit, allows.
    """
    end = deadline or Deadline.after(settings.time_limit)
    first = _weightiest(plan)
    candidates = [
        *_by_hand(plan.job, line, can, first),
        *_machine_more(plan.job, line, can, spare),
        *_limit_raised(plan.job, line, can, first),
    ]
    before = mean_cycle(plan) if plan.feasible else math.inf
    left = len(plan.shortage.take_off) if plan.shortage else 0
    ranking = end.part(_RANKING)
    ranked = sorted(enumerate(candidates), key=lambda c: (*_promise(c[1], settings, ranking), c[0]))
    changes = []
    for number, (_, candidate) in enumerate(ranked[:most]):
        if end.passed:
            break
        share = end.part(1 / (min(most, len(ranked)) - number))
        changes.append(_tried(candidate, before, left, settings, share))
    useful = [c for c in changes if c.solves or c.fewer_left > 0 or (c.saves or 0.0) > _NOTHING]
    return tuple(
        sorted(
            useful,
            key=lambda c: (not c.solves, -c.fewer_left, math.inf if c.seconds is None else c.seconds, c.kind, c.what),
        )
    )


_NOTHING = 1e-6
_PARTS = 25
"""Parts that are looked at: with hundreds of them, each bound costs a tenth of a second."""
_RANKING = 0.4
"""Share of the time in which to put the changes in order."""


def _weightiest(plan: Plan) -> list[int]:
    """Return the parts that matter most: those left over, then those with the most placements."""
    left = {name for name, _ in plan.shortage.take_off} if plan.shortage else set()
    counts = plan.job.counts() @ np.array(plan.job.weights())
    order = sorted(range(len(counts)), key=lambda j: (plan.job.parts[j].name not in left, -float(counts[j]), j))
    return order[:_PARTS]


def _promise(candidate: _Candidate, settings: PlanSettings, ranking: Deadline) -> tuple[int, float]:
    """Return how many parts have no machine after the change, and a bound of the cycle."""
    stations, _ = stations_of(candidate.job, candidate.line, candidate.can, reading=Reading.OPEN, split=settings.split)
    nowhere = stations.nowhere()
    if nowhere or ranking.passed:
        return len(nowhere), math.inf
    return 0, lower_bound(stations, time_limit=ranking.seconds(at_most=1.0))


def _tried(candidate: _Candidate, before: float, left: int, settings: PlanSettings, deadline: Deadline) -> Change:
    plan = plan_line(candidate.job, candidate.line, candidate.can, settings=settings, deadline=deadline)
    after = mean_cycle(plan)
    timed = math.isfinite(after) and not any(s.by_count for s in plan.set_ups)
    still = len(plan.shortage.take_off) if plan.shortage else 0
    saves = before - after if math.isfinite(before) and plan.feasible and timed else None
    solves = left > 0 and plan.feasible and math.isfinite(after)
    return Change(
        candidate.kind, candidate.what, after if timed else None, saves, solves, left - still, candidate.hand_seconds
    )


def _by_hand(job: Job, line: Line, can: Capabilities, first: list[int]) -> list[_Candidate]:
    out = []
    for j in first:
        part = job.parts[j]
        others = [k for k in range(len(job.parts)) if k != j]
        if not all(any(job.parts[k].counts[p] for k in others) for p in range(len(job.passes))):
            continue
        rest = replace(job, parts=tuple(job.parts[k] for k in others))
        hand = None if part.hand_seconds is None else part.hand_seconds * sum(part.counts)
        what = f"{part.name} by hand ({sum(part.counts)} per board)"
        out.append(_Candidate("by hand", what, rest, line, can[others], hand))
    return out


def _machine_more(
    job: Job, line: Line, can: Capabilities, spare: Sequence[tuple[MachineProfile, Capabilities]]
) -> list[_Candidate]:
    out = []
    begun = 0
    own: list[tuple[MachineProfile, Capabilities]] = []
    for machine in line.machines:
        own.append((machine, can[:, begun : begun + len(machine.head)]))
        begun += len(machine.head)
    for profile, its in [*own, *spare]:
        taken = {m.name for m in line.machines}
        name = next(n for n in (profile.name, *(f"{profile.name} #{k}" for k in range(2, 99))) if n not in taken)
        longer = replace(line, machines=(*line.machines, profile.model_copy(update={"name": name})))
        out.append(_Candidate("machine more", f"{name} added", job, longer, np.concatenate([can, its], axis=1)))
    return out


def _limit_raised(job: Job, line: Line, can: Capabilities, first: list[int]) -> list[_Candidate]:
    out = []
    begun = 0
    for machine in line.machines:
        heads = slice(begun, begun + len(machine.head))
        begun += len(machine.head)
        for j in first:
            if (can[j, heads] < 0).all():
                raised = can.copy()
                raised[j, heads] = 1
                out.append(
                    _Candidate(
                        "limit raised", f"{machine.name} made able to take {job.parts[j].name}", job, line, raised
                    )
                )
    return out
