import math

import numpy as np
import pytest
import shapely
from hypothesis import given, strategies as st

from capcheck.geometry.bodies import rectangles
from capcheck.geometry.panel import (
    lies_along,
    line_distance,
    separation_lines,
    step_points,
    stepping,
)
from capcheck.model.stated import PanelSource

CIRCUIT = (0.0, 0.0, 40.0, 30.0)
# Stepping is arithmetic; the limits of real panels are in the rules, with their sources.


def panel(**keys):
    return PanelSource.model_validate(keys)


RAILS = {"left": "0 mm", "right": "0 mm", "bottom": "5 mm", "top": "7 mm"}


def test_circuits_are_stepped_between_rails():
    steps = stepping(CIRCUIT, panel(columns=3, rows=2, pitch_x="42 mm", pitch_y="30 mm", rails=RAILS))
    assert len(steps) == 6
    assert steps.box == (0, -5, 124, 67)
    assert (steps.gap_x, steps.gap_y) == (2, 0)
    assert steps.shift.tolist()[:4] == [[0, 0], [42, 0], [84, 0], [0, 30]]


def test_circuits_abut_without_a_pitch_and_one_alone_has_no_gap():
    steps = stepping(CIRCUIT, panel(columns=2))
    assert steps.box == (0, 0, 80, 30)
    assert (steps.gap_x, steps.gap_y) == (0, math.inf)


def test_a_pitch_below_the_circuits_size_is_an_overlap():
    assert stepping(CIRCUIT, panel(columns=2, pitch_x="39 mm")).gap_x == -1


@pytest.mark.parametrize(
    ("way", "turned"),
    [
        ("none", [0, 0, 0, 0]),
        ("columns", [0, 1, 0, 1]),
        ("rows", [0, 0, 1, 1]),
        ("alternate", [0, 1, 1, 0]),
    ],
)
def test_half_turns_follow_columns_rows_or_both(way, turned):
    assert stepping(CIRCUIT, panel(columns=2, rows=2, half_turns=way)).turned.tolist() == [bool(t) for t in turned]


def test_a_turned_circuit_keeps_its_place_and_turns_its_parts():
    steps = stepping(CIRCUIT, panel(columns=2, half_turns="columns"))
    x, y, circuit = step_points([10.0], [5.0], steps)
    assert (x.tolist(), y.tolist(), circuit.tolist()) == ([10, 70], [5, 25], [0, 1])


def test_the_panel_is_parted_in_the_gaps_and_at_the_rails():
    steps = stepping(CIRCUIT, panel(columns=2, rows=2, pitch_x="42 mm", rails=RAILS))
    lines = separation_lines(steps).tolist()
    assert sorted(x for x, _, x2, _ in lines if x == x2) == [41]
    assert sorted(y for _, y, _, y2 in lines if y == y2) == [0, 30, 60]


def test_the_distance_to_a_parting_line_is_that_of_the_nearest_corner():
    lines = separation_lines(stepping(CIRCUIT, panel(columns=2)))
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
