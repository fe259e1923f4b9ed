"""A line chosen from the machines that a shop has.

Figures: invented machines and jobs, sums worked by hand; a figure of the trade has its source beside it.
"""

import numpy as np
import pytest

from capcheck.planning.job import Pass
from capcheck.planning.line_comparison import CRITERIA
from capcheck.planning.line_from_stock import Stock, compose_line
from capcheck.planning.plan_data import PlanSettings

EXACT = PlanSettings(gap=0.0, time_limit=20)


def order(shop, types=5, passes=2):
    rng = np.random.default_rng(4)
    boards = [Pass(f"board {p}", per_year=1000 * (p + 1), marks=3) for p in range(passes)]
    parts = [shop.part(f"P{k}", *(int(n) for n in rng.integers(1, 12, passes))) for k in range(types)]
    return shop.job(*parts, passes=boards)


def a_stock(shop, job, seed, **more):
    rng = np.random.default_rng(seed)
    profiles = []
    for k in range(3):
        times = {**shop.times, "place": f"{rng.uniform(0.06, 0.3):.3f} s"}
        sizes = {"floor_width": f"{rng.integers(800, 2000)} mm", "floor_depth": f"{rng.integers(1400, 2200)} mm"}
        gantries, nozzles = int(rng.integers(1, 3)), int(rng.integers(1, 6))
        profiles.append(
            shop.machine(
                f"S{k}", slots=int(rng.integers(3, 9)), times=times, gantries=gantries, nozzles=nozzles, **sizes
            )
        )
    can = [np.where(rng.random((len(job.parts), len(p.head))) < 0.3, -1, 1).astype(np.int8) for p in profiles]
    return Stock(tuple(profiles), tuple(can), max_machines=3, **more)


@pytest.mark.parametrize("criterion", CRITERIA)
@pytest.mark.parametrize("seed", [1, 6])
def test_composing_finds_what_planning_every_candidate_finds(shop, seed, criterion):
    job = order(shop)
    stock = a_stock(shop, job, seed)
    quick = compose_line(job, stock, criterion=criterion, settings=EXACT)
    full = compose_line(job, stock, criterion=criterion, settings=EXACT, exhaustive=True)
    assert full.planned == full.candidates
    assert quick.planned <= full.planned
    assert (quick.row is None) == (full.row is None)
    if full.row is not None:
        assert quick.row.cycle == pytest.approx(full.row.cycle)
        assert quick.row.length == pytest.approx(full.row.length) or criterion in ("cycle", "machines")
        assert len(quick.row.machines) == len(full.row.machines) or criterion != "machines"


def test_machines_and_length_limit_the_lines(shop):
    job = order(shop)
    free = a_stock(shop, job, 1)
    assert len(list(free.compositions())) == 3 + 6 + 10
    lengths = [p.floor_width for p in free.profiles]
    short = a_stock(shop, job, 1, max_length_mm=min(lengths))
    assert list(short.compositions()) == [(lengths.index(min(lengths)),)]


def test_a_profile_used_twice_gets_two_names(shop):
    job = order(shop)
    line, can = a_stock(shop, job, 1).line((0, 0, 1))
    assert [m.name for m in line.machines] == ["S0 #1", "S0 #2", "S1"]
    assert can.shape[1] == sum(len(m.head) for m in line.machines)


def test_a_stock_without_times_still_gives_a_line(shop):
    job = order(shop)
    stock = Stock((shop.machine("A", times={}),), (np.ones((5, 1), dtype=np.int8),))
    assert compose_line(job, stock, settings=EXACT).row.cycle is None
