"""A unit of length in brackets is told from a remark in brackets."""

import pytest

from capcheck.intake.header_units import unknown_length_unit


@pytest.mark.parametrize(("title", "unit"), [("X [furlong]", "furlong"), ("Y (ft)", "ft"), ("Pos X [Feet]", "Feet")])
def test_a_unit_that_is_not_read_is_found(title, unit):
    assert unknown_length_unit(title) == unit


@pytest.mark.parametrize("title", ["X [centre]", "Y (mid)", "X (mm)", "X", "X [pin]", "X (M)", "Y [inch]", "X (abs.)"])
def test_a_remark_and_a_known_unit_are_none(title):
    assert unknown_length_unit(title) is None


@pytest.mark.parametrize(
    ("title", "unit"), [("X [1/10 mm]", "1/10 mm"), ("Y (0.01 inch)", "0.01 inch"), ("X [0,1 mm]", "0,1 mm")]
)
def test_a_unit_with_a_factor_is_not_read_as_the_unit(title, unit):
    """Read as mm, tenths of a millimetre would make a board ten times too large, silently."""
    assert unknown_length_unit(title) == unit


@pytest.mark.parametrize("title", ["X [1 mm]", "Mid X (1)", "PosX [2]"])
def test_a_plain_number_in_brackets_is_no_factor(title):
    assert unknown_length_unit(title) is None
