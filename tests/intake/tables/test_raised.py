"""Texts by which a part reaches higher than itself: what stands on it or below it, and lengths in remarks.

Figures: lengths and texts are invented.
"""

import pytest

from capcheck.intake.tables.raised import raises


@pytest.mark.rows(
    "text",
    [
        "heatsink 20 mm on top",
        "add 8 mm spacer below",
        "with 9 mm standoff",
        "auf Fassung",
        "mit 8 mm Abstandshalter",
        "plus Kühlkörper",
        "dissipateur dessus",
        "con disipador 20 mm",
        "con dissipatore",
        "ヒートシンク 20mm 付き",
        "加散热片 20mm",
        "mount upright",
        "hochkant montieren",
        "tall type",
        "12 mm now",
        "alt. 12 mm",
        'use the 1/2" one, 0.6"',
    ],
)
def test_a_remark_says_that_its_part_reaches_higher(text):
    assert raises(text, remark=True)


@pytest.mark.rows(
    "text",
    [
        "ok",
        "tape 8 mm",
        "pitch 2 mm",
        "without heat sink",
        "ohne Kühlkörper",
        "height 12 mm",  # is read as what it states
        "glued",
        "0.5 mm² wire",
        "",
        "hole 3.2 mm",
    ],
)
def test_other_remarks_do_not(text):
    assert not raises(text, remark=True)


@pytest.mark.parametrize("text", ["Amplifier with heat sink", "Regler mit Kühlkörper", "10u, add 8 mm spacer below"])
def test_a_description_says_it_of_a_part_that_is_something_else(text):
    assert raises(text, remark=False)


@pytest.mark.parametrize("text", ["Heat sink 20 mm", "Spacer M3 x 8 mm", "LED 3 mm", "Amplifier, upright design"])
def test_a_description_of_such_a_thing_itself_does_not(text):
    assert not raises(text, remark=False)
