"""Mass on the area of its joints, for parts that hang while the other side is soldered.

Figures: geometry of invented bodies, worked by hand; a figure of the trade has its source beside it.
"""

import math

import numpy as np
import pytest

from capcheck.geometry.second_side import (
    HANGING_LIMIT_G_MM2,
    SQUARE_INCH_MM2,
    SideLoad,
    foot_area,
    joint_area,
    mass_per_area,
    propose_first,
    side_load,
    tallest,
)
from capcheck.lexicon import sentence
from capcheck.model import Body, Measure, Side
from capcheck.values.interval import UNKNOWN_SIZE, Interval


def exactly(value):
    return Interval.exactly(value)


def grams_per_square_inch(mass, area):
    low, high = mass_per_area(([mass], [mass]), ([area.low], [area.high]))
    return float(low[0]) * SQUARE_INCH_MM2, float(high[0]) * SQUARE_INCH_MM2


# By guideline 12 of rules/guidelines.csv: 30 since 1996; 33 and 44 proved in 2003.
@pytest.mark.parametrize(("per_inch", "per_mm"), [(30, 46.5), (33, 51.2), (44, 68.2)])
def test_the_limits_in_metric_units(per_inch, per_mm):
    # 1 in² = 645.16 mm² by definition.
    assert per_inch / SQUARE_INCH_MM2 * 1000 == pytest.approx(per_mm, abs=0.05)
    assert pytest.approx(46.5, abs=0.01) == HANGING_LIMIT_G_MM2 * 1000


def test_an_so8_passes_by_lands_and_by_feet():
    # Mass and lands of an SO8 from memory; foot length 0.6 mm assumed: 6.6 and 23.7 g/in².
    assert grams_per_square_inch(0.0742, foot_area(8, exactly(0.6), exactly(1.52)))[1] == pytest.approx(6.6, abs=0.05)
    assert grams_per_square_inch(0.0742, foot_area(8, exactly(0.42), exactly(0.6)))[1] == pytest.approx(23.7, abs=0.05)


def test_a_heavy_quad_pack_fails_as_it_did():
    # Guideline 13 of rules/guidelines.csv, from memory: 208 leads, 10 g, feet 0.009 × 0.030 in, 178 g/in²; it fell.
    feet = foot_area(208, exactly(0.009 * 25.4), exactly(0.030 * 25.4))
    assert grams_per_square_inch(10.0, feet)[0] == pytest.approx(178, abs=0.5)


def test_the_area_that_a_part_needs():
    # Arithmetic: 7.3 g on 157 mm² are 30 g/in², on 107 mm² 44; the limits have their basis in rules/second_side.toml.
    assert grams_per_square_inch(7.3, exactly(157))[0] == pytest.approx(30, abs=0.05)
    assert grams_per_square_inch(7.3, exactly(107))[0] == pytest.approx(44, abs=0.05)


def test_an_unknown_area_or_mass_is_not_proved_to_hold():
    low, high = mass_per_area(([1.0, 0.0, 0.0], [1.0, math.inf, 1.0]), ([0.0, 2.0, 0.0], [math.inf, 3.0, 0.0]))
    assert high.tolist() == [math.inf, math.inf, math.inf]
    assert low.tolist() == [0.0, 0.0, 0.0]


def measure(low, high):
    return Measure(Interval(low, high))


def test_joint_areas_by_lead_style_hold_the_true_area():
    so8 = Body(
        length=measure(4.8, 5.0),
        width=measure(3.8, 4.0),
        span=measure(5.8, 6.2),
        lead_style="gull wing",
        pins=8,
        lead_width=measure(0.31, 0.51),
    )
    area = joint_area(so8)
    assert area.low <= 8 * 0.42 * 0.6 <= area.high
    ball = Body(lead_style="ball grid", pins=100, ball_diameter=measure(0.5, 0.5))
    assert joint_area(ball).high == pytest.approx(100 * math.pi / 4 * 0.25)
    assert joint_area(ball).low > 0
    chip = Body(lead_style="chip", length=measure(2.0, 2.0), width=measure(1.25, 1.25))
    assert joint_area(chip).low == pytest.approx(0.5)
    assert joint_area(chip).high == pytest.approx(2.5)


@pytest.mark.rows(
    "body",
    [
        Body(),
        Body(lead_style="no lead", pins=8),
        Body(lead_style="gull wing", pins=8),
        Body(lead_style="chip"),
        Body(lead_style="ball grid", pins=4),
    ],
)
def test_joint_areas_stay_open_where_the_data_do_not_bound_them(body):
    assert joint_area(body) == UNKNOWN_SIZE


def test_the_tallest_part_is_named_with_both_ends():
    low, high = np.array([1.0, 3.0, 2.0]), np.array([1.0, 3.5, 9.0])
    assert tallest((low, high), np.array([True, True, True])) == (Interval(3.0, 9.0), 2)
    assert tallest((low, high), np.zeros(3, bool)) == (Interval(0.0, 0.0), -1)


def load(side, *, parts=10, falling=0, may_fall=0, balls=0, height=(2.0, 2.0)):
    return SideLoad(side, parts, falling, may_fall, balls, Interval(*height))


def test_the_side_that_hangs_well_is_soldered_first():
    bottom = load(Side.BOTTOM, parts=90)
    chosen = propose_first([load(Side.TOP, falling=2), bottom])
    assert chosen.side == Side.BOTTOM
    assert tuple(map(sentence, chosen.reasons)) == (
        "bottom has fewer parts too heavy for their pads (0 against 2)",
        "against it: top has fewer parts (10 against 90)",
    )


def test_ball_grids_then_height_then_count_decide():
    assert propose_first([load(Side.TOP, balls=1), load(Side.BOTTOM, parts=99)]).side == Side.BOTTOM
    assert propose_first([load(Side.TOP, height=(5, 6)), load(Side.BOTTOM, parts=99)]).side == Side.BOTTOM
    assert propose_first([load(Side.TOP, height=(1, 6)), load(Side.BOTTOM, parts=99)]).side == Side.TOP


def test_sides_alike_or_empty_are_said_to_be_so():
    assert [sentence(r) for r in propose_first([load(Side.TOP), load(Side.BOTTOM)]).reasons] == ["both sides are alike"]
    assert propose_first([load(Side.TOP, parts=0), load(Side.BOTTOM)]).side == Side.BOTTOM
    assert [sentence(r) for r in propose_first([]).reasons] == ["no side carries parts"]


def test_the_load_of_a_side_counts_what_falls_and_what_may():
    limit = HANGING_LIMIT_G_MM2
    rows = np.array([True, True, True, False])
    each = side_load(
        Side.TOP,
        rows,
        ([limit * 2, 0, limit, limit * 9], [limit * 2, math.inf, limit, limit * 9]),
        ([1, 1, 1, 9], [1, 2, 1, 9]),
        ball_grid=[True, False, False, True],
    )
    assert (each.parts, each.falling, each.may_fall, each.ball_grids) == (3, 1, 1, 1)
    assert each.height == Interval(1, 2)
