import math

import numpy as np
import pytest

from capcheck.machines.profile import Head
from capcheck.planning.placing import capability_of
from capcheck.planning.planner import plan_line
from capcheck.planning.times.joints import Joint
from capcheck.values.interval import UNKNOWN_SIZE, Interval

# A lead 0.22 mm wide in class 2 allows 0.11 mm; its outermost tip lies 14 mm from the centre.
JOINT = Joint(Interval.exactly(0.11), "0.5 × 0.22 mm lead", Interval.exactly(14.0))


def head(**more):
    return Head.model_validate({"name": "H", "accuracy": "0.03 mm", "accuracy_sigma": 3, **more})


def test_cpk_of_a_part_on_a_head_is_the_sum_worked_by_hand():
    # (0.11 − 14 × sin 0.1°) / (3 × 0.03 / 3) = (0.11 − 0.024435) / 0.03 = 2.852: definition of Cpk.
    found = capability_of(JOINT, head(rotation_accuracy="0.1 degree"))
    assert found.cpk.low == pytest.approx((0.11 - 14 * math.sin(math.radians(0.1))) / 0.03)
    assert found.cpk.low == pytest.approx(2.852, abs=5e-4)
    assert found.cpk.is_exact


def test_an_unknown_rotation_accuracy_leaves_it_open_and_is_named():
    found = capability_of(JOINT, head())
    assert found.reaches() is None
    assert "rotation" in found.open_because


def test_every_part_has_a_cpk_for_every_head_that_may_take_it(shop):
    plain = {"accuracy": "0.03 mm", "accuracy_sigma": 3, "rotation_accuracy": "0 degree"}
    exact = shop.machine("A", head=[{"name": "H1", "nozzles": 6, **plain}])
    coarse = shop.machine("B", head=[{"name": "H1", "nozzles": 6, **plain, "accuracy": "0.2 mm"}])
    joint = Joint(Interval.exactly(0.11), "lead", Interval.exactly(1.0))
    open_joint = Joint(UNKNOWN_SIZE, "", UNKNOWN_SIZE, missing="the width of the leads")
    job = shop.job(shop.part("P", 8, joint=joint), shop.part("Q", 2, joint=open_joint), shop.part("R", 2))
    line = shop.line(exact, coarse)
    can = np.array([[-1, 1], [1, 1], [1, 1]], dtype=np.int8)
    plan = plan_line(job, line, can)
    found = {(p.part, p.machine): p for p in plan.placings}
    assert set(found) == {("P", "B"), ("Q", "A"), ("Q", "B")}, "R has no joint to ask about, A does not take P"
    assert found["P", "B"].used
    assert found["P", "B"].reaches is False
    assert any("Cpk below 1.33: P" in text for text in plan.why)
    assert plan.verdict == "warn"
    assert any("width of the leads" in text and "Q" in text for text in plan.not_computed)


def test_a_usual_value_neither_proves_nor_disproves(shop):
    assumed = Joint(Interval.exactly(0.001), "lead", Interval.exactly(1.0), assumed="the width of the leads")
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
