"""Names that fool naive readers: what each must come to, with where the fact is from.

Figures: sizes are the digits of the name beside them; those of codes and outlines are in
capcheck/packages/data/*.csv with their sources, else from memory.
"""

import pytest

from capcheck.model import PartName
from capcheck.packages.bodies.weighing import bodies_of


def body(text, prefix=""):
    return bodies_of([PartName(footprint=text, ref_prefix=prefix)])[0]


def sides(text, prefix=""):
    found = body(text, prefix)
    return (found.length.low, found.length.high), (found.width.low, found.width.high)


def within(pair, value):
    return pair[0] - 1e-9 <= value <= pair[1] + 1e-9


@pytest.mark.rows(
    ("text", "length", "width", "not_length"),
    [
        ("RESC0603X30N", 0.6, 0.3, 1.6),  # land-pattern names are metric (IPC-7351B)
        # reference/size_codes.csv; the last value is the misreading.
        ("R_0402_1005Metric", 1.0, 0.5, 0.4),  # inch first, metric second: seen in public board files
        ("CAP-01005-0402M", 0.4, 0.2, 1.0),  # five-digit inch code (Royalohm, pdf.datasheet.directory e8e41e5f)
        ("DIOMELF3516L", 3.5, 1.6, 16.0),  # L is the density level (listed as 3.50 long, 1.65 diameter)
        ("OSCCC320X250X100N", 3.2, 2.5, 32.0),  # hundredths here, tenths in CAPC
        ("CAPC3225X100N", 3.2, 2.5, 32.25),
        ("CAPAE1030X1050N", 10.3, 10.3, 1.03),  # base edge, not can diameter (IPC-7351B)
        # Sides as the notes to IPC-7351B list them, from memory; the last value is the misreading.
        ("RESC3224X71", 3.2, 2.49, 8.1),  # listed as 3.20 x 2.49: 24 is truncated
        ("RESC2208X45", 2.2, 0.8, 5.6),  # listed as 2.20 x 0.80: no inch code
        ("LEDC1608X35N_FLAT-G", 1.6, 0.8, 4.0),  # a suffix after the density level
        ("CAPC2012X110", 2.0, 1.25, 5.0),  # listed as 2.00 x 1.25: 12 stands for 1.25
        ("DFN1006-2", 1.0, 0.6, 2.5),  # metric tenths
        ("QFN50P700X700X100-49T410", 7.0, 7.0, 4.1),  # T is the exposed pad, not the body
    ],
)
def test_the_body_is_what_the_convention_says(text, length, width, not_length):
    long, short = sides(text)
    assert within(long, length)
    assert within(short, width)
    assert not within(long, not_length)


# reference/size_codes.csv.
def test_a_bare_0603_spans_both_systems_and_asks():
    found = body("0603")
    assert within((found.length.low, found.length.high), 1.6)
    assert within((found.length.low, found.length.high), 0.6)
    assert found.questions


# JEDEC MS-012 AA.
def test_the_span_of_a_soic_is_not_its_body_and_its_last_number_is_its_height():
    found = body("SOIC127P600X175-8N")  # JEDEC MS-012 AA: 4.9 x 3.9, span 6.0, at most 1.75 high
    assert found.height.high == 1.75
    assert within((found.span.low, found.span.high), 6.0)
    assert found.width.high < 5.0
    assert within((found.width.low, found.width.high), 3.9)
    assert within((found.length.low, found.length.high), 4.9)


# JEDEC MS-026 BCD.
def test_the_span_of_a_qfp_is_not_its_body():
    found = body("QFP50P1200X1200X160-64N")  # JEDEC MS-026: body 10 x 10, 12 x 12 over the leads
    assert within((found.length.low, found.length.high), 10.0)
    assert found.length.high < 12.0
    assert found.pins == 64


# IPC-7351B: the 49 include the exposed pad.
def test_the_pin_count_of_a_qfn_name_includes_its_exposed_pad():
    assert body("QFN50P700X700X100-49T410").pins == 48


# JEDEC MO-137: a fortieth of an inch, 25.4 mm by definition.
@pytest.mark.parametrize("text", ["SOP63P600X175-16N", "SOP64P600X175-16N"])
def test_a_pitch_of_two_digits_holds_0_635(text):
    pitch = body(text).pitch
    assert within((pitch.low, pitch.high), 0.635)


# IPC-7351B: 1400 is 14.0 mm.
def test_a_ball_grid_that_is_named_by_its_full_grid_has_no_certain_count():
    found = body("BGA289C80P17X17_1400X1400X120N")  # its description says 233 balls: from memory
    assert found.pins is None or found.pins != 289
    assert within((found.length.low, found.length.high), 14.0)


# EIA-535BAAC case D, 7343-31: 7.3 x 4.3 x 3.1 mm; from memory.
def test_the_suffix_of_a_tantalum_code_is_its_height():
    found = body("7343-31", "C")  # EIA case D
    assert within((found.length.low, found.length.high), 7.3)
    assert within((found.width.low, found.width.high), 4.3)
    assert found.height.high == 3.1


# 7343-31: 2.9 mm and its tolerance, reference/size_codes.csv.
def test_d_case_is_a_tantalum_and_an_e_case_depends_on_the_maker():
    assert body("D case", "C").height.high == 3.1
    assert body("E case", "C").questions


@pytest.mark.rows(
    ("text", "pins"),
    # Outline numbers, pins from memory: only a second hyphen number is a pin count.
    [("SOT-23-5", 5), ("SOT-353", 5), ("SC-70-5", 5), ("SOT-523", 3), ("SOT-223", 4)],
)
def test_a_number_in_an_outline_name_is_not_a_pin_count(text, pins):
    assert body(text).pins == pins


# JEDEC MS-012: 3.9 mm; EIAJ type II: 5.3 mm, from memory.
@pytest.mark.parametrize(("text", "one", "other"), [("SO-8", 3.9, 5.3)])
def test_family_and_pins_do_not_fix_the_body(text, one, other):
    width = body(text).width
    assert within((width.low, width.high), one)
    assert within((width.low, width.high), other)
    assert body(text).questions


# IPC-7351B: X110 and X145 are 1.1 and 1.45 mm high, -5 counts the leads.
def test_one_land_with_two_heights_is_two_heights():
    low, high = body("SOT95P280X110-5N"), body("SOT95P280X145-5N")
    assert (low.height.high, high.height.high) == (1.1, 1.45)
    assert low.pins == high.pins == 5


# reference/size_codes.csv for the resistor; the coil from memory.
def test_4020_is_a_resistor_or_an_inductor():
    assert within(sides("4020", "R")[0], 10.2)
    assert within(sides("4020", "L")[0], 4.0)
    assert within(sides("4020")[0], 10.2)
    assert within(sides("4020")[0], 4.0)


# A MELF of 3.6 x 1.4 mm and a chip of 0.5 x 1.0 mm, from memory.
def test_0204_is_a_melf_size_or_a_chip():
    assert within(sides("MELF 0204", "R")[0], 3.6)
    assert within(sides("0204", "R")[0], 3.6)
    assert within(sides("0204", "R")[0], 1.0)


# Common practice, no source: who holds, cools or covers a part is described by what it is for.
@pytest.mark.rows(
    ("letters", "footprint", "description"),
    [
        ("F", "Fuseholder 5x20", ""),
        ("XF", "FUSE HOLDER", "fuse clip 5x20mm"),
        ("F", "", "Sicherungshalter 5x20mm"),
        ("HS", "", "Heatsink for BGA 17x17mm"),
        ("HS", "", "Kühlkörper für QFN-32 5x5 mm"),
        ("LP", "", "light pipe 3mm for 0805 LED"),
        ("BT", "", "coin cell holder 20x3.2mm"),
    ],
)
def test_what_holds_or_covers_a_part_has_not_its_size(letters, footprint, description):
    [found] = bodies_of([PartName(footprint=footprint, description=description, ref_prefix=letters)])
    assert not (found.length.value.is_known and found.width.value.is_known)


# The texts are invented.
@pytest.mark.parametrize(
    ("letters", "description", "length"),
    [
        ("HS", "heatsink 25x25x10mm for BGA", 25.0),  # its own size, before what it is for
        ("U", "QFN-32 5x5mm with heatsink pad", 5.0),  # a circuit that has one
        ("D", "LED 0805 with light pipe", 2.0),
    ],
)
def test_a_heat_sink_has_its_own_size_and_a_part_with_one_its_own(letters, description, length):
    [found] = bodies_of([PartName(description=description, ref_prefix=letters)])
    assert found.length.value.is_known
    assert within((found.length.low, found.length.high), length)


# The open footprint library (commit 7ebfa6b2) draws the body of such a lamp 3.4 x 1.25 mm.
def test_the_diameter_of_a_lamp_is_that_of_its_lens():
    found = body("LED_P47F_D2mm_REVERSE", "D")
    assert not found.length.value.is_known


# The open footprint library (commit 7ebfa6b2) draws shields named 20x20mm with frames of 21 mm.
def test_the_size_of_a_shield_may_be_that_of_its_cover_or_of_its_frame():
    found = body("SHIELD_20x20mm", "SH"), body("36103205_20x20mm", "SH")
    assert all(within((f.length.value.low, f.length.value.high), 21.0) for f in found)


# SOT-23-5 is 2.9 x 1.6 mm; from memory.
def test_a_text_that_offers_several_packages_states_the_size_of_none():
    name = PartName(
        footprint="SOT95P280X110-5N", description="step-down converter in 2x2mm SON/TSOT23 package", ref_prefix="U"
    )
    [found] = bodies_of([name])
    assert not found.conflicts
    assert within((found.length.value.low, found.length.value.high), 2.9)


# The text is invented: a coin has a diameter and a height.
def test_a_coin_lies_on_its_round():
    [found] = bodies_of([PartName(description="coin vibration motor 10x3.4mm", ref_prefix="M")])
    assert within((found.width.value.low, found.width.value.high), 10.0)
    assert within((found.height.value.low, found.height.value.high), 3.4)


# Pulse H1102NL measures 12.7 x 7.1 mm over its body, and has the 16 leads of a SOIC; from memory.
def test_a_transformer_has_the_leads_of_a_package_and_a_body_of_its_own():
    name = PartName(footprint="ETH_TRANSFORMER_SOIC16", description="magnetics H1102NL", ref_prefix="T")
    [found] = bodies_of([name])
    assert found.pins == 16
    assert within((found.length.value.low, found.length.value.high), 12.7)
    assert found.height.value.high > 5


# KEMET case E is 7.3 x 6.0 mm, also written 7260; from memory. TALL is in thousandths of an inch or hundredths of a mm.
def test_an_older_code_of_a_large_molded_case_is_read():
    long, short = sides("SMC7260_80TALL", "C")
    assert within(long, 7.3)
    assert within(short, 6.0)


# Invented names: a class of parts that no letter, word or unit makes chips has none of their sizes by a number alone.
@pytest.mark.rows(
    ("text", "letters"),
    [
        ("QX-1206-7", "U"),
        ("MOD-0805-REV2", "U"),
        ("MPU-5050-2520", "U"),
        ("FET-1206-A", "Q"),
        ("LDO_2512", "VR"),
        ("MOTOR-1020", "M"),
        ("MOUNT_2512", "MP"),
        ("H_1206", "H"),
        ("LGA-2520", "IC"),
        ("FOO_0805", "XX"),
    ],
)
def test_a_number_like_a_size_code_is_none_where_nothing_says_that_the_part_is_a_chip(text, letters):
    found = body(text, letters)
    assert not found.length.proved.value.is_known
    assert not found.width.proved.value.is_known


@pytest.mark.rows(
    ("text", "letters"),
    [
        ("0805", "U"),
        ("SMD0805", "U"),
        ("0805 (2012M)", "U"),
        ("C0805", "U"),
        ("FIL-0805", "FL"),
        ("balun 0805", "T"),
        ("sensor, 0805 package", "U"),
        ("LED-0805", "U"),
    ],
)
def test_a_size_code_counts_by_its_own_text_under_the_letters_of_any_part(text, letters):
    found = body(text, letters)
    assert within((found.length.proved.value.low, found.length.proved.value.high), 2.0)


# Invented names: the two numbers of a round coil are its diameter and its height.
@pytest.mark.parametrize("text", ["IND_ROUND_8x5", "COIL-D8x5", "IND_DRUM_8.0x5.0mm", "L_ROUND_D8x5mm"])
def test_a_round_coil_is_as_wide_as_long(text):
    found = body(text, "L")
    assert within((found.length.value.low, found.length.value.high), 8.0)
    assert within((found.width.value.low, found.width.value.high), 8.0)
    assert within((found.height.value.low, found.height.value.high), 5.0)
