"""The best line composed of a stock of machine profiles.

Lines are composed of machines in the stock's order, each as often as is wanted. Bounds that no plan can beat put the
candidates in order and cut the search short; the answer is that of planning them all.
"""

from __future__ import annotations

import heapq
import itertools
import math
from collections.abc import Callable, Iterator, Sequence
from typing import Final

import numpy as np
from msgspec import Struct, field
from msgspec.structs import replace

from capcheck.checking import Report
from capcheck.engine import Take
from capcheck.machines import Line, MachineProfile
from capcheck.model import Floats, Ints
from capcheck.planning.board_passage import judged
from capcheck.planning.job import Capabilities, Job, Reasons
from capcheck.planning.line_comparison import Row, check_criterion, row_of
from capcheck.planning.plan_data import PlanSettings
from capcheck.planning.planner import plan_line
from capcheck.planning.search import Deadline, Stations, Status, balance, first_fit, lower_bound
from capcheck.planning.stations_of_line import Strictness, stations_of
from capcheck.planning.times import area_of

_SETTINGS = PlanSettings()
_SEARCHING: Final = 0.8
"""Share of the time in which to look for the best line; the rest is for planning it in full."""
_SECONDS_EACH: Final = 2.0
"""Seconds that one pass of one candidate gets at most."""


class Stock(Struct, frozen=True):
    """Machine profiles that lines are composed of.

    *can* holds the capabilities of each profile's heads (parts × its heads), *reasons* what is said of them by part and
    head of the profile; *reports* are the boards', against a line of all profiles.
    """

    profiles: tuple[MachineProfile, ...]
    can: tuple[Capabilities, ...]
    max_machines: int = 4
    max_length_mm: float | None = None
    reasons: tuple[Reasons, ...] = ()
    reports: Sequence[Report] = ()

    def compositions(self) -> Iterator[tuple[int, ...]]:
        """Yield all lines that the number of machines and the length allow, as indices of profiles."""
        for size in range(1, self.max_machines + 1):
            for chosen in itertools.combinations_with_replacement(range(len(self.profiles)), size):
                if self._is_short_enough(chosen):
                    yield chosen

    def _is_short_enough(self, chosen: tuple[int, ...]) -> bool:
        if self.max_length_mm is None:
            return True
        lengths = [self.profiles[k].floor_width for k in chosen]
        # A length that is not stated is not proved to fit.
        return all(x is not None for x in lengths) and sum(x or 0.0 for x in lengths) <= self.max_length_mm

    def reasons_of(self, chosen: tuple[int, ...]) -> Reasons:
        """Return the reasons of a composed line, by part and head of the line."""
        found: dict[tuple[int, int], tuple[Take, ...]] = {}
        begun = 0
        for k in chosen:
            if self.reasons:
                found |= {(part, begun + head): takes for (part, head), takes in self.reasons[k].items()}
            begun += len(self.profiles[k].head)
        return found

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


class Composed(Struct, frozen=True):
    """The best line composed of a stock: how many candidates there were, and how many had to be planned.

    *complete* tells that no other candidate can be better by more than the gap asked for. Where time ran out before
    that was proved, *bound* is what no candidate beats: of the cycle in seconds, or of the output per hour and m².
    """

    row: Row | None
    candidates: int
    planned: int
    complete: bool = True
    bound: float | None = None
    inputs: tuple[str, ...] = ()
    """The files of boards and machines that were read."""


def _every_part_has_a_machine(job: Job, stock: Stock, chosen: tuple[int, ...]) -> bool:
    """Whether no part is without a machine; a quick test before any program."""
    return all(any((stock.can[k][j] >= 0).any() for k in set(chosen)) for j in range(len(job.parts)))


class _Bounder(Struct, frozen=True):
    """Bounds the cycle of any set of machines from below, from one row of least seconds by profile."""

    each: tuple[Floats, ...]
    counts: Ints
    weights: Floats
    fixed: tuple[Floats, ...]

    def bound(self, chosen: tuple[int, ...]) -> float:
        """Return the weighted cycle that no assignment beats: for any shares λ, Σ λ·fixed + Σ count·min λ·seconds."""
        seconds = np.stack([self.each[k] for k in chosen])
        fixed = np.stack([self.fixed[k] for k in chosen])
        return float(sum(self.weights[p] * self._pass(seconds, fixed[:, p], p) for p in range(len(self.weights))))

    def _pass(self, seconds: Floats, fixed: Floats, p: int) -> float:
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
        stations, heads = stations_of(job, line, can, strictness=Strictness.OPEN_NARROW)
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
    deadline: Deadline | None = None,
) -> Composed:
    """Return the best line composed of a stock that places every pass, each pass with a set-up of its own.

    The best has the least merit by the criterion, then the least cycle; a line must place every part (undecided
    counts as possible; the row's verdict tells). *exhaustive* plans every candidate, for comparison. *progress* is
    called with candidates planned and waiting. The time limit of the settings, or the *deadline*, is for everything
    together; the best so far is returned where it ends the search.
    """
    check_criterion(criterion)
    end = deadline or Deadline.after(settings.time_limit)
    search = _Search(job, stock, criterion, settings, end.part(_SEARCHING))
    bounder = None if exhaustive else _bounder(job, stock)
    candidates = [c for c in stock.compositions() if _every_part_has_a_machine(job, stock, c)]
    best, planned, least = _searched(search, bounder, candidates, end, progress)
    if best is None:
        return Composed(None, len(candidates), planned, complete=least is None)
    merit, chosen = best
    line, can = stock.line(chosen)
    plan = plan_line(job, line, can, stock.reasons_of(chosen), settings=replace(settings, set_up="each"), deadline=end)
    row = row_of(judged(plan, stock.reports, [stock.profiles[k].name for k in chosen]), line)
    complete = least is None or not search.may_beat(least, merit)
    bound = None if complete or least is None or criterion in _BY_SIZE else abs(least[0])
    return Composed(row, len(candidates), planned, complete, bound)


_Merit = tuple[float, ...]
_BY_SIZE: Final = frozenset({"length", "machines"})
"""Criteria that a composition meets or not whatever its cycle."""


def _searched(
    search: _Search,
    bounder: _Bounder | None,
    candidates: list[tuple[int, ...]],
    end: Deadline,
    progress: Callable[[int, int], None] | None,
) -> tuple[tuple[_Merit, tuple[int, ...]] | None, int, _Merit | None]:
    """Return the best with its merit, how many were planned, and the least merit that is left open (None: none)."""
    # Candidates wait in the order of what they may reach at best: first by the quick bound, then by the relaxation's,
    # and only one that is still first is planned.
    waiting = [(search.merit(c, 0.0 if bounder is None else bounder.bound(c)), c, False) for c in candidates]
    heapq.heapify(waiting)
    best = None if bounder is None else _first_that_fits(search, waiting)
    planned = 0
    cut_short: list[_Merit] = []
    while waiting:
        merit, chosen, relaxed = heapq.heappop(waiting)
        if bounder is not None and best is not None and not search.may_beat(merit, best[0]):
            break
        if (end if best is None else search.deadline).passed:
            cut_short.append(merit)
            break
        if bounder is not None and not relaxed:
            bound = sum(search.bounds(chosen))
            if bound < math.inf:
                heapq.heappush(waiting, (max(merit, search.merit(chosen, max(bound, 0.0))), chosen, True))
            continue
        planned += 1
        if progress is not None:
            progress(planned, len(waiting))
        enough = math.inf if best is None or bounder is None else search.enough(chosen, best[0])
        cycle, bound = search.cycle(chosen, enough)
        if bound < cycle and bound <= enough:
            cut_short.append(search.merit(chosen, max(bound, 0.0)))
        if math.isfinite(cycle) and (best is None or (search.merit(chosen, cycle), chosen) < best):
            best = (search.merit(chosen, cycle), chosen)
    return best, planned, min(cut_short, default=None)


def _first_that_fits(
    search: _Search, waiting: list[tuple[_Merit, tuple[int, ...], bool]]
) -> tuple[_Merit, tuple[int, ...]] | None:
    """Return a candidate with a simple plan, so that there is an answer should time run out."""
    for _, chosen, _ in heapq.nsmallest(_SIMPLE, waiting):
        cycle = search.simple_cycle(chosen)
        if math.isfinite(cycle):
            return search.merit(chosen, cycle), chosen
    return None


_SIMPLE: Final = 50
"""Candidates that are tried for a first simple plan."""


class _Search(Struct, frozen=True):
    """What the search for the best composed line asks of each candidate."""

    job: Job
    stock: Stock
    criterion: str
    settings: PlanSettings
    deadline: Deadline
    known_bounds: dict[tuple[int, ...], list[float]] = field(default_factory=dict)

    def merit(self, chosen: tuple[int, ...], cycle: float) -> tuple[float, ...]:
        """Return the merit that a cycle gives; with a bound of the cycle, the merit that no plan beats."""
        profiles = [self.stock.profiles[k] for k in chosen]
        lengths = [p.floor_width for p in profiles]
        length = math.inf if any(x is None for x in lengths) else sum(x or 0.0 for x in lengths)
        if self.criterion == "length":
            return (length, cycle)
        if self.criterion == "machines":
            return (float(len(chosen)), cycle)
        if self.criterion == "output per area":
            area = area_of(profiles)
            parts = float(self.job.counts().sum(axis=0) @ np.array(self.job.weights()))
            return (-parts * 3600.0 / max(cycle, 1e-9) / area if area else 0.0, cycle)
        return (cycle, length)

    def may_beat(self, merit: tuple[float, ...], best: tuple[float, ...]) -> bool:
        """Whether a bound leaves room for a merit that is better than the best by more than the gap asked for."""
        if self.criterion in _BY_SIZE and merit[0] != best[0]:
            return merit[0] < best[0]
        k = 1 if self.criterion in _BY_SIZE else 0
        return merit[k] < best[k] - self.settings.gap * abs(best[k])

    def enough(self, chosen: tuple[int, ...], best: tuple[float, ...]) -> float:
        """Return the cycle above which a candidate cannot be the best."""
        if self.criterion == "cycle":
            return best[0]
        if self.criterion in _BY_SIZE:
            return best[1] if self.merit(chosen, 0.0)[0] == best[0] else math.inf
        at_one = -self.merit(chosen, 1.0)[0]
        return at_one / -best[0] if best[0] < 0 else math.inf

    def _stations(self, chosen: tuple[int, ...], p: int, strictness: Strictness) -> Stations:
        line, can = self.stock.line(chosen)
        rows = [j for j, part in enumerate(self.job.parts) if part.counts[p]]
        parts = tuple(replace(self.job.parts[j], counts=(self.job.parts[j].counts[p],), refs=()) for j in rows)
        one = Job(self.job.passes[p].name, (self.job.passes[p],), parts)
        return stations_of(one, line, can[rows], strictness=strictness, split=self.settings.split)[0]

    def bounds(self, chosen: tuple[int, ...]) -> list[float]:
        """Return each pass's weighted bound by the relaxation, infinite where a pass cannot fit."""
        if chosen not in self.known_bounds:
            self.known_bounds[chosen] = list(self._bounds(chosen))
        return self.known_bounds[chosen]

    def _bounds(self, chosen: tuple[int, ...]) -> Iterator[float]:
        for p, weight in enumerate(self.job.weights()):
            stations = self._stations(chosen, p, Strictness.OPEN_NARROW)
            seconds = self.deadline.seconds(at_most=_SECONDS_EACH)
            bound = math.inf if stations.nowhere() else lower_bound(stations, time_limit=seconds)
            yield weight * max(bound, 0.0)
            if math.isinf(bound) and bound > 0:
                return

    def cycle(self, chosen: tuple[int, ...], enough: float) -> tuple[float, float]:
        """Return the weighted cycle and a bound of it: infinite if some pass does not fit, or none beats *enough*."""
        least = self.bounds(chosen) if math.isfinite(enough) else [0.0] * len(self.job.passes)
        total = bound = sum(least)
        for p, weight in enumerate(self.job.weights()):
            if not total <= enough:
                return math.inf, bound
            found, proved = self._pass(chosen, p)
            total += weight * found - least[p]
            bound += max(weight * proved - least[p], 0.0)
        return total, min(bound, total)

    def simple_cycle(self, chosen: tuple[int, ...]) -> float:
        """Return the weighted cycle of plans without a solver, infinite where they do not fit."""
        total = 0.0
        for p, weight in enumerate(self.job.weights()):
            stations = self._stations(chosen, p, Strictness.OPEN_NARROW)
            placed = first_fit(stations)
            if placed is None:
                return math.inf
            total += weight * float(stations.seconds_of(placed).max())
        return total

    def _pass(self, chosen: tuple[int, ...], p: int) -> tuple[float, float]:
        """Return the cycle of one pass, as strict as there is a plan, and its bound."""
        bound = math.inf
        for strictness in Strictness:
            stations = self._stations(chosen, p, strictness)
            seconds = self.deadline.seconds(at_most=_SECONDS_EACH)
            found = balance(stations, time_limit=seconds, gap=self.settings.gap)
            # A search that met its gap is as good as proved: the gap is what the user lets pass.
            bound = found.objective if found.status is Status.OPTIMAL else found.bound
            if found.found:
                return found.objective, bound
        return math.inf, bound
