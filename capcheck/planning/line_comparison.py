"""Which line: boards planned on several lines, side by side, and the best by a criterion."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from capcheck.checking import Report
from capcheck.machines import Line
from capcheck.planning.board_passage import judged
from capcheck.planning.cost_of_boards import mean_cost
from capcheck.planning.job import Capabilities, Job, Reasons
from capcheck.planning.plan_data import Plan, PlanSettings, Verdict
from capcheck.planning.planner import mean_cycle, plan_line
from capcheck.planning.search import Deadline, Progress
from capcheck.planning.times import PassFigures
from capcheck.values import InputError, Interval

CRITERIA = ("cycle", "output per area", "length", "machines")
"""What the best line has: the least cycle for a finished board, most output per area, least length, fewest machines."""
BY_COST = "cost"
"""A criterion for lines side by side, where the shop states rates: the least cost of a board."""

_SETTINGS = PlanSettings()
_RANK = {"pass": 0, "warn": 1, "fail": 2, "unanswered": 3}


class CandidateLine(Struct, frozen=True):
    """A line to plan on: what its heads can place and why they cannot, and the boards' reports against it.

    *job* is the boards as this line carries them, in panels of its own; None where every line carries the same.
    """

    line: Line
    can: Capabilities
    reasons: Reasons | None = None
    reports: Sequence[Report] = ()
    job: Job | None = None


class Row(Struct, frozen=True):
    """One line in a comparison; times in seconds, lengths in mm, areas in m²; None where unknown or without a plan.

    *slots_needed* are the least and the most in any set-up; *cycle* is the mean of the passes by yearly quantities,
    *at_least* where something is not stated; *boards_per_hour* counts finished boards, all their sides on this line.
    The cycle is a panel's where a line carries one (*plan.job.per*). These two and *per_hour_and_m2* are
    as planned; what is known of each stands in the three that end in *within*.
    """

    plan: Plan
    slots_needed: tuple[float, float]
    slots: int | None
    cycle: float | None
    at_least: bool
    boards_per_hour: float | None
    per_hour_and_m2: float | None
    cycle_within: Interval | None = None
    boards_within: Interval | None = None
    output_within: Interval | None = None
    reach: float = 1.0
    """The share of its cycle that a plan of this line is not proved to need: 1 where the plan is proved the fastest."""

    @property
    def seconds_a_board(self) -> float:
        """Planned seconds of the line for one finished board: lines that carry different panels compare by it."""
        return 3600.0 / self.boards_per_hour if self.boards_per_hour else math.inf

    @property
    def line(self) -> str:
        """The line's name."""
        return self.plan.line

    @property
    def machines(self) -> tuple[str, ...]:
        """The names of the line's machines."""
        return self.plan.machines

    @property
    def verdict(self) -> Verdict:
        """The plan's verdict."""
        return self.plan.verdict

    @property
    def left_over(self) -> int:
        """How many part numbers the machines cannot place."""
        return len(self.plan.shortage.take_off) if self.plan.shortage else 0

    @property
    def not_proved(self) -> int:
        """How many part numbers stand where it is not proved that they can."""
        return len({f.part for s in self.plan.set_ups for f in s.feeders if f.undecided})

    @property
    def length(self) -> float | None:
        """The length of the line."""
        return self.plan.floor.length_mm

    @property
    def area(self) -> float | None:
        """The machines' own floor."""
        return self.plan.floor.machine_area_m2

    @property
    def is_searched(self) -> bool:
        """Whether the search proved what the line leaves over, if anything; else the time limit ended it before."""
        shortage = self.plan.shortage
        if shortage is None:
            return bool(self.plan.set_ups or not self.plan.job.passes)
        return shortage.impossible

    def best_possible(self, field: str) -> Interval | None:
        """Return a figure that a better plan of the same line might have too: a range that holds what is known."""
        known: Interval | None = getattr(self, field)
        if known is None or self.reach >= 1.0:
            return known
        if field == "cost":
            return Interval(known.low * self.reach, known.high)
        return Interval(known.low, known.high / self.reach if self.reach > 0 else math.inf)

    @property
    def cost(self) -> Interval | None:
        """What a board costs, the mean of several by quantity; None where rates or one currency are not stated."""
        costs = self.plan.costs
        boards = {p.board for p in self.plan.job.passes} | {one.board for one in costs}
        if len(costs) < len(boards) or len({one.currency for one in costs}) > 1:
            return None
        yearly = {p.board: None if p.per_year is None else p.per_year * p.boards for p in self.plan.job.passes}
        return mean_cost(costs, yearly)

    @property
    def changeover_out(self) -> int:
        """How many feeders are taken out from set-up to set-up."""
        return sum(len(c.out) for c in self.plan.changeovers)

    @property
    def changeover_in(self) -> int:
        """How many feeders are brought in from set-up to set-up."""
        return sum(len(c.into) for c in self.plan.changeovers)


def _mean(plan: Plan, seconds: Callable[[PassFigures], float]) -> float:
    """Return a time of the passes, weighted by yearly quantities: infinite where one is not planned."""
    known = {p: seconds(f) for s in plan.set_ups for p, f in zip(s.passes, s.figures, strict=True)}
    return sum(weight * known.get(p, math.inf) for p, weight in enumerate(plan.job.weights()))


def _boards_per_hour(plan: Plan, mean_seconds: float) -> float:
    """Return finished boards per hour at a mean time of the passes, for one board or a mix of several by quantity."""
    passes = plan.job.passes
    first = {b.board: k for k, b in reversed(list(enumerate(passes)))}
    share = plan.job.weights()
    boards = sum(share[k] * passes[k].boards for k in first.values())
    return boards * 3600.0 / mean_seconds if mean_seconds > 0 else math.inf


class Comparison(Struct, frozen=True):
    """Lines side by side, and the best by the criterion (an index of *rows*; None if none places everything)."""

    criterion: str
    rows: tuple[Row, ...]
    best: int | None
    inputs: tuple[str, ...] = ()
    """The files of boards and lines that were read."""

    @property
    def rivals(self) -> tuple[int, ...]:
        """Rows that what is known does not tell from the best: ranges that meet, or a search that ended too early.

        A range is that of the times stated, and beyond it what a better plan of the same line might reach.
        """
        if self.best is None:
            return ()
        own = self.rows[self.best]
        return tuple(
            k
            for k, row in enumerate(self.rows)
            if k != self.best
            and (
                (_is_able(row) and _rank(row) == _rank(own) and _meet(own, row, self.criterion))
                or (not row.is_searched and row.verdict not in {"fail", "unanswered"})
            )
        )

    @property
    def ranges_meet(self) -> bool:
        """Whether a rival's range itself meets the best's: else more time for the search may tell them apart."""
        if self.best is None:
            return False
        own = self.rows[self.best]
        as_planned = [replace(self.rows[k], reach=1.0) for k in self.rivals if self.rows[k].is_searched]
        return any(_meet(own, row, self.criterion) for row in as_planned)

    @property
    def verdict(self) -> Verdict:
        """The best line's; where none is, ``unanswered`` if a plan is no answer, else ``fail``."""
        if self.best is not None:
            return self.rows[self.best].verdict
        return "unanswered" if any(row.verdict == "unanswered" for row in self.rows) else "fail"


def _most_needed(plan: Plan, machine: str) -> tuple[float, float]:
    """Return the most slots that a set-up needs of a machine, all banks together: at least and at most."""
    every = [[o.slots_needed for o in s.occupied if o.machine == machine] for s in plan.set_ups]
    return max(sum(n.low for n in needed) for needed in every), max(sum(n.high for n in needed) for needed in every)


def row_of(plan: Plan, line: Line) -> Row:
    """Return a plan as a row of the comparison."""
    cycle = mean_cycle(plan)
    timed = bool(plan.set_ups) and math.isfinite(cycle) and not any(s.by_count for s in plan.set_ups)
    needed = [_most_needed(plan, m.name) for m in line.machines if plan.set_ups]
    slots = [m.slots for m in line.machines]
    mean_parts = float(plan.job.counts().sum(axis=0) @ np.array(plan.job.weights()))
    area = plan.floor.machine_area_m2
    within = Interval(_mean(plan, lambda f: f.cycle.low), _mean(plan, lambda f: f.cycle.high)) if timed else None
    at = (math.inf, math.inf, math.inf) if within is None else (cycle, within.high, within.low)
    boards, *boards_within = (_boards_per_hour(plan, seconds) for seconds in at)
    output, *output_within = (
        mean_parts * 3600.0 / seconds / area if seconds > 0 and area else math.inf for seconds in at
    )
    has_output = bool(timed and cycle > 0 and plan.feasible and area)
    return Row(
        plan=plan,
        slots_needed=(sum(n[0] for n in needed), sum(n[1] for n in needed)),
        slots=sum(s for s in slots if s is not None) if all(s is not None for s in slots) else None,
        cycle=cycle if timed else None,
        at_least=any(f.untimed for s in plan.set_ups for f in s.figures),
        boards_per_hour=boards if timed and cycle > 0 else None,
        per_hour_and_m2=output if has_output else None,
        cycle_within=within,
        boards_within=Interval(*boards_within) if timed else None,
        output_within=Interval(*output_within) if has_output else None,
        reach=_reach(plan) if timed else 1.0,
    )


def _reach(plan: Plan) -> float:
    """Return the share of the mean cycle that is proved to be needed: by searches' bounds, and by other stations."""
    planned = least = 0.0
    weights = plan.job.weights()
    for set_up in plan.set_ups:
        figures = list(zip(set_up.passes, set_up.figures, strict=True))
        mean = sum(weights[p] * f.planned for p, f in figures)
        others = sum(weights[p] * max((s.planned for s in f.stations if not s.places), default=0.0) for p, f in figures)
        machines = sum(weights[p] for p, _ in figures) * set_up.bound
        planned += mean
        least += min(mean, max(others, machines))
    return min(1.0, least / planned) if planned > 0 else 1.0


def _merit(row: Row, criterion: str) -> tuple[float, ...]:
    cycle = row.seconds_a_board
    if criterion == BY_COST:
        return (math.inf, math.inf) if row.cost is None else (row.cost.high, row.cost.low)
    length = math.inf if row.length is None else row.length
    if criterion == "output per area":
        return (-(row.per_hour_and_m2 or 0.0), cycle)
    if criterion == "length":
        return (length, cycle)
    if criterion == "machines":
        return (float(len(row.machines)), cycle)
    return (cycle, length)


def _best_of(rows: Sequence[Row], criterion: str) -> int | None:
    """Return the index of the best row, None if all fail.

    A line that leaves parts to its own hand-placing station stands behind those that leave none; then the better
    verdict counts, then the criterion.
    """
    able = [k for k, row in enumerate(rows) if _is_able(row)]
    return min(able, key=lambda k: (_rank(rows[k]), _merit(rows[k], criterion), k), default=None)


def _is_able(row: Row) -> bool:
    return row.verdict in {"pass", "warn"} and bool(row.plan.set_ups or not row.plan.job.passes)


def _meet(one: Row, other: Row, criterion: str) -> bool:
    """Whether two lines' ranges of the criterion meet, and those of the cycle where that decides between equals.

    *other* counts with what a better plan of it might reach: *one* is the best, and could only be better yet.
    """
    if criterion == "length" and (one.length is None or one.length != other.length):
        return one.length is None or other.length is None
    if criterion == "machines" and len(one.machines) != len(other.machines):
        return False
    field = {"output per area": "output_within", BY_COST: "cost"}.get(criterion, "boards_within")
    own, others = getattr(one, field), other.best_possible(field)
    return own is None or others is None or bool(own.overlaps(others))


def _rank(row: Row) -> tuple[bool, int]:
    """Return what counts before the criterion: that nothing is left for the hand, then the verdict."""
    return row.left_over > 0, _RANK[row.verdict]


def check_criterion(criterion: str, known: Sequence[str] = CRITERIA) -> None:
    """Raise :class:`InputError` for an unknown criterion."""
    if criterion not in known:
        what = f'"{criterion}" is no criterion'
        raise InputError.at("criterion", what, "lines are compared by one", f"use one of {', '.join(known)}")


def compare_lines(
    job: Job,
    lines: Sequence[CandidateLine],
    *,
    criterion: str = "cycle",
    settings: PlanSettings = _SETTINGS,
    progress: Progress | None = None,
    found: Callable[[Row], None] | None = None,
    deadline: Deadline | None = None,
) -> Comparison:
    """Plan a job on each of several lines and name the best.

    The time limit of the settings, or the *deadline*, is for all lines together. *found* is told each line as soon as
    it is planned. Raises :class:`InputError` for an
    unknown criterion.
    """
    check_criterion(criterion, (*CRITERIA, BY_COST))
    end = deadline or Deadline.after(settings.time_limit)
    rows = []
    besides = 0.0
    for number, on in enumerate(lines):
        # What a plan takes beside its searches, the lines still to come take too: it is no time for searching.
        waiting = len(lines) - number
        part = Deadline.after(max(0.0, end.left / waiting - besides))
        given, begun = part.left, end.left
        own = on.job or job
        quick = replace(settings, thorough=False)  # lines are told apart by cycle and places, not by a feeder more
        plan = plan_line(own, on.line, on.can, on.reasons, settings=quick, progress=progress, deadline=part)
        rows.append(row_of(judged(plan, on.reports), on.line))
        if found is not None:
            found(rows[-1])
        besides = max(besides, begun - end.left - given)
    return Comparison(criterion, tuple(rows), _best_of(rows, criterion))
