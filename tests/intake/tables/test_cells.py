"""Cells become numbers strictly: what could mean two things is refused.

Figures: invented, or the digits of the text; an inch is 25.4 mm by definition.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, strategies as st

from capcheck.intake.tables.cells import CellError, read_measure, read_numbers
from capcheck.intake.tables.size_cell import is_product, may_be_size, read_size
from capcheck.lexicon import units
from capcheck.values.interval import Interval
from capcheck.values.units import ANGLE, FORCE, LENGTH, MASS, NUMBER, unit_factor


def length(text: str, unit: str | None = None, decimal: str | None = None) -> Interval:
    return read_measure(text, LENGTH, unit=unit, decimal=decimal)


@pytest.mark.rows(
    ("text", "low", "high"),
    [
        ("1.6 mm", 1.6, 1.6),
        ("1.6mm", 1.6, 1.6),
        ("63mil", 1.6002, 1.6002),
        ("0.063 in", 1.6002, 1.6002),
        ('0.063"', 1.6002, 1.6002),
        ("0.063″", 1.6002, 1.6002),
        ("1600 µm", 1.6, 1.6),
        ("1600 μm", 1.6, 1.6),
        ("\u22121.6 mm", -1.6, -1.6),
        ("1.6\u00a0mm", 1.6, 1.6),
        ("１．６ｍｍ", 1.6, 1.6),
        ("1.6 MM", 1.6, 1.6),
        ("1.6±0.1 mm", 1.5, 1.7),
        ("1.6 mm ± 0.1 mm", 1.5, 1.7),
        ("1.6 +/- 0.1 mm", 1.5, 1.7),
        ("2 mm ±10%", 1.8, 2.2),
        ("1.6 +0.2/-0.1 mm", 1.5, 1.8),
        ("max. 2.1 mm", 0, 2.1),
        ("2.1 mm max", 0, 2.1),
        ("≤2.1 mm", 0, 2.1),
        (">= 2.1 mm", 2.1, math.inf),
        ("1.5...1.7 mm", 1.5, 1.7),
        ("1.5 to 1.7 mm", 1.5, 1.7),
        ("1.5 - 1.7 mm", 1.5, 1.7),
    ],
)
def test_a_measure_is_read_with_its_unit_and_tolerance(text, low, high):
    found = length(text)
    assert (found.low, found.high) == pytest.approx((low, high))


def test_the_unit_of_the_cell_wins_over_the_one_of_the_title():
    assert length("63 mil", unit="mm") == Interval.exactly(1.6002)
    assert length("0.8", unit="mm") == Interval.exactly(0.8)
    assert length("63", unit="mil") == Interval.exactly(1.6002)


@pytest.mark.rows(
    ("text", "unit", "decimal"),
    [
        ("0.8", None, None),
        ("", "mm", None),
        ("n/a", "mm", None),
        ("1.6 kg", None, None),
        ("1.6 furlong", None, None),
        ("0402", None, None),
        ("1.6.2 mm", None, None),
        ("1e400 mm", None, None),
        ("10**10 mm", None, None),
        ("1.6 mm 2", None, None),
        ("nan mm", None, None),
        ("inf mm", None, None),
        ("1_000 mm", None, None),
        ("1.7...1.5 mm", None, None),
        ("1.6 mm ± 4 mil", None, None),
        ("x" * 1_000_000, "mm", None),
        ("1" * 1_000_000, "mm", None),
        ("٣ mm", None, None),
    ],
)
def test_what_is_no_measure_or_two_is_refused_with_why_and_what_to_do(text, unit, decimal):
    with pytest.raises(CellError) as error:
        length(text, unit, decimal)
    assert error.value.what
    assert error.value.why
    assert error.value.remedy
    assert len(str(error.value)) < 500


def test_a_decimal_comma_is_read_where_the_file_proves_it():
    assert length("1,6 mm", decimal=",") == Interval.exactly(1.6)
    assert length("1,6", unit="mm", decimal=",") == Interval.exactly(1.6)
    assert length("1.234,5 mm", decimal=",") == Interval.exactly(1234.5)


def test_other_dimensions_are_read_and_not_mixed():
    assert read_measure("30 mg", MASS, unit=None, decimal=None) == Interval.exactly(0.03)
    assert read_measure("90°", ANGLE, unit=None, decimal=None) == Interval.exactly(90)
    assert read_measure("48", NUMBER, unit=None, decimal=None) == Interval.exactly(48)
    with pytest.raises(CellError, match="mass"):
        length("3 g")


@pytest.mark.rows("name", units().unit)
def test_every_factor_agrees_with_the_unit_library(name):
    unit = units().unit[name]
    value, powers = unit_factor(name)
    assert powers == {d.name: d.exponents for d in (LENGTH, ANGLE, MASS, FORCE)}[unit.measures]
    assert value == pytest.approx(unit.factor, rel=1e-12)


def test_a_column_of_bare_numbers_is_read():
    numbers, units = read_numbers(["1.5", "-2.25", "+3", ".5", "4."], decimal=".")
    assert numbers.tolist() == [1.5, -2.25, 3.0, 0.5, 4.0]
    assert units == [""] * 5


def test_units_of_each_cell_are_given():
    numbers, units = read_numbers(["12.5mm", "7mm"], decimal=None)
    assert (numbers.tolist(), units) == ([12.5, 7.0], ["mm", "mm"])
    numbers, units = read_numbers(["12.5mm", "492mil", "", '0.5"', "3"], decimal=None)
    assert np.array_equal(numbers, [12.5, 492, math.nan, 0.5, 3], equal_nan=True)
    assert units == ["mm", "mil", "", "in", ""]


@pytest.mark.rows("bad", ["", "-", "1-2", "1.2.3", "1,500", "abc", "nan", "inf", "1_0", "1e999", "١", "5 x", "0x10"])
def test_what_is_no_number_is_nan_and_shifts_nothing(bad):
    numbers, _ = read_numbers(["1.5", bad, "2.5"], decimal=None)
    assert np.array_equal(numbers, [1.5, math.nan, 2.5], equal_nan=True)


@pytest.mark.parametrize("decimal", [None, ".", ","])
def test_a_mark_that_cannot_part_thousands_is_the_decimal_one(decimal):
    cells = ["1,5", "-2,25", "0,500", "1.5", "-0.250", "12,3456"]
    assert read_numbers(cells, decimal=decimal)[0].tolist() == [1.5, -2.25, 0.5, 1.5, -0.25, 12.3456]
    assert read_measure("0,4 kg", MASS, unit=None, decimal=decimal) == Interval.exactly(400)
    assert length("1,6 mm", decimal=decimal) == Interval.exactly(1.6)


def test_three_digits_behind_another_mark_are_read_as_is_settled():
    cells = ["20,137", "-3,250 mm", "850"]
    assert np.isnan(read_numbers(cells, decimal=None)[0]).tolist() == [True, True, False]
    assert read_numbers(cells, decimal=None, thousands=False)[0].tolist() == [20.137, -3.25, 850]
    assert read_numbers(cells, decimal=None, thousands=True)[0].tolist() == [20137, -3250, 850]
    assert read_numbers(["20.137"], decimal=",", thousands=False)[0].tolist() == [20.137]


def test_an_empty_column_is_empty():
    assert read_numbers([], decimal=None)[0].shape == (0,)


@given(
    st.lists(st.floats(-1e6, 1e6), min_size=1, max_size=40),
    st.sampled_from(["", "mm", "mil"]),
    st.sampled_from([".", ","]),
)
def test_numbers_written_are_numbers_read(values, unit, decimal):
    texts = [f"{v:.6f}".replace(".", decimal) + unit for v in values]
    numbers, units = read_numbers(texts, decimal=decimal)
    assert numbers.tolist() == [float(f"{v:.6f}") for v in values]
    assert units == [unit] * len(values)


@given(st.text(max_size=30))
def test_no_cell_whatever_ends_in_another_error(text):
    try:
        found = length(text, unit="mm")
    except CellError:
        return
    assert found.low <= found.high


@pytest.mark.rows(
    ("text", "decimal", "low", "high"),
    [
        ("1,200 mm", None, 1.2, 1200),
        ("1,200 mm", ".", 1.2, 1200),
        ("1,200 mm", ",", 1.2, 1.2),
        ("1.200 mm", None, 1.2, 1.2),
        ("1.200 mm", ",", 1.2, 1200),
        ("12.000 µm", None, 0.012, 12),
        ("12.000 um", ".", 0.012, 12),
        ("12,000 µm", ",", 0.012, 12),
        ("12.500 µm ± 1.000 µm", ".", 0.0, 13.5),
        ("max. 12.000 µm", ".", 0, 12),
        ("min 1,200 mm", None, 1.2, math.inf),
        ("1,100 ... 1,200 mm", None, 1.1, 1200),
        ("0.120 µm", ".", 0.00012, 0.00012),
    ],
)
def test_a_mark_that_may_part_thousands_leaves_both_readings(text, decimal, low, high):
    found = length(text, decimal=decimal)
    assert found.low <= low
    assert found.high >= high
    assert (text.startswith("12.500")) or (found.low, found.high) == pytest.approx((low, high))


def test_a_tolerance_is_read_in_any_order_and_to_one_side():
    """Intervals by hand: number minus what is below, plus what is above."""
    for text, low, high in (
        ("0.5 -0.05", 0.45, 0.5),
        ("0.5 -0.05 mm", 0.45, 0.5),
        ("0.5 (-0.05)", 0.45, 0.5),
        ("0.5 -10 %", 0.45, 0.5),
        ("0.5 -0.05/+0.1", 0.45, 0.6),
        ("0.5 +0.1", 0.5, 0.6),
        ("10 (±0.2)", 9.8, 10.2),
        ("10 tol. 0.2", 9.8, 10.2),
        ("10 -0,2 / +0,5", 9.8, 10.5),
        ("10 mm +0.5 mm -0.2 mm", 9.8, 10.5),
        ("0.5-0.05", 0.45, 0.5),
        ("0.5 - 0.05", 0.45, 0.5),
        ("10-0.2 mm", 9.8, 10),
        ("0.5 - 0.65", 0.5, 0.65),  # a range
    ):
        found = read_measure(text, LENGTH, unit="mm", decimal=None)
        assert (found.low, found.high) == pytest.approx((low, high)), text
    for text in ("10-8", "10 - 8", "0.5-0", "10 -0.2 approx", "10 mil -0.2 mm", "10 +0.2 x 8", "1.5 - 1.7 x"):
        with pytest.raises(CellError):
            read_measure(text, LENGTH, unit="mm", decimal=None)


def test_a_tolerance_within_a_size_is_no_side_and_the_greater_end_counts():
    """Intervals by hand. A tolerance behind the last side alone may be of all."""
    ten, eight = (9.8, 10.5), (8.0, 8.0)
    for text, length, width in (
        ("10 +0.5/-0.2 x 8", ten, eight),
        ("10 -0.2/+0.5 x 8", ten, eight),
        ("10 -0.2 +0.5 x 8 mm", ten, eight),
        ("10 (+0.5/-0.2) x 8", ten, eight),
        ("10 +5%/-2% x 8", ten, eight),
        ("10 -0.2 x 8 -0.1", (9.8, 10.0), (7.9, 8.0)),
        ("10-0.2 x 8-0.1", (9.8, 10.0), (7.9, 8.0)),
        ("10 x 8 ±0.2", (9.8, 10.2), (7.8, 8.2)),
        ("10 x 8 (-0.2/+0.5)", ten, (7.8, 8.5)),
    ):
        found = read_size(text, unit=None, axes="", decimal=None)
        assert is_product(text), text
        assert may_be_size(text), text
        assert found is not None, text
        assert found.keys() == {"length", "width"}, text
        assert (found["length"].low, found["length"].high) == pytest.approx(length), text
        assert (found["width"].low, found["width"].high) == pytest.approx(width), text
