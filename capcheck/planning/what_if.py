"""What would change a plan: one change at a time, and the seconds it brings."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from capcheck.machines import Line
from capcheck.model import Said, say
from capcheck.planning.candidate_changes import (
    Candidate,
    ChangeKind,
    Spare,
    by_hand,
    limits_raised,
    machine_more,
    mean_by_hand,
    more_places,
)
from capcheck.planning.job import Capabilities, Reasons
from capcheck.planning.plan_data import Plan, PlanSettings
from capcheck.planning.planner import mean_cycle, plan_line
from capcheck.planning.search import Deadline, lower_bound
from capcheck.planning.stations_of_line import Strictness, stations_of

_SETTINGS = PlanSettings()


class Change(Struct, frozen=True, kw_only=True):
    """One change and what it does.

    *machine* and *parts* are those that it is about, *passage* what is open of the boards passing a new machine.
    *seconds* is the planned cycle after it, *saves* what it brings (None where there was no full plan before). *solves*
    tells that everything has a place after the change and had not before; *fewer_left* how many part numbers fewer are
    not placed.
    """

    kind: ChangeKind
    what: Said
    machine: str = ""
    parts: tuple[str, ...] = ()
    passage: tuple[Said, ...] = ()
    seconds: float | None
    saves: float | None
    solves: bool
    fewer_left: int
    hand_seconds: float | None = None
    """Time by hand that the change costs for one panel or board, all passes, where the part states it."""
    hand_mean: float | None = None
    """The same for a pass, the mean as of the cycle: what people at the hand station must keep up with."""

    @property
    def order(self) -> tuple[bool, int, float, str, str, tuple[str, ...]]:
        """What changes are sorted by: what helps most first, then by what they are about."""
        seconds = math.inf if self.seconds is None else self.seconds
        return (not self.solves, -self.fewer_left, seconds, self.kind, self.machine, self.parts)


def what_if(
    plan: Plan,
    line: Line,
    can: Capabilities,
    *,
    reasons: Reasons | None = None,
    spare: Sequence[Spare] = (),
    settings: PlanSettings = _SETTINGS,
    most: int = 12,
    deadline: Deadline | None = None,
) -> tuple[Change, ...]:
    """Return single changes to a planned line, the one that helps most first.

    Tried are: a part by hand (those not placed, then those placed most often), all that is not placed, by hand, each
    machine of the line once more and each of *spare* as a machine more, a limit of a machine raised for the parts that
    it keeps off (*reasons* name the limits), the slots and tray places that are short, and a faster station where one
    that places nothing sets the cycle. The relaxation's bound puts them in order; the *most* best are planned in full,
    as far as the *deadline*, else the settings' time limit, allows.
    """
    end = deadline or Deadline.after(settings.time_limit)
    first = _weightiest(plan)
    candidates = [
        *by_hand(plan.job, line, can, first),
        *machine_more(plan.job, line, can, spare),
        *limits_raised(plan.job, line, can, reasons or {}, first),
        *more_places(plan.job, line, can, plan.shortage),
    ]
    before = mean_cycle(plan) if plan.feasible else math.inf
    left = len(plan.shortage.take_off) if plan.shortage else 0
    ranking = end.part(_RANKING)
    ranked = sorted(enumerate(candidates), key=lambda c: (*_promise(c[1], settings, ranking), c[0]))
    changes = [*_all_by_hand(plan), *_faster_station(plan)]
    for number, (_, candidate) in enumerate(ranked[:most]):
        if end.passed:
            break
        share = end.part(1 / (min(most, len(ranked)) - number))
        changes.append(_tried(candidate, before, left, settings, share))
    worth = max(_NOTHING, _WORTH * before) if math.isfinite(before) else _NOTHING
    useful = [c for c in changes if c.solves or c.fewer_left > 0 or (c.saves or 0.0) > worth]
    return tuple(sorted(useful, key=lambda c: c.order))


_NOTHING = 1e-6
_WORTH = 0.005
"""Share of the cycle that a change must save to be told."""
_PARTS = 25
"""Parts that are looked at: with hundreds of them, each bound costs a tenth of a second."""
_RANKING = 0.4
"""Share of the time in which to put the changes in order."""


def _all_by_hand(plan: Plan) -> list[Change]:
    """Return what placing all that is not placed, by hand brings: the rest is planned already."""
    if plan.shortage is None or len(plan.shortage.take_off) <= 1:
        return []
    counts = dict(plan.shortage.take_off)
    each = {p.name: p.hand_seconds for p in plan.job.parts if p.name in counts}
    known = [s * counts[name] for name, s in each.items() if s is not None]
    cycle = mean_cycle(plan)
    timed = math.isfinite(cycle) and not any(s.by_count for s in plan.set_ups)
    hand = sum(known) if len(known) == len(counts) else None
    named = np.array([p.name in counts for p in plan.job.parts])
    return [
        Change(
            kind=ChangeKind.BY_HAND,
            what=say("planning.all by hand", placements=sum(counts.values()), parts=list(counts)),
            parts=tuple(counts),
            seconds=cycle if timed else None,
            saves=None,
            solves=bool(plan.set_ups),
            fewer_left=len(counts),
            hand_seconds=hand,
            hand_mean=mean_by_hand(hand, plan.job.counts()[named].sum(axis=0), plan.job),
        )
    ]


def _faster_station(plan: Plan) -> list[Change]:
    """Return what a faster station brings where one that places nothing sets the cycle."""
    before = mean_cycle(plan)
    if not math.isfinite(before):
        return []
    weights = plan.job.weights()
    out = []
    others = {s.name for set_up in plan.set_ups for f in set_up.figures for s in f.stations if not s.places}
    for name in sorted(others):
        after, least = 0.0, 0.0
        for set_up in plan.set_ups:
            for p, figures in zip(set_up.passes, set_up.figures, strict=True):
                rest = max(s.planned for s in figures.stations if s.name != name)
                after += weights[p] * min(rest, figures.planned)
                least = max(least, rest) if figures.bottleneck == name else least
        if after < before - _NOTHING:
            out.append(
                Change(
                    kind=ChangeKind.STATION_FASTER,
                    what=say("planning.station faster", station=name, seconds=least),
                    machine=name,
                    seconds=after,
                    saves=before - after,
                    solves=False,
                    fewer_left=0,
                )
            )
    return out


def _weightiest(plan: Plan) -> list[int]:
    """Return the parts that matter most: those not placed, then those with the most placements."""
    left = {name for name, _ in plan.shortage.take_off} if plan.shortage else set()
    counts = plan.job.counts() @ np.array(plan.job.weights())
    order = sorted(range(len(counts)), key=lambda j: (plan.job.parts[j].name not in left, -float(counts[j]), j))
    return order[:_PARTS]


def _promise(candidate: Candidate, settings: PlanSettings, ranking: Deadline) -> tuple[int, float]:
    """Return how many parts have no machine after the change, and a bound of the cycle."""
    stations, _ = stations_of(
        candidate.job, candidate.line, candidate.can, strictness=Strictness.ALL_OPEN, split=settings.split
    )
    nowhere = stations.nowhere()
    if nowhere or ranking.passed:
        return len(nowhere), math.inf
    return 0, lower_bound(stations, time_limit=ranking.seconds(at_most=1.0))


def _tried(candidate: Candidate, before: float, left: int, settings: PlanSettings, deadline: Deadline) -> Change:
    quick = replace(settings, thorough=False)
    plan = plan_line(candidate.job, candidate.line, candidate.can, settings=quick, deadline=deadline)
    after = mean_cycle(plan)
    timed = math.isfinite(after) and not any(s.by_count for s in plan.set_ups)
    still = len(plan.shortage.take_off) if plan.shortage else 0
    return Change(
        kind=candidate.kind,
        what=candidate.what,
        machine=candidate.machine,
        parts=candidate.parts,
        passage=candidate.passage,
        seconds=after if timed else None,
        saves=before - after if math.isfinite(before) and plan.feasible and timed else None,
        solves=left > 0 and plan.feasible and math.isfinite(after),
        fewer_left=left - still,
        hand_seconds=candidate.hand_seconds,
        hand_mean=candidate.hand_mean,
    )
