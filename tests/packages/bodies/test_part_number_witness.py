"""The part number beside footprint and description: agreement narrows, disagreement is a conflict.

Figures: sizes by the makers' numbering in capcheck/packages/data/part_numbers/, each scheme with its source;
else from memory.
"""

from __future__ import annotations

import pytest

from capcheck.lexicon import sentence
from capcheck.model import Basis, Body, LeadStyle, Mounting, PartName
from capcheck.packages import bodies_of
from capcheck.values import Interval

# Part numbers follow their makers' published schemes (sources: packages/data/part_numbers); devices are invented.


def body(ref_prefix: str, **texts: str) -> Body:
    """Return the body of one part."""
    return bodies_of([PartName(ref_prefix=ref_prefix, **texts)])[0]


def conflicts(found: Body) -> list[str]:
    """Return a body's conflicts as sentences."""
    return [sentence(said) for said in found.conflicts]


def test_the_number_settles_a_size_code_that_means_two_sizes() -> None:
    alone = body("C", footprint="C0603")
    both = body("C", footprint="C0603", part_number="GRM188R71C104KA01D")
    assert alone.length.value.low < 1 < alone.length.value.high
    assert both.length.value.low > 1
    assert not both.questions
    assert not both.conflicts


# GRM21 is 2.0 x 1.25 mm, GRM31 3.2 x 1.6 mm: reference/independent_part_schemes.csv; 0805 is as the former.
def test_no_footprint_rules_out_one_of_the_numbers_of_a_cell() -> None:
    either = body("C", footprint="CAP-0805", part_number="GRM21BR61E106KA73L~GRM31CR61E106KA12L")
    assert either.length.value.low < 2.0
    assert either.length.value.high > 3.2
    assert either.misfits
    both = body("C", footprint="CAP-0805", part_number="GRM21BR61E106KA73L~CL21A106KAYNNNE")
    assert both.length.value.high < 2.5
    assert not both.conflicts


# BLM15 is 0.5 mm high with 0.15 mm of room; from memory.
def test_the_number_gives_the_height_that_a_name_leaves_open() -> None:
    bead = body("FB", footprint="IND-0402-1005M", part_number="BLM15AG121SN1D")
    assert 0.5 <= bead.height.value.high <= 0.65


# JEDEC MS-012: 3.9 mm wide; the other outline of the name has 5.3 mm, from memory.
def test_the_number_picks_one_of_the_outlines_of_a_name() -> None:
    both = body("U", footprint="SOIC-8", part_number="CAT24C999WI-GT3")
    assert both.width.value.high < 5
    assert not both.conflicts


# QFN-32 of an AVR is 5 x 5 mm on 0.5 mm, QFN-32 of all makers 3 to 9 mm; from memory.
def test_a_footprint_that_counts_alone_is_narrowed_by_the_package_that_its_count_leaves_of_the_number() -> None:
    alone = body("U", footprint="QFN32")
    both = body("U", footprint="QFN32", part_number="ATMEGA99P-MU")
    assert alone.length.value.high - alone.length.value.low > 4
    assert both.length.proved.value == Interval(4.85, 5.15)
    assert not both.questions


# DA is an FBGA-78 of 8 x 10.5 mm; from memory.
def test_sides_that_are_only_typical_give_way_to_those_that_a_number_proves() -> None:
    alone = body("U", footprint="FBGA78")
    both = body("U", footprint="FBGA78", part_number="MT41K512M8DA-107:P")
    assert not alone.width.proved.value.is_known
    assert both.width.proved.value.is_known
    assert both.width.value.low <= 8 <= both.width.value.high
    assert not both.questions


# A strip on 1.27 mm is sold for holes and for the surface; common practice, no source.
def test_a_header_on_a_fine_pitch_is_not_drilled_for_its_name_alone() -> None:
    fine = body("J", footprint="HDR_2x5_1.27", part_number="FTSH-105-01-F-DV-K")
    assert fine.mounting is Mounting.SURFACE
    assert not fine.conflicts
    assert body("J", footprint="HDR_2x5_1.27").mounting is None
    assert body("J", footprint="HDR_2x5_2.54").mounting is Mounting.THROUGH_HOLE


# JEDEC MO-153 AD: 24 leads at 0.65 mm, 7.8 x 4.4 mm.
def test_a_package_of_several_counts_is_narrowed_by_the_footprint() -> None:
    alone, both = (
        body("U", part_number="SN74CBTD9999PWR", footprint=footprint)
        for footprint in ("", "TSSOP24 pitch0.65mm body4.4x7.8mm")
    )
    assert alone.length.value.high - alone.length.value.low > 2
    assert alone.questions
    assert both.length.value.high - both.length.value.low < 0.6
    assert not both.questions


# Packages that the numbers state: from memory of the makers' ordering tables. Footprints: sizes in their names.
@pytest.mark.rows(
    ("letters", "footprint", "number"),
    [
        ("C", "CAP-0603-1608M", "GRM155R71C104KA88D"),
        ("C", "CC1210", "C3216X5R1V226M160AC"),
        ("L", "IND-0402-1005M", "MLG1608B22NJT000"),
        ("U", "TSSOP16 pitch0.65mm body4.4x5mm", "74HC999D,118"),
        ("D", "DIO_SMB", "SMAJ99A"),
        ("Y", "XTAL 5032_2P_5.0x3.2mm", "ABM8G-12.000MHZ-4Y-T3"),
    ],
)
def test_a_number_of_another_size_is_a_conflict(letters: str, footprint: str, number: str) -> None:
    said = conflicts(body(letters, footprint=footprint, part_number=number))
    assert any(number in text and footprint in text for text in said)


# IPC-7351B: X200 is 2.0 mm high; case X is 4.3 mm high, from memory.
def test_a_number_of_another_height_is_a_conflict() -> None:
    said = conflicts(body("C", footprint="CAPMP7343X200N", part_number="T491X108K006AT"))
    assert any("height" in text for text in said)


# A chip resistor of 1.0 x 0.5 mm is 0.35 mm high with 0.05 of room: Yageo RC0402 data sheet of 2011, V.6, table 1.
@pytest.mark.parametrize("footprint", ["CAP-0402-1005M", ""])
def test_a_number_of_another_sort_of_part_is_a_conflict_and_no_silent_body(footprint: str) -> None:
    found = body("C", footprint=footprint, part_number="RC0402FR-0710KL")
    assert any("resistor" in text and "capacitor" in text for text in conflicts(found))
    # Of the resistor's figures none completes the body.
    assert found.height.value.high > 0.6 or found.height.basis is Basis.UNKNOWN
    assert footprint or found.length.basis is Basis.UNKNOWN


def test_the_kind_of_the_texts_goes_before_the_letters() -> None:
    assert not body("R", footprint="RES-0603-1608M", description="FERRITE BEAD", part_number="BLM18PG121SN1D").conflicts


# A chip resistor of 1.0 x 0.5 mm is 0.35 mm high with 0.05 of room: Yageo RC0402 data sheet of 2011, V.6, table 1.
@pytest.mark.rows("letters", ["L", "C", "FB", "JP", "SB"])
def test_a_link_of_no_ohms_may_stand_in_any_parts_place(letters: str) -> None:
    found = body(letters, footprint="0402-1005M", part_number="RC0402JR-070RL")
    assert not found.conflicts
    assert found.height.value.high < 0.6


# GRM15 is 1.0 x 0.5 mm: Murata catalogue C02 (reference/independent_part_schemes.csv).
def test_the_number_goes_with_the_bill_of_materials_where_that_is_preferred() -> None:
    name = PartName(ref_prefix="C", footprint="CAP-0603-1608M", part_number="GRM155R71C104KA88D")
    (by_bom,) = bodies_of([name], prefer="bom")
    assert by_bom.length.value.high <= 1.2


def test_three_leads_have_two_pitches_and_no_conflict() -> None:
    assert not body("Q", footprint="SOT-23-3 l2.9 w1.6 p1.90", part_number="AO3499A").conflicts


# GRM15 is 1.0 x 0.5 mm: Murata catalogue C02 (reference/independent_part_schemes.csv).
def test_while_number_and_footprint_disagree_all_between_them_counts() -> None:
    found = body("C", footprint="CAP-0603-1608M", part_number="GRM155R71C104KA88D")
    assert found.length.value.low < 1.1
    assert found.length.value.high > 1.5
    other_sort = body("R", footprint="RES-0402-1005M", part_number="GRM155R71C104KA88D")
    assert other_sort.height.value.low < 0.3
    assert other_sort.height.value.high > 0.6


# Published numbers of a connector and of a capacitor: packages/names/part_numbers/examples.csv.
def test_a_connector_may_lie_off_the_point_that_its_placement_states() -> None:
    assert not body("J", part_number="USB4105-GF-A").centred
    assert body("C", part_number="GRM155R71C104KA88D").centred


# S2B-PH-SM4-TB lies on its side, B2B-PH-SM4-TB stands upright, B2B-PH-K has drilled pins (JST PH; from memory).
@pytest.mark.parametrize("land", ["B2B-PH-SM4-TB_1X02_VERT", "B2B-PH-K-S"])
def test_a_land_named_by_another_number_than_the_one_fitted_is_a_misfit(land: str) -> None:
    found = body("J", part_number="S2B-PH-SM4-TB(LF)(SN)", footprint=land)
    assert found.misfits


# From memory: both are square power inductors of two makers that share a land.
@pytest.mark.parametrize("land", ["VLF10045T_SRN8040-2R2Y", "VLF10045T-2R2N7R4"])
def test_a_land_for_one_of_two_numbers_fits_the_one_that_is_fitted(land: str) -> None:
    found = body("L", part_number="VLF10045T-2R2N7R4", footprint=land)
    assert not found.misfits


# JEDEC MO-207 puts the balls of DDR3 memories on 0.8 mm; a name FBGA-96 alone is sold with other pitches.
def test_the_number_says_which_pitch_of_several_outlines() -> None:
    alone = body("U", footprint="FBGA96_DDR3")
    both = body("U", footprint="FBGA96_DDR3", part_number="K4B4G1646B-HYH9")
    assert alone.pitch.value.low < 0.8 < alone.pitch.value.high
    assert both.pitch.value.low == both.pitch.value.high == 0.8


# Infineon's BGA824N6 is a low-noise amplifier with six lands (from memory).
@pytest.mark.parametrize(
    "texts",
    [
        {"part_number": "BGA824N6", "footprint": "BGA824N6"},
        {"part_number": "BGA824N6", "description": "The BGA824N6 is a low-noise amplifier"},
        {"footprint": "BGA824N6"},
    ],
)
def test_letters_of_a_number_are_no_ball_grid(texts: dict[str, str]) -> None:
    found = body("U", **texts)
    assert found.lead_style is LeadStyle.NO_LEAD
    assert found.pins == 6
    assert not found.conflicts


# Contacts lie on 0.5 mm in USB Type-C and on 0.65 mm in Micro-B; USB4085 has holes on 0.85 mm (from memory).
@pytest.mark.rows(
    ("number", "land", "fits"),
    [
        ("USB4105-GF-A", "USB-MICRO-B-SOCKET", False),
        ("10118194-0001LF", "USB-TYPE-C-SOCKET", False),
        ("USB4105-GF-A", "USB-TYPE-C-SOCKET", True),
        ("USB4085-GF-A", "USB-TYPE-C-SOCKET", True),
        ("10118194-0001LF", "USB-MICRO-B-SOCKET", True),
    ],
)
def test_a_connector_fits_the_land_of_its_own_standard(number: str, land: str, fits: bool) -> None:
    assert (not body("J", part_number=number, footprint=land).misfits) is fits


# Figures: invented; five positions stand in the number, and two tabs hold the housing.
def test_a_column_that_counts_tabs_is_corrected_by_the_positions_in_the_number() -> None:
    counted = {"pins": (Interval.exactly(7), "placements.csv:2 pins")}  # invented
    [found] = bodies_of([PartName(part_number="B5B-PH-SM4-TB", ref_prefix="J", dimensions=counted)])
    assert found.pins == 5  # the digit of the number
    assert not found.conflicts


# Package letters P, N, PU and CPE are dual in-line packages, an IRF540NPBF stands in TO-220; from memory.
@pytest.mark.rows(
    ("letters", "number", "land"),
    [
        ("U", "LM358P", "SOIC-8"),
        ("U", "SN74HC595N", "TSSOP-16"),
        ("U", "ATMEGA328P-PU", "TQFP32 pitch0.8mm body7x7mm"),
        ("U", "MAX232CPE", "SOIC-16"),
        ("Q", "IRF540NPBF", "TO-263-2"),
        ("C", "EEU-FR1E471", "CAPAE1030X1050N"),
    ],
)
def test_a_part_with_legs_does_not_fit_lands(letters: str, number: str, land: str) -> None:
    found = body(letters, part_number=number, footprint=land)
    assert found.misfits
    assert found.mounting is None


# Surface types of the same series, in the same lands; from memory.
@pytest.mark.parametrize(("number", "land"), [("LM358DR", "SOIC-8"), ("ATMEGA328P-AU", "TQFP32 pitch0.8mm body7x7mm")])
def test_the_surface_type_of_a_series_fits_its_lands(number: str, land: str) -> None:
    assert not body("U", part_number=number, footprint=land).misfits


# The neighbouring sizes of chips, whose greatest and smallest all but meet where makers have wide tolerances: GRM18,
# LQG18 and the code 0603 are 1.6 x 0.8 mm, 0805 is 2.0 x 1.25 mm (reference/independent_part_schemes.csv).
@pytest.mark.parametrize(
    ("letters", "footprint", "number", "description"),
    [
        ("C", "C0805", "GRM188R71H104KA93D", ""),
        ("C", "C0805", "", "ceramic 100nF 0603"),
        ("C", "CAP-0805-2012M", "GRM188R71H104KA93D", "cap 100n 0603"),
        ("L", "L0805", "LQG18HS18NJ02D", ""),
    ],
)
def test_a_chip_on_the_land_of_the_next_size_is_a_conflict(letters, footprint, number, description):
    name = PartName(footprint=footprint, part_number=number, description=description, ref_prefix=letters)
    [found] = bodies_of([name])
    assert found.conflicts
    assert found.length.value.low <= 1.6
    assert found.length.value.high >= 2.0


# Pitch and positions as numbers spell them: Hirose FH12, Jushuo AFC01, JST GH and SH, Samtec TSW, from memory.
@pytest.mark.rows(
    ("number", "land", "fields"),
    [
        ("FH12-24S-0.5SH(55)", "FFC_15P_1.0mm", {"pins", "pitch"}),
        ("FH12-24S-0.5SH(55)", "FFC-1.00mm-24", {"pitch"}),
        ("AFC01-S24FCA-00", "FPC_0.5mm_15P", {"pins"}),
        ("SM04B-SRSS-TB", "WTB_4P_1.25mm", {"pitch"}),
        ("TSW-104-07-G-D", "HDR_2x05_2.54mm", {"pins"}),
        ("FH12-24S-0.5SH(55)", "FFC_24P_0.5mm", set()),
        ("FH12-24S-0.5SH(55)", "FPC-0.5mm-24", set()),
        ("FH12-24S-0.5SH(55)", "FFC_25P_0.5mm", set()),
        ("SM04B-GHS-TB", "WTB_1x04_1.25mm", set()),
        ("TSW-104-07-G-D", "HDR_8P_2.54mm", set()),
        ("TSW-104-07-G-D", "STRIP-12P0-S", set()),
    ],
)
def test_pitch_and_count_of_a_connectors_number_are_held_to_its_land(number: str, land: str, fields: set[str]) -> None:
    found = body("J", part_number=number, footprint=land)
    assert set(found.disputed) == fields
    assert bool(found.misfits) == bool(fields)


# Arithmetic: 14 and 23 spaces of 0.5 mm, with 3 mm beyond.
def test_a_connector_of_two_counts_is_as_long_as_either() -> None:
    found = body("J", part_number="AFC01-S24FCA-00", footprint="FPC_0.5mm_15P")
    assert found.length.value.low < 14 * 0.5 + 3
    assert found.length.value.high > 23 * 0.5 + 3


# The can HC-49/US lies on the surface, HC-49/U has wires: common practice, no source.
@pytest.mark.rows(
    ("number", "value", "land"),
    [
        ("HC-49S SMD", "8MHz", "XTAL_HC49U_VERT"),
        ("", "8MHz HC-49S SMD", "XTAL_HC49U_VERT"),
        ("ABLS-8.000MHZ-B4-T", "8MHz", "XTAL_HC49U_V"),
    ],
)
def test_a_crystal_of_the_surface_does_not_go_on_the_holes_of_a_wired_one(number: str, value: str, land: str) -> None:
    found = body("Y", part_number=number, value=value, footprint=land)
    assert found.misfits
    assert found.mounting is None
    assert not body("Y", value="8MHz", footprint=land).misfits


# Hirose BK13 catalogue, May 2022 (https://vdocuments.mx/bk13c-series-catalog-hirose-electric-group.html): 64 contacts
# on 0.35 mm are 13.7 mm long, as they lie in two rows.
def test_contacts_of_board_to_board_connectors_lie_in_two_rows() -> None:
    found = body("J", part_number="BM28B0.6-64DS/2-0.35V(51)")
    assert found.length.low < 13.7 < found.length.high
    assert found.pins == 64
