"""What a plan says where something of the line were other than it is.

Figures: invented machines and jobs, sums worked by hand; a figure of the trade has its source beside it.
"""

import numpy as np
import pytest

from capcheck.engine import Take
from capcheck.engine.findings import Margin
from capcheck.lexicon import sentence
from capcheck.planning.candidate_changes import Spare, without_room
from capcheck.planning.job import Pass
from capcheck.planning.plan_data import PlanSettings
from capcheck.planning.planner import mean_cycle, plan_line
from capcheck.planning.what_if import what_if
from capcheck.values.interval import Interval
from capcheck.values.units import LENGTH

EXACT = PlanSettings(gap=0.0)


def stop(rule, margin):
    return Take(-1, rule, Margin(margin, margin, LENGTH, ""))


def test_a_left_over_part_by_hand_or_a_raised_limit_solves_the_line(shop):
    job = shop.job(shop.part("GOOD", 10), shop.part("ODD", 2, hand_seconds=7.0))
    line = shop.line(shop.machine("A"))
    can = np.array([[1], [-1]], dtype=np.int8)
    plan = plan_line(job, line, can, settings=EXACT)
    changes = what_if(plan, line, can, settings=EXACT)
    assert {c.kind for c in changes if c.solves} == {"by hand", "limit raised"}
    by_hand = next(c for c in changes if c.kind == "by hand")
    assert by_hand.parts == ("ODD",)
    assert by_hand.hand_seconds == pytest.approx(14.0)


def test_a_second_machine_brings_the_seconds_that_planning_it_shows(shop):
    job = shop.job(shop.part("P", 40), shop.part("Q", 40), shop.part("R", 40))
    line, longer = shop.line(shop.machine("A")), shop.line(shop.machine("A"), shop.machine("B"))
    plan = plan_line(job, line, shop.takes_all(job, line), settings=EXACT)
    after = mean_cycle(plan_line(job, longer, shop.takes_all(job, longer), settings=EXACT))
    best = what_if(plan, line, shop.takes_all(job, line), settings=EXACT)[0]
    assert best.kind == "machine more"
    assert best.saves == pytest.approx(mean_cycle(plan) - after)


def test_only_changes_that_help_are_listed_best_first(shop):
    job = shop.job(shop.part("P", 60), shop.part("Q", 6))
    line = shop.line(shop.machine("A"), shop.machine("B", nozzles=1))
    can = np.array([[1, -1], [1, 1]], dtype=np.int8)
    plan = plan_line(job, line, can, settings=EXACT)
    changes = what_if(plan, line, can, settings=EXACT)
    assert all(c.saves > 0 for c in changes)
    assert [c.seconds for c in changes] == sorted(c.seconds for c in changes)


def test_all_that_is_left_over_by_hand_is_one_change(shop):
    job = shop.job(shop.part("GOOD", 10), *(shop.part(f"ODD{k}", 2, hand_seconds=7.0) for k in range(3)))
    line = shop.line(shop.machine("A"))
    can = np.array([[1], [-1], [-1], [-1]], dtype=np.int8)
    plan = plan_line(job, line, can, settings=EXACT)
    best = what_if(plan, line, can, settings=EXACT)[0]
    assert sentence(best.what) == "all that is not placed, by hand (6 placements of 3 part numbers)"
    assert best.solves
    assert best.hand_seconds == pytest.approx(42.0)
    assert best.seconds == pytest.approx(mean_cycle(plan))


def test_a_limit_is_raised_for_all_parts_that_it_keeps_off_with_their_margins(shop):
    job = shop.job(shop.part("GOOD", 10), shop.part("LONG", 2), shop.part("LONGER", 2), shop.part("TALL", 1))
    line = shop.line(shop.machine("A"))
    can = np.array([[1], [-1], [-1], [-1]], dtype=np.int8)
    reasons = {
        (1, 0): (stop("largest-body", -2.0),),
        (2, 0): (stop("largest-body", -5.0),),
        (3, 0): (stop("part-height", -1.0),),
    }
    plan = plan_line(job, line, can, reasons, settings=EXACT)
    raised = {
        sentence(c.what): c
        for c in what_if(plan, line, can, reasons=reasons, settings=EXACT)
        if c.kind == "limit raised"
    }
    assert raised["A: limit largest-body raised for LONG (−2 mm), LONGER (−5 mm)"].fewer_left == 2
    assert raised["A: limit part-height raised for TALL (−1 mm)"].fewer_left == 1


def test_a_spare_machine_is_tried_as_a_machine_more(shop):
    job = shop.job(shop.part("GOOD", 10), shop.part("ODD", 2))
    line, able = shop.line(shop.machine("A")), shop.machine("B")
    can = np.array([[1], [-1]], dtype=np.int8)
    plan = plan_line(job, line, can, settings=EXACT)
    changes = what_if(plan, line, can, spare=[Spare(able, np.ones((2, 1), dtype=np.int8))], settings=EXACT)
    assert [sentence(c.what) for c in changes if c.kind == "machine more" and c.solves] == ["B added"]


def test_the_slots_that_are_short_are_a_change(shop):
    job = shop.job(*(shop.part(f"P{k}", 3) for k in range(5)))
    line = shop.line(shop.machine("A", slots=3))
    plan = plan_line(job, line, shop.takes_all(job, line), settings=EXACT)
    changes = what_if(plan, line, shop.takes_all(job, line), settings=EXACT)
    assert any(sentence(c.what) == "2 more slots on A" and c.solves for c in changes)


def test_a_station_that_sets_the_cycle_is_named_with_what_a_faster_one_brings(shop):
    job = shop.job(shop.part("P", 40))
    stations = [{"name": "oven", "cycle": "60 s"}, {"name": "printer", "cycle": "40 s"}]
    line = shop.line(shop.machine("A"), station=stations)
    plan = plan_line(job, line, shop.takes_all(job, line), settings=EXACT)
    changes = what_if(plan, line, shop.takes_all(job, line), settings=EXACT)
    faster = next(c for c in changes if c.kind == "station faster")
    assert sentence(faster.what) == "oven at 40.00 s or less"
    assert faster.saves == pytest.approx(20.0)


def test_a_machine_more_stands_where_no_tall_part_is_in_its_way(shop):
    # B places the tall part and leaves room for it; A leaves 5 mm and must stand before B.
    tall = shop.part("TALL", 2, height=Interval.exactly(10.0))
    job = shop.job(shop.part("P", 90, height=Interval.exactly(1.0)), tall)
    low, high = {"top_clearance": "5 mm"}, {"top_clearance": "20 mm"}
    line = shop.line(shop.machine("B", board=high))
    can = np.ones((2, 1), dtype=np.int8)
    plan = plan_line(job, line, can, settings=EXACT)
    spare = [Spare(shop.machine("A", board=low), np.array([[1], [-1]], dtype=np.int8))]
    changes = what_if(plan, line, can, spare=spare, settings=EXACT)
    saved = {sentence(c.what): c.saves for c in changes if c.kind == "machine more"}
    assert saved["A added"] > 0.3 * mean_cycle(plan)


@pytest.mark.parametrize(
    ("passes", "said", "mean"),
    [
        ([Pass("a", marks=3)], "ODD by hand (6 per board)", 42.0),
        ([Pass("a", marks=3, pieces=2)], "ODD by hand (6 per panel of 2)", 42.0),
        # Both sides: 6 and 2 placements of 7 s; each pass counts one half.
        ([Pass("a", marks=3), Pass("a", "bottom", marks=3)], "ODD by hand (8 per board)", 28.0),
        ([Pass("a", marks=3), Pass("b", marks=3)], "ODD by hand (8 for one of each board)", 28.0),
    ],
)
def test_what_is_placed_by_hand_is_counted_for_what_passes_the_line(shop, passes, said, mean):
    counts = (6, 2)[: len(passes)]
    job = shop.job(shop.part("GOOD", *(10 for _ in passes)), shop.part("ODD", *counts, hand_seconds=7.0), passes=passes)
    line = shop.line(shop.machine("A"))
    can = np.array([[1], [-1]], dtype=np.int8)
    plan = plan_line(job, line, can, settings=EXACT)
    change = next(c for c in what_if(plan, line, can, settings=EXACT) if c.kind == "by hand")
    assert sentence(change.what) == said
    assert (change.hand_seconds, change.hand_mean) == (pytest.approx(7.0 * sum(counts)), pytest.approx(mean))


@pytest.mark.parametrize(("free", "helps"), [("4 m", True), ("3999 mm", False), (None, True)])
def test_a_machine_more_is_told_only_where_the_floor_has_room_for_it(shop, free, helps):
    job = shop.job(shop.part("P", 40), shop.part("Q", 40), shop.part("R", 40))
    machine = shop.machine("A", floor_width="2 m")
    line = shop.line(machine, **({} if free is None else {"free_length": free}))
    plan = plan_line(job, line, shop.takes_all(job, line), settings=EXACT)
    changes = what_if(plan, line, shop.takes_all(job, line), settings=EXACT)
    assert any(c.kind == "machine more" for c in changes) is helps
    said = [sentence(one) for one in without_room(line, [machine])]
    assert said == ([] if helps else ["not tried as an additional machine, for want of floor (1,999 mm are free): A"])


def test_a_machine_of_unknown_length_is_said_to_leave_the_floor_open(shop):
    job = shop.job(shop.part("P", 40), shop.part("Q", 40), shop.part("R", 40))
    line = shop.line(shop.machine("A", floor_width="2 m"), free_length="9 m")
    spare = [Spare(shop.machine("B"), np.ones((3, 1), dtype=np.int8))]
    plan = plan_line(job, line, shop.takes_all(job, line), settings=EXACT)
    changes = what_if(plan, line, shop.takes_all(job, line), spare=spare, settings=EXACT)
    (added,) = (c for c in changes if c.machine == "B")
    assert [sentence(said) for said in added.passage] == [
        "the length of the line is unknown: not stated for B",
    ]
    same = [Spare(line.machines[0], np.ones((3, 1), dtype=np.int8))]
    twice = what_if(plan, line, shop.takes_all(job, line), spare=same, settings=EXACT)
    assert len([c for c in twice if c.kind == "machine more"]) == 1, "a profile that the line has is tried once"
