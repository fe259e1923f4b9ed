"""A part number that a spreadsheet has damaged is seen, and a sound one is left alone."""

import pytest

from capcheck.intake.compare.part_numbers import check_part_numbers, damage
from capcheck.lexicon import sentence
from capcheck.model import BomLine


@pytest.mark.rows(
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


@pytest.mark.rows(
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


@pytest.mark.rows(
    "number",
    [
        "XQ\u0425919-99",  # a letter of Cyrillic
        "XQ9919-9…",
        "XQ9919-9...",
        "XQ9919-99*",
        "=XQ9919",
        "XQ99l9-99",
        "XQ9919-99 obsolete",
        "XQ9919-99 (EOL)",
        "ersetzt durch XQ7799-1",
        "XQ9919-99 (alt. XQ7799-1)",
        "XQ9919-99 - removed",
    ],
)
def test_words_and_signs_that_no_part_number_has_are_asked_about(number):
    lines = [BomLine(refs=("U1",), part_number=number), BomLine(refs=("U2",), part_number="XQ9918-99")]
    assert [d.refs for d in check_part_numbers(lines)] == [("U1",)]


@pytest.mark.rows("number", ["OPT-9901", "XQ9919-99 10kΩ", "XQ-9919 tape", "XQ*9919", "DEL9919-99", "µQX-9919"])
def test_a_number_that_only_looks_like_such_words_is_none(number):
    assert check_part_numbers([BomLine(refs=("U1",), part_number=number)]) == []


def test_a_nought_is_no_part_number():
    lines = [BomLine(refs=("U1",), part_number="0"), BomLine(refs=("U2",), part_number="XQ9918-99")]
    assert [d.refs for d in check_part_numbers(lines)] == [("U1",)]


def _told(remark):
    line = BomLine(("R1",), part_number="XQ9901-99", cells={"Remark": remark, "Part number": "XQ9901-99"})
    return [sentence(found.said) for found in check_part_numbers([line])]


@pytest.mark.rows(
    "remark",
    ["or XQ7799-99", "oder XQ7799-99", "ou XQ7799-99", "alt. XQ7799-99", "alternative: XQ7799-99", "或 1N9948"],
)
def test_another_number_beside_the_one_to_buy_is_asked_about(remark):
    (told,) = _told(remark)
    assert remark in told


@pytest.mark.rows("remark", ["or R1000", "or 100nF", "10k or 12k", "or 1206", "see note 2 or 3", "or better"])
def test_a_value_a_size_or_a_reference_beside_a_number_is_no_other_one(remark):
    assert not _told(remark)
