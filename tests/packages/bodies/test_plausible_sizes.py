"""What looks like the size of a part and is none, and sizes that are stated otherwise than the part is made.

Figures: sizes are the digits of the name beside them; those of codes and outlines are in
capcheck/packages/data/*.csv with their sources, else from memory.
"""

import pytest

from capcheck.model import PartName
from capcheck.packages.bodies.weighing import bodies_of


def body(ref_prefix, footprint, description=""):
    (found,) = bodies_of([PartName(footprint=footprint, description=description, ref_prefix=ref_prefix)])
    return found


def holds(found, *sides):
    measured = zip((found.width.proved, found.length.proved), sorted(sides), strict=True)
    return all(side.low - 0.05 <= drawn <= side.high + 0.05 for side, drawn in measured)


@pytest.mark.rows(
    ("ref_prefix", "footprint", "description"),
    [
        ("J", "SOCKET_1x02", "socket strip (https://parts.example/download/?d=1&f=12)"),
        ("J", "SOCKET_1x02", "socket strip, see www.parts.example/d=5.0/x"),
        ("L", "COIL_A", "https://parts.example/4.0x4.0mm.pdf"),
        ("U", "DRIVER-12", "driver, 12 pin, exposed pad: 4.5x8.1mm, with thermal vias"),
        ("L", "Coils:IHX-5050", ""),  # tenths of a millimetre with one maker, hundredths of an inch with another
        ("L", "MAX-2512", ""),
        ("D", "LAMP_A", "2220 tricolour LED"),  # 2.2 x 2.0 mm of a lamp, and no chip of 5.7 x 5.0 mm
    ],
)
def test_a_number_that_is_no_size_of_the_part_says_none(ref_prefix, footprint, description):
    found = body(ref_prefix, footprint, description)
    assert not found.length.proved.value.is_exact
    assert not (found.length.value.is_known and found.length.basis == "decoded from a name")


@pytest.mark.rows(
    ("ref_prefix", "footprint", "description", "drawn"),
    [
        # As drawn in an open footprint library (commit 7ebfa6b2 of 2020-10-02, CC BY-SA 4.0); names without makers.
        ("L", "IND_12x12mm_H6mm", "Choke, SMD, 12x12mm 6mm height", (12.4, 12.4)),
        ("L", "L_A", "Inductor, 8.1mm x 7.3mm x 5.5 mm, unshielded", (8.08, 7.0)),
        ("T", "TRANSFORMER_A", "SMT gate drive transformer, 1:1:1, 8.0x6.3x5.3mm", (6.6, 6.6)),
        ("F", "FUSE_A", "Surface mount fuse, 3 x 10.1 mm, time-lag", (10.9, 3.0)),
        ("U", "TSSOP48 pitch0.5mm body8x12.5mm", "", (12.5, 8.0)),  # JEDEC MO-153, 8.0 mm body
        ("U", "TSSOP48 pitch0.5mm body8x12.5mm", "", (12.5, 6.1)),  # JEDEC MO-153 ED, 8.1 mm over its leads
        ("U", "PX2QFN-14", "", (2.0, 2.0)),
        ("U", "PG-LSON-8-1", "", (8.0, 8.0)),
        ("Q", "SOT-23", "", (3.0, 1.7)),  # as sold for EIAJ SC-59 too; from memory
        ("C", "CAP-0805-2012M", "22uF 25V X5R", (2.2, 1.45)),  # makers' 2.0 and 1.25, both 0.2; from memory
        ("RN", "ARRAY-2x0402 convex", "", (1.4, 1.0)),
    ],
)
def test_the_size_as_delivered_lies_within_what_is_read(ref_prefix, footprint, description, drawn):
    assert holds(body(ref_prefix, footprint, description), *drawn)


@pytest.mark.rows(
    ("footprint", "fits"),
    [
        ("QFN32 pitch0.5mm body3x3mm", False),  # 8 leads a side at 0.5 mm need 3.5 mm
        ("QFN32 pitch0.5mm body5x5mm", True),
        ("MSOP10 pitch0.5mm body0.3x0.3mm", False),
        ("MSOP10 pitch0.5mm body3x3mm", True),
        ("BGA256 pitch0.8mm body5x5mm", False),
        ("BGA256 pitch0.8mm body14x14mm", True),
        ("LQFP64 pitch0.5mm body10x10mm", True),
        ("SON8 pitch0.5mm body2x2mm", True),
    ],
)
def test_contacts_that_find_no_room_on_a_body_leave_its_size_open_and_ask(footprint, fits):
    """Counts times pitches are arithmetic; those that fit are bodies of JEDEC MO-220, MO-187, MO-192 and MS-026."""
    found = body("U", footprint)
    assert found.length.proved.value.is_known is fits
    assert (found.questions == ()) is fits


# JEDEC MO-220: no body of these classes is as low as 0.65 mm; from memory.
@pytest.mark.parametrize(("footprint", "pitch"), [("QFN-20 4x4x0.5", 0.5), ("DFN-8 3x3x0.65", 0.65)])
def test_a_third_number_that_is_a_usual_pitch_is_no_height(footprint, pitch):
    found = body("U", footprint)
    assert found.pitch.low == pytest.approx(pitch, abs=0.01)
    assert found.height.high > 0.7


# Invented bound, past the number in the name.
# 73 lands in two rings at 0.5 mm find room on 7 x 7 mm, in one ring they do not: 2 x (15 + 15) = 60; from memory.
def test_lands_in_two_rings_find_room_where_one_ring_would_not():
    assert body("U", "AQFN73 pitch0.5mm body7x7mm").length.proved.value.is_known
    assert not body("U", "VQFN73 pitch0.5mm body7x7mm").length.proved.value.is_known


def test_a_third_number_that_is_pitch_and_height_class_alike_is_neither():
    assert body("U", "QFN-16 4x4x0.8").height.high > 0.85


# Sizes that the text states; the millimetre of room is invented.
def test_two_numbers_of_a_round_coil_are_its_diameter_and_height():
    found = body("L", "COIL_A", "Drum core inductor 8x5mm, round")
    assert found.width.low <= 8.0 <= found.width.high
    assert found.height.low <= 5.0 <= found.height.high < 6.0


# JEDEC MO-153 AB: 5.0 x 4.4 mm, 6.4 mm over the leads.
def test_a_side_that_is_the_span_over_the_leads_may_be_the_body_too():
    found = body("U", "TSSOP-16 6.4x5mm")
    assert holds(found, 5.0, 4.4)
    assert found.length.high >= 6.4


# Resettable fuses of 0805 are up to 1.5 mm high; from memory.
def test_a_chip_fuse_may_be_a_resettable_one_that_is_higher_than_wide():
    assert 1.5 <= body("F", "0805").height.high <= 2.0


# A can of 6.3 mm is 7.7 mm high, a case C at most 2.8 mm: size_codes.csv.
def test_a_can_on_lands_that_are_named_after_a_case_may_be_as_high_as_the_can():
    (found,) = bodies_of([PartName(footprint="SMC_C", description="polymer capacitor 6.3x7.7mm", ref_prefix="C")])
    assert found.height.value.high >= 7.7
    assert found.conflicts
