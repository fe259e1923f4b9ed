"""Spellings of sizes as they stand in real footprint names; the numbers in them are the source.

Figures: sizes are the digits of the name beside them; those of codes and outlines are in
capcheck/packages/data/*.csv with their sources, else from memory.
"""

import pytest

from capcheck.model import LeadStyle, PartName
from capcheck.packages.bodies.weighing import bodies_of


def body(ref_prefix, footprint):
    return bodies_of([PartName(footprint=footprint, ref_prefix=ref_prefix)])[0]


@pytest.mark.rows(
    ("ref_prefix", "footprint", "sides", "height", "pitch"),
    [
        ("U", "500X500X80", (5.0, 5.0), 0.8, None),
        ("U", "QFN32_500X500X80", (5.0, 5.0), 0.8, None),
        ("U", "P50_300X200", (3.0, 2.0), None, 0.5),
        ("U", "DFN8_P50_300X200", (3.0, 2.0), None, 0.5),
        ("U", "LLP65P220X250X80", (2.5, 2.2), 0.8, 0.65),
        ("D", "DIO100X60X32", (1.0, 0.6), 0.32, None),
        ("D", "L6.4 W3.2", (6.4, 3.2), None, None),
        ("U", "QX9 5.3x5.3mm P1.27mm", (5.3, 5.3), None, 1.27),
        ("U", "QX9 5.3x5.3mm pitch 1.27mm", (5.3, 5.3), None, 1.27),
        ("U", "27X25_1170P", (27.0, 25.0), None, None),
        ("U", "BGA80P28X28-760", (23.0, 23.0), None, 0.8),  # JEDEC MO-151 and MO-275 have such bodies
        ("U", "RFLGA50P5X5", (5.0, 5.0), None, 0.5),
        # reference/size_codes.csv; a worksheet has dropped the leading zero.
        ("R", "402", (1.0, 0.5), None, None),
        ("C", "603", (1.6, 0.8), None, None),
        ("C", "C805", (2.0, 1.25), None, None),
        ("L", "IND-603", (1.6, 0.8), None, None),
        ("D", "LED 603", (1.6, 0.8), None, None),
    ],
)
def test_a_spelling_in_use_is_read(ref_prefix, footprint, sides, height, pitch):
    found = body(ref_prefix, footprint)
    for side, measure in zip(sides, (found.length, found.width), strict=True):
        assert measure.proved.value.is_known
        assert measure.low <= side <= measure.high
    if height is not None:
        assert found.height.low <= height <= found.height.high
        assert found.height.high < 2 * height
    if pitch is not None:
        assert found.pitch.low == pytest.approx(pitch, abs=0.02)
        assert found.pitch.high == pytest.approx(pitch, abs=0.02)


# Invented name: 760 balls.
def test_a_grid_named_by_its_balls_has_balls_and_their_count():
    found = body("U", "BGA80P28X28-760")
    assert (found.lead_style, found.pins) == (LeadStyle.BALL_GRID, 760)


# Invented names; a reading in hundredths or as a code would be smaller than 3.0 mm.
@pytest.mark.rows(
    ("ref_prefix", "footprint"),
    [
        ("U", "SOIC127P600X175-8N"),  # span by height of an IPC-7351 name that lost a number, and no body
        ("T", "BOX100X60X32"),  # millimetres as likely as hundredths
        ("J", "603"),
        ("D", "DO-201"),
        ("U", "12X8_24P"),  # contacts 2 mm apart are no grid array
        ("X", "16X2_100P"),
    ],
)
def test_what_may_be_something_else_is_not_read_as_hundredths_or_a_code(ref_prefix, footprint):
    found = body(ref_prefix, footprint)
    assert not found.length.proved.value.is_known or found.length.high > 3.0


# Invented names; half a millimetre of room.
@pytest.mark.parametrize(("text", "low", "high"), [("SMC7260_80TALL", 0.8, 8.0), ("COIL_4.5TALL", 4.5, 4.5)])
def test_a_bare_height_before_its_word_is_tenths_or_hundredths(text, low, high):
    height = body("L", text).height
    assert height.low <= low
    assert high <= height.high <= high + 0.5
