"""Rows of leads bound a body of which only the count is told; bare copper has none; a class bounds its parts."""

import pytest

from capcheck.model import Basis, Family, Mounting, PartName
from capcheck.packages import says_no_part
from capcheck.packages.bodies.lead_rows import lead_row_bounds
from capcheck.packages.bodies.weighing import bodies_of
from capcheck.packages.candidate import Candidate, Trust
from capcheck.values import Interval


def body(footprint="", letters="U", **texts):
    return bodies_of([PartName(footprint=footprint, ref_prefix=letters, **texts)])[0]


# JEDEC MO-142: TSOP-56 is sold as 18.4 x 14 mm. EIAJ and makers: SSOP-10 as 4.9 x 3.9, 3.9 x 5.6 and 3 x 2.8 mm (from
# memory). Torex and NXP: XSON bodies with seven lands are no longer than 3 mm (from memory).
@pytest.mark.parametrize(
    ("name", "long", "short", "pitch"),
    [("TSOP56", 18.4, 14.0, 0.5), ("SSOP10_5MM", 4.9, 3.9, 1.0), ("XSON7", 2.5, 1.0, 0.5)],
)
def test_a_package_of_several_bodies_is_bounded_by_its_rows(name, long, short, pitch):
    found = body(name)
    for measure, value in ((found.length, long), (found.width, short), (found.pitch, pitch)):
        assert measure.basis is Basis.BOUND
        assert measure.low <= value <= measure.high


# IPC-7351B name: five leads on 0.95 mm over a span of 2.4 mm; the body of SOT-23-5 is 2.9 mm long (JEDEC MO-178).
def test_a_land_pattern_with_a_span_alone_gets_its_length_by_the_pitch():
    found = body("SOT95P240X110-5")
    assert found.length.proved.value.low <= 2.9 <= found.length.high < 5


# Invented name.
def test_a_count_alone_of_another_family_bounds_nothing():
    assert not body("QXF-10").length.value.is_known


# Invented names; nothing stands on copper: by hand.
@pytest.mark.parametrize(
    ("footprint", "letters", "texts"),
    [
        ("POGO_LANDPAD", "P", {}),
        ("PROBE-PAD-D1.5mm", "TP", {}),
        ("SENSE_20mm", "S", {"value": "This is PCB copper"}),
    ],
)
def test_what_is_copper_alone_has_no_body(footprint, letters, texts):
    found = body(footprint, letters, **texts)
    assert found.mounting is Mounting.NONE
    assert (found.length.high, found.width.high, found.height.high) == (0, 0, 0)


def test_who_orders_copper_in_words_orders_no_part():
    assert says_no_part(PartName(part_number="QX-20", value="This is PCB copper"))
    assert not says_no_part(PartName(part_number="QX-20", value="copper foil tape"))


# Smallest and largest slide switches for the surface, 6.7 x 2.6 mm and 12.7 x 6.6 mm: from memory.
@pytest.mark.parametrize(("long", "short"), [(6.7, 2.6), (12.7, 6.6)])
def test_a_class_bounds_what_no_number_tells(long, short):
    found = body("SW_QX39", "SW", description="SWITCH SLIDE SPDT SMD")
    assert found.part_class == "slide switch"
    assert found.length.low < long < found.length.high
    assert found.width.low < short < found.width.high
    assert found.height.proved.value.high < 28
    assert not found.nominal_length.value.is_exact


# The digits of the invented name: 11.72 mm with its tolerance.
def test_a_size_in_the_name_counts_before_the_bounds_of_the_class():
    found = body("SWITCH-DIP-QX-6.7x11.72mm", "SW")
    assert found.length.high < 12.5
    assert found.part_class == "DIP switch"


# Pitches of pin headers from 0.5 to 2.54 mm; eight positions on 2.54 mm are 20.3 mm long: by hand.
def test_a_header_of_unknown_pitch_is_bounded_by_the_usual_ones():
    found = body("QX-8", "J", description="8 pin header connector")
    assert found.length.low < 20.3 < found.length.high
    assert found.pitch.low == 0.5


# Invented: 97 leads on 1.5 mm would reach far beyond any thin small-outline body (JEDEC MS-024).
def test_a_pitch_that_no_body_of_the_family_has_room_for_bounds_nothing():
    known = Candidate(
        Basis.DECODED, Trust.BOUND, pins=97, pitch=Interval.exactly(1.5), family_key=Family.TSOP, family="TSOP-97"
    )
    assert lead_row_bounds(known) is None
