"""A mixed-integer program, built row by row and solved by HiGHS.

Only this module knows the solver. It is the optional extra ``plan``: without it, planning says how to install it.
"""

from __future__ import annotations

import enum
import math
import os
import threading
import time
from collections.abc import Callable, Sequence
from functools import cache
from typing import TYPE_CHECKING, Final

import numpy as np
from msgspec import Struct, field

from capcheck.model import Floats
from capcheck.planning.search.held_back import requests_to_end
from capcheck.values import InputError

if TYPE_CHECKING:
    import highspy
    from highspy.highs import HighsCallbackEvent

INFINITY: Final = math.inf
_GRACE: Final = 0.05
_WATCHED: Final = 1.0
"""Seconds of a search from which its end is watched from outside."""
_PATIENCE: Final = 1.02, 0.1
"""How long a search that is watched may take: so many times its limit, and seconds besides."""
_SLACK: Final = 1e-6

Progress = Callable[[float, float, float], None]
"""Called with seconds so far, best value so far (infinite if none) and proven bound."""


class Status(enum.StrEnum):
    """How a search ended."""

    OPTIMAL = "optimal"
    """Within the gap asked for."""
    LIMIT = "limit"
    """Stopped early: what was found, if anything, is the best so far."""
    INFEASIBLE = "infeasible"
    FAILED = "failed"


class Solved(Struct, frozen=True):
    """What the solver found. *values* is None without a solution; *bound* is a proven lower bound of the objective."""

    status: Status
    objective: float
    bound: float
    values: Floats | None


@cache
def _let_processes_be_forked() -> None:
    """Have the solver's threads end before this process is forked.

    A child would inherit what the solver knows of its threads and not the threads, and wait for them for ever.
    """
    import highspy

    def end_all() -> None:
        for run in list(_GOING_ON):
            run.end()
        highspy.Highs.resetGlobalScheduler(True)

    if hasattr(os, "register_at_fork"):
        os.register_at_fork(before=end_all)


def _quiet_solver() -> highspy.Highs:
    """Return a solver that prints nothing. Raises :class:`InputError` where it is not installed."""
    try:
        import highspy
    except ImportError:
        raise InputError.at(
            "planning",
            "the solver is not installed",
            "who places what is a mixed-integer program, solved by HiGHS",
            'run: pip install "capcheck[plan]"',
        ) from None

    _let_processes_be_forked()

    class Quiet(highspy.Highs):
        def enableCallbacks(self) -> None:  # noqa: N802 - the solver's own name
            # Enabling callbacks is where a new solver prints its banner, and standard output carries the report.
            self.setOptionValue("output_flag", False)
            super().enableCallbacks()  # type: ignore[no-untyped-call]

    return Quiet()  # type: ignore[no-untyped-call]


class Program(Struct):
    """A program to minimise: variables with bounds and cost, rows with bounds."""

    cost: list[float] = field(default_factory=list)
    lower: list[float] = field(default_factory=list)
    upper: list[float] = field(default_factory=list)
    integer: list[bool] = field(default_factory=list)
    row_lower: list[float] = field(default_factory=list)
    row_upper: list[float] = field(default_factory=list)
    starts: list[int] = field(default_factory=lambda: [0])
    columns: list[int] = field(default_factory=list)
    coefficients: list[float] = field(default_factory=list)

    def variable(self, lower: float = 0.0, upper: float = INFINITY, *, cost: float = 0.0, integer: bool = False) -> int:
        """Add a variable and return its index."""
        self.cost.append(cost)
        self.lower.append(lower)
        self.upper.append(upper)
        self.integer.append(integer)
        return len(self.cost) - 1

    def row(
        self,
        columns: Sequence[int],
        coefficients: Sequence[float],
        lower: float = -INFINITY,
        upper: float = INFINITY,
    ) -> None:
        """Add the row lower ≤ Σ coefficient × variable ≤ upper."""
        self.columns.extend(columns)
        self.coefficients.extend(coefficients)
        self.starts.append(len(self.columns))
        self.row_lower.append(lower)
        self.row_upper.append(upper)

    def solve(
        self,
        *,
        relaxed: bool = False,
        time_limit: float = 60.0,
        gap: float = 0.0,
        start: Floats | None = None,
        upper: Floats | None = None,
        target: float | None = None,
        nodes: int | None = None,
        progress: Progress | None = None,
    ) -> Solved:
        """Minimise, and return the best found with a proven bound.

        *relaxed* drops integrality. *gap* is the relative gap at which to stop. *start* is a solution to begin with;
        *upper* replaces the variables' upper bounds; *target* is an objective that is good enough to stop, and
        *nodes* the most of the search tree that are looked at: unlike a time, that ends a search on every machine in
        the same place.
        Raises :class:`InputError` where the solver is not installed.
        """
        solver = _quiet_solver()
        solver.setOptionValue("time_limit", max(float(time_limit), 0.01))
        solver.setOptionValue("mip_rel_gap", float(gap))
        solver.setOptionValue("mip_abs_gap", 1e-9)
        solver.setOptionValue("random_seed", 0)
        if target is not None:
            solver.setOptionValue("objective_target", float(target))
        if nodes is not None:
            solver.setOptionValue("mip_max_nodes", nodes)
        solver.passModel(self._as_lp(relaxed=relaxed, upper=upper))
        if start is not None and not relaxed:
            solver.setSolution(len(start), np.arange(len(start), dtype=np.int32), np.asarray(start, dtype=np.float64))
        begun = time.monotonic()
        run = _Run(solver, time_limit + _GRACE)
        if progress is not None and not relaxed:
            # The solver logs at intervals; each better plan is told at once.
            solver.setOptionValue("mip_min_logging_interval", 1.0)
            run.tell(progress)
        if relaxed or time_limit < _WATCHED:
            run.here()
            found = _solved(solver, relaxed=relaxed)
        else:
            times, more = _PATIENCE
            found = _solved(solver, relaxed=False) if run.ends_in(times * time_limit + more) else run.so_far
        if start is None or found.values is None or self._is_worth(found.values, found.objective):
            return found
        # Of some programs that presolve ends, the solver hands back the solution it began with as the one it found.
        left = time_limit - (time.monotonic() - begun)
        told = Solved(Status.LIMIT, float(np.array(self.cost) @ found.values), found.bound, found.values)
        if left <= 0:
            return told
        again = self.solve(time_limit=left, gap=gap, upper=upper, target=target, nodes=nodes, progress=progress)
        return again if again.values is not None and again.objective < told.objective else told

    def _is_worth(self, values: Floats, objective: float) -> bool:
        """Whether the variables' own cost is what the solver says of it."""
        return float(np.array(self.cost) @ values) <= objective + _SLACK * max(1.0, abs(objective))

    def _as_lp(self, *, relaxed: bool, upper: Floats | None) -> highspy.HighsLp:
        import highspy

        lp = highspy.HighsLp()
        lp.num_col_, lp.num_row_ = len(self.cost), len(self.row_lower)
        lp.col_cost_, lp.col_lower_ = np.array(self.cost), np.array(self.lower)
        lp.col_upper_ = np.array(self.upper) if upper is None else np.asarray(upper, dtype=np.float64)
        lp.row_lower_, lp.row_upper_ = np.array(self.row_lower), np.array(self.row_upper)
        lp.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
        lp.a_matrix_.start_ = np.array(self.starts, dtype=np.int32)
        lp.a_matrix_.index_ = np.array(self.columns, dtype=np.int32)
        lp.a_matrix_.value_ = np.array(self.coefficients)
        if not relaxed:
            kinds = (highspy.HighsVarType.kContinuous, highspy.HighsVarType.kInteger)
            lp.integrality_ = [kinds[flag] for flag in self.integer]
        return lp


class _Run:
    """A solver at work, interrupted at its end wherever it looks up: between nodes, within a long relaxation.

    Some of its steps look up for seconds at nothing. A search in a thread of its own is then left to itself, and what
    it had told of until then is its result.
    """

    def __init__(self, solver: highspy.Highs, seconds: float) -> None:
        self._solver, self._end = solver, time.monotonic() + seconds
        self._came: Sequence[int] = ()
        self._left = False
        self._raised: BaseException | None = None
        self.so_far = Solved(Status.LIMIT, INFINITY, -INFINITY, None)
        """The best that was told of."""
        self._thread, self._ended = threading.Thread(target=self._work, name="solver"), threading.Event()
        solver.cbMipInterrupt.subscribe(self._look_up)
        solver.cbSimplexInterrupt.subscribe(self._look_up)

    def _look_up(self, event: HighsCallbackEvent) -> None:
        if self._came or time.monotonic() > self._end:
            event.interrupt()

    def _note(self, event: HighsCallbackEvent) -> None:
        out = event.data_out
        # One assignment: whoever stops waiting meanwhile finds a solution with its own objective.
        best, objective = np.array(out.mip_solution), float(out.mip_primal_bound)
        self.so_far = Solved(Status.LIMIT, objective, float(out.mip_dual_bound), best)

    def tell(self, progress: Progress) -> None:
        """Have *progress* told of each better solution, and at intervals, as long as somebody waits for the search."""

        def report(event: HighsCallbackEvent) -> None:
            out = event.data_out
            try:
                if not self._left and self._raised is None:
                    progress(out.running_time, out.mip_primal_bound, out.mip_dual_bound)
            except Exception as error:  # noqa: BLE001 - the solver would take it for a failure of its own
                self._raised, self._end = error, 0.0

        self._solver.cbMipLogging.subscribe(report)
        self._solver.cbMipImprovingSolution.subscribe(report)

    def _work(self) -> None:
        try:
            self._solver.run()
        except BaseException as error:  # noqa: BLE001 - raised anew by whoever waits
            self._raised = error
        finally:
            _GOING_ON.discard(self)
            self._ended.set()

    def here(self) -> None:
        """Run in this thread, to the end or to a request to end the program."""
        with requests_to_end() as self._came:
            self._solver.run()
        self._raise_what_was_raised()

    def ends_in(self, seconds: float) -> bool:
        """Run, and return whether that ended in so many seconds; whoever waits may be interrupted.

        What is raised in the search is raised here.
        """
        self._solver.cbMipImprovingSolution.subscribe(self._note)
        _GOING_ON.add(self)
        try:
            self._thread.start()
            # Not by joining the thread: a join that is interrupted takes it for ended, and the process ends within it.
            self._left = not self._ended.wait(seconds)
        except BaseException:
            self._left, self._end = True, 0.0
            raise
        self._raise_what_was_raised()
        return not self._left

    def _raise_what_was_raised(self) -> None:
        if self._raised is not None:
            raise self._raised

    def end(self) -> None:
        """Have the search end, and wait until it did."""
        self._end = 0.0
        if self._thread.is_alive():
            self._ended.wait()


_GOING_ON: Final[set[_Run]] = set()
"""Searches in threads of their own, those that nobody waits for too."""


def _solved(solver: highspy.Highs, *, relaxed: bool) -> Solved:
    import highspy

    status = solver.getModelStatus()
    info = solver.getInfo()
    kinds = highspy.HighsModelStatus
    if status in (kinds.kInfeasible, kinds.kUnboundedOrInfeasible):
        return Solved(Status.INFEASIBLE, INFINITY, INFINITY, None)
    found = info.primal_solution_status == highspy.SolutionStatus.kSolutionStatusFeasible
    values = np.array(solver.getSolution().col_value) if found else None
    objective = float(info.objective_function_value) if found else INFINITY
    if status == kinds.kOptimal:
        return Solved(Status.OPTIMAL, objective, objective if relaxed else float(info.mip_dual_bound), values)
    stopped = kinds.kTimeLimit, kinds.kIterationLimit, kinds.kSolutionLimit, kinds.kInterrupt, kinds.kObjectiveTarget
    if status in stopped:
        return Solved(Status.LIMIT, objective, -INFINITY if relaxed else float(info.mip_dual_bound), values)
    return Solved(Status.FAILED, INFINITY, -INFINITY, None)
