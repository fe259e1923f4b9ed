import numpy as np
import pytest

from capcheck.planning.plan import PlanSettings
from capcheck.planning.planner import mean_cycle, plan_line
from capcheck.planning.what_if import what_if

EXACT = PlanSettings(gap=0.0)


def test_a_left_over_part_by_hand_or_a_raised_limit_solves_the_line(shop):
    job = shop.job(shop.part("GOOD", 10), shop.part("ODD", 2, hand_seconds=7.0))
    line = shop.line(shop.machine("A"))
    can = np.array([[1], [-1]], dtype=np.int8)
    plan = plan_line(job, line, can, settings=EXACT)
    changes = what_if(plan, line, can, settings=EXACT)
    assert {c.kind for c in changes if c.solves} == {"by hand", "limit raised"}
    by_hand = next(c for c in changes if c.kind == "by hand")
    assert by_hand.what.startswith("ODD")
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
