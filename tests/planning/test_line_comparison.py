"""Lines compared for a set of boards.

Figures: invented machines and jobs, sums worked by hand; a figure of the trade has its source beside it.
"""

import numpy as np
import pytest
from msgspec.structs import replace

from capcheck.planning.job import Pass
from capcheck.planning.line_comparison import CandidateLine, compare_lines
from capcheck.planning.plan_data import PlanSettings
from capcheck.report.plan import best_line
from capcheck.values.errors import InputError

SIZES = {"floor_width": "1200 mm", "floor_depth": "1500 mm"}


def order(shop, types=5, passes=2):
    rng = np.random.default_rng(4)
    boards = [Pass(f"board {p}", per_year=1000 * (p + 1), marks=3) for p in range(passes)]
    parts = [shop.part(f"P{k}", *(int(n) for n in rng.integers(1, 12, passes))) for k in range(types)]
    return shop.job(*parts, passes=boards)


def test_a_faster_line_wins_by_cycle_and_a_shorter_one_by_length(shop):
    job = order(shop, passes=1)
    short = shop.line(shop.machine("A", **SIZES))
    long = shop.line(shop.machine("A", **SIZES), shop.machine("B", **SIZES))
    entries = [CandidateLine(line, shop.takes_all(job, line)) for line in (short, long)]
    assert compare_lines(job, entries).best == 1
    by_length = compare_lines(job, entries, criterion="length")
    assert by_length.best == 0
    row = by_length.rows[0]
    assert row.per_hour_and_m2 == pytest.approx(job.counts().sum() * 3600 / row.cycle / (1.2 * 1.5))


def test_a_line_that_leaves_parts_over_is_never_best(shop):
    job = order(shop, passes=1)
    line = shop.line(shop.machine("A"))
    can = shop.takes_all(job, line)
    can[0] = -1
    comparison = compare_lines(job, [CandidateLine(line, can)])
    assert comparison.best is None
    assert comparison.rows[0].left_over == 1


def test_lines_whose_ranges_meet_are_not_told_apart(shop):
    job = order(shop, passes=1)
    one, same = (shop.line(shop.machine("A", **SIZES)) for _ in range(2))
    faster = shop.line(shop.machine("A", **SIZES), shop.machine("B", **SIZES))
    entries = [CandidateLine(line, shop.takes_all(job, line)) for line in (one, same, faster)]
    assert compare_lines(job, entries[:2]).rivals == (1,)
    found = compare_lines(job, entries)
    assert found.best == 2
    meets = [row.cycle_within.high >= found.rows[0].cycle_within.low for row in found.rows[2:]]
    assert bool(found.rivals) is meets[0]
    for row in found.rows:
        assert row.cycle_within.low <= row.cycle <= row.cycle_within.high
        assert row.boards_within.low <= row.boards_per_hour <= row.boards_within.high
        assert row.output_within.low <= row.per_hour_and_m2 <= row.output_within.high
    by_length = compare_lines(job, [entries[0], entries[2]], criterion="length")
    assert (by_length.best, by_length.rivals) == (0, ())


def test_a_line_is_best_only_where_no_better_plan_of_another_may_beat_it(shop):
    """One machine of 1 s and one of 1.5 s a part: told apart where their searches proved it, else not."""
    job = order(shop, passes=1)
    lines = [
        shop.line(shop.machine(name, times={**shop.times, "place": place}))
        for name, place in (("A", "0.1 s"), ("B", "0.3 s"))
    ]
    found = compare_lines(job, [CandidateLine(line, shop.takes_all(job, line)) for line in lines])
    assert (found.best, found.rivals) == (0, ())
    fast, slow = found.rows
    assert fast.reach > 0.99
    share = fast.boards_within.low / slow.boards_within.high
    assert share > 1
    for reach, rivals in ((0.999 / share, (1,)), (1.001 / share, ())):
        searched = replace(found, rows=(fast, replace(slow, reach=reach)))
        assert searched.rivals == rivals
        assert searched.ranges_meet is False
        assert ("search ended before" in best_line(searched)) is bool(rivals)


def test_what_a_plan_is_not_proved_to_need_is_its_reach(shop):
    job = order(shop, types=40, passes=1)
    line = shop.line(shop.machine("A", slots=120), shop.machine("B", slots=120))
    quick = PlanSettings(time_limit=0.01)
    (found,) = compare_lines(job, [CandidateLine(line, shop.takes_all(job, line))], settings=quick).rows
    (set_up,) = found.plan.set_ups
    assert found.reach == pytest.approx(set_up.bound / set_up.figures[0].planned)
    assert found.reach < 1
    slow_oven = shop.line(*line.machines, station=[{"name": "oven", "cycle": "1000 s"}])
    (waits,) = compare_lines(job, [CandidateLine(slow_oven, shop.takes_all(job, line))], settings=quick).rows
    assert waits.reach == 1


def test_each_line_is_told_as_soon_as_it_is_planned(shop):
    job = order(shop, passes=1)
    line = shop.line(shop.machine("A"))
    told = []
    found = compare_lines(job, [CandidateLine(line, shop.takes_all(job, line))] * 3, found=told.append)
    assert tuple(told) == found.rows


def test_lines_that_carry_different_panels_compare_by_what_a_board_takes(shop):
    """Six boards at a time share transfer and fiducials that the other line spends on each board."""
    parts = [shop.part("P", 4)]
    single, panel = (shop.job(*parts, passes=[Pass("board", circuits=n, marks=3)]) for n in (1, 6))
    line = shop.line(shop.machine("A", **SIZES))
    entries = [CandidateLine(line, shop.takes_all(job, line), job=job) for job in (single, panel)]
    found = compare_lines(single, entries)
    assert found.rows[1].cycle > found.rows[0].cycle
    assert found.rows[1].seconds_a_board < found.rows[0].seconds_a_board
    assert found.rows[1].seconds_a_board == pytest.approx(found.rows[1].cycle / 6)
    assert found.best == 1


def test_without_quantities_as_many_boards_of_each_count(shop):
    passes = [Pass("one", marks=3), Pass("panel", circuits=3, marks=3)]
    job = shop.job(shop.part("P", 4, 4), passes=passes)
    assert job.weights() == pytest.approx((0.75, 0.25))


def test_an_unknown_criterion_is_refused(shop):
    with pytest.raises(InputError, match="criterion"):
        compare_lines(order(shop), [], criterion="beauty")
