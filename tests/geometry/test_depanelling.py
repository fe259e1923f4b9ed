"""Depanelling lines of panels, and the parts beside them.

Figures: geometry of invented bodies, worked by hand; a figure of the trade has its source beside it.
"""

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, strategies as st

from capcheck.geometry.bodies import rectangles
from capcheck.geometry.depanelling import across_distance, depanelling_lines, line_distance
from capcheck.model import stepping
from capcheck.model.stated import PanelSource

CIRCUIT = (0.0, 0.0, 40.0, 30.0)


def panel(**keys):
    return PanelSource.model_validate(keys)


RAILS = {"left": "0 mm", "right": "0 mm", "bottom": "5 mm", "top": "7 mm"}


def test_the_panel_is_parted_in_the_gaps_and_at_the_rails():
    steps = stepping(CIRCUIT, panel(columns=2, rows=2, pitch_x="42 mm", rails=RAILS))
    lines = depanelling_lines(steps).tolist()
    assert sorted(x for x, _, x2, _ in lines if x == x2) == [41]
    assert sorted(y for _, y, _, y2 in lines if y == y2) == [0, 30, 60]


def test_the_distance_to_a_parting_line_is_that_of_the_nearest_corner():
    lines = depanelling_lines(stepping(CIRCUIT, panel(columns=2)))
    body = rectangles([38.0, 40.5, math.nan], [10.0, 10.0, 9.0], 90.0 * np.ones(3), (2, 2.4), (1, 1.2), oriented=True)
    low, high = line_distance(body, lines)
    assert low[:2] == pytest.approx([1.4, -0.1])
    assert high[:2] == pytest.approx([1.5, 0.0])
    assert (low[2], high[2]) == (-math.inf, math.inf)


@given(st.floats(0, 80), st.floats(0, 30), st.floats(0, 360))
def test_line_distances_agree_with_shapely_where_no_line_is_crossed(x, y, angle):
    line = np.array([[40.0, -50.0, 40.0, 80.0]])
    body = rectangles([x], [y], [angle], (3, 3), (1, 1), oriented=True)
    slow = shapely.Polygon(body.outer_corners()[0]).distance(shapely.LineString(line[0].reshape(2, 2)))
    fast = float(line_distance(body, line)[0][0])
    assert max(fast, 0.0) == pytest.approx(slow, abs=1e-9)


LINE = [(40.0, -50.0, 40.0, 80.0)]


def test_a_body_that_lies_along_the_line_has_none_that_it_lies_across():
    body = rectangles([38.0] * 4, [10.0] * 4, [0, 90, 80, 45], (2, 2), (1, 1), oriented=[True] * 4)
    low, high = across_distance(body, LINE)
    assert low == pytest.approx([1.0, math.inf, math.inf, 2 - 1.5 * math.sqrt(0.5)])
    assert high == pytest.approx(low)


def test_a_body_whose_longer_side_may_lie_either_way_is_judged_both_ways():
    """Of 2 × 1 mm at 2 mm: across at 1 mm, or not at all; turned by 45° it lies across either way, at 2 - 1.5/√2 mm."""
    body = rectangles([38.0] * 2, [10.0] * 2, [90, 45], (2, 2), (1, 1), oriented=False)
    low, high = across_distance(body, LINE)
    assert low == pytest.approx([1.0, 2 - 1.5 * math.sqrt(0.5)])
    assert high == pytest.approx([math.inf, 2 - 1.5 * math.sqrt(0.5)])
    low, high = line_distance(body, LINE)
    assert low == pytest.approx([1.0, 2 - 1.5 * math.sqrt(0.5)])
    assert high == pytest.approx([1.5, 2 - 1.5 * math.sqrt(0.5)])


def test_a_body_in_a_corner_lies_across_one_of_two_lines_whichever_way_it_lies():
    """The nearest line, along which it may lie, does not hide the other: 2 mm to x = 40, 2.5 mm to y = 30."""
    corner = [*LINE, (0.0, 30.0, 80.0, 30.0)]
    along_y = rectangles([38.0], [27.5], [90], (2, 2), (1, 1), oriented=[True])
    assert [float(v[0]) for v in across_distance(along_y, corner)] == pytest.approx([1.5, 1.5])
    open_ = rectangles([38.0], [27.5], [90], (2, 2), (1, 1), oriented=False)
    assert [float(v[0]) for v in across_distance(open_, corner)] == pytest.approx([1.0, 1.5])


def test_of_a_body_whose_longer_side_is_not_known_only_the_least_distance_across_is():
    body = rectangles([38.0, math.nan], [10.0] * 2, [0] * 2, (1, 2), (1, 2), oriented=[True] * 2)
    low, high = across_distance(body, LINE)
    assert low == pytest.approx([1.0, -math.inf])
    assert high.tolist() == [math.inf, math.inf]
    assert across_distance(body, [])[0][0] == math.inf


@given(st.floats(30, 50), st.floats(0, 40), st.floats(0, 360), st.floats(1.5, 3), st.floats(0.5, 1.4))
def test_both_ways_of_a_body_bound_each_of_them(x, y, angle, long, short):
    """Every way that the body may lie is one of two oriented bodies: the bounds are theirs, no wider."""
    lines = [*LINE, (0.0, 30.0, 80.0, 30.0)]
    open_ = rectangles([x], [y], [angle], (long, long), (short, short), oriented=False)
    ways = [rectangles([x], [y], [angle], (a, a), (b, b), oriented=[True]) for a, b in ((long, short), (short, long))]
    for measure in (line_distance, across_distance):
        each = [measure(way, lines) for way in ways]
        low, high = measure(open_, lines)
        assert low[0] == pytest.approx(min(float(e[0][0]) for e in each))
        assert high[0] == pytest.approx(max(float(e[1][0]) for e in each))
