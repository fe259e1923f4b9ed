"""Which line: boards against several lines, or against lines composed of a stock of machine profiles.

Lines are composed as sets of machines in the stock's order, each at most as often as the stock holds it. Bounds that
no plan can beat put the candidates in order and cut the search short; the answer is that of planning them all.
"""

from __future__ import annotations

import heapq
import itertools
import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from capcheck.errors import InputError, Problem, Where
from capcheck.machines.line import Line
from capcheck.machines.profile import MachineProfile
from capcheck.planning.balance import balance, lower_bound
from capcheck.planning.job import Job
from capcheck.planning.line_figures import area_of
from capcheck.planning.plan import Plan, PlanSettings
from capcheck.planning.planner import mean_cycle, plan_line
from capcheck.planning.question import Reasons
from capcheck.planning.reading import Capabilities, Reading, line_heads, stations_of
from capcheck.planning.stations import Stations

CRITERIA = ("cycle", "output per area", "length", "machines")
"""What the best line has: the least cycle, the greatest output per area, the least length, the fewest machines."""

_SETTINGS = PlanSettings()
_RANK = {"pass": 0, "warn": 1, "fail": 2}


@dataclass(frozen=True, slots=True)
class Row:
    """One line in a comparison; times in seconds, lengths in mm, areas in m²; None where unknown or without a plan.

    *left_over* counts part numbers that the machines cannot place; *cycle* is the mean by yearly quantities.
    """

    line: str
    machines: tuple[str, ...]
    verdict: str
    left_over: int
    slots_needed: tuple[float, float]
    slots: int | None
    cycle: float | None
    length: float | None
    area: float | None
    per_hour_and_m2: float | None
    changeover_out: int
    changeover_in: int
    plan: Plan


@dataclass(frozen=True, slots=True)
class Comparison:
    """Lines side by side, and the best by the criterion (an index of *rows*; None if none places everything)."""

    criterion: str
    rows: tuple[Row, ...]
    best: int | None


def _row(plan: Plan, line: Line) -> Row:
    cycle = mean_cycle(plan)
    timed = math.isfinite(cycle) and not any(s.by_count for s in plan.set_ups)
    needed = [
        (
            max(s.occupied[m].slots_needed.low for s in plan.set_ups),
            max(s.occupied[m].slots_needed.high for s in plan.set_ups),
        )
        for m in range(len(line.machines))
        if plan.set_ups
    ]
    slots = [m.feeders.slots for m in line.machines]
    mean_parts = float(plan.job.counts().sum(axis=0) @ np.array(plan.job.weights()))
    area = area_of(line.machines)
    rate = mean_parts * 3600.0 / cycle if timed and cycle > 0 and plan.feasible else None
    return Row(
        line.name, plan.machines, plan.verdict, len(plan.shortage.take_off) if plan.shortage else 0,
        (sum(n[0] for n in needed), sum(n[1] for n in needed)),
        sum(s for s in slots if s is not None) if all(s is not None for s in slots) else None,
        cycle if timed else None, plan.floor.length_mm, area, rate / area if rate and area else None,
        sum(len(c.out) for c in plan.changeovers), sum(len(c.into) for c in plan.changeovers), plan,
    )  # fmt: skip


def _merit(row: Row, criterion: str) -> tuple[float, ...]:
    cycle = math.inf if row.cycle is None else row.cycle
    length = math.inf if row.length is None else row.length
    if criterion == "output per area":
        return (-(row.per_hour_and_m2 or 0.0), cycle)
    if criterion == "length":
        return (length, cycle)
    if criterion == "machines":
        return (float(len(row.machines)), cycle)
    return (cycle, length)


def best_of(rows: Sequence[Row], criterion: str) -> int | None:
    """Return the index of the best row: the better verdict first, then the criterion; None if none places everything.

    Raises :class:`InputError` for an unknown criterion.
    """
    _check_criterion(criterion)
    whole = [k for k, row in enumerate(rows) if row.plan.feasible and row.plan.set_ups]
    return min(whole, key=lambda k: (_RANK[rows[k].verdict], _merit(rows[k], criterion), k), default=None)


def _check_criterion(criterion: str) -> None:
    if criterion not in CRITERIA:
        what = f'"{criterion}" is no criterion'
        raise InputError(
            Problem(Where("criterion"), what, "lines are compared by one", f"use one of {', '.join(CRITERIA)}")
        )


def compare_lines(
    job: Job,
    lines: Sequence[tuple[Line, Capabilities, Reasons | None]],
    *,
    criterion: str = "cycle",
    settings: PlanSettings = _SETTINGS,
) -> Comparison:
    """Plan a job on each of several lines, each with its heads' capabilities, and name the best."""
    _check_criterion(criterion)
    rows = tuple(_row(plan_line(job, line, can, why, settings=settings), line) for line, can, why in lines)
    return Comparison(criterion, rows, best_of(rows, criterion))


@dataclass(frozen=True, slots=True)
class Stock:
    """Machine profiles that lines are composed of.

    *can* holds the capabilities of each profile's heads (parts × its heads); *pieces* how many there are of each.
    """

    profiles: tuple[MachineProfile, ...]
    can: tuple[Capabilities, ...]
    pieces: tuple[int, ...] | None = None
    max_machines: int = 4
    max_length_mm: float | None = None

    def compositions(self) -> Iterator[tuple[int, ...]]:
        """Yield all lines that the stock, the number of machines and the length allow, as indices of profiles."""
        for size in range(1, self.max_machines + 1):
            for chosen in itertools.combinations_with_replacement(range(len(self.profiles)), size):
                held = self.pieces is None or all(chosen.count(k) <= self.pieces[k] for k in set(chosen))
                if held and self._is_short_enough(chosen):
                    yield chosen

    def _is_short_enough(self, chosen: tuple[int, ...]) -> bool:
        if self.max_length_mm is None:
            return True
        lengths = [self.profiles[k].floor_width for k in chosen]
        # A length that is not stated is not proved to fit.
        return all(x is not None for x in lengths) and sum(x or 0.0 for x in lengths) <= self.max_length_mm

    def line(self, chosen: tuple[int, ...]) -> tuple[Line, Capabilities]:
        """Return a composed line with its capabilities; a profile used twice is numbered."""
        machines = []
        for place, k in enumerate(chosen):
            profile = self.profiles[k]
            number = chosen[: place + 1].count(k)
            name = f"{profile.name} #{number}" if chosen.count(k) > 1 else profile.name
            machines.append(profile.model_copy(update={"name": name}))
        line = Line(" + ".join(m.name for m in machines), tuple(machines), None)
        return line, np.concatenate([self.can[k] for k in chosen], axis=1)


@dataclass(frozen=True, slots=True)
class Composed:
    """The best line composed of a stock: how many candidates there were, and how many had to be planned."""

    chosen: tuple[int, ...] | None
    row: Row | None
    candidates: int
    planned: int


def _every_part_has_a_machine(job: Job, stock: Stock, chosen: tuple[int, ...]) -> bool:
    """Whether no part is without a machine; a quick test before any program."""
    return all(any((stock.can[k][j] >= 0).any() for k in set(chosen)) for j in range(len(job.parts)))


@dataclass(frozen=True, slots=True)
class _Bounder:
    """Bounds the cycle of any set of machines from below, from one row of least seconds by profile."""

    each: tuple[np.ndarray, ...]
    counts: np.ndarray
    weights: np.ndarray
    fixed: tuple[np.ndarray, ...]

    def bound(self, chosen: tuple[int, ...]) -> float:
        """Return the weighted cycle that no assignment beats: for any shares λ, Σ λ·fixed + Σ count·min λ·seconds."""
        seconds = np.stack([self.each[k] for k in chosen])
        fixed = np.stack([self.fixed[k] for k in chosen])
        return float(sum(self.weights[p] * self._pass(seconds, fixed[:, p], p) for p in range(len(self.weights))))

    def _pass(self, seconds: np.ndarray, fixed: np.ndarray, p: int) -> float:
        share = np.full(len(seconds), 1.0 / len(seconds))
        best = 0.0
        for step in range(_STEPS):
            weighted = share[:, None] * seconds
            takes = weighted.argmin(axis=0)
            best = max(best, float(share @ fixed + self.counts[:, p] @ weighted.min(axis=0)))
            load = fixed + np.bincount(
                takes, self.counts[:, p] * np.minimum(seconds[takes, np.arange(len(takes))], _FAR), len(seconds)
            )
            # Machines with more than the mean load get a greater share; any shares give a bound.
            share = share * np.exp((load / max(load.mean(), 1e-9) - 1.0) / (1.0 + step))
            share /= share.sum()
        return best


_STEPS = 12
_FAR = 1e9


def _bounder(job: Job, stock: Stock) -> _Bounder | None:
    """Return the bounder, or None where some profile has no times."""
    each, fixed = [], []
    for profile, can in zip(stock.profiles, stock.can, strict=True):
        line = Line(profile.name, (profile,), None)
        stations, heads = stations_of(job, line, can, reading=Reading.OPEN_NARROW)
        if heads.untimed:
            return None
        units = stations.units
        # Heads of several gantries work at once: each placement counts for its share of the machine, trips full.
        at_once = len({u.gantry for u in units})
        trip = np.array([min(u.trip, 0.0) + max(u.trip, 0.0) / u.per_trip if u.per_trip else 0.0 for u in units])
        least = np.where(np.isnan(stations.seconds), _FAR, stations.seconds + trip)
        each.append(np.minimum(least.min(axis=1) / at_once, _FAR).clip(0.0))
        fixed.append(stations.fixed[0])
    return _Bounder(tuple(each), job.counts(), np.array(job.weights()), tuple(fixed))


def compose_line(
    job: Job,
    stock: Stock,
    *,
    criterion: str = "cycle",
    settings: PlanSettings = _SETTINGS,
    exhaustive: bool = False,
    progress: Callable[[int, int], None] | None = None,
) -> Composed:
    """Return the best line composed of a stock that places every pass, each pass with a set-up of its own.

    The best has the least merit by the criterion, then the least cycle; a line must place every part (undecided
    counts as possible; the row's verdict tells). *exhaustive* plans every candidate, for comparison. *progress* is
    called with candidates planned and waiting.
    """
    _check_criterion(criterion)
    search = _Search(job, stock, criterion, settings)
    bounder = None if exhaustive else _bounder(job, stock)
    candidates = [c for c in stock.compositions() if _every_part_has_a_machine(job, stock, c)]
    # Candidates wait in the order of what they may reach at best: first by the quick bound, then by the relaxation's,
    # and only one that is still first is planned.
    waiting = [(search.merit(c, 0.0 if bounder is None else bounder.bound(c)), c, False) for c in candidates]
    heapq.heapify(waiting)
    best: tuple[tuple[float, ...], tuple[int, ...]] | None = None
    planned = 0
    while waiting:
        merit, chosen, relaxed = heapq.heappop(waiting)
        if bounder is not None and best is not None and not search.may_beat(merit, best[0]):
            break
        if bounder is not None and not relaxed:
            bound = sum(search.bounds(chosen))
            if math.isfinite(bound):
                heapq.heappush(waiting, (search.merit(chosen, bound), chosen, True))
            continue
        planned += 1
        if progress is not None:
            progress(planned, len(waiting))
        cycle = search.cycle(chosen, math.inf if best is None or bounder is None else search.enough(chosen, best[0]))
        if math.isfinite(cycle) and (best is None or (search.merit(chosen, cycle), chosen) < best):
            best = (search.merit(chosen, cycle), chosen)
    if best is None:
        return Composed(None, None, len(candidates), planned)
    line, can = stock.line(best[1])
    plan = plan_line(job, line, can, settings=replace(settings, set_up="each"))
    return Composed(best[1], _row(plan, line), len(candidates), planned)


@dataclass(frozen=True, slots=True)
class _Search:
    """What the search for the best composed line asks of each candidate."""

    job: Job
    stock: Stock
    criterion: str
    settings: PlanSettings

    def merit(self, chosen: tuple[int, ...], cycle: float) -> tuple[float, ...]:
        """Return the merit that a cycle gives; with a bound of the cycle, the merit that no plan beats."""
        return _least_merit(self.job, self.stock, chosen, cycle, self.criterion)

    def may_beat(self, merit: tuple[float, ...], best: tuple[float, ...]) -> bool:
        """Whether a bound leaves room for a merit that is better than the best by more than the gap asked for."""
        if self.criterion in ("length", "machines") and merit[0] != best[0]:
            return merit[0] < best[0]
        k = 1 if self.criterion in ("length", "machines") else 0
        return merit[k] < best[k] - self.settings.gap * abs(best[k])

    def enough(self, chosen: tuple[int, ...], best: tuple[float, ...]) -> float:
        """Return the cycle above which a candidate cannot be the best."""
        if self.criterion == "cycle":
            return best[0]
        if self.criterion in ("length", "machines"):
            return best[1] if self.merit(chosen, 0.0)[0] == best[0] else math.inf
        at_one = -self.merit(chosen, 1.0)[0]
        return at_one / -best[0] if best[0] < 0 else math.inf

    def _stations(self, chosen: tuple[int, ...], p: int, reading: Reading) -> Stations:
        line, can = self.stock.line(chosen)
        rows = [j for j, part in enumerate(self.job.parts) if part.counts[p]]
        parts = tuple(replace(self.job.parts[j], counts=(self.job.parts[j].counts[p],), refs=()) for j in rows)
        one = Job(self.job.passes[p].name, (self.job.passes[p],), parts)
        return stations_of(one, line, can[rows], reading=reading, split=self.settings.split)[0]

    def bounds(self, chosen: tuple[int, ...]) -> list[float]:
        """Return each pass's weighted bound by the relaxation, infinite where a pass cannot fit."""
        out = []
        for p, weight in enumerate(self.job.weights()):
            stations = self._stations(chosen, p, Reading.OPEN_NARROW)
            bound = math.inf if stations.nowhere() else lower_bound(stations)
            out.append(weight * bound)
            if math.isinf(bound):
                break
        return out

    def cycle(self, chosen: tuple[int, ...], enough: float) -> float:
        """Return the weighted cycle, infinite if some pass does not fit or the whole cannot beat *enough*."""
        least = self.bounds(chosen) if math.isfinite(enough) else [0.0] * len(self.job.passes)
        total = sum(least)
        for p, weight in enumerate(self.job.weights()):
            if not total <= enough:
                return math.inf
            found = math.inf
            for reading in (Reading.OPEN, Reading.OPEN_NARROW):
                stations = self._stations(chosen, p, reading)
                found = balance(stations, time_limit=self.settings.time_limit, gap=self.settings.gap).objective
                if math.isfinite(found):
                    break
            total += weight * found - least[p]
        return total


def _least_merit(job: Job, stock: Stock, chosen: tuple[int, ...], cycle: float, criterion: str) -> tuple[float, ...]:
    """Return the merit that a cycle gives; with a bound of the cycle, the merit that no plan beats."""
    lengths = [stock.profiles[k].floor_width for k in chosen]
    length = math.inf if any(x is None for x in lengths) else sum(x or 0.0 for x in lengths)
    if criterion == "length":
        return (length, cycle)
    if criterion == "machines":
        return (float(len(chosen)), cycle)
    if criterion == "output per area":
        area = area_of([stock.profiles[k] for k in chosen])
        parts = float(job.counts().sum(axis=0) @ np.array(job.weights()))
        return (-parts * 3600.0 / max(cycle, 1e-9) / area if area else 0.0, cycle)
    return (cycle, length)


def untimed(stock: Stock) -> tuple[str, ...]:
    """Return the profiles that have neither times nor a rated speed, so that no cycle can be worked out."""
    return tuple(p.name for p in stock.profiles if line_heads((p,)).untimed)
