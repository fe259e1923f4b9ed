"""A part number that a spreadsheet has damaged is seen, and a sound one is left alone."""

import pytest

from capcheck.intake.compare.part_numbers import damage
from capcheck.lexicon import sentence


@pytest.mark.parametrize(
    ("number", "how"),
    [
        ("1E-05", "exponent"),
        ("1.2E+11", "exponent"),
        ("2E5", "exponent"),
        ("2016-03-10", "date"),
        ("10-Mar", "date"),
        ("Mar-10", "date"),
        ("402", "zero"),
        ("603.0", "zero"),
        ("1234567890120000", "15 digits"),
        ("#REF!", "formula"),
    ],
)
def test_damage_by_a_spreadsheet_is_seen(number, how):
    assert how in sentence(damage(number))


@pytest.mark.parametrize(
    "number", ["0402", "1206", "PN-1", "2E5X", "E96-10K", "74HC999", "QC847", "123456789012", "QAX232", "5-9999999-1"]
)
def test_sound_part_numbers_are_left_alone(number):
    assert damage(number) is None
