"""A search that must end by a deadline gives what it has.

Figures: invented machines and jobs, sums worked by hand; a figure of the trade has its source beside it.
"""

import os
import signal
import threading
import time
from types import SimpleNamespace

import numpy as np
import pytest

from capcheck.planning.job import Pass
from capcheck.planning.line_comparison import CandidateLine, compare_lines
from capcheck.planning.line_from_stock import compose_line
from capcheck.planning.plan_data import PlanSettings
from capcheck.planning.planner import plan_line
from capcheck.planning.search.deadline import Deadline
from capcheck.planning.search.milp import _GOING_ON, _Run
from capcheck.planning.stock import Stock
from capcheck.planning.what_if import what_if


def test_what_is_left_is_shared_out_and_a_passed_deadline_leaves_a_moment():
    end = Deadline.after(10.0)
    assert 4.9 < end.seconds(0.5) <= 5.0
    assert end.seconds(at_most=2.0) == 2.0
    assert end.part(0.5).left <= 5.0
    gone = Deadline.after(-1.0)
    assert gone.passed
    assert gone.left == 0.0
    assert 0 < gone.seconds() < 0.5


@pytest.fixture
def hard(shop):
    """A job whose optimum cannot be proved in a moment, on a line where some parts do not fit."""
    rng = np.random.default_rng(3)
    counts = np.minimum(np.maximum(1, rng.pareto(1.2, (120, 3)) * 3), 60).astype(int)
    parts = [shop.part(f"P{k}", *map(int, row)) for k, row in enumerate(counts)]
    job = shop.job(*parts, passes=[Pass(f"board {p}", marks=3) for p in range(3)])
    line = shop.line(*(shop.machine(f"M{k}", slots=35, gantries=2, nozzles=3 + k) for k in range(3)))
    can = np.where(rng.random((120, 6)) < 0.2, -1, 1).astype(np.int8)
    can[:, -1] = 1
    return job, line, can


@pytest.mark.parametrize("ask", ["plan", "compare", "what if", "compose"])
def test_one_limit_holds_for_all_searches_together(hard, ask, in_time):
    job, line, can = hard
    settings = PlanSettings(gap=0.0, set_up="each", time_limit=1.0)
    with in_time(6, waiting=True):
        if ask == "plan":
            plan = plan_line(job, line, can, settings=settings)
            assert len(plan.set_ups) == 3
            assert all(0 <= s.gap <= 1 for s in plan.set_ups)
            assert all(s.bound <= s.seconds for s in plan.set_ups)
        elif ask == "compare":
            assert all(row.cycle for row in compare_lines(job, [CandidateLine(line, can)] * 4, settings=settings).rows)
        elif ask == "what if":
            end = Deadline.after(1.0)
            what_if(plan_line(job, line, can, settings=settings, deadline=end.part(0.5)), line, can, deadline=end)
        else:
            stock = Stock(line.machines, (can[:, :2], can[:, 2:4], can[:, 4:]), max_machines=4)
            found = compose_line(job, stock, settings=settings)
            assert found.row is not None
            assert found.complete is False
            assert found.bound <= found.row.cycle
        # Generous: machines that run tests are busy. With a limit for each search these take 12 s and more.


class _DeafSolver:
    """Stands for a solver that tells of one solution and then looks up at nothing for a while."""

    def __init__(self, seconds, raises=None):
        self.seconds, self.raises, self.told = seconds, raises, []
        self.cbMipInterrupt = self.cbSimplexInterrupt = self.cbMipLogging = SimpleNamespace(subscribe=lambda _: None)
        self.cbMipImprovingSolution = SimpleNamespace(subscribe=self.told.append)

    def run(self):
        self._tell(7.0)
        if self.raises is not None:
            raise self.raises
        time.sleep(self.seconds)
        self._tell(6.0)

    def _tell(self, objective):
        out = SimpleNamespace(
            mip_solution=[1.0, 0.0], mip_primal_bound=objective, mip_dual_bound=5.0, running_time=self.seconds
        )
        for tell in self.told:
            tell(SimpleNamespace(data_out=out))


def test_a_solver_that_does_not_look_up_is_left_to_itself_with_what_it_had_found():
    run, seen = _Run(_DeafSolver(0.6), 0.1), []
    run.tell(lambda _, best, bound: seen.append((best, bound)))
    begun = time.monotonic()
    assert run.ends_in(0.1) is False
    assert time.monotonic() - begun < 0.5
    found = run.so_far
    assert (found.status, found.objective, found.bound, found.values.tolist()) == ("limit", 7.0, 5.0, [1.0, 0.0])
    run.end()
    assert time.monotonic() - begun > 0.5
    assert seen == [(7.0, 5.0)], "nothing is told any more of a search that nobody waits for"
    assert _Run(_DeafSolver(0.0), 0.1).ends_in(5.0) is True


def test_what_is_raised_in_a_search_is_raised_where_it_is_waited_for():
    with pytest.raises(MemoryError):
        _Run(_DeafSolver(0.0, MemoryError()), 0.1).ends_in(5.0)
    assert not _GOING_ON


def test_a_search_that_an_interrupt_leaves_is_known_to_go_on_until_it_looks_up():
    run = _Run(_DeafSolver(1.0), 5.0)
    timer = threading.Timer(0.3, os.kill, (os.getpid(), signal.SIGINT))
    timer.start()
    with pytest.raises(KeyboardInterrupt):
        run.ends_in(5.0)
    timer.join()
    (thread,) = (thread for thread in threading.enumerate() if thread.name == "solver")
    assert thread.is_alive(), "who ends the process waits for it, or it would end within the solver"
    run.end()
    assert not _GOING_ON
