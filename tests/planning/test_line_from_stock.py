"""A line chosen from the machines that a shop has.

Figures: invented machines and jobs, sums worked by hand; a figure of the trade has its source beside it.
"""

import numpy as np
import pytest
from depth import sample_of
from msgspec.structs import replace

from capcheck.engine import Take
from capcheck.machines.line import LineFile
from capcheck.model import say
from capcheck.planning.job import Pass
from capcheck.planning.line_comparison import CRITERIA
from capcheck.planning.line_from_stock import compose_line
from capcheck.planning.plan_data import PlanSettings
from capcheck.planning.stock import Stock
from capcheck.report.plan import composed_text

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
@pytest.mark.parametrize("seed", sample_of([6, 1], 1))
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


def two(shop, **more):
    """A stock of two profiles for a board of many chips, each 2 m long."""
    job = shop.job(shop.part("P", 60), shop.part("Q", 60), passes=[Pass("board", per_year=1000.0, marks=2)])
    profiles = tuple(shop.machine(name, floor_width="2 m", floor_depth="2 m") for name in "AB")
    return job, Stock(profiles, tuple(np.ones((2, 1), dtype=np.int8) for _ in profiles), max_machines=3, **more)


def around(**more):
    return LineFile.model_validate({"name": "frame", "machines": ["any"], **more})


@pytest.mark.parametrize("criterion", CRITERIA)
def test_a_line_that_meets_the_demand_is_better_than_one_that_does_not(shop, criterion):
    job, stock = two(shop)
    alone = compose_line(job, stock, criterion="machines", settings=EXACT).row
    assert len(alone.machines) == 1
    hours = 0.7 * alone.cycle * 1000 / 3600
    settings = replace(EXACT, hours_per_year=hours)
    row = compose_line(job, stock, criterion=criterion, settings=settings).row
    assert row.cycle <= hours * 3600 / 1000
    assert len(row.machines) == {"machines": 2, "length": 2}.get(criterion, len(row.machines))
    far_too_few = replace(EXACT, hours_per_year=hours / 100)
    assert compose_line(job, stock, criterion=criterion, settings=far_too_few).row.verdict == "fail"


def test_stations_and_floor_of_a_line_hold_for_what_is_composed(shop):
    oven = [{"name": "oven", "cycle": "90 s", "length": "5 m"}]
    job, stock = two(shop, around=around(station=oven, free_length="9 m"))
    assert max(map(len, stock.compositions())) == 2, "two machines beside the oven"
    row = compose_line(job, stock, settings=EXACT).row
    assert row.cycle == 90.0
    assert row.length == 5000.0 + 2000.0 * len(row.machines)
    assert row.plan.floor.fits is True


def test_what_no_machine_takes_goes_to_the_bench_where_there_is_one_and_is_named_where_there_is_none(shop):
    for bench in (True, False):
        job, stock = two(shop, around=around(**({"bench": [{"name": "table", "seconds": "8 s"}]} if bench else {})))
        keeps_off = np.array([[1], [-1]], dtype=np.int8)
        reasons = ({(1, 0): (Take(-1, "part-height", why=say("planning.head undecided")),)}, {})
        found = compose_line(job, replace(stock, can=(keeps_off, keeps_off), reasons=reasons), settings=EXACT)
        if bench:
            assert [name for name, _ in found.row.plan.shortage.take_off] == ["Q"]
        else:
            assert found.row is None
            assert [one.part for one in found.nowhere] == ["Q"]
            assert "no machine can place Q (60 placements): A/H1" in composed_text(found, "cycle")


def test_each_line_that_is_the_best_so_far_is_told(shop):
    job, stock = two(shop)
    told = []
    row = compose_line(job, stock, settings=EXACT, found=lambda machines, cycle: told.append((machines, cycle))).row
    assert told
    cycles = [cycle for _, cycle in told]
    assert cycles == sorted(cycles, reverse=True)
    assert cycles[-1] == pytest.approx(row.cycle)
