"""Which head places a part accurately enough.

Figures: invented machines and jobs, sums worked by hand; a figure of the trade has its source beside it.
"""

import numpy as np

from capcheck.model import say
from capcheck.planning.accuracy.joints import Joint, Missing
from capcheck.planning.planner import plan_line
from capcheck.values.interval import UNKNOWN_SIZE, Interval


def test_every_part_has_a_cpk_for_every_head_that_may_take_it(shop):
    plain = {"accuracy": "0.03 mm", "accuracy_sigma": 3, "rotation_accuracy": "0 degree"}
    exact = shop.machine("A", head=[{"name": "H1", "nozzles": 6, **plain}])
    coarse = shop.machine("B", head=[{"name": "H1", "nozzles": 6, **plain, "accuracy": "0.2 mm"}])
    joint = Joint(Interval.exactly(0.11), Interval.exactly(1.0))
    open_joint = Joint(UNKNOWN_SIZE, UNKNOWN_SIZE, missing=Missing.LEAD_WIDTH)
    job = shop.job(shop.part("P", 8, joint=joint), shop.part("Q", 2, joint=open_joint), shop.part("R", 2))
    line = shop.line(exact, coarse)
    can = np.array([[-1, 1], [1, 1], [1, 1]], dtype=np.int8)
    plan = plan_line(job, line, can)
    found = {(p.part, p.machine): p for p in plan.placings}
    assert set(found) == {("P", "B"), ("Q", "A"), ("Q", "B")}, "R has no joint to ask about, A does not take P"
    assert found["P", "B"].used
    assert found["P", "B"].reaches is False
    assert say("planning.inaccurate", parts=["P"], usual=1.33) in plan.warned  # rules/accuracy.toml
    assert plan.verdict == "warn"
    assert say("planning.Cpk unknown", parts=["Q"], missing=(Missing.LEAD_WIDTH,)) in plan.not_computed


def test_a_usual_value_neither_proves_nor_disproves(shop):
    usual = say("planning.usual lead width", pitch=0.5)
    assumed = Joint(Interval.exactly(0.001), Interval.exactly(1.0), assumed=usual)
    line = shop.line(
        shop.machine(
            "A",
            head=[
                {
                    "name": "H1",
                    "nozzles": 6,
                    "accuracy": "0.03 mm",
                    "accuracy_sigma": 3,
                    "rotation_accuracy": "0 degree",
                }
            ],
        )
    )
    job = shop.job(shop.part("P", 8, joint=assumed))
    plan = plan_line(job, line, shop.takes_all(job, line))
    assert plan.placings[0].reaches is None
    assert plan.verdict == "pass"
