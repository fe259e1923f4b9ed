"""Quantities at the border. The reference for units is pint's own default registry, beside exact definitions.

Figures: the exact definitions of the units (an inch is 25.4 mm, by the agreement of 1959), sums of them by
hand.
"""

import functools
import math

import pint
import pytest
from hypothesis import given, strategies as st
from pydantic import BaseModel, ValidationError

from capcheck.values import Interval, units
from capcheck.values.units import (
    ANGLE,
    AREA,
    AREAL_MASS,
    DENSITY,
    FORCE,
    LENGTH,
    MASS,
    NUMBER,
    OUTPUT_PER_AREA,
    RATE,
    SPEED,
    TIME,
    Angle,
    Length,
    Mass,
    Number,
    Quantity,
    Rate,
    Time,
    UnitError,
    read_quantity,
    show,
)


@pytest.mark.rows(
    ("text", "dimension", "canonical"),
    [
        ("1.6 mm", LENGTH, 1.6),
        ("63 mil", LENGTH, 1.6002),  # 1 mil = 25.4 µm exactly (international inch, 1959)
        ("63 thou", LENGTH, 1.6002),
        ("0.8 in", LENGTH, 20.32),
        ("0.8 inch", LENGTH, 20.32),
        ("12 µm", LENGTH, 0.012),
        ("12 um", LENGTH, 0.012),
        ("3 cm", LENGTH, 30.0),
        ("0.03 m", LENGTH, 30.0),
        ("1.2 kg", MASS, 1200.0),
        ("30 mg", MASS, 0.03),
        ("2 min", TIME, 120.0),
        ("1 h", TIME, 3600.0),
        ("90 deg", ANGLE, 90.0),
        ("36000 1/hour", RATE, 36000.0),
        ("10 1/s", RATE, 36000.0),
        ("2 m/s", SPEED, 2000.0),
        ("3 N", FORCE, 3.0),
        ("1.85 g/cm**3", DENSITY, 1.85e-3),
        ("30 g/in**2", AREAL_MASS, 0.046500093000186),  # 1 in² = 645.16 mm² exactly
        ("20000 1/hour/m**2", OUTPUT_PER_AREA, 20000.0),
        ("40 %", NUMBER, 0.4),
        ("-5 mm", LENGTH, -5.0),
    ],
)
def test_a_quantity_is_read_into_the_canonical_unit(text, dimension, canonical):
    assert read_quantity(text, dimension) == pytest.approx(canonical, rel=1e-11)


def test_an_inch_on_a_limit_is_not_a_hair_over_it():
    assert read_quantity("0.8 in", LENGTH) == 20.32


@pytest.mark.rows(
    ("text", "complaint"),
    [
        ("1,6 mm", "not a number with a unit"),
        ("1.6±0.1 mm", "not a number with a unit"),
        ("10**10**10 mm", "not a number with a unit"),
        ("1.6 MM", "not a unit"),
        ("0402", "without a unit"),
        ("3 g", "mass"),
        ("3 wibble", "not a unit"),
        ("", "not a number with a unit"),
        ("mm", "not a number with a unit"),
        ("1e4000 mm", "not a number with a unit"),
        ("1e308 km", "too large"),
    ],
)
def test_what_is_not_a_length_says_why(text, complaint):
    with pytest.raises(UnitError, match=complaint):
        read_quantity(text, LENGTH)


def test_a_wrong_dimension_names_both_dimensions():
    with pytest.raises(UnitError, match=r'"3 g" is a mass, a length is expected; write it like "1.6 mm"'):
        read_quantity("3 g", LENGTH)


@given(
    st.floats(min_value=1e-6, max_value=1e6),
    # In the general-purpose registry "mil" is an angle, which is one of the traps that the own registry avoids.
    st.sampled_from([("mm", "mm"), ("cm", "cm"), ("m", "m"), ("inch", "inch"), ("mil", "thou"), ("um", "um")]),
)
def test_lengths_agree_with_the_general_purpose_library(value, unit):
    ours, theirs = unit
    expected = _default_registry().Quantity(value, theirs).to("mm").magnitude
    assert read_quantity(f"{value!r} {ours}", LENGTH) == pytest.approx(expected, rel=1e-9)


@functools.cache
def _default_registry():
    return pint.UnitRegistry()


class Sizes(BaseModel):
    length: Length | None = None
    mass: Mass | None = None
    angle: Angle | None = None
    time: Time | None = None
    rate: Rate | None = None
    share: Number | None = None


@pytest.mark.rows(
    ("key", "text", "expected"),
    [
        ("length", "3 g", "a length is expected"),
        ("length", "-3 mm", "at least 0"),
        ("length", 3, "has no unit"),
        ("mass", "3 mm", "a mass is expected"),
        ("rate", "0 1/hour", "more than 0"),
        ("time", "fast", "not a number with a unit"),
        ("share", math.nan, "not a finite number"),
        ("length", True, "has no unit"),
    ],
)
def test_a_field_names_key_text_and_dimension(key, text, expected):
    with pytest.raises(ValidationError) as caught:
        Sizes.model_validate({key: text})
    (error,) = caught.value.errors()
    assert error["loc"] == (key,)
    assert expected in error["msg"]
    assert str(text) in error["msg"] or repr(text) in error["msg"]


# An inch is 25.4 mm by definition.
def test_a_field_keeps_the_canonical_magnitude():
    assert Sizes.model_validate({"length": "1 inch", "angle": "-90 deg"}) == Sizes.model_construct(
        length=25.4, angle=-90.0
    )


def test_the_schema_of_a_quantity_is_a_text_with_an_example():
    schema = Sizes.model_json_schema()["properties"]["length"]["anyOf"][0]
    assert schema["type"] == "string"
    assert schema["examples"] == ["1.6 mm"]


@pytest.mark.rows(
    ("low", "high", "dimension", "shown"),
    [
        (1.6, 1.6, LENGTH, "1.6 mm"),
        (1.5, 1.7, LENGTH, "1.5 to 1.7 mm"),
        (0, 2.1, LENGTH, "at most 2.1 mm"),
        (-math.inf, math.inf, LENGTH, "unknown"),
        (0, math.inf, LENGTH, "unknown"),
        (3, math.inf, LENGTH, "at least 3 mm"),
        (90, 90, ANGLE, "90°"),
        (4, 4, NUMBER, "4"),
        (-0.00001, -0.00001, LENGTH, "0 mm"),
        (-0.2, -0.2, LENGTH, "−0.2 mm"),
        (-0.2, 1.0, LENGTH, "−0.2 to 1 mm"),
    ],
)
def test_an_interval_is_shown_as_people_say_it(low, high, dimension, shown):
    assert show(low, high, dimension) == shown


def test_every_dimension_reads_its_own_example():
    for dimension in units.DIMENSIONS.values():
        assert math.isfinite(read_quantity(dimension.example, dimension))
        assert Quantity(dimension)._read(dimension.example) == read_quantity(dimension.example, dimension)


@pytest.mark.rows("unit", units.COMMON_UNITS)
def test_a_common_unit_is_what_pint_makes_of_it(unit):
    factor, exponents = units.defined_factor(unit)
    assert units.COMMON_UNITS[unit] == (pytest.approx(factor, rel=1e-15), exponents)


@pytest.mark.rows(
    ("value", "shown"),
    [
        (100.2934, "100.29"),
        (2.04467, "2.045"),
        (0.09754, "0.0975"),
        (65536.0, "65536"),
        (-86.0233, "-86.02"),
        (-1e-9, "0"),
    ],
)
def test_numbers_are_shown_with_the_decimals_that_a_drawing_can_mean(value, shown):
    assert units.show_number(value) == shown


def test_inches_keep_the_resolution_of_a_drawing():
    with units.lengths_shown_in("inch"):
        assert units.show(460.004, 460.004, LENGTH) == "18.1104 inch"


@pytest.mark.parametrize(
    ("low", "high", "text"),
    [
        (20.0, 20.0, "20 mm²"),
        (9.78e6, 9.78e6, "9.78 m²"),
        (1e6, math.inf, "at least 1 m²"),
        (0.0, 2.5e6, "at most 2.5 m²"),
    ],
)
def test_an_area_is_told_in_the_unit_of_pads_or_of_floors(low, high, text):
    assert show(low, high, AREA).replace("mm**2", "mm²") == text


def test_sides_bear_their_unit_once_whichever_it_is():
    sides = (Interval(1.5, 1.7), Interval.exactly(0.8))
    assert units.show_sides(sides) == "1.5 to 1.7 × 0.8 mm"
    with units.lengths_shown_in("mil"):
        assert units.show_sides(sides, " x ") == "59.06 to 66.93 x 31.5 mil"


def test_a_whole_number_that_no_float_holds_is_refused_in_words():
    class Share(BaseModel):
        share: Number

    for share in (10**400, -(10**400)):
        with pytest.raises(ValidationError, match="finite"):
            Share(share=share)


@pytest.mark.parametrize("text", ["51/hour", "1.51/hour", "1e31/hour"])
def test_no_digit_of_a_number_is_taken_for_the_one_of_a_unit(text):
    with pytest.raises(UnitError, match="is not a number with a unit"):
        read_quantity(text, RATE)


def test_a_text_that_is_no_quantity_is_shown_by_its_beginning():
    with pytest.raises(UnitError) as caught:
        read_quantity("x" * 10_000, LENGTH)
    assert len(str(caught.value)) < 200
