"""Numbers in cells: one, several, with a distributor's marks, among words, or another part's.

Figures: sizes by the makers' numbering in capcheck/packages/data/part_numbers/, each scheme with its source;
else from memory.
"""

from __future__ import annotations

import pytest
from depth import sample_size
from hypothesis import given, settings, strategies as st

from capcheck.model import PartName
from capcheck.packages.candidate import Candidate, Column
from capcheck.packages.names import read_part_numbers
from capcheck.packages.names.part_kind import KIND_BY_PREFIX
from capcheck.packages.names.part_numbers.schemes import all_schemes, all_suffixes

# Part numbers follow their makers' published schemes (sources: packages/data/part_numbers); devices are invented.


def read(ref_prefix: str = "C", **texts: str) -> tuple[Candidate, ...]:
    """Return what the part numbers among *texts* say."""
    return read_part_numbers(PartName(ref_prefix=ref_prefix, **texts), KIND_BY_PREFIX.get(ref_prefix))


def side(found: tuple[Candidate, ...]) -> float:
    """Return the nominal length of the one candidate."""
    (one,) = found
    assert one.nominal_length is not None
    return one.nominal_length.low


# GRM18 is 1.6 x 0.8 mm: Murata catalogue C02, part numbering (reference/independent_part_schemes.csv).
@pytest.mark.rows(
    "cell",
    [
        "GRM188R60J226MEA0D",
        "  grm188r60j226mea0d ",
        "123-GRM188R60J226MEA0D",
        "GRM188R60J226MEA0DCT-ND",
        "GRM188R60J226MEA0D-ND",
        "GRM188R60J226MEA0D_C12345",
        "GRM188R60J226MEA0D,115",
        "GRM188R60J226MEA0D ~ C12345",
        "C12345; GRM188R60J226MEA0D",
        "490-1234-1-ND, GRM188R60J226MEA0D",
        "GRM188R60J226MEA0D\nCL10A226MQ8NRNC",
        "GRM188R60J226MEA0D / CL10A226MQ8NRNC",
        "GRM188R60J226MEA0D/CL10A226MQ8NRNC",
        "GRM188R60J226MEA0D or CL10A226MQ8NRNC",
        "Maker: GRM188R60J226MEA0D (preferred)",
    ],
)
def test_a_number_is_found_in_its_cell(cell: str) -> None:
    assert side(read(part_number=cell)) == 1.6


@pytest.mark.rows("cell", ["C99999", "490-1234-1-ND", "QTX999CT-ND", "12345678", "shop.example 9999999RL", "?", ""])
def test_order_numbers_of_a_shop_say_nothing(cell: str) -> None:
    assert read(part_number=cell) == ()


# GRM15 is 1.0 x 0.5 mm, GRM18 1.6 x 0.8 mm: Murata catalogue C02 (reference/independent_part_schemes.csv).
def test_numbers_of_two_sizes_in_one_cell_leave_both_possible() -> None:
    (found,) = read(part_number="GRM155R61A475MEAAD, GRM188R60J226MEA0D")
    assert found.length is not None
    assert found.length.low <= 1.0
    assert found.length.high >= 1.6
    assert any("GRM155" in str(question) for question in found.questions)


def test_a_second_number_that_no_scheme_reads_leaves_the_height_open() -> None:
    (alone,), (beside,) = read(part_number="GRM188R60J226MEA0D"), read(part_number="GRM188R60J226MEA0D; QXZ-77K4410")
    assert alone.height is not None
    assert beside.height is None


def test_a_number_in_value_or_description_is_read_where_the_part_number_says_nothing() -> None:
    assert read(value="GRM188R60J226MEA0D")[0].column is Column.VALUE
    assert read(description="CAP CER 22UF 6.3V X5R GRM188R60J226MEA0D")[0].column is Column.DESCRIPTION
    assert read(part_number="C12345", value="GRM188R60J226MEA0D")[0].column is Column.VALUE
    assert read(part_number="GRM155R71C104KA88D", value="GRM188R60J226MEA0D")[0].column is Column.PART_NUMBER


@pytest.mark.rows(
    "words",
    [
        "socket for ATMEGA998P-AU",
        "mates with SM04B-SRSS-TB",
        "like STM32F999C8T6",
        "replaces STM32F999C8T6",
        "ersetzt STM32F999C8T6",
    ],
)
def test_what_a_text_says_of_another_part_is_not_this_one(words: str) -> None:
    assert read("U", description=words) == ()


def test_a_footprint_named_by_a_number_gives_no_height_to_another_number() -> None:
    (alone,) = read("J", footprint="USB4105-GF-A")
    (other,) = read("J", footprint="USB4105-GF-A", part_number="QXZ-77K4410")
    assert alone.height is not None
    assert other.height is None
    assert other.length == alone.length


def test_a_form_that_other_things_have_too_needs_the_reference_letters() -> None:
    assert read("D", value="S1M")
    assert not read("SW", value="S1M")
    assert read("L", part_number="744773099")
    assert not read("U", part_number="744773099")


PIECES = st.sampled_from(
    [s for scheme in all_schemes() for s in scheme.starts[:3]]
    + [row.code for row in all_suffixes()]
    + ["-", "/", ",", "~", " ", "0402", "104", "K", "1", "R", "ND", "#PBF", "\n", "é", "Ω", "(", ")"]
)


@settings(max_examples=sample_size(300), deadline=None)
@given(st.one_of(st.text(max_size=120), st.lists(PIECES, max_size=25).map("".join)), st.sampled_from("RCLDUQJY"))
def test_no_text_makes_the_reader_stumble(text: str, letters: str) -> None:
    for texts in ({"part_number": text}, {"value": text}, {"description": text}, {"footprint": text}):
        for found in read(letters, **texts):
            assert found.text == text
            for interval in (found.length, found.width, found.height, found.pitch):
                assert interval is None or 0 <= interval.low <= interval.high


# Invented lengths, beyond any cell.
@pytest.mark.parametrize("piece", ["GRM", "0402", "SN74", "STM32", "LTC", "AD", "ABM8-1", "MAX3", "SRN40", "9", "A0-"])
def test_a_long_text_takes_no_longer_than_its_length(piece: str, in_time) -> None:
    with in_time(2):
        for sign in ("", " ", ",", "-"):
            read("U", part_number=sign.join([piece] * 20_000), description=sign.join([piece] * 13))


# TI names of devices and their packages; SSM3 numbers of Toshiba; all from memory. Each was read as another package.
@pytest.mark.parametrize(
    ("number", "letters"),
    [
        ("DS90UA101", "U"),  # a device in 5 x 5 mm: its digits are no count of leads, so UA is no SOIC
        ("FDC724PN", "Q"),  # a transistor of a maker whose series begins like another's circuits
    ],
)
def test_letters_within_the_name_of_a_device_are_no_package(number, letters):
    assert not read(letters, part_number=number)


def test_the_last_letters_of_a_small_transistor_are_read_whole():
    assert side(read("Q", part_number="SSM3K99CT")) == pytest.approx(1.0)  # CST3 is 1.0 x 0.6 mm, from memory
    assert side(read("Q", part_number="SSM3K99FV")) == pytest.approx(1.2)  # VESM is 1.2 x 0.8 mm, from memory


# MC7805BDTG is a DPAK and MC14093BDTG a TSSOP; from memory.
def test_letters_of_a_regulator_and_of_logic_span_both():
    (found,) = read("U", part_number="MC7805ADTG")
    assert found.width is not None
    assert found.width.high > 6.0


# Trinamic: TMC2130-LA has 36 lands, TMC2130-TA 48 leads; from memory.
def test_two_forms_of_a_driver_leave_its_pins_open():
    (found,) = read("U", part_number="TMC2130-TA")
    assert found.pins is None
