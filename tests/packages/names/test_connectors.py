"""Bounds of connectors by their positions, their pitch and their family.

Figures: positions times pitch, by arithmetic; what housings add is in capcheck/packages/data/connectors.toml,
from memory.
"""

import pytest
from hypothesis import given, strategies as st

from capcheck.model import Basis, PartName
from capcheck.packages.bodies.weighing import bodies_of
from capcheck.values import Interval


def body(prefix, footprint="", **texts):
    (found,) = bodies_of([PartName(ref_prefix=prefix, footprint=footprint, **texts)])
    return found


def holds(measure, value):
    return measure.low <= value <= measure.high


# Arithmetic: the pitch is the digits of the name.
@pytest.mark.rows(
    ("footprint", "positions", "pitch"),
    [
        ("QX-FPC_0.5mm_24P", 24, 0.5),
        ("QZ2.0-4P", 4, 2.0),
        ("FFC 1mm 20P", 20, 1.0),
        ("QZ1.25_6PIN", 6, 1.25),
        ("FFC_24P_0.5mm", 24, 0.5),
    ],
)
def test_a_number_before_a_count_of_contacts_is_their_pitch(footprint, positions, pitch):
    found = body("J", footprint)
    assert found.pitch.value == Interval.exactly(pitch)
    assert found.length.value.is_known
    assert found.length.low <= (positions - 1) * pitch + 2 <= found.length.high


@pytest.mark.rows(
    "footprint", ["QX_H5.0-4P", "H2.0 4P", "QX 12.5-4P", "QX 2.9-4P", "QZ-2X2.0-4P", "QX-4P-2.9mm", "QX-4P 2.0x3"]
)
def test_a_height_or_a_number_that_is_no_usual_pitch_is_none(footprint):
    assert not body("J", footprint).pitch.value.is_exact


# Hirose DF40 and Samtec TSM: 13.96 mm for 60 contacts in two rows, 12.7 mm for 5 in one; from memory.
@pytest.mark.parametrize(("number", "long"), [("DF40C-60DP-0.4V(99)", 13.96), ("TSM-105-99-T-SV", 12.7)])
def test_the_contacts_that_a_number_counts_bound_the_length(number, long):
    found = body("J", "QX-LAND", part_number=number)
    assert holds(found.length, long)


# Sides as such parts are drawn, invented names.
@pytest.mark.rows(
    ("prefix", "texts", "long", "short", "high"),
    [
        ("J", {"footprint": "pin header 1x06 pitch2.54mm upright"}, 15.24, 2.54, 11.5),
        ("J", {"footprint": "pin socket 2x10 pitch1.27mm upright SMD"}, 12.7, 5.1, 4.5),
        ("J", {"footprint": "QX-SH 1x04 pitch1.00mm horizontal"}, 6.0, 4.25, 2.9),
        ("J", {"footprint": "QX-FPC 1x24 pitch0.50mm horizontal"}, 16.2, 5.6, 2.0),
        ("J", {"footprint": "QX-B2B 2x30 pitch0.40mm vertical"}, 15.1, 2.8, 1.5),
        ("CN", {"description": "CONN HEADER 6POS 2.54MM PITCH"}, 15.24, 2.5, 8.5),
        ("X", {"description": "Stiftleiste 10-polig, 2.54mm pitch, einreihig"}, 25.4, 2.54, 8.5),
        ("J", {"description": "Box header 2x05 2.54mm"}, 20.3, 8.9, 9.4),
        ("J", {"footprint": "USB-TYPE-C-SOCKET_QX16"}, 8.94, 7.3, 3.3),
        ("USB", {"value": "USB Type-C 16P"}, 9.0, 7.4, 3.3),
        ("J", {"footprint": "USB-MICRO-B-SOCKET_QX"}, 7.5, 5.5, 2.8),
        ("J", {"footprint": "USB-MINI-B-SOCKET"}, 9.2, 7.7, 4.0),
        ("J", {"value": "HDMI"}, 15.0, 11.4, 6.2),
        ("J", {"value": "microSD socket"}, 14.5, 14.0, 1.9),
        ("J", {"value": "U.FL"}, 3.1, 3.0, 1.3),
        ("J", {"value": "SO-DIMM 260"}, 70.0, 30.0, 9.2),
        ("J", {"footprint": "RJ45-QX horizontal"}, 21.3, 15.9, 13.5),
        ("J", {"footprint": "SMA_EdgeMount"}, 17.4, 9.5, 6.4),
    ],
)
def test_the_body_lies_within_the_bounds_and_they_say_so(prefix, texts, long, short, high):
    found = body(prefix, **texts)
    assert holds(found.length, long)
    assert holds(found.width, short)
    assert holds(found.height, high)
    assert found.length.basis is Basis.BOUND
    assert found.height.low == 0
    assert found.family_key == "connector"


@pytest.mark.rows(
    ("prefix", "texts"),
    [
        ("U", {"description": "USB Type-C controller QFN"}),
        ("D", {"description": "TVS diode for HDMI 10 POS"}),
        ("R", {"description": "Pull-up of the 1x06 pin header, 2.54mm pitch"}),
        ("J", {"footprint": "RJ45-QX 2x4"}),
        ("J", {"footprint": "USB-TYPE-C-PLUG_QX"}),
        ("J", {"value": "Dual USB-A"}),
        ("J", {"description": "CONN 6POS"}),
        ("J", {"description": "CONN HEADER 2.54MM PITCH"}),
    ],
)
def test_without_family_or_positions_or_by_other_letters_nothing_is_bounded(prefix, texts):
    assert not body(prefix, **texts).length.value.is_known


# Pitches that connectors are sold with, and 12 mm for their ends: from memory.
@given(st.integers(1, 4), st.integers(2, 60), st.sampled_from([0.4, 0.5, 0.8, 1.0, 1.25, 1.27, 1.5, 2.0, 2.54, 3.96]))
def test_positions_times_pitch_lie_within_every_body(rows, positions, pitch):
    rows, positions = min(rows, positions), max(rows, positions)
    found = body("J", f"QX {rows}x{positions:02d} pitch{pitch:.2f}mm vertical")
    assert found.length.high >= (positions - 1) * pitch + 12
    assert max(found.length.low, found.width.low) >= (positions - 1) * pitch - 1e-6
    assert found.length.low >= found.width.low


# Arithmetic: ten or twenty positions at 2.54 mm.
@pytest.mark.rows(
    "count",
    ["20 pin", "20-PIN", "20P", "20 pos", "20 ways", "20 contacts", "20-polig", "20 broches", "20 pines", "20 poli"],
)
def test_a_count_of_contacts_in_unknown_rows_leaves_both_open(count):
    found = body("J", description=f"header, {count}, 2.54mm pitch")
    assert holds(found.length, 9 * 2.54 + 2.54)
    assert holds(found.length, 19 * 2.54 + 2.54)


# Arithmetic: ten or twenty positions at 2.54 mm.
def test_rows_that_are_told_narrow_it():
    double = body("J", description="header 20 pin dual row 2.54mm pitch")
    single = body("J", description="header 20 pin single row 2.54mm pitch")
    assert double.length.high < 20 * 2.54
    assert single.length.low > 19 * 2.54


# Arithmetic: four or eight positions at 2.54 mm.
def test_two_counts_in_two_texts_leave_both_possible():
    found = body("J", "pin header 1x04 pitch2.54mm", description="pin header 1x08 2.54mm")
    assert found.length.low <= 4 * 2.54
    assert found.length.high >= 8 * 2.54


# Invented size.
def test_a_stated_size_goes_before_the_family():
    stated = {"length": (Interval.exactly(20), "bom.csv:2"), "width": (Interval.exactly(7), "bom.csv:2")}
    found = body("J", "USB-TYPE-C_QX", dimensions=stated)
    assert found.length.value == Interval.exactly(20)
    assert found.conflicts == ()


# USB Type-C: contacts on 0.5 mm, from memory.
def test_a_usb_type_c_contact_has_its_standard_pitch():
    assert body("J", "USB-TYPE-C-SOCKET_QX").pitch.value.middle == 0.5
    assert body("J", "USB-TYPE-C-SOCKET_QX").lead_style == "leads"


def test_a_height_from_memory_proves_nothing_at_its_own_figure():
    (body,) = bodies_of([PartName(ref_prefix="J", value="pin header 2x5 2.54 mm")])
    assert body.height.value.high == pytest.approx(28.5)  # the table, and half a millimetre of room: from memory


# Jacks for plugs of 5.5 x 2.1 mm are 14 x 9 x 11 mm; from memory.
@pytest.mark.parametrize("description", ["DC power jack 5.5x2.1mm", "DC电源插座 5.5x2.1"])
def test_the_diameters_of_a_plug_prove_no_body_of_its_jack(description):
    found = body("J", footprint="DC-005", description=description)
    assert not found.length.proved.value.is_known or found.length.high >= 14
