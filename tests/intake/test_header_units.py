"""A unit of length in brackets is told from a remark in brackets."""

import pytest

from capcheck.intake.header_units import unknown_length_unit


@pytest.mark.parametrize(("title", "unit"), [("X [furlong]", "furlong"), ("Y (ft)", "ft"), ("Pos X [Feet]", "Feet")])
def test_a_unit_that_is_not_read_is_found(title, unit):
    assert unknown_length_unit(title) == unit


@pytest.mark.parametrize("title", ["X [centre]", "Y (mid)", "X (mm)", "X", "X [pin]", "X (M)", "Y [inch]", "X (abs.)"])
def test_a_remark_and_a_known_unit_are_none(title):
    assert unknown_length_unit(title) is None
