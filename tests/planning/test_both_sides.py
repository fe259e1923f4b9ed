"""Both sides of a board at once, on two lanes or on two lines: sums by hand.

Figures: invented machines, times and jobs, sums worked by hand.
"""

import pytest

from capcheck.planning.both_sides import on_two_lanes, on_two_lines, pair_seconds
from capcheck.planning.job import Pass
from capcheck.planning.line_comparison import CandidateLine, compare_lines
from capcheck.planning.plan_data import PlanSettings
from capcheck.planning.planner import plan_line
from capcheck.report.plan import comparison_text, plan_text
from capcheck.values.interval import Interval

# A placement takes 1 s, a transfer 4 s, nothing else anything.
TIMES = {"derate": [1, 1], "board_transfer": "4 s", "fiducial": "0 s", "uptime": 1}
WIDE = Interval.exactly(100.0)
SIDES = [Pass("B", side, marks=2, width=WIDE) for side in ("top", "bottom")]


def machine(shop, name, lanes=2, limit="200 mm", rated="3600 1/hour"):
    board = {"lanes": lanes, "max_dual_lane_width": limit} if lanes > 1 else {}
    return shop.machine(name, times=TIMES, rated=rated, board={k: v for k, v in board.items() if v})


def planned(shop, *machines, counts=(20, 10), set_up="common", **more):
    job, line = shop.job(shop.part("P", *counts), passes=SIDES), shop.line(*machines, **more)
    settings = PlanSettings(set_up=set_up, gap=0.0, time_limit=2.0)
    return plan_line(job, line, shop.takes_all(job, line), settings=settings)


@pytest.mark.parametrize(
    ("top", "bottom", "seconds"),
    [
        ((4, 0, 20), (4, 0, 10), 30),
        ((4, 2, 20), (4, 2, 10), 34),
        ((9, 0, 20), (4, 0, 1), 29),
        ((4, 0, 0), (4, 0, 0), 4),
    ],
)
def test_heads_serve_both_lanes_in_turn_and_no_lane_is_quicker_than_its_own_board(top, bottom, seconds):
    assert pair_seconds(top, bottom) == pair_seconds(bottom, top) == seconds


def test_two_lanes_add_what_the_heads_do_for_both_sides(shop):
    (found,) = on_two_lanes(planned(shop, machine(shop, "A")))
    assert (found.seconds, found.slowest) == (Interval.exactly(30.0), "A")
    oven = [{"name": "oven", "cycle": "18 s"}]
    plan = planned(shop, machine(shop, "A"), station=oven)
    (found,) = on_two_lanes(plan)
    assert (found.seconds, found.planned, found.slowest) == (Interval(30.0, 36.0), 36.0, "oven")
    # One after the other the lanes hide the transfer: 20 and the oven's 18 s.
    told = " ".join(plan_text(plan).split())
    assert "B, top and bottom at once on two lanes: 30.00 to 36.00 s = 100.0 to 120.0 boards/h, set by oven" in told
    assert "against 38.00 s one after the other" in told


@pytest.mark.parametrize(
    ("lanes", "limit", "set_up", "told"),
    [
        (1, None, "common", "not with B: no two lanes for this board"),
        (2, "90 mm", "common", "not with A, B: no two lanes for this board"),
        (2, "200 mm", "each", "not without one set-up for both sides"),
    ],
)
def test_where_it_does_not_go_the_reason_is_said(shop, lanes, limit, set_up, told):
    machines = [machine(shop, "A", limit=limit or "200 mm"), machine(shop, "B", lanes, limit)]
    plan = planned(shop, *machines, set_up=set_up)
    assert on_two_lanes(plan)[0].seconds is None
    assert f"B, top and bottom at once on two lanes: {told}" in plan_text(plan)
    assert on_two_lanes(planned(shop, machine(shop, "A", 1))) == []


def test_two_lines_run_at_the_pace_of_the_slower_side(shop):
    job = shop.job(shop.part("P", 20, 10), passes=SIDES)
    lines = [shop.line(machine(shop, "A", 1)), shop.line(machine(shop, "B", 1, rated="7200 1/hour"))]
    lines = [type(one)(name, one.machines, one.file) for one, name in zip(lines, ("slow", "fast"), strict=True)]
    asked = [CandidateLine(one, shop.takes_all(job, one), {}) for one in lines]
    found = compare_lines(job, asked, settings=PlanSettings(gap=0.0, time_limit=4.0))
    (pair,) = on_two_lines([row.plan for row in found.rows])
    # Top 24 or 14 s, bottom 14 or 9 s: top on the fast one, 14 s on both.
    assert (pair.top, pair.bottom, pair.seconds) == ("fast", "slow", Interval.exactly(14.0))
    told = " ".join(comparison_text(found).split())
    assert "B on two lines at once: top on fast, bottom on slow: 14.00 s = 257.1 boards/h" in told
