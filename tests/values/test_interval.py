"""Intervals: their arithmetic and what they prove.

Figures: invented; sums worked by hand.
"""

import math

import pytest
from hypothesis import given, strategies as st

from capcheck.values.interval import UNKNOWN, Interval, product, quotient

ends = st.floats(min_value=-1e6, max_value=1e6)
intervals = st.tuples(ends, ends).map(lambda pair: Interval(min(pair), max(pair)))
reach = st.one_of(st.floats(0, 1e6), st.just(math.inf), st.just(0.0))
sizes = st.tuples(reach, reach).map(sorted).filter(lambda ends: ends[0] < math.inf).map(lambda ends: Interval(*ends))


@given(intervals, intervals, ends)
def test_the_hull_holds_what_either_holds(one, other, value):
    hull = one.hull(other)
    if one.low <= value <= one.high or other.low <= value <= other.high:
        assert hull.low <= value <= hull.high


@given(intervals, intervals, ends)
def test_the_meet_holds_what_both_hold(one, other, value):
    meet = one.meet(other)
    inside = one.low <= value <= one.high and other.low <= value <= other.high
    assert inside == (meet is not None and meet.low <= value <= meet.high)
    assert (meet is not None) == one.overlaps(other)


@pytest.mark.parametrize(("low", "high"), [(2, 1), (math.nan, 1), (1, math.nan)])
def test_ends_that_make_no_interval_are_refused(low, high):
    with pytest.raises(ValueError, match="not an interval"):
        Interval(low, high)


def test_unknown_is_not_known_and_a_stated_value_is_exact():
    assert not UNKNOWN.is_known
    assert Interval.exactly(3.0).is_exact
    assert Interval.about(3.0, 0.2, 0.1) == Interval(2.9, 3.2)


@given(sizes, sizes, st.floats(0, 1), st.floats(0, 1))
def test_products_and_quotients_hold_those_of_all_values_within(one, other, at, beside):
    a, b = (span.low + share * (min(span.high, 1e7) - span.low) for span, share in ((one, at), (other, beside)))
    times, over = product(one, other), quotient(one, other)
    assert times.low <= a * b * (1 + 1e-9)
    assert a * b <= times.high * (1 + 1e-9)
    if b > 0:
        assert over.low <= a / b * (1 + 1e-9)
        assert a / b <= over.high * (1 + 1e-9)
