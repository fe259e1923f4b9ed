"""The plan as the page shows it: load of each machine as bars, and the feeders."""

from __future__ import annotations

from msgspec import Struct

from capcheck.planning import Plan, SetUp
from capcheck.report.plan import count, ends, numbered, slot_text, why_lines
from capcheck.values import Interval, shortened


class LoadBar(Struct, frozen=True):
    """One machine or other station in one pass: *share* is its planned time as a share of the slowest's, 0 to 1."""

    machine: str
    text: str
    share: float
    slowest: bool


class PassView(Struct, frozen=True):
    """One pass of a board: its name, the cycle in words and a bar for each station."""

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
            slot_text(f),
            f.part,
            _supply(f.supply, f.tape_width),
            _refs(f.refs),
        )
        for set_up in plan.set_ups
        for f in set_up.feeders
    )
    return PlanView(plan.verdict, tuple(why_lines(plan)), passes, feeders)


def _passes(plan: Plan, set_up: SetUp) -> list[PassView]:
    """Return a view of each pass: bars by the times planned, as the text tells them, with stations that place nothing.

    Where seconds could not be worked out, bars are by placements.
    """
    views = []
    for place, figures, times in zip(set_up.passes, set_up.figures, set_up.times, strict=True):
        name = plan.job.passes[place].name
        if set_up.by_count:
            most = max((t.placements for t in times), default=0)
            bars = [_bar(t.machine, numbered(t.placements, "placement"), t.placements, most) for t in times]
            views.append(PassView(name, "cycle not computed, placements by machine", tuple(bars)))
            continue
        bars = [_bar(s.name, _seconds(s.planned, s.seconds), s.planned, figures.planned) for s in figures.stations]
        cycle = f"cycle {_seconds(figures.planned, figures.cycle)}, set by {figures.bottleneck}"
        views.append(PassView(name, cycle, tuple(bars)))
    return views


def _bar(name: str, text: str, value: float, most: float) -> LoadBar:
    return LoadBar(name, text, value / most if most else 0.0, slowest=value == most and most > 0)


def _seconds(planned: float, within: Interval) -> str:
    """Return a time as planned, with the span that is known of it where that is wider."""
    spread = "" if within.is_exact else f" ({ends(within)})"
    return f"{planned:.2f} s{spread}"


def _supply(supply: str | None, tape_width: Interval) -> str:
    if supply == "tape" and tape_width.high < float("inf"):
        return f"tape {count(tape_width)} mm"
    return supply or "not known"


def _refs(refs: tuple[tuple[str, ...], ...]) -> str:
    return shortened([ref for one in refs for ref in one], 6)
