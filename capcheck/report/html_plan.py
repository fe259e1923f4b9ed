"""The plan as the page shows it: load of each machine as bars, and the feeders."""

from __future__ import annotations

from msgspec import Struct

from capcheck.planning.plan import Plan, SetUp
from capcheck.refs import shortened


class LoadBar(Struct, frozen=True):
    """One machine in one pass: *share* is its time as a share of the slowest machine's, 0 to 1."""

    machine: str
    text: str
    share: float
    slowest: bool


class PassView(Struct, frozen=True):
    """One pass of a board: its name, the cycle in words and a bar for each machine."""

    name: str
    cycle: str
    bars: tuple[LoadBar, ...]


class PlanView(Struct, frozen=True):
    """What the page needs of a plan."""

    verdict: str
    why: tuple[str, ...]
    passes: tuple[PassView, ...]
    feeders: tuple[tuple[str, str, str, str, str], ...]
    """Machine, slot, part number, tape or tray, references."""


def plan_view(plan: Plan) -> PlanView:
    """Return the view of a plan."""
    passes = tuple(view for set_up in plan.set_ups for view in _passes(plan, set_up))
    feeders = tuple(
        (
            f.machine,
            "" if f.slot is None else f"{f.slot:g}",
            f.part,
            _supply(f.supply, f.tape_width.high),
            _refs(f.refs),
        )
        for set_up in plan.set_ups
        for f in set_up.feeders
    )
    return PlanView(plan.verdict, plan.why, passes, feeders)


def _passes(plan: Plan, set_up: SetUp) -> list[PassView]:
    views = []
    for place, times in zip(set_up.passes, set_up.times, strict=True):
        seconds = [time.seconds.high for time in times]
        slowest = max((s for s in seconds if s < float("inf")), default=0.0)
        bars = tuple(
            LoadBar(machine, f"{s:.2f} s" if s < float("inf") else "not known",
                    min(s / slowest, 1.0) if slowest and s < float("inf") else 0.0, slowest=s == slowest)
            for machine, s in zip(plan.machines, seconds, strict=True)
        )  # fmt: skip
        views.append(PassView(plan.job.passes[place].name, f"slowest machine {slowest:.2f} s", bars))
    return views


def _supply(supply: str | None, tape_width: float) -> str:
    if supply == "tape" and tape_width < float("inf"):
        return f"tape {tape_width:g} mm"
    return supply or "not known"


def _refs(refs: tuple[tuple[str, ...], ...]) -> str:
    return shortened([ref for one in refs for ref in one], 6)
