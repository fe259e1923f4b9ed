"""Cpk of a part on a head.

Figures: invented machines and jobs, sums worked by hand; a figure of the trade has its source beside it.
"""

import math

import pytest

from capcheck.machines.profile import Head
from capcheck.planning.accuracy.capability import capability_of
from capcheck.planning.accuracy.joints import Joint, Missing
from capcheck.values.interval import UNKNOWN_SIZE, Interval

# A lead 0.22 mm wide in class 2 allows 0.11 mm; its outermost tip lies 14 mm from the centre.
FAR = Joint(Interval.exactly(0.11), Interval.exactly(14.0))
NEAR = Joint(Interval.exactly(0.095), Interval.exactly(0.0))


def head(accuracy="0.03 mm", **more):
    return Head.model_validate({"name": "H", "accuracy": accuracy, "accuracy_sigma": 3, **more})


def test_cpk_of_a_part_on_a_head_is_the_sum_worked_by_hand():
    # (0.11 − 14 × sin 0.1°) / (3 × 0.03 / 3) = (0.11 − 0.024435) / 0.03 = 2.852: definition of Cpk.
    found = capability_of(FAR, head(rotation_accuracy="0.1 degree"))
    assert found.cpk.low == pytest.approx((0.11 - 14 * math.sin(math.radians(0.1))) / 0.03)
    assert found.cpk.low == pytest.approx(2.852, abs=5e-4)
    assert found.cpk.is_exact


def test_cpk_on_the_limit_and_one_step_past_it():
    assert capability_of(NEAR, head("0.0712 mm", rotation_accuracy="0 degree")).reaches() is True
    assert capability_of(NEAR, head("0.0716 mm", rotation_accuracy="0 degree")).reaches() is False


@pytest.mark.rows(
    ("joint", "more", "missing"),
    [
        (NEAR, {"accuracy": None}, Missing.ACCURACY),
        (NEAR, {"accuracy_sigma": None}, Missing.SIGMA),
        (FAR, {"rotation_accuracy": None}, Missing.ROTATION_ACCURACY),
        (Joint(UNKNOWN_SIZE, Interval.exactly(1.0)), {}, Missing.LEAD_AND_LAND),
        (Joint(Interval.exactly(0.1), UNKNOWN_SIZE), {}, Missing.REACH),
    ],
)
def test_what_is_unknown_stays_undecided_and_is_named(joint, more, missing):
    found = capability_of(joint, head(**{"rotation_accuracy": "0.1 degree", **more}))
    assert found.reaches() is None
    assert found.missing == (missing,)
