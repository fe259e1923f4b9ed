import math

import pytest
from hypothesis import given, strategies as st

from capcheck.geometry.bow_twist import bow_height, twist_height
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
