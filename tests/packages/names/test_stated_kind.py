"""The kind of part by the BOM's words and the unit of its value, against the letters of land and reference."""

import pytest

from capcheck.model import PartName
from capcheck.packages.bodies.weighing import bodies_of
from capcheck.packages.names import stated_kind
from capcheck.packages.names.part_kind import kind_in_words

INCH = PartName(footprint="R1206", ref_prefix="R")


def body(prefix, footprint="", **texts):
    found, _ = bodies_of([PartName(ref_prefix=prefix, footprint=footprint, **texts), INCH])
    return found


@pytest.mark.rows(
    ("prefix", "texts", "key"),
    [
        ("L", {"footprint": "RES0805", "description": "Ferrite bead 600R"}, "chip ferrite bead"),
        ("FB", {"footprint": "C_0603", "value": "BEAD"}, "chip ferrite bead"),
        ("B", {"value": "0.1uF 0603"}, "chip capacitor"),
        ("J", {"value": "0Ohm 0603"}, "chip resistor"),
        ("J", {"footprint": "0805", "value": "0 Ω"}, "chip resistor"),
        ("JP", {"footprint": "R0402", "description": "RES 0 OHM 0402"}, "chip resistor"),
        ("C", {"footprint": "R0805", "description": "CAP CER 10uF"}, "chip capacitor"),
        ("R", {"footprint": "C0805", "description": "Resistor 10k"}, "chip resistor"),
        ("X", {"footprint": "0805", "value": "4.7 µH"}, "chip inductor"),
        ("SW", {"footprint": "R0805", "value": "0R link 0805"}, "chip resistor"),
        ("J", {"value": "0R00 0603"}, "chip resistor"),
        ("E", {"footprint": "0603", "value": "100pF"}, "chip capacitor"),
        # In the languages of the lists that are read; words of a dictionary.
        ("L", {"footprint": "RES0805", "description": "Ferritperle 600 Ohm 0805"}, "chip ferrite bead"),
        ("L", {"footprint": "R0805", "description": "perle de ferrite 600R"}, "chip ferrite bead"),
        ("L", {"footprint": "R0805", "description": "贴片磁珠 600R"}, "chip ferrite bead"),
        ("R", {"footprint": "R0805", "description": "Kerko 10uF 16V"}, "chip capacitor"),
        ("R", {"footprint": "R0805", "description": "condensateur céramique"}, "chip capacitor"),
        ("R", {"footprint": "R0805", "description": "Keramikkondensator X7R"}, "chip capacitor"),
        ("R", {"footprint": "R0805", "description": "Heißleiter 10k 0805"}, "chip thermistor"),
        ("R", {"footprint": "R0805", "description": "热敏电阻 10k"}, "chip thermistor"),
        ("R", {"footprint": "R0805", "description": "Speicherdrossel 2u2"}, "chip inductor"),
        ("R", {"footprint": "R0805", "description": "Feinsicherung 1A"}, "chip fuse"),
        ("C", {"footprint": "C0805", "description": "Chipwiderstand 10k"}, "chip resistor"),
        ("C", {"footprint": "C0805", "description": "晶振负载电容 12pF"}, "chip capacitor"),
    ],
)
def test_what_the_bom_says_counts_before_letters(prefix, texts, key):
    assert body(prefix, **texts).family_key == key


def test_a_form_in_the_footprint_stays():
    assert body("R", "ARRAY-4x0603 convex", description="RES 10k 1%").family_key == "chip array"


def test_the_land_of_one_chip_is_none_of_the_array_that_another_text_names():
    found = body("R", "R0402", description="RES ARRAY 4x0603")
    assert found.conflicts
    assert found.length.value.low < 1.0
    assert found.pins is None


@pytest.mark.rows(
    ("prefix", "texts"),
    [
        ("J", {"description": "CONN USB 0603 LED lit"}),
        ("SW", {"description": "SWITCH with LED 0805"}),
        ("J", {"footprint": "CONN_0603", "value": "10uF filter"}),
        ("J", {"footprint": "CONN_0603", "value": "2R"}),
        ("T", {"description": "TRANSFORMER 1206"}),
        ("MOD", {"footprint": "MODULE_0805"}),
        ("J", {"footprint": "0603"}),
    ],
)
def test_connectors_switches_modules_and_transformers_are_no_chips(prefix, texts):
    found = body(prefix, **texts)
    assert found.lead_style != "chip"
    assert not found.length.value.is_known


def test_what_a_circuit_drives_is_not_its_kind():
    assert body("U", "0603", description="LED driver").family_key != "chip led"


@pytest.mark.rows(
    "name",
    ["0603X4", "0402x2", "1206_8P", "0603-8P", "4x0603", "RN_0603", "ra1206", "CN0402", "8P4R 0402", "0402 排阻"],
)
def test_numbers_make_an_array(name):
    assert kind_in_words(name.upper()) == "array"


@pytest.mark.rows("name", ["0603X3", "1206_9P", "R0603", "XCN0402", "RN_603"])
def test_other_numbers_make_none(name):
    assert kind_in_words(name.upper()) is None


@pytest.mark.rows("value", ["1nF", "22nF", "0.1uF", "9.99 µF", "470pF"])
def test_every_number_before_a_unit_states_its_kind(value):
    assert stated_kind("", value, "") == "capacitor"


@pytest.mark.parametrize("words", ["resistor network 4x10k", "Widerstandsnetzwerk 4x10k"])
def test_the_height_of_a_lone_resistor_is_none_of_an_array(words):
    assert not body("R", "R1206", description=words).height.value.is_known
