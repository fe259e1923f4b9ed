"""Proportions and masses of boards.

Figures: geometry of invented bodies, worked by hand; a figure of the trade has its source beside it.
"""

import math

import pytest
import shapely
from hypothesis import given, strategies as st

from capcheck.geometry.proportions import aspect, bare_mass, board_area, bow_height, ratio, twist_height
from capcheck.values.interval import UNKNOWN_SIZE, Interval


def exactly(value):
    return Interval.exactly(value)


def test_bow_is_the_worked_example_of_the_method():
    # IPC-TM-650 method 2.4.22C, 5.1.2: R = L·B/100; 250 × 200 mm at 0.75 % gives 1.875 and 1.500 mm.
    assert bow_height(exactly(250), exactly(0.75)).high == pytest.approx(1.875)
    assert bow_height(exactly(200), exactly(0.75)).high == pytest.approx(1.5)


def test_twist_is_the_worked_example_of_the_method():
    # IPC-TM-650 method 2.4.22C, 5.2.2: R = 2·D·T/100; 250 × 200 mm has D = 320.16, so 4.80 mm at 0.75 %.
    assert twist_height(exactly(250), exactly(200), exactly(0.75)).high == pytest.approx(4.80, abs=0.005)


def test_an_unknown_percentage_or_size_leaves_the_rise_open_but_no_bow_is_no_rise():
    assert bow_height(exactly(250), UNKNOWN_SIZE) == UNKNOWN_SIZE
    assert twist_height(UNKNOWN_SIZE, exactly(9), exactly(0.75)).high == math.inf
    assert bow_height(UNKNOWN_SIZE, exactly(0)).high == 0


@given(st.floats(1, 600), st.floats(0, 5), st.floats(1, 3))
def test_the_rise_grows_with_the_side_and_with_the_percentage_alike(side, percent, factor):
    rise = bow_height(exactly(side), exactly(percent)).high
    assert bow_height(exactly(side * factor), exactly(percent)).high == pytest.approx(rise * factor)
    assert bow_height(exactly(side), exactly(percent * factor)).high == pytest.approx(rise * factor)


def test_ratios_hold_every_quotient_and_stay_open_where_a_size_may_be_zero():
    assert ratio(Interval(10, 20), Interval(2, 4)) == Interval(2.5, 10)
    assert ratio(Interval(10, 20), UNKNOWN_SIZE) == UNKNOWN_SIZE
    assert ratio(exactly(250), exactly(1.6)).low == pytest.approx(156.25)  # above 150: common practice, no source


def test_the_aspect_is_long_over_short_whichever_is_which():
    assert aspect(exactly(100), exactly(250)) == exactly(2.5)
    assert aspect(Interval(90, 110), exactly(100)).low == 1.0
    assert aspect(Interval(90, 110), exactly(100)).high == pytest.approx(100 / 90)


@pytest.mark.parametrize(("density", "mass"), [(0.00185, 148), (0.0027, 216)])
def test_the_bare_mass_is_the_worked_example(density, mass):
    # Densities from memory: 250 x 200 x 1.6 mm is 148 g of FR-4 and 216 g of aluminium.
    assert bare_mass(exactly(250 * 200), exactly(1.6), exactly(density)).high == pytest.approx(mass)


def test_an_unknown_thickness_leaves_the_mass_open_and_a_missing_outline_bounds_the_area():
    assert bare_mass(exactly(100), UNKNOWN_SIZE, exactly(0.002)) == UNKNOWN_SIZE
    assert board_area(None, exactly(20), exactly(10)) == Interval(0, 200)
    assert board_area(shapely.box(0, 0, 4, 5), exactly(9), exactly(9)) == exactly(20)
    assert board_area(None, UNKNOWN_SIZE, exactly(0)) == UNKNOWN_SIZE
