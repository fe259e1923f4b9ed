"""Names of coils, cans, crystals, lamps, switches and boxes: sizes in any spelling, nothing from a bare series name.

Figures: sizes are the digits of the name beside them; those of codes and outlines are in
capcheck/packages/data/*.csv with their sources, else from memory.
"""

import pytest

from capcheck.lexicon import sentence
from capcheck.model import Basis, Mounting, PartName
from capcheck.packages.bodies.weighing import bodies_of


def body(text, prefix, **fields):
    return bodies_of([PartName(footprint=text, ref_prefix=prefix, **fields)])[0]


def holds(measure, value):
    return measure.low <= value <= measure.high


# What each name states in millimetres; the spellings are invented, as libraries write them.
@pytest.mark.rows(
    ("text", "prefix", "long", "short", "high"),
    [
        ("IND-4x4", "L", 4, 4, None),
        ("L_4.0x4.0x3.0", "L", 4, 4, 3),
        ("IND_4.0x4.0_H3.0", "L", 4, 4, 3),
        ("L_4.0x4.0H3.0", "L", 4, 4, 3),
        ("COIL l7.0 w6.6 h3.0", "L", 7, 6.6, 3),
        ("INDUCTOR_12x12x6mm", "L", 12, 12, 6),
        ("POWER_IND_10.1X10.1X5", "L", 10.1, 10.1, 5),
        ("L-1260X1260X600-2N", "L", 12.6, 12.6, 6),
        ("IND_D10.0xH5.4", "L", 10, 10, 5.4),
        ("L_SMD_D7.8H5.0", "L", 7.8, 7.0, 5),
        ("OSC-250X200X55", "X", 2.5, 2.0, 0.55),
        ("OSC_320X250X90", "Y", 3.2, 2.5, 0.9),
        ("XTAL_5X3.2", "Y", 5, 3.2, None),
        ("CRYSTAL_3225", "Y", 3.2, 2.5, None),
        ("SMD-3225_4P", "Y", 3.2, 2.5, None),
        ("TCXO_2520", "X", 2.5, 2.0, None),
        ("OSC_7050_4PIN", "X", 7, 5, None),
        ("SWITCH_6x6", "SW", 6, 6, None),
        ("SW_TACT_4.2x3.2x2.5", "SW", 4.2, 3.2, 2.5),
        ("BUTTON_3x4x2.0", "SW", 4, 3, 2),
        ("SWITCH-SMD_3x6x2.5", "SW", 6, 3, 2.5),
        ("BUZZER_9x9", "BZ", 9, 9, None),
        ("SHIELD_20x20", "SH", 20, 20, None),
        ("XFMR_10x12", "T", 12, 10, None),
        ("RELAY_SMD_10.6x7.4", "K", 10.6, 7.4, None),
        ("MODULE_18x25.5", "U", 25.5, 18, None),
        ("LED_3.5x2.8", "LED", 3.5, 2.8, None),
        ("LED l5.0 w5.0 4 pads", "LED", 5, 5, None),
    ],
)
def test_the_dimensions_in_a_name_are_read(text, prefix, long, short, high):
    found = body(text, prefix)
    assert holds(found.length, long)
    assert holds(found.width, short)
    assert found.length.high - long <= 0.15 * long + 0.1
    if high is None:
        assert not found.height.value.is_exact
    else:
        assert holds(found.height, high)


@pytest.mark.rows(
    ("text", "prefix"),
    [
        ("QX4030", "L"),
        ("QXA5040S", "L"),
        ("CDQ73", "L"),
        ("NQ6028", "L"),
        ("L_3316", "L"),
        ("IND_5022", "L"),
        ("QXC-135", "Y"),
        ("QX2812B", "LED"),
        ("RLY_QX6K", "K"),
        ("QX16-103", "RN"),
        ("SW_QX3342", "SW"),
        ("SWITCH-DIP-4x1", "SW"),
        ("KEYPAD_2x2", "SW"),
    ],
)
def test_a_bare_series_name_stays_unknown(text, prefix):
    found = body(text, prefix)
    assert found.length.basis in {Basis.UNKNOWN, Basis.BOUND}
    assert found.width.basis in {Basis.UNKNOWN, Basis.BOUND}


# Bases of 6.3, 8 and 10 mm cans: 6.6, 8.3 and 10.3 mm square (common to the makers' tables, from memory).
@pytest.mark.rows(
    ("text", "base", "high"),
    [
        ("ELCO-ELEC-6.3x7.7", 6.6, 7.7),
        ("ALUM_CAP_8X6.5", 8.3, 6.5),
        ("10x10.2mm can", 10.3, 10.2),
        ("ELCAP_8X10", 8.3, 10),
        ("ECAP_D6.3xH5.8", 6.6, 5.8),
        ("CAPAE660X800N", 6.6, 8.0),
        ("CAP_AL_8X10_N", 8.3, 10),
        ("ALU_CAP_6.3X5.4", 6.6, 5.4),
    ],
)
def test_a_can_stands_on_its_base_and_its_second_number_is_its_height(text, base, high):
    found = body(text, "C")
    assert found.lead_style == "can"
    assert holds(found.length, base)
    assert holds(found.width, base)
    assert holds(found.height, high)


# Bases of cans: capcheck/packages/data/cans.csv, from memory.
def test_two_numbers_about_a_capacitor_may_be_diameter_and_height():
    found = body("", "C", description="100uF 25V 6.3x7.7mm")
    assert holds(found.width, 6.3)
    assert holds(found.width, 6.6)
    assert found.height.basis is Basis.UNKNOWN
    assert any("diameter" in sentence(question) for question in found.questions)


# Invented name; its sides are written, and 4020 would be 4.0 x 2.0 mm.
def test_the_sides_in_a_coils_name_outweigh_its_series_number():
    found = body("COIL l4.5 w4.1 QRP4020TA", "L")
    assert holds(found.length, 4.5)
    assert not holds(found.length, 4.0)
    assert not body("QRP4020", "L").length.value.is_known


# EIA-535BAAC, size 3216: 3.2 x 1.6 mm; from memory.
def test_an_eia_case_without_height_may_be_a_chip_or_molded():
    found = body("EIA3216", "C")
    assert holds(found.length, 3.2)
    assert found.lead_style == "other"  # whichever it is, it has no balls
    assert not found.height.value.is_known
    assert body("EIA-3216-18", "C").lead_style == "molded"


# Bases of cans: capcheck/packages/data/cans.csv, from memory.
def test_one_number_in_millimetres_about_a_can_is_its_diameter():
    assert holds(body("6.3mm_Al_cap", "C").length, 6.6)
    assert holds(body("SMD_CAP_AL_10X10_H10_N", "C").length, 10.3)
    said = bodies_of([PartName(ref_prefix="C", description="4.7uF/50V D5x5.4 SMD aluminium electrolytic")])[0]
    assert holds(said.length, 5.3)
    assert holds(said.height, 5.4)


# A slide switch in a dual in-line row is sold drilled, with gull wings and with J leads; "4" is its poles, not pins.
# How such switches are sold: common practice, no source.
@pytest.mark.parametrize(
    ("text", "mounting"),
    [
        ("SW-DIP 4WAY slide 6.5x12mm W8.5mm P2.54mm LowProfile", None),
        ("SW-DIP4", None),
        ("SW-DIP 4WAY slide 9.5x12mm W7.62mm P2.54mm", "through hole"),
        ("SWITCH-DIP-4_SMD", "surface"),
    ],
)
def test_a_switch_in_dip_form_says_neither_its_mounting_nor_its_pins(text, mounting):
    found = body(text, "SW")
    assert found.mounting == mounting
    assert found.pins != 4


# A cylinder lies or stands on two wires; common practice, no source.
def test_a_crystal_in_a_cylinder_is_drilled():
    assert body("XTAL_CYL_3x8", "Y").mounting == "through hole"
    assert body("XTAL_CYL_3x8_SMD", "Y").mounting == "surface"


# IEC 60122-3, HC-49/U: 11.4 x 4.7 mm and higher than 3.5 mm; from memory.
def test_a_low_can_crystal_is_no_small_outline():
    found = body("HC49US-SMD 11.4x4.7", "Y")
    assert holds(found.length, 11.4)
    assert not found.height.value.is_known or found.height.high > 3.5
    assert holds(body("HC49-SMD", "Y").length, 11.4)  # IEC HC-49/U: 11.4 x 4.7 mm (from memory)


def test_a_package_beside_the_word_module_says_how_it_is_soldered():
    assert body("LGA_MODULE_15x15x3.9", "U").lead_style == "land grid"


@pytest.mark.parametrize(
    ("text", "prefix"), [("BATTERY 20x3.2mm", "BT"), ("BUZZER 12x9.5mm", "BZ"), ("cell 12x3mm", "BAT")]
)
def test_two_numbers_about_a_round_part_are_diameter_and_height(text, prefix):
    assert body("", prefix, description=text).length.basis in {Basis.UNKNOWN, Basis.BOUND}


def test_a_rectangular_lamp_may_be_drilled():
    assert body("", "LED", description="LED 5x2mm rectangular").mounting is None
    assert body("LED_3.5x2.8", "LED").mounting == "surface"


# Invented name: diameter 3.0 mm, length 10.0 mm.
def test_a_diameter_with_a_length_may_lie_or_stand():
    found = body("XTAL-QX310 D3.0mm L10.0mm horizontal", "Y")
    assert holds(found.length, 10)
    assert holds(found.length, 3)
    assert holds(found.width, 3)


def test_a_height_in_whole_millimetres_behind_the_sides_of_a_coil_is_read():
    assert holds(body("IND_6.3x6.3_H3", "L").height, 3)


def test_a_lamp_of_several_dies_has_no_certain_number_of_terminals():
    assert body("LED_RGB_1210", "D").pins is None
    assert body("LED-0805-2012M", "D").pins == 2


# JEDEC DO-214 AC and AA: 2.6 and 3.6 mm wide; from memory.
def test_a_land_for_either_of_two_diodes_spans_both():
    found = body("DIO_SMA-SMB_Universal", "D")
    assert holds(found.width, 2.6)
    assert holds(found.width, 3.6)
    assert found.questions


# Arithmetic: 1.25 mm less and more a tenth; the tenth is from memory.
def test_a_bare_height_holds_to_a_tenth():
    found = body("C_0805_H1.25", "C")
    assert holds(found.height, 1.15)
    assert holds(found.height, 1.35)


# Footprint libraries add what a variant of a part has beside it to the end of its name; common practice, no source.
@pytest.mark.parametrize(
    ("name", "prefix", "bare"),
    [
        ("WIRE_CONN_4P_MOUNTING_HOLES", "J", False),
        ("QX04 1X4 P2.5 MOUNTING HOLES", "CN", False),
        ("BARRIER_3P-MOUNTING_HOLES", "TB", False),
        ("MOUNTING_HOLES_M3", "H", True),
        ("MOUNTING HOLE 3.2 M3", "H", True),
        ("PANEL_MOUNTING_HOLES", "MH", True),
    ],
)
def test_a_part_that_has_mounting_holes_is_none(name, prefix, bare):
    assert (body(name, prefix).mounting is Mounting.NONE) == bare


# The keys of M.2 are cut-outs of the card's edge (PCI-SIG M.2, from memory).
@pytest.mark.parametrize("name", ["M.2_KEY_E", "NGFF_KEY-M", "CONN_M2_KEY_B"])
def test_the_key_of_a_card_socket_is_no_switch(name):
    assert body(name, "J").family_key != "switch"
