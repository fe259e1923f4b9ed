"""A panel is stepped by arithmetic; the limits of real panels are in the rules, with their sources.

Figures: what the tests write is invented.
"""

import math

import pytest

from capcheck.model import stepping
from capcheck.model.stated import PanelSource

CIRCUIT = (0.0, 0.0, 40.0, 30.0)
RAILS = {"left": "0 mm", "right": "0 mm", "bottom": "5 mm", "top": "7 mm"}


def panel(**keys):
    return PanelSource.model_validate(keys)


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
    x, y = steps.points([10.0], [5.0])
    assert (x.tolist(), y.tolist()) == ([[10], [70]], [[5], [25]])
