"""Package names to bodies, against published outlines and the ways people write them.

Figures: sizes are the digits of the name beside them; those of codes and outlines are in
capcheck/packages/data/*.csv with their sources, else from memory.
"""

from __future__ import annotations

import csv
from pathlib import Path

import pytest
from hypothesis import given, strategies as st

from capcheck.model import Basis
from capcheck.packages.names.outlines import outline_by_span, read_package_name
from capcheck.packages.tables import Family
from capcheck.values.interval import Interval

REFERENCE = Path(__file__).parents[3] / "reference"


def table(name):
    with (REFERENCE / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def first(text, field):
    """Return the value of *field* in the best reading that states it."""
    return next((v for r in read_package_name(text) if (v := getattr(r, field)) is not None), None)


def by_span(family, pins, pitch, span):
    key = Family.DPAK if family == "TO" else Family(family.lower())
    return outline_by_span(key, pins, Interval.about(pitch, 0.005), Interval.about(span, 0.005))


def holds(interval, value, slack=0.0):
    return interval is not None and interval.low - slack <= value <= interval.high + slack


@pytest.mark.rows("row", table("package_outlines.csv"), ids=lambda r: r["name"])
def test_the_published_outline_is_within_what_its_name_gives(row):
    name = row["name"]
    long, short = sorted((float(row["side_mm"]), float(row["other_side_mm"])), reverse=True)
    assert holds(first(name, "length"), long)
    assert holds(first(name, "width"), short)
    assert holds(first(name, "pitch"), float(row["pitch_mm"]), 0.006)
    assert first(name, "pins") == int(row["pins"])
    assert first(name, "mounting") == "surface"
    if row["height_max_mm"]:
        assert first(name, "height").high >= float(row["height_max_mm"])
    if row["span_mm"]:
        assert holds(first(name, "span"), float(row["span_mm"]))


# Sizes: JEDEC MS-012/-013, MO-153, MO-178, MS-026, MO-220 and drawings,
# each cited in tests/reference/package_outlines.csv.
SPELLINGS = [
    ("SOIC-8", 4.9, 3.9, 8),
    ("SO8N", 4.9, 3.9, 8),
    ("8-SOIC", 4.9, 3.9, 8),
    ("SOIC-16W", 10.3, 7.5, 16),
    ("SOIC16_WIDE", 10.3, 7.5, 16),
    ("TSSOP20", 6.5, 4.4, 20),
    ("16-TSSOP", 5.0, 4.4, 16),
    ("HTSSOP-16", 5.0, 4.4, 16),
    ("MSOP-10", 3.0, 3.0, 10),
    ("uMAX-8", 3.0, 3.0, 8),
    ("SOT-23-5", 2.9, 1.6, 5),
    ("SOT23-5", 2.9, 1.6, 5),
    ("sot_23_6", 2.9, 1.6, 6),
    ("SOT-323", 2.0, 1.25, 3),
    ("TSOT23-6", 2.9, 1.6, 6),
    ("SC70-5", 2.0, 1.25, 5),
    ("SC-70", 2.0, 1.25, 3),
    ("SOT-353", 2.0, 1.25, 5),
    ("SOT363", 2.0, 1.25, 6),
    ("SOT-223", 6.5, 3.5, 4),
    ("SOT-523", 1.6, 0.8, 3),
    ("SOT-89", 4.5, 2.5, 3),
    ("DPAK", 6.5, 6.22, 3),
    ("D-PAK", 6.5, 6.22, 3),
    ("TO-263", 10.0, 9.25, 3),
    ("TO-252-3, DPak (2 Leads + Tab)", 6.5, 6.22, 3),
    ("LQFP-64 10x10", 10, 10, 64),
    ("48-LQFP (7x7)", 7, 7, 48),
    ("LQFP-64 10.0x10.0 0.5P", 10, 10, 64),
    ("QFN-32 5x5 P0.5", 5, 5, 32),
    ("P0.5 5x5 QFN-32", 5, 5, 32),
    ("FP-QFN-32LD 5x5", 5, 5, 32),
    ("VQFN (32) 5.00 mm x 5.00 mm", 5, 5, 32),
    ("WSON8 pitch1.27mm body6x5mm +EP3.4x4mm", 6, 5, 8),
    ("parts:QFN48 pitch0.5mm body7x7mm +EP5.6x5.6mm", 7, 7, 48),
    ("HVQFN32 l5.0 w5.0 p0.50 ep3.1", 5, 5, 32),
    ("our_so:SOIC8 pitch1.27mm body3.9x4.9mm", 4.9, 3.9, 8),
    ("SOP8 l4.9 w3.9 ls6.0 p1.27", 4.9, 3.9, 8),
    ("SOT-23-6 l2.9 w1.6 ls2.8 p0.95", 2.9, 1.6, 6),
    ("PLCC-44", 16.59, 16.59, 44),
    ("BGA-256 17x17 1.0mm", 17, 17, 256),
    ("BGA98 pitch0.8mm body9.0x11.0mm balls2x3x14", 11, 9, 98),
    ("MS-013AA", 10.3, 7.5, 16),
    ("SOT338-1", 6.2, 5.3, 16),
    ("FGG484", 23, 23, 484),
    ("DFN1006-2", 1.0, 0.6, 2),
    ("UDFN2020-6", 2.0, 2.0, 6),
    ("WQFN 3x3-16", 3, 3, 16),
]


@pytest.mark.rows(("text", "long", "short", "pins"), SPELLINGS, ids=[s[0] for s in SPELLINGS])
def test_a_spelling_in_use_gives_the_body_closely(text, long, short, pins):
    length, width = first(text, "length"), first(text, "width")
    assert holds(length, long)
    assert holds(width, short)
    # JEDEC TO-252, TO-263 and MO-150 leave more than a tenth of a side to the makers.
    assert length.high - length.low < 0.25 + 0.12 * long
    assert width.high - width.low < 0.2 + 0.13 * short + 0.1
    assert first(text, "pins") == pins


# Bodies of these outlines: reference/package_outlines.csv; 1.6 mm of SC-59 from memory.
@pytest.mark.rows(
    ("text", "alternatives", "narrow", "wide"),
    [
        ("SO-8", {"SOIC-8 narrow", "SOIC-8 208 mil", "SO-8 5.3 mm"}, 3.9, 5.3),
        ("SOIC-16", {"SOIC-16 narrow", "SOIC-16W"}, 3.9, 7.5),
        ("SOT-23-3", {"SOT-23", "SC-59"}, 1.3, 1.6),
        ("BGA-324", {"BGA-324 23x23", "FBGA-324 19x19", "UBGA-324 15x15"}, 15, 23),
        ("TQFP-144", {"TQFP-144 16x16", "TQFP-144 20x20"}, 16, 20),
    ],
)
def test_a_name_of_several_outlines_is_their_hull_with_the_candidates_named(text, alternatives, narrow, wide):
    (reading,) = read_package_name(text)
    assert alternatives <= set(reading.alternatives)
    assert holds(reading.width, narrow)
    assert holds(reading.width, wide)
    assert reading.questions


# JEDEC MS-026 BED: body 14 x 14 mm, 16 x 16 mm over the leads.
def test_a_stated_size_picks_one_outline_and_stands_before_it():
    named, published = read_package_name("LQFP100 pitch0.5mm body14x14mm")
    assert named.basis is Basis.DECODED
    assert published.basis is Basis.PUBLISHED
    assert published.family == "LQFP-100 14x14"
    assert published.span is not None
    assert holds(published.span, 16)


# Tables mix body and size over the leads; the last number of SOT-353 is no pin count.
# Bodies: JEDEC MS-026 and MO-142; from memory.
@pytest.mark.parametrize(("text", "body"), [("EQFP-144 22x22", 20), ("LQFP100 16x16", 14), ("TSOP-I 12x20-48", 18.4)])
def test_a_size_over_the_leads_is_not_taken_for_the_body(text, body):
    assert holds(first(text, "length"), body)
    assert holds(first(text, "span"), body + 2, 0.4)


# Arithmetic: a body is larger than its pad of 2.5 mm by a millimetre at least; from memory.
def test_an_exposed_pad_and_a_ball_layout_are_not_the_body():
    assert holds(first("DFN8 +EP0.9x1.6mm body2x2mm pitch0.5mm", "length"), 2.0)
    assert first("QFN20 +EP2.5x2.5mm", "length").high > 3.5


@pytest.mark.rows(
    ("text", "style", "hidden"),
    [
        ("QFN-16 3x3", "no lead", True),
        ("WLCSP", "ball grid", True),
        ("LGA-16 3x3", "land grid", True),
        ("SOIC-8", "gull wing", False),
        ("PLCC-28", "J lead", False),
        ("SOT-563", "flat lead", False),
        ("CCGA-624", "column grid", True),
    ],
)
def test_lead_style_tells_whether_the_joints_are_hidden(text, style, hidden):
    assert first(text, "lead_style") == style
    assert first(text, "hidden_joints") is hidden


# Counts: rows times positions of the name, by arithmetic.
@pytest.mark.rows(
    ("text", "pins"),
    [
        ("DIP-8", 8),
        ("DIP-14_ROWS7.62mm", 14),
        ("TO-220-3 upright", None),
        ("TO-92", None),
        ("PinHeader_1x04_P2.54mm_Vertical", 4),  # seen in public board files
        ("HDR2X3", 6),
        ("CAP radial D6.4mm P2.4mm", None),
        ("RES axial L6.4mm D2.4mm P10mm", None),
        ("DO-41", None),
    ],
)
def test_through_hole_names_are_through_hole(text, pins):
    (reading,) = read_package_name(text)
    assert reading.mounting == "through hole"
    assert reading.pins == pins
    assert reading.height is None


def test_surface_headers_and_dip_switches_are_not_through_hole():
    assert first("Pin-Header 2x05 1.27mm vertical SMD", "mounting") == "surface"
    assert first("SWITCH-DIP-4WAY-SURFACE", "mounting") != "through hole"


# Bases of cans: capcheck/packages/data/cans.csv, from memory.
@pytest.mark.rows(
    ("text", "long", "short"),
    [
        ("XTAL 3225_4P_3.2x2.5mm", 3.2, 2.5),
        ("XTAL_5032", 5.0, 3.2),
        ("Oscillator_2.5x2.0", 2.5, 2.0),
        ("ELCO-ELEC-6.3x7.7", 6.6, 6.6),
        ("CAP l8.3 w8.3 bd8.0 ls9.0", 8.3, 8.3),
        ("IND_7.3x7.3_H4.5", 7.3, 7.3),
        ("LED_3528", 3.5, 2.8),
        ("LED5050", 5.0, 5.0),
        ("LED_RGB_5050-4", 5.0, 5.0),
        ("LED QX2712B PLCC4 5.0x5.0mm", 5.0, 5.0),
        ("SWITCH_6x6mm", 6.0, 6.0),
    ],
)
def test_devices_give_the_size_in_their_name(text, long, short):
    assert holds(first(text, "length"), long)
    assert holds(first(text, "width"), short)
    assert first(text, "length").high - long < 0.41


def test_a_product_number_of_a_lamp_states_no_size():
    assert first("LED_QX2712B-PLCC4", "length") is None


# Invented name: diameter 6.3 mm, height 7.7 mm.
def test_a_can_is_named_by_diameter_and_height():
    (can,) = read_package_name("ELCO-ELEC-6.3x7.7")
    assert can.lead_style == "can"
    assert can.polarised is True
    assert holds(can.height, 7.7)
    assert holds(can.nominal_length, 6.3)


@pytest.mark.parametrize("text", ["fiducial 1.2mm clear 2.4mm", "MountingHole M3", "logo_small", "TESTPOINT-PAD-1.0mm"])
def test_features_of_the_board_are_not_mounted(text):
    assert first(text, "mounting") == "none"
    assert first(text, "length") is None


@pytest.mark.rows(
    "text",
    [
        "",
        "-",
        "10k",
        "SOIC127P600X175-8N",
        "RESC1608X55N",
        "CAP-0402-1005M",
        "J1",
        "ISO99X1",
        "SONATA",
        "4.7uF",
        "74XY1Z07",
    ],
)
def test_what_is_no_package_name_gives_nothing(text):
    assert read_package_name(text) == []


def test_a_connector_states_no_size_and_a_package_beside_the_word_wins():
    assert first("USB-TYPE-C-SOCKET_16P", "family_key") == "connector"
    assert first("USB-TYPE-C-SOCKET_16P", "length") is None
    assert first("IC USB HUB 48-LQFP", "family") == "LQFP-48 7x7"


@pytest.mark.rows(
    "text",
    [
        "REG 1.71V TO 3.6V",
        "MUX 16B TO 8B",
        "MOSFET P-CH RDSON<0.5R",
        "BRIDGE RECT MINI-DIP",
        "9 DOF absolute orientation MEMS",
    ],
)
def test_prose_that_resembles_a_name_says_nothing_of_the_body(text):
    for reading in read_package_name(text):
        assert reading.mounting is None
        assert reading.lead_style is None


def test_a_package_in_prose_is_found():
    assert first("MUX 16B TO 8B 42WQFN", "pins") == 42
    assert first("LDO 150 mA, 5 SOT-23 T/R", "pins") == 5
    assert first("SOT-23-OT5_N", "pins") == 5


def test_a_word_that_makers_use_loosely_is_typical_where_only_memory_has_an_outline():
    (reading,) = read_package_name("SSOP-10")
    assert reading.basis is Basis.TYPICAL
    assert {"TSSOP-8", "MSOP-8"} <= set(read_package_name("TSSOP-8")[0].alternatives)


def test_one_tabled_body_of_a_family_with_many_is_typical_and_asks():
    for text in ("BGA-164", "LFBGA-100", "UFBGA-100", "DSBGA-8", "LGA-12", "X2SON-5"):
        (reading,) = read_package_name(text)
        assert reading.basis is Basis.TYPICAL
        assert reading.questions


# JESD30: T is 1.2 mm at most, with a tenth for what is from memory.
def test_a_ball_grid_of_no_height_class_is_not_held_to_that_of_the_bodies_tabled():
    assert first("TFBGA-48", "height").high <= 1.32
    assert first("BGA-48", "height") is None
    assert first("BGA-256 17x17", "height") is not None


# JEDEC MO-150: 5.3 mm is the widest body of an SSOP with a span of 7.8 mm; from memory.
@pytest.mark.parametrize("text", ["SSOP8_65MM_2W", "XSON7", "SOT89H57", "BGA812K4N6"])
def test_glued_letters_and_digits_do_not_become_width_or_pins(text):
    assert first(text, "width") is None or first(text, "width").high < 5.6
    assert (first(text, "pins") or 0) < 64


# Land-pattern names give the span, not the body: SOIC 600 is MS-012, QFP 1200 x 1200 is 10 x 10 (MS-026).
@pytest.mark.rows(
    ("asked", "long", "short"),
    [
        (("SOIC", 8, 1.27, 6.0), 4.9, 3.9),
        (("SOIC", 9, 1.27, 6.0), 4.9, 3.9),
        (("SOIC", 16, 1.27, 6.0), 9.9, 3.9),
        (("SOIC", 16, 1.27, 10.3), 10.3, 7.5),
        (("SOP", 16, 0.65, 6.4), 5.0, 4.4),
        (("SOP", 21, 0.65, 6.4), 6.5, 4.4),
        (("SOP", 16, 0.64, 6.0), 4.9, 3.9),
        (("SOP", 28, 0.65, 7.8), 10.2, 5.3),
        (("QFP", 64, 0.5, 12.0), 10, 10),
        (("QFP", 48, 0.5, 9.0), 7, 7),
        (("PLCC", 44, 1.27, 17.53), 16.59, 16.59),
        (("SOT", 5, 0.95, 2.8), 2.9, 1.6),
        (("SOT", 3, 0.65, 2.1), 2.0, 1.25),
        (("SOT", 3, 0.95, 2.4), 2.9, 1.3),
        (("TSOP", 54, 0.8, 11.76), 22.22, 10.16),
    ],
)
def test_lookup_finds_the_body_that_a_land_pattern_name_leaves_out(asked, long, short):
    family, pins, pitch, span = asked
    found = by_span(family, pins, pitch, span)
    assert found is not None
    assert holds(found.length, long)
    assert holds(found.width, short)
    assert found.length.high - found.length.low < 0.7


# Invented outlines.
def test_lookup_of_what_no_outline_has_is_nothing():
    assert by_span("SOIC", 8, 1.27, 14.0) is None
    assert by_span("QFP", 64, 0.3, 12.0) is None


@given(st.text(alphabet="SOTQFNBGALWHPEX0123456789.-_ xm()°µ×", max_size=40))
def test_no_text_breaks_the_reader(text):
    for reading in read_package_name(text):
        if reading.length is not None and reading.width is not None:
            assert reading.length.high >= reading.width.low


@pytest.mark.parametrize("text", ["BTB 40X0.35", "BTB_40x0.35mm", "FPC 20x0.5mm"])
def test_pins_by_pitch_is_no_size(text):
    assert first(text, "length") is None
    assert first(text, "pitch").low < float(text.lower().rstrip("m").split("x")[1]) + 0.01
    assert first(text, "pitch").high < 1


# JEDEC MS-013: 7.5 mm.
@pytest.mark.parametrize(("text", "short"), [("SOW-16", 7.5), ("SOIC-16W", 7.5)])
def test_a_wide_body_is_read_as_jedec_ms_013_has_it(text, short):
    assert holds(first(text, "width"), short)


def test_an_outline_number_of_many_bodies_names_the_family_and_no_size():
    """JEDEC registers bodies from 2 to 12 mm as MO-220 and from 7 to 50 mm as MS-034 (from memory)."""
    for text, style in (("MO-220", "no lead"), ("MS-034", "ball grid"), ("MO-205", "ball grid")):
        (reading,) = read_package_name(text)
        assert reading.lead_style == style
        assert reading.length is None


# JEDEC MO-220 variations (from memory): VEED 3 x 3, VGGD 4 x 4, VHHC 5 x 5 at 0.65, VKKD 7 x 7, VMMD 9 x 9.
@pytest.mark.rows(
    ("text", "long", "short", "pitch"),
    [
        ("MO-220 VEED", 3, 3, 0.5),
        ("MO-220 WEED", 3, 3, 0.5),
        ("MO-220-VGGD-8", 4, 4, 0.5),
        ("JEDEC MO-220 K.01 VHHC", 5, 5, 0.65),
        ("MO-220 VJJD-2", 6, 6, 0.5),
        ("MO220VKKC", 7, 7, 0.65),
        ("MO-220, variation VMMD-4", 9, 9, 0.5),
        ("MO-229 VCED-2", 3, 2, 0.5),
    ],
)
def test_the_letters_of_a_no_lead_variation_give_both_sides_and_the_pitch(text, long, short, pitch):
    assert holds(first(text, "length"), long)
    assert holds(first(text, "width"), short)
    assert holds(first(text, "pitch"), pitch)
    assert first(text, "length").high - first(text, "length").low < 0.5


# JEDEC MO-153 AC: 20 leads.
def test_a_dash_number_behind_a_variation_is_no_count_of_leads():
    assert first("MO-220-VGGD-8", "pins") is None
    assert first("MO-153-ACT-1", "pins") == 20
    assert first("MO-153-AC-20", "pins") == 20


# JESD30: L is 1.7 mm at most; from memory.
def test_a_row_from_memory_is_wider_than_a_published_one_of_its_family_and_says_so():
    (published,) = read_package_name("TSSOP-20")  # JEDEC MO-153 AC
    (remembered,) = read_package_name("TSSOP-14")  # MO-153 AB-1, from memory
    assert remembered.width.high > published.width.high
    assert "allowed for memory" in remembered.source
    assert "allowed for memory" not in published.source
    (low,) = read_package_name("LFBGA-144")  # 1.7 mm by its class letter, from memory
    assert low.height.high > 1.7


# TI RSV drawing: 1.8 x 2.6 mm; the largest of JEDEC MO-220 with 16 leads, 5 x 5 mm, from memory.
def test_a_count_alone_in_a_family_of_many_bodies_leaves_room_beyond_the_table():
    (reading,) = read_package_name("QFN-16")
    assert reading.width.low < 1.8  # 1.8 x 2.6 mm is sold (TI RSV)
    assert reading.length.high > 5
    assert "quarter" in reading.source


# JEDEC MO-220 has 5 x 5 mm for 32 leads at 0.5 mm; bodies that are longer than wide are sold too (from memory).
def test_a_pitch_beside_the_count_leaves_room_beyond_the_table_unless_the_sides_stand_there():
    assert first("QFN-32 P0.5", "length").high > 5.3
    assert first("QFN-32 P0.5 5x5", "length").high < 5.3
    assert first("DFN-8 P0.65", "length").high > 3.3


# Invented: 64 balls of a 5 mm square lie at 0.4, 0.5 or 0.6 mm.
def test_the_sides_of_a_ball_grid_do_not_prove_its_pitch():
    assert first("BGA64 5x5", "pitch").low <= 0.4
    assert first("BGA64 5x5", "pitch").high >= 0.6
    assert first("BGA64 5x5 0.5mm pitch", "pitch").low == pytest.approx(0.5, abs=0.01)


# JEDEC TO-236 AB: D 2.80 to 3.04, E1 1.20 to 1.40; TO-252: E 6.35 to 6.73, D 5.97 to 6.22; TO-263: D 8.38 to 9.65;
# MO-150: E1 5.00 to 5.60; MS-013 AA: D 10.10 to 10.50 (all from memory).
@pytest.mark.rows(
    ("text", "field", "low", "high"),
    [
        ("SOT-23", "length", 2.8, 3.04),
        ("SOT-23", "width", 1.2, 1.4),
        ("TO-252", "length", 6.35, 6.73),
        ("TO-252", "width", 5.97, 6.22),
        ("TO-263", "width", 8.38, 9.65),
        ("SSOP-20 5.3mm", "width", 5.0, 5.6),
        ("SOIC-16W", "length", 10.1, 10.5),
        ("SOIC-8", "length", 4.8, 5.0),
        ("SC-70", "length", 1.8, 2.2),
    ],
)
def test_the_range_of_the_standard_is_held(text, field, low, high):
    assert first(text, field).low <= low
    assert first(text, field).high >= high


@pytest.mark.rows(
    ("asked", "long", "short"),
    [
        (("SOT", 3, 1.5, 4.15), 4.5, 2.5),  # JEDEC TO-243 AA (SOT-89) under the family's general name
        (("SOT", 6, 0.5, 1.6), 1.6, 1.2),  # JEDEC MO-293 (SOT-563)
        (("TO", 3, 2.28, 9.7), 6.5, 6.1),  # JEDEC TO-252: over the leads 9.40 to 10.41 (from memory)
        (("TO", 4, 2.54, 15.24), 10.0, 9.25),  # TO-263 with its tab counted
        (("TSOP", 32, 0.5, 13.4), 11.8, 8.0),  # IPC-7351B name TSOP50P1340X120-32N: 8.0 x 11.8
        (("SOP", 24, 0.65, 7.6), 7.8, 5.6),  # SOP65P760X160-24N in reference/land_pattern_names.csv
    ],
)
def test_lookup_allows_what_makers_do_with_the_leads(asked, long, short):
    family, pins, pitch, span = asked
    found = by_span(family, pins, pitch, span)
    assert holds(found.length, long)
    assert holds(found.width, short)


# TI drawing codes with the bodies of their drawings (reference/packing_tapes.csv; from memory).
@pytest.mark.rows(
    ("text", "long", "short", "pins"),
    [
        ("DBV0005A", 2.9, 1.6, 5),
        ("DBV0006A_N", 2.9, 1.6, 6),
        ("DCK 5", 2.0, 1.25, 5),
        ("D0008A", 4.9, 3.9, 8),
        ("DW-16", 10.3, 7.5, 16),
        ("PW0020A", 6.5, 4.4, 20),
        ("DGK0008A", 3.0, 3.0, 8),
        ("NS 20", 12.6, 5.3, 20),
        ("RGC0064G", 9, 9, 64),
        ("RGT", 3, 3, 16),
        ("RSV-16", 2.6, 1.8, 16),
        ("QX51200_DRC", 3, 3, 10),
        ("KTT0003B", 10, 9.25, 3),
        ("PAG", 10, 10, 64),
        ("PWP14_2P31X2P46-L", 5, 4.4, 14),
    ],
)
def test_a_makers_drawing_code_is_the_package_of_its_drawing(text, long, short, pins):
    assert holds(first(text, "length"), long)
    assert holds(first(text, "width"), short)
    assert first(text, "pins") == pins
    assert "drawing code" in read_package_name(text)[0].source


# TI drawing codes, as in capcheck/packages/data/drawing_codes.csv; bodies from memory.
@pytest.mark.parametrize(("text", "low", "high"), [("DBV", 2.9, 2.9), ("DCK", 2.0, 2.0), ("RGY", 3.5, 5.5)])
def test_a_drawing_code_without_its_count_spans_its_packages(text, low, high):
    length = first(text, "length")
    assert length.low <= low
    assert length.high >= high
    assert first(text, "pins") is None
    assert read_package_name(text)[0].questions


@pytest.mark.rows("text", ["PW", "PW0007", "QXD0008", "DB", "QX_RGT_V2", "XYZ0008A"])
def test_letters_that_are_no_drawing_code_name_nothing(text):
    assert read_package_name(text) == []


# Words for packages as distributors' lists have them, spelled from memory; bodies of JEDEC MS-012, MS-013, MO-150,
# MO-153, MO-187, TO-263 and MS-018.
@pytest.mark.rows(
    ("text", "long", "short", "pins"),
    [
        ('8-SOIC (0.154", 3.90mm Width)', 4.9, 3.9, 8),
        ('16-SOIC (0.295", 7.50mm Width)', 10.3, 7.5, 16),
        ('28-SSOP (0.209", 5.30mm Width)', 10.2, 5.3, 28),
        ('24-SSOP (0.154", 3.90mm Width)', 8.65, 3.9, 24),
        ('20-TSSOP (0.173", 4.40mm Width)', 6.5, 4.4, 20),
        ('48-TFSOP (0.240", 6.10mm Width)', 12.5, 6.1, 48),
        ('10-TFSOP, 10-MSOP (0.118", 3.00mm Width)', 3, 3, 10),
        ('54-TSOP (0.400", 10.16mm Width)', 22.22, 10.16, 54),
        ("SOP-8_150mil", 4.9, 3.9, 8),
        ("SOJ-32 400mil", 20.95, 10.16, 32),
        ("SOP-20_300mil", 12.8, 7.5, 20),
        ("TO-263-8, D2Pak (7 Leads + Tab), TO-263CA", 10.2, 9.0, 7),
        ("44-LCC (J-Lead)", 16.59, 16.59, 44),
        ("WQFN-24-EP(4x4)", 4, 4, 24),
        ('8-PowerSOIC (0.154", 3.90mm Width)', 4.9, 3.9, 8),
        ("BGA-100_10x10_9.0x9.0mm", 9, 9, 100),
        ("BGA256 pitch1.0mm balls16x16 body17.0x17.0mm", 17, 17, 256),
    ],
)
def test_a_distributors_words_name_the_body(text, long, short, pins):
    assert holds(first(text, "length"), long)
    assert holds(first(text, "width"), short)
    assert first(text, "length").high < long + 0.6
    assert first(text, "pins") == pins


@pytest.mark.parametrize("text", ["BGA-256 16x16", "BGA-100 10x10", "TFBGA-48 6x8 ball grid"])
def test_bare_numbers_that_multiply_to_the_balls_may_count_the_grid(text):
    """16 x 16 balls stand under bodies of 14 to 17 mm (reference/package_outlines.csv), so the numbers are no size."""
    assert all(r.basis is not Basis.DECODED or r.length is None for r in read_package_name(text))
    assert first("LFBGA-100 10x10", "length").high < 10.3  # a tabled body of this very word


def test_a_third_number_is_the_body_under_which_leads_stand_off():
    """JEDEC MS-026: a body 1.4 mm thick stands at most 1.6 mm high; MO-220 bodies stand on the board."""
    leaded, flat = first("LQFP-64 10x10x1.4", "height"), first("QFN-32 5x5x0.9", "height")
    assert leaded.low <= 1.4
    assert leaded.high >= 1.6
    assert (flat.low, flat.high) == (0.81, 0.99)


@pytest.mark.parametrize(("text", "pins", "long"), [("SOT-5X3-5", 5, 1.6), ("SOT5X3", 6, 1.6), ("SOT-5X3-8", 8, 2.1)])
def test_a_name_with_its_count_behind_is_the_outline_of_that_count(text, pins, long):
    """TI DRL drawings: 1.6 x 1.2 mm with five and six leads, 2.1 x 1.2 mm with eight (the last from memory)."""
    assert first(text, "pins") == pins
    assert holds(first(text, "length"), long)


def test_a_count_of_leads_behind_a_body_code_is_not_the_code():
    assert first("MLP55-31L", "pins") == 31
    assert first("QFN-24_4x4", "pins") == 24


def test_power_outlines_are_no_common_small_outline():
    # ST's drawings of PowerSO-20 (JEDEC MO-166): 15.9 x 11.0 mm over a span of 14.2; from memory.
    assert first("POWERSO20", "length").overlaps(Interval.exactly(15.9))
    assert first("PowerSSO-24", "length").overlaps(Interval.exactly(10.3))
    assert first("POWER-SOP8", "length").overlaps(Interval.exactly(4.9))


# Lengths: JEDEC MS-012 AC (9.9 mm), MO-137 AD (8.65 mm); 4.04 mm from memory.
@pytest.mark.rows(
    ("text", "long", "short"),
    [
        ("16-LFQFN_Exposed_Pad(3x3)", 3, 3),
        ("24-VFQFN Exposed Pad (4x4)", 4, 4),
        ("QFN24 4x4mm exposed pad(2.6x2.6)", 4, 4),
        ("16SOIC_(3.9mm_Width)", 9.9, 3.9),
        ("20-SSOP_(3.90mm_Width)", 8.65, 3.9),
        ("16-TFSOP(3.00mm_Width)", 4.04, 3),
    ],
)
def test_the_body_in_brackets_and_the_width_in_words_are_read(text, long, short):
    assert first(text, "length").overlaps(Interval.exactly(long))
    assert first(text, "width").overlaps(Interval.exactly(short))
    assert first(text, "length").high - first(text, "length").low < 1
