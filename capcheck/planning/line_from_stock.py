"""The best line composed of a stock of machine profiles.

Lines are composed of machines in the stock's order, each as often as is wanted. Bounds that no plan can beat put the
candidates in order and cut the search short; the answer is that of planning them all.
"""

from __future__ import annotations

import enum
import heapq
import math
from collections.abc import Callable, Iterator
from functools import reduce
from operator import or_
from typing import Final

import numpy as np
from msgspec import Struct, field
from msgspec.structs import replace

from capcheck.planning.board_passage import judged
from capcheck.planning.bounds_of_lines import Bounder, bounder_of
from capcheck.planning.job import Job
from capcheck.planning.line_comparison import Row, check_criterion, row_of
from capcheck.planning.plan_data import Nowhere, PlanSettings
from capcheck.planning.planner import plan_line
from capcheck.planning.search import Deadline, Stations, Status, balance, first_fit, improved, lower_bound
from capcheck.planning.stations_of_line import Strictness, stations_of
from capcheck.planning.stock import Stock, without_machine, without_parts
from capcheck.planning.times import area_of, uptime
from capcheck.values import Interval

_SETTINGS = PlanSettings()
_SEARCHING: Final = 0.8
"""Share of the time in which to look for the best line; the rest is for planning it in full."""
_SECONDS_EACH: Final = 2.0
"""Seconds that one pass of one candidate gets at most."""


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
    nowhere: tuple[Nowhere, ...] = ()
    """Where no line was found: the parts that no machine of the stock takes, and why."""


Found = Callable[[tuple[str, ...], float], None]
"""Is told the machines of the best line so far, and its mean cycle."""


def _able(job: Job, stock: Stock) -> Iterator[tuple[int, ...]]:
    """Yield the compositions in which no part is without a machine; a quick test before any program."""
    # A bit for each part that a profile may take: there are tens of thousands of compositions.
    takes = [sum(1 << j for j in np.flatnonzero((can >= 0).any(axis=1)).tolist()) for can in stock.can]
    every = (1 << len(job.parts)) - 1
    yield from (c for c in stock.compositions() if reduce(or_, (takes[k] for k in c)) == every)


def compose_line(
    job: Job,
    stock: Stock,
    *,
    criterion: str = "cycle",
    settings: PlanSettings = _SETTINGS,
    exhaustive: bool = False,
    progress: Callable[[int, int], None] | None = None,
    found: Found | None = None,
    deadline: Deadline | None = None,
) -> Composed:
    """Return the best line composed of a stock that places every pass, each pass with a set-up of its own.

    The best meets the demand, where hours are scheduled, then has the least merit by the criterion, then the least
    cycle; a line must place every part (undecided counts as possible; the row's verdict tells), but for those that no
    machine takes where there is a hand station. *exhaustive* plans every candidate, for comparison. *progress* is
    called with candidates planned and waiting, *found* with each line that is the best so far. The time limit of the
    settings, or the *deadline*, is for everything together; the best so far is returned where it ends the search.
    """
    check_criterion(criterion)
    end = deadline or Deadline.after(settings.time_limit)
    nowhere = without_machine(job, stock)
    by_hand = {one.part for one in nowhere} if stock.has_hand_station else set()
    asked, shelf = without_parts(job, stock, by_hand) if by_hand else (job, stock)
    search = _Search(asked, shelf, criterion, settings, end.part(_SEARCHING), found)
    bounder = None if exhaustive else bounder_of(asked, shelf)
    candidates = list(_able(asked, shelf))
    best, planned, least = _searched(search, bounder, candidates, end, progress)
    if best is None:
        return Composed(None, len(candidates), planned, complete=least is None, nowhere=nowhere)
    merit, chosen = best
    line, can = stock.line(chosen)
    plan = plan_line(job, line, can, stock.reasons_of(chosen), settings=replace(settings, set_up="each"), deadline=end)
    row = row_of(judged(plan, stock.reports, [stock.profiles[k].name for k in chosen]), line)
    complete = least is None or not search.may_beat(least, merit)
    bound = None if complete or least is None or criterion in _BY_SIZE else abs(least[1])
    return Composed(row, len(candidates), planned, complete, bound)


_Merit = tuple[float, ...]
_BY_SIZE: Final = frozenset({"length", "machines"})
"""Criteria that a composition meets or not whatever its cycle."""


class _Bounded(enum.IntEnum):
    """By what the merit of a candidate that waits is bounded."""

    QUICKLY = 0
    CLOSELY = 1
    BY_RELAXATION = 2


def _quickly(candidates: list[tuple[int, ...]], bounder: Bounder | None) -> Iterator[tuple[tuple[int, ...], float]]:
    """Yield candidates of one size with a bound that is worked out for all of them at once."""
    bounds = [0.0] * len(candidates) if bounder is None else bounder.quick(candidates).tolist()
    yield from zip(candidates, bounds, strict=True)


def _searched(
    search: _Search,
    bounder: Bounder | None,
    candidates: list[tuple[int, ...]],
    end: Deadline,
    progress: Callable[[int, int], None] | None,
) -> tuple[tuple[_Merit, tuple[int, ...]] | None, int, _Merit | None]:
    """Return the best with its merit, how many were planned, and the least merit that is left open (None: none)."""
    # Candidates wait in the order of what they may reach at best: first by a bound that all have at once, then by a
    # closer one, then by the relaxation's, and only one that is still first is planned.
    waiting = [
        (search.merit(c, bound), c, _Bounded.QUICKLY)
        for size in sorted(set(map(len, candidates)))
        for c, bound in _quickly([c for c in candidates if len(c) == size], bounder)
    ]
    heapq.heapify(waiting)
    best = None if bounder is None else _first_that_fits(search, waiting)
    if best is not None:
        search.tell(best)
    planned = 0
    cut_short: list[_Merit] = []
    while waiting:
        merit, chosen, by = heapq.heappop(waiting)
        if bounder is not None and best is not None and not search.may_beat(merit, best[0]):
            break
        if (end if best is None else search.deadline).passed:
            cut_short.append(merit)
            break
        if bounder is not None and by is _Bounded.QUICKLY:
            closer = max(merit, search.merit(chosen, bounder.bound(chosen)))
            heapq.heappush(waiting, (closer, chosen, _Bounded.CLOSELY))
            continue
        if bounder is not None and by is _Bounded.CLOSELY:
            bound = sum(search.bounds(chosen))
            if bound < math.inf:
                closer = max(merit, search.merit(chosen, max(bound, 0.0)))
                heapq.heappush(waiting, (closer, chosen, _Bounded.BY_RELAXATION))
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
            search.tell(best)
    return best, planned, min(cut_short, default=None)


def _first_that_fits(
    search: _Search, waiting: list[tuple[_Merit, tuple[int, ...], _Bounded]]
) -> tuple[_Merit, tuple[int, ...]] | None:
    """Return the best of some candidates with a simple plan, so that there is an answer should time run out."""
    end, best = search.deadline.part(_FIRST), None
    for _, chosen, _ in heapq.nsmallest(_SIMPLE, waiting):
        cycle = search.simple_cycle(chosen)
        if math.isfinite(cycle) and (best is None or (search.merit(chosen, cycle), chosen) < best):
            best = (search.merit(chosen, cycle), chosen)
        if best is not None and end.passed:
            break
    return best


_SIMPLE: Final = 50
"""Candidates that are tried for a first simple plan."""
_FIRST: Final = 0.3
"""Share of the time for that, once one was found."""


class _Search(Struct, frozen=True):
    """What the search for the best composed line asks of each candidate."""

    job: Job
    stock: Stock
    criterion: str
    settings: PlanSettings
    deadline: Deadline
    found: Found | None = None
    known_bounds: dict[tuple[int, ...], list[float]] = field(default_factory=dict)

    def tell(self, best: tuple[_Merit, tuple[int, ...]]) -> None:
        """Tell the best line so far, where somebody listens."""
        if self.found is not None:
            merit, chosen = best
            cycle = merit[1] if self.criterion == "cycle" else merit[-1]
            self.found(tuple(self.stock.profiles[k].name for k in chosen), cycle)

    def merit(self, chosen: tuple[int, ...], cycle: float) -> _Merit:
        """Return the merit that a cycle gives; with a bound of the cycle, the merit that no plan beats.

        It begins with 0 for a line that meets the demand, 1 for one that may, 2 for one that does not.
        """
        profiles = [self.stock.profiles[k] for k in chosen]
        cycle = max(cycle, self.stock.pace)
        late = float(sum(cycle > limit for limit in self._takts(chosen)))
        lengths = [p.floor_width for p in profiles]
        length = math.inf if any(x is None for x in lengths) else sum(x or 0.0 for x in lengths)
        if self.criterion == "length":
            return (late, length, cycle)
        if self.criterion == "machines":
            return (late, float(len(chosen)), cycle)
        if self.criterion == "output per area":
            return (late, -self._output_at_one(chosen) / max(cycle, 1e-9), cycle)
        return (late, cycle, length)

    def _output_at_one(self, chosen: tuple[int, ...]) -> float:
        """Return placements an hour and m² at a cycle of one second; 0 where an area is not stated."""
        area = area_of([self.stock.profiles[k] for k in chosen])
        parts = float(self.job.counts().sum(axis=0) @ np.array(self.job.weights()))
        return parts * 3600.0 / area if area else 0.0

    def _takts(self, chosen: tuple[int, ...]) -> tuple[float, float]:
        """Return the cycles up to which a line meets the demand for sure, and up to which it may, by its uptime."""
        hours, yearly = self.settings.hours_per_year, [p.per_year for p in self.job.passes]
        if hours is None or any(y is None for y in yearly):
            return math.inf, math.inf
        share = uptime(self.stock.line(chosen)[0], self.settings.uptime) or Interval.exactly(1.0)
        whole = hours * 3600.0 / sum(y or 0.0 for y in yearly)
        return whole * share.low, whole * share.high

    def may_beat(self, merit: _Merit, best: _Merit) -> bool:
        """Whether a bound leaves room for a merit that is better than the best by more than the gap asked for."""
        if merit[0] != best[0]:
            return merit[0] < best[0]
        if self.criterion in _BY_SIZE and merit[1] != best[1]:
            return merit[1] < best[1]
        k = 2 if self.criterion in _BY_SIZE else 1
        return merit[k] < best[k] - self.settings.gap * abs(best[k])

    def enough(self, chosen: tuple[int, ...], best: _Merit) -> float:
        """Return the cycle above which a candidate cannot be the best."""
        late = int(best[0])
        limits = (0.0, *self._takts(chosen), math.inf)
        # A line that meets the demand better is the better one whatever its cycle.
        return max(limits[late], min(limits[late + 1], self._enough_by_criterion(chosen, best)))

    def _enough_by_criterion(self, chosen: tuple[int, ...], best: _Merit) -> float:
        if self.criterion == "cycle":
            return best[1]
        if self.criterion in _BY_SIZE:
            return best[2] if self.merit(chosen, 0.0)[1] == best[1] else math.inf
        return self._output_at_one(chosen) / -best[1] if best[1] < 0 else math.inf

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
            stations = self._stations(chosen, p, Strictness.ALL_OPEN)
            seconds = self.deadline.seconds(at_most=_SECONDS_EACH)
            bound = math.inf if stations.nowhere() else lower_bound(stations, time_limit=seconds)
            yield weight * max(bound, self.stock.pace)
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
            total += weight * max(found, self.stock.pace) - least[p]
            bound += max(weight * max(proved, self.stock.pace) - least[p], 0.0)
        return total, min(bound, total)

    def simple_cycle(self, chosen: tuple[int, ...]) -> float:
        """Return the weighted cycle of plans without a solver, infinite where they do not fit."""
        total = 0.0
        for p, weight in enumerate(self.job.weights()):
            stations = self._stations(chosen, p, Strictness.ALL_OPEN)
            placed = first_fit(stations)
            if placed is None:
                return math.inf
            better = improved(stations, placed, self.deadline)
            total += weight * max(float(stations.seconds_of(better).max()), self.stock.pace)
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
