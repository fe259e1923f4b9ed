import numpy as np
import pytest

from capcheck.planning.comparison import CRITERIA, compare_lines
from capcheck.planning.composition import Stock, compose_line, untimed
from capcheck.planning.job import Pass
from capcheck.planning.results import PlanSettings
from capcheck.values.errors import InputError

EXACT = PlanSettings(gap=0.0, time_limit=20)
SIZES = {"floor_width": "1254 mm", "floor_depth": "1687 mm"}


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
@pytest.mark.parametrize("seed", [1, 3, 6])
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


def test_stock_pieces_and_length_limit_the_lines(shop):
    job = order(shop)
    free = a_stock(shop, job, 1)
    one_each = a_stock(shop, job, 1, pieces=(1, 1, 1))
    assert len(list(free.compositions())) == 3 + 6 + 10
    assert len(list(one_each.compositions())) == 3 + 3 + 1
    lengths = [p.floor_width for p in free.profiles]
    short = a_stock(shop, job, 1, max_length_mm=min(lengths))
    assert list(short.compositions()) == [(lengths.index(min(lengths)),)]


def test_a_profile_used_twice_gets_two_names(shop):
    job = order(shop)
    line, can = a_stock(shop, job, 1).line((0, 0, 1))
    assert [m.name for m in line.machines] == ["S0 #1", "S0 #2", "S1"]
    assert can.shape[1] == sum(len(m.head) for m in line.machines)


def test_a_faster_line_wins_by_cycle_and_a_shorter_one_by_length(shop):
    job = order(shop, passes=1)
    short = shop.line(shop.machine("A", **SIZES))
    long = shop.line(shop.machine("A", **SIZES), shop.machine("B", **SIZES))
    entries = [(short, shop.takes_all(job, short), None), (long, shop.takes_all(job, long), None)]
    assert compare_lines(job, entries).best == 1
    by_length = compare_lines(job, entries, criterion="length")
    assert by_length.best == 0
    row = by_length.rows[0]
    assert row.per_hour_and_m2 == pytest.approx(job.counts().sum() * 3600 / row.cycle / (1.254 * 1.687))


def test_a_line_that_leaves_parts_over_is_never_best(shop):
    job = order(shop, passes=1)
    line = shop.line(shop.machine("A"))
    can = shop.takes_all(job, line)
    can[0] = -1
    comparison = compare_lines(job, [(line, can, None)])
    assert comparison.best is None
    assert comparison.rows[0].left_over == 1


def test_an_unknown_criterion_is_refused(shop):
    with pytest.raises(InputError, match="criterion"):
        compare_lines(order(shop), [], criterion="beauty")


def test_profiles_without_times_are_named(shop):
    job = order(shop)
    stock = Stock((shop.machine("A", times={}),), (np.ones((5, 1), dtype=np.int8),))
    assert untimed(stock) == ("A",)
    assert compose_line(job, stock, settings=EXACT).row.cycle is None
