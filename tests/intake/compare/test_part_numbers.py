"""A part number that a spreadsheet has damaged is seen, and a sound one is left alone."""

import pytest

from capcheck.intake.compare.part_numbers import check_part_numbers, damage
from capcheck.lexicon import sentence
from capcheck.model import BomLine


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


def test_a_number_that_was_mistyped_or_broken_is_asked_about():
    """A hyphen with a space on both sides, an O beside letters, a package or a value behind it are ordinary."""
    for number, is_asked in (
        ("PN-1O3", True),
        ("PN -103", True),
        ("PN- 103", True),
        ("PN - 103", False),
        ("PN-103", False),
        ("OPA9999O", False),
        ("CO99 O9", False),
        ("QAM999R71C 999KA99D", True),
        ("QAM999R71C999KA99D", False),
        ("QC9999 SOT23", False),
        ("QC9999 100V", False),
        ("QC9999 B", False),
        ("Quad 4-bit driver 9999AB", False),
    ):
        found = check_part_numbers([BomLine(refs=("R1",), part_number=number, file="b.csv", row=2)])
        assert bool(found) == is_asked, number
