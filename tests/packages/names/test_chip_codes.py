"""Size codes: sizes by the published tables, and the system of a code that means two sizes.

Figures: sizes are the digits of the name beside them; those of codes and outlines are in
capcheck/packages/data/*.csv with their sources, else from memory.
"""

import csv
from pathlib import Path

import pytest

from capcheck.lexicon import sentence
from capcheck.model import Basis, PartName
from capcheck.packages.bodies.weighing import bodies_of
from capcheck.packages.tables.sizes import size_table

REFERENCE = Path(__file__).parents[2] / "reference"


def table(name):
    with (REFERENCE / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def body(text, prefix="", *others, **options):
    names = [PartName(footprint=text, ref_prefix=prefix), *others]
    return bodies_of(names, **options)[0]


def holds(measure, value):
    return measure.value.is_known and measure.low - 1e-9 <= float(value) <= measure.high + 1e-9


@pytest.mark.rows("row", table("size_codes.csv"), ids=lambda r: r["text"])
def test_a_published_size_lies_in_the_interval_of_its_code(row):
    found = body(row["text"], row["ref_prefix"])
    assert holds(found.length, row["length_mm"])
    assert holds(found.width, row["width_mm"])
    assert not found.questions
    if row["height_max_mm"]:
        assert found.height.high == float(row["height_max_mm"])


@pytest.mark.parametrize("row", table("one_system_codes.csv"), ids=lambda r: r["code"])
def test_a_code_of_one_system_needs_no_evidence(row):
    found = body(row["code"], "C")
    assert holds(found.length, row["length_mm"])
    assert holds(found.width, row["width_mm"])
    assert not found.questions


# Both meanings: Royalohm data sheet, whose dimension table prints both codes of each part; 0.25 x 0.125 from memory.
BOTH = {"0402": ((1.0, 0.5), (0.4, 0.2)), "0603": ((1.6, 0.8), (0.6, 0.3)), "0201": ((0.6, 0.3), (0.25, 0.125))}


@pytest.mark.rows("code", BOTH)
@pytest.mark.rows("form", ["{}", "R{}", "C_{}", "CAP-{}", "{}-RES", "SMD-{}", "LED{}"])
def test_a_code_of_both_systems_spans_both_sizes_and_asks(code, form):
    found = body(form.format(code))
    for length, width in BOTH[code]:
        assert holds(found.length, length)
        assert holds(found.width, width)
    (question,) = found.questions
    assert code in sentence(question)
    assert "size_codes" in sentence(question.values["settle"])


@pytest.mark.parametrize("code", BOTH)
def test_board_toml_settles_the_system(code):
    (inch, metric) = BOTH[code]
    assert holds(body(code, "R", size_codes="inch").length, inch[0])
    assert not holds(body(code, "R", size_codes="inch").length, metric[0])
    assert holds(body(code, "R", size_codes="metric").length, metric[0])
    assert not body(code, "R", size_codes="metric").questions


# reference/size_codes.csv.
@pytest.mark.rows(
    ("text", "length"),
    [
        ("0402M", 0.4),
        ("RES-0402-1005M", 1.0),
        ("0603(1608)", 1.6),
        ("C1608_0603", 1.6),
        ("0603 Metric", 0.6),
        ("C 0603 metric 1608", 1.6),  # the word is said of the second code
        ("0201 metric: 0603", 0.6),
        ("C1608 metric 0603 inch", 1.6),
        ("CAP-0201-0603M", 0.6),
        ("0402 inch", 1.0),
    ],
)
def test_a_mark_or_a_second_code_settles_the_system(text, length):
    found = body(text, "C", size_codes=None)
    assert holds(found.length, length)
    assert not found.questions


# reference/size_codes.csv.
def test_a_mark_in_the_name_outweighs_board_toml():
    assert holds(body("CAP-0201-0603M", "C", size_codes="metric").length, 0.6)


def others(*footprints):
    return [PartName(footprint=f, ref_prefix="C") for f in footprints]


# reference/size_codes.csv.
def test_codes_that_exist_in_inch_only_settle_the_file():
    found = body("C0603", "C", *others("C0805", "C1206"))
    assert holds(found.length, 1.6)
    assert not found.questions
    assert "C0805" in found.body_from


# reference/size_codes.csv.
def test_codes_that_exist_in_metric_only_settle_the_file():
    found = body("C0603", "C", *others("C1005", "C1608"))
    assert holds(found.length, 0.6)
    assert not holds(found.length, 1.6)


def test_a_mixture_settles_nothing():
    assert body("C0603", "C", *others("C0805", "C1005", "C1608")).questions


def test_a_lone_metric_name_settles_nothing():
    assert body("C0603", "C", *others("C1005")).questions


def test_an_led_or_a_crystal_is_no_evidence():
    leds = [PartName(footprint="LED1608", ref_prefix="D"), PartName(footprint="XTAL3225", ref_prefix="Y")]
    assert body("R0402", "R", *leds).questions


@pytest.mark.rows(
    ("footprint", "value", "prefix", "settled"),
    # The largest values of 0.6 x 0.3 and 0.4 x 0.2 mm chips are from memory of makers' catalogues, with a margin.
    [
        ("C0603", "22uF", "C", True),
        ("C0603", "22UF", "C", True),
        ("C0402", "2u2", "C", True),
        ("C0603", "10u", "C", False),
        ("C0603", "100nF", "C", False),
        ("L0603", "10uH", "L", True),
        ("L0603", "10nH", "L", False),
        ("L0402", "0.47 µH", "L", True),
        ("R0603", "22u", "R", False),
    ],
)
def test_a_value_too_large_for_the_metric_chip_settles_the_file(footprint, value, prefix, settled):
    found = body("R0402", "R", PartName(footprint=footprint, value=value, ref_prefix=prefix))
    assert bool(found.questions) is not settled
    assert not settled or holds(found.length, 1.0)


def test_two_codes_on_one_line_settle_the_file():
    line = PartName(footprint="KP-1608SRC", description="LED red 0603", ref_prefix="D")
    assert holds(body("R0402", "R", line).length, 1.0)


@pytest.mark.rows(
    ("text", "prefix", "length", "width"),
    # 4020, 2016, 2512 mean another size for another kind: from memory, except 10.2 x 5.1 (reference/size_codes.csv).
    [
        ("4020", "R", 10.2, 5.1),
        ("4020", "L", 4.0, 4.0),
        ("2016", "Y", 2.0, 1.6),
        ("2512", "R", 6.35, 3.2),
        ("XTAL-3225", "X", 3.2, 2.5),
        ("1210", "C", 3.2, 2.5),
        ("L_2520", "L", 2.5, 2.0),
    ],
)
def test_the_kind_of_part_settles_a_code_that_means_two_sizes(text, prefix, length, width):
    found = body(text, prefix)
    assert holds(found.length, length)
    assert holds(found.width, width)
    assert not found.questions


# reference/size_codes.csv: 1608 is 1.6 x 0.8 mm.
@pytest.mark.rows(
    ("text", "prefix"),
    [
        ("C_0603_1608Metric_Pad1.08x0.95mm_HandSolder", "C"),  # seen in public board files
        ("Own_Capacitors:CAP-0603-1608M", "C"),
        ("C1608", "C"),
        ("SMR1608A", "R"),
        ("1608K", "C"),
        ("LED_1608_red", "D"),
    ],
)
def test_a_code_is_found_inside_a_longer_name_and_pads_are_no_body(text, prefix):
    found = body(text, prefix)
    assert holds(found.length, 1.6)
    assert holds(found.width, 0.8)
    assert not found.conflicts


@pytest.mark.rows(
    ("text", "prefix"),
    [
        ("pin header 2x1206", "J"),
        ("QX8030-2R4", "ANT"),
        ("BU-14207008051", "J"),
        ("QPS2012", "U"),
        ("X1206", "J"),
        ("C-ARRAY 4x0603", "C"),
        ("1.0402", ""),
    ],
)
def test_digits_of_a_part_number_or_a_grid_are_no_size_code(text, prefix):
    assert not body(text, prefix).length.value.is_known


def test_the_value_of_a_resistor_is_no_size_code():
    name = PartName(value="1206", ref_prefix="R")
    assert not bodies_of([name])[0].length.value.is_known


def test_a_description_names_the_size_where_the_footprint_does_not():
    name = PartName(footprint="part-77", description="CAP CER 0.1uF 50V X7R 0805", ref_prefix="C")
    assert holds(bodies_of([name])[0].length, 2.0)


def test_a_chip_resistor_has_the_height_of_its_size_as_a_bound():
    # Royalohm chip resistor data sheet, pdf.datasheet.directory e8e41e5f: 0.45 +- 0.10 for 1.6 x 0.8.
    found = body("RES-0603-1608M", "R")
    assert found.height.basis == "bound of the family"
    assert (found.height.low, found.height.high) == (0.35, 0.55)


@pytest.mark.parametrize("letter", ["E", "V", "X", "Y"])
def test_a_case_letter_that_depends_on_the_maker_asks(letter):
    found = body(f"CASE-{letter}", "C")
    assert found.questions
    assert found.length.value.is_known


# Body of DO-214AC: reference/size_codes.csv.
def test_sma_is_a_diode_only_where_the_reference_says_so():
    assert holds(body("SMA", "D").length, 4.3)
    for connector in (body("SMA", "J"), body("SMA_EDGE_CONNECTOR", "")):
        assert connector.lead_style != "molded"
        assert connector.length.basis is Basis.BOUND


# The bound of a coded part, one and a half of its longer side: from memory.
@pytest.mark.parametrize(("footprint", "prefix"), [("R0805", "L"), ("R0805", "C"), ("C0805", "R"), ("L0805", "R")])
def test_a_borrowed_footprint_lends_no_height(footprint, prefix):
    # A ferrite on a resistor's land is no higher nor lower for it: only its longer side bounds it.
    found = body(footprint, prefix)
    assert found.height.high >= 1.5 * found.length.low
    assert found.height.basis is Basis.BOUND


def test_a_variant_of_an_outline_that_is_not_tabled_is_not_the_plain_one():
    assert not body("SOD-323QX", "D").length.value.is_known


# reference/size_codes.csv.
def test_a_land_for_two_sizes_spans_both_and_asks():
    found = body("C_0805-1206", "C")
    assert holds(found.length, 2.0)
    assert holds(found.length, 3.2)
    assert any("state which" in sentence(question) for question in found.questions)


@pytest.mark.parametrize("text", ["RESISTOR0805", "CAPACITOR_0805", "ChipLED0805", "0805_LED"])
def test_a_whole_word_may_stand_before_a_code(text):
    assert holds(body(text).length, 2.0)


@pytest.mark.rows("size", size_table().chip_by_inch.values(), ids=lambda s: s.inch)
def test_a_tabled_chip_holds_its_nominal_size_and_its_longer_side_first(size):
    assert size.length.low <= size.nominal_length <= size.length.high
    assert size.width.low <= size.nominal_width <= size.width.high
    assert size.nominal_length >= size.nominal_width


@pytest.mark.rows("name", ["LED_QX_{}", "LED-{}", "LED_SMT_{}"])
@pytest.mark.rows(
    ("code", "lengths", "width"),
    [
        # The shorter lengths are bodies without leads as an open footprint library draws them (commit 7ebfa6b2); the
        # longer ones are over the leads, as the code counts them: from memory.
        ("3528", (3.2, 3.5), 2.8),
        ("5730", (4.7, 5.7), 3.0),
    ],
)
def test_the_code_of_a_lamp_counts_its_leads_or_not(name, code, lengths, width):
    found = body(name.format(code), "D")
    assert all(holds(found.length, length) for length in lengths)
    assert holds(found.width, width)


def test_a_lamp_without_leads_at_its_ends_is_as_long_as_its_code_says():
    # A tenth less than its 3.0 mm is no length of it: from memory.
    assert not holds(body("LED_QX_3030", "D").length, 2.7)


# An inch code with the letter O for its first digit, as hands write it: common practice, no source.
@pytest.mark.parametrize(
    ("text", "prefix", "long"),
    [("RCO603", "R", 1.6), ("C_O805", "C", 2.0), ("RESO402", "R", 1.0), ("CCO603", "C", 1.6)],
)
def test_a_letter_for_the_first_digit_of_a_code_is_read(text, prefix, long):
    assert holds(body(text, prefix).length, long)
    assert not holds(body(f"MICR{text[-4:]}", prefix).length, long)
