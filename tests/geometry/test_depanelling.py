"""Depanelling lines of panels, and the parts beside them.

Figures: geometry of invented bodies, worked by hand; a figure of the trade has its source beside it.
"""

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, strategies as st

from capcheck.geometry.bodies import rectangles
from capcheck.geometry.depanelling import depanelling_lines, lies_along, line_distance
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


def test_ceramics_lie_along_the_line_or_across_it():
    line = [(40.0, -50.0, 40.0, 80.0)]
    body = rectangles([38.0] * 4, [10.0] * 4, [0, 90, 80, 45], (2, 2), (1, 1), oriented=[True] * 4)
    assert lies_along(body, line).tolist() == [False, True, True, False]
    unknown = rectangles([38.0], [10.0], [90], (2, 2), (1, 1), oriented=False)
    assert not lies_along(unknown, line)[0]
