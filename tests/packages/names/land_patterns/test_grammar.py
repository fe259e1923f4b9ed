"""IPC-7351 land-pattern names: names with the dimensions listed beside them, and the grammar as a property.

Figures: IPC-7351B: the digits of a name are its sizes in hundredths, or in tenths for chips; spans and bodies
beside them by arithmetic or from memory.
"""

import csv
from pathlib import Path

import pytest
from hypothesis import given, strategies as st

from capcheck.lexicon import sentence
from capcheck.packages.candidate import Column
from capcheck.packages.names.land_patterns import read_land_pattern

REFERENCE = Path(__file__).parents[3] / "reference" / "land_pattern_names.csv"


def rows():
    with REFERENCE.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def read(text):
    found = read_land_pattern(text, Column.FOOTPRINT)
    assert found is not None
    return found


def holds(interval, value):
    return interval is not None and interval.low - 1e-9 <= float(value) <= interval.high + 1e-9


@pytest.mark.rows("row", rows(), ids=lambda r: r["name"])
def test_a_listed_name_holds_the_dimensions_listed_beside_it(row):
    found = read(row["name"])
    for value, field in (("pitch_mm", found.pitch), ("span_mm", found.span), ("height_mm", found.height)):
        assert not row[value] or holds(field, row[value])
    if row["side_mm"] and row["other_side_mm"]:
        listed = sorted((float(row["side_mm"]), float(row["other_side_mm"])))
        assert holds(found.width, listed[0])
        assert holds(found.length, listed[1])
    assert not row["pins"] or found.pins == int(row["pins"])


# IPC-7351B: sides of chips in tenths, heights in hundredths; roundings by arithmetic.
@given(
    st.sampled_from(["CAPC", "RESC", "INDC", "BEADC", "FUSC", "LEDC", "CAPM", "CAPMP", "RESM", "INDM", "FUSM", "LEDM"]),
    st.integers(4, 99),
    st.integers(2, 99),
    st.integers(10, 999),
    st.sampled_from(["", "N", "L", "M"]),
)
def test_tenths_leave_what_was_truncated_or_rounded(family, length, width, height, density):
    found = read(f"{family}{length:02}{width:02}X{height}{density}")
    for tenths in (length, width):
        # The digits may stand for any value that truncates or rounds to them.
        for value in (tenths / 10, tenths / 10 + 0.09, tenths / 10 - 0.04):
            assert holds(found.length, value) or holds(found.width, value)
    assert holds(found.height, height / 100)


# IPC-7351B: pitch, span and height in hundredths.
@given(
    st.sampled_from(["SOIC", "SOP", "TSOP", "SOJ", "SOT", "SOTFL", "CFP"]),
    st.integers(30, 254),
    st.integers(150, 1900),
    st.integers(40, 400),
    st.integers(2, 40),
)
def test_a_span_is_never_taken_for_the_body(family, pitch, span, height, half):
    found = read(f"{family}{pitch}P{span}X{height}-{2 * half}N")
    assert (found.pitch.low, found.pitch.high) == pytest.approx((pitch / 100 - 0.005, pitch / 100 + 0.005))
    assert holds(found.span, span / 100)
    assert holds(found.height, height / 100)
    assert found.pins == 2 * half
    if found.width is not None:
        # Leads on two sides stick out, so one side of the body is below the span.
        assert found.width.low < span / 100
        assert found.length.high != span / 100


# IPC-7351B: pitch, sides and height in hundredths; the count is of all four sides.
@given(
    st.sampled_from(["QFN", "SON", "PQFN", "LCC"]),
    st.integers(30, 127),
    st.tuples(st.integers(100, 1500), st.integers(100, 1500)),
    st.integers(30, 300),
    st.integers(1, 20),
)
def test_the_two_sides_of_a_leadless_body_come_in_either_order(family, pitch, sides, height, quarter):
    one, other = sides
    found = read(f"{family}{pitch}P{one}X{other}X{height}-{4 * quarter}")
    turned = read(f"{family}{pitch}P{other}X{one}X{height}-{4 * quarter}")
    assert (found.length, found.width) == (turned.length, turned.width)
    assert holds(found.length, max(one, other) / 100)
    assert holds(found.width, min(one, other) / 100)
    assert found.pins == 4 * quarter


@pytest.mark.rows(
    ("text", "pins"),
    # IPC-7351B, notes to the naming table of 2007: an exposed pad counts; 20_24 is 20 fitted of 24 locations.
    [
        ("QFN50P400X400X80-25T240", 24),
        ("QFN50P700X700X100-49T410", 48),
        ("QFN50P400X400X80-20_24N", 20),
        ("SON50P300X200X60-9T20X160N", 8),
        ("SOP65P640X120-21N", 20),
        ("SOT95P280X145-5N", 5),
        ("SOT65P210X110-3N", 3),
    ],
)
def test_pins_leave_out_an_exposed_pad_and_missing_locations(text, pins):
    assert read(text).pins == pins


# Arithmetic: what rounds to 65 hundredths.
def test_p65_is_0_645_to_0_655():
    found = read("SOP65P640X120-8N")
    assert (found.pitch.low, found.pitch.high) == (0.645, 0.655)


@pytest.mark.parametrize("text", ["BGA196C65P14X14_1000X1000X152N", "CGA400C100P20X20_2100X2100X300"])
def test_a_full_grid_is_no_count_of_balls(text):
    found = read(text)
    assert found.pins is None
    assert any("grid" in sentence(note) for note in found.notes)
    assert found.hidden_joints is True


@pytest.mark.parametrize(
    ("text", "pins"),
    [
        ("BGA233C80P17X17_1400X1400X120N", 233),
        ("LGA1450P5X4_300X250X100", 14),
        ("LGA48100P7X7_700X700X100", 48),
        ("BGAS90C80P9X15_800X1300X120", 90),
    ],
)
def test_fewer_balls_than_places_are_counted(text, pins):
    assert read(text).pins == pins


def test_the_lesser_of_two_ball_pitches_counts():
    assert read("BGA90C80X100P9X15_800X1300X120N").pitch.middle == pytest.approx(0.8)


@pytest.mark.rows(
    ("text", "lead_style"),
    [
        ("CAPAE630X770N", "can"),
        ("RESMELF3515", "melf"),
        ("CAPMP7343X310N", "molded"),
        ("SOJ127P860X360-28N", "J lead"),
        ("PLCC127P1753X1753X457-44N", "J lead"),
        ("QFP50P1200X1200X160-64N", "gull wing"),
        ("SODFL2513X70", "flat lead"),
        ("LGA4865P7X7_700X700X100", "land grid"),
        ("CGA483C100P22X22_2300X2300X400", "column grid"),
        ("RESCAV50P200X100X60-8N", "chip"),
        ("CAPCAF50P200X125X95-8N", "chip"),
        ("OSCJ127P", None),
    ],
)
def test_the_family_says_how_the_part_is_joined(text, lead_style):
    found = read_land_pattern(text, Column.FOOTPRINT)
    assert (None if found is None else found.lead_style) == lead_style


# IPC-7351B: the number behind the dash counts the leads.
@pytest.mark.parametrize(
    "text", ["MYLIB_SOIC127P600X175-8N", "lib:SOIC127P600X175-8N", "soic127p600x175-8n_rev2", "SOIC127P600X175-8"]
)
def test_a_name_is_found_with_a_library_before_it_and_a_variant_behind(text):
    assert read(text).pins == 8


@pytest.mark.rows("text", ["R0402", "TO-220", "PINHDR-1X4", "DIN41612-96", "", "SOIC-8", "M3X10"])
def test_other_names_are_no_land_patterns(text):
    assert read_land_pattern(text, Column.FOOTPRINT) is None


def test_a_chip_name_without_a_height_may_be_the_inch_size():
    # People write CAPC0805 for the inch size; the full name with a height is the convention's.
    assert read_land_pattern("CAPC0805", Column.FOOTPRINT) is None


# IPC-7351B: 0.8 x 0.5 mm; as an inch code 2.0 mm long (reference/size_codes.csv).
def test_a_height_that_the_metric_size_cannot_have_asks():
    found = read("CAPC0805X125N")
    assert holds(found.length, 2.0)
    assert holds(found.length, 0.8)
    assert found.questions


def test_the_span_of_another_published_outline_does_not_lend_its_body():
    # 7.6 over the leads is a 5.6 mm body, not the 5.3 mm body of MO-150 with 7.8; listed as 7.80 x 5.60.
    found = read("SOP65P760X160-24N")
    assert holds(found.width, 5.6)
    assert holds(found.length, 7.8)


# Body of DO-214AC: reference/size_codes.csv.
def test_a_diode_named_by_span_or_body_holds_both():
    found = read("DIOM5436X245N")
    assert holds(found.length, 4.32)
    assert holds(found.length, 5.4)


# The size 03015 is 0.3 x 0.15 mm: chip makers' tables, from memory.
def test_a_leading_zero_puts_the_length_below_a_millimetre():
    found = read("RESC03015X15N")
    assert found.length.low <= 0.3 <= found.length.high < 0.5
    assert found.width.low <= 0.15 <= found.width.high < 0.3
    assert found.height.high == 0.15


# Sizes of EIA chips, JEDEC MS-012, MO-153, MO-178, MS-024 and MO-187; the manner of the names is from memory.
@pytest.mark.rows(
    ("name", "long", "short", "high", "pins", "pitch"),
    [
        ("RESC160X80X55L30N", 1.6, 0.8, 0.55, 2, None),
        ("CAPC100X50X55L25N", 1.0, 0.5, 0.55, 2, None),
        ("CAPC320X160X180L50", 3.2, 1.6, 1.8, 2, None),
        ("INDC200X125X130L45N", 2.0, 1.25, 1.3, 2, None),
        ("QFN32P50_500X500X100L40X25T345N", 5, 5, 1, 32, 0.5),
        ("SON8P50_200X300X80L30X25", 3, 2, 0.8, 8, 0.5),
        ("SOIC8P127_490X600X175L83X41N", 4.9, 3.9, 1.75, 8, 1.27),
        ("SOIC16P127_990X600X175L84X43N", 9.9, 3.9, 1.75, 16, 1.27),
        ("SOP20P65_650X640X120L60X24N", 6.5, 4.4, 1.2, 20, 0.65),
        ("SOT5P95_290X280X145L45X40N", 2.9, 1.6, 1.45, 5, 0.95),
        ("TSOP54P80_2222X1176X120", 22.22, 10.16, 1.2, 54, 0.8),
        ("SOP8P65_300X490X110L55X30N", 3, 3, 1.1, 8, 0.65),
    ],
)
def test_a_name_with_all_sides_in_hundredths_is_read(name, long, short, high, pins, pitch):
    found = read(name)
    assert holds(found.length, long)
    assert holds(found.width, short)
    assert holds(found.height, high)
    assert found.pins == pins
    assert pitch is None or holds(found.pitch, pitch)


@pytest.mark.parametrize("name", ["RESC250X120X60", "SOIC8P127_800X300X175", "SOP20P65_900X640X120"])
def test_numbers_that_fit_no_published_body_are_not_believed(name):
    assert read_land_pattern(name, Column.FOOTPRINT) is None


# IPC-7351B: the count, less the exposed pad where it is odd.
@pytest.mark.rows(
    ("name", "pins"),
    [
        ("LQFP50P1200X1200X160-64N", 64),
        ("TSSOP65P640X120-20N", 20),
        ("VQFN50P700X700X100-49N", 48),
        ("WSON127P600X500X80-9N", 8),
        ("QFN50P500X500-33N", 32),
        ("QFP50P1200X1200-64N", 64),
    ],
)
def test_a_household_word_or_a_missing_height_does_not_spoil_a_name(name, pins):
    assert read(name).pins == pins
