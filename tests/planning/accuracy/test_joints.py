"""What a joint allows of placing error.

Figures: invented machines and jobs, sums worked by hand; a figure of the trade has its source beside it.
"""

import tomllib
from pathlib import Path

import pytest
from hypothesis import given, strategies as st

from capcheck.lexicon import sentence
from capcheck.model import Basis, Body, Measure
from capcheck.planning.accuracy.capability import CPK_CAPABLE
from capcheck.planning.accuracy.joints import BALL_SHARE, MOST_OVERHANG_MM, Missing, joint_of
from capcheck.values.interval import Interval

RULES = {
    rule["id"]: rule
    for rule in tomllib.loads((Path(__file__).parents[3] / "rules" / "accuracy.toml").read_text())["rule"]
}
CLASS_2 = Interval.exactly(0.5)


def mm(low, high=None, basis=Basis.STATED):
    return Measure(Interval(low, low if high is None else high), basis)


def body(style, **more):
    return Body(length=mm(4.0), width=mm(3.0), lead_style=style, **more)


def test_limits_are_those_of_the_rules():
    assert RULES["accuracy-lead"]["limits"]["capability"] == CPK_CAPABLE
    assert RULES["accuracy-lead"]["limits"]["most"] == f"{MOST_OVERHANG_MM:g} mm"
    assert RULES["accuracy-ball"]["limits"]["share"] == pytest.approx(BALL_SHARE)


@pytest.mark.rows(
    ("part", "allowed"),
    [
        (body("chip"), 1.5),  # half of 3 mm: IPC-A-610 8.3.2.1, classes 1 and 2
        (body("melf"), 0.75),  # a quarter in every class: IPC-A-610 8.3.3, from memory
        (body("gull wing", lead_width=mm(0.22)), 0.11),  # half of the lead's width: IPC-A-610 8.3.5
        (body("gull wing", lead_width=mm(2.0)), 0.5),  # but 0.5 mm at most: IPC-A-610 8.3.5
        (body("ball grid", ball_diameter=mm(0.5)), 0.1),  # a fifth of the ball, planning limit from memory
    ],
)
def test_what_the_joint_allows_by_its_style(part, allowed):
    joint = joint_of(part, CLASS_2)
    assert joint.allowed.low == pytest.approx(allowed)
    assert joint.allowed.is_exact
    assert not joint.missing
    assert not joint.assumed


# A quarter instead of a half of the termination: IPC-A-610 8.3.2.1, class 3.
def test_class_3_allows_half_of_that_and_no_class_leaves_both_open():
    assert joint_of(body("chip"), Interval.exactly(0.25)).allowed == Interval.exactly(0.75)
    both = joint_of(body("chip"), Interval(0.25, 0.5))
    assert both.allowed == Interval(0.75, 1.5)
    assert "class of product not stated" in sentence(both.formula)


@pytest.mark.rows(
    ("part", "missing"),
    [
        (Body(lead_style="chip"), Missing.CHIP_WIDTH),
        (body("J lead"), Missing.LEAD_WIDTH),
        (body("ball grid"), Missing.BALL_DIAMETER),
        (body("no lead"), Missing.OVERHANG),
        (body(None), Missing.LEAD_STYLE),
        (Body(width=mm(3.0, basis=Basis.TYPICAL), lead_style="chip"), Missing.CHIP_WIDTH),
    ],
)
def test_what_is_missing_is_named_and_leaves_the_error_open(part, missing):
    joint = joint_of(part, CLASS_2)
    assert joint.missing is missing
    assert not joint.allowed.is_known


def test_a_usual_lead_width_stands_in_and_is_called_so():
    # JEDEC MS-026, 0.5 mm pitch: leads 0.17 to 0.27 mm wide; from memory.
    joint = joint_of(body("gull wing", pitch=mm(0.495, 0.505)), CLASS_2)
    assert joint.allowed == Interval(0.5 * 0.17, 0.5 * 0.27)
    assert "usual for 0.5 mm pitch" in sentence(joint.assumed)
    assert joint_of(body("gull wing", pitch=mm(0.3)), CLASS_2).missing, "no usual width is known for it"


def test_the_outermost_lead_lies_between_half_the_longest_side_and_half_the_diagonal():
    # 3-4-5 triangle.
    joint = joint_of(body("chip"), CLASS_2)
    assert joint.reach == Interval(2.0, 2.5)


@given(st.floats(0.1, 5.0), st.floats(0.0, 1.0), st.floats(0.25, 0.5))
def test_a_wider_part_never_allows_less(width, more, share):
    narrow, wide = (
        joint_of(Body(width=mm(w), length=mm(9.0), lead_style="chip"), Interval.exactly(share)).allowed.low
        for w in (width, width + more)
    )
    assert narrow <= wide


# Half of the lead's width, 0.5 mm at most: IPC-A-610 8.3.5.
def test_a_sum_that_is_capped_says_so():
    wide, narrow = (joint_of(body("gull wing", lead_width=mm(width)), CLASS_2) for width in (2.0, 0.22))
    assert sentence(wide.formula) == "0.5 × 2 mm lead, at most 0.5 mm"
    assert sentence(narrow.formula) == "0.5 × 0.22 mm lead"
