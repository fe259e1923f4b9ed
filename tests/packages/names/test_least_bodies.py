"""Sorts of parts that no size code makes small: what a text says a part is, against a body that none is sold with.

Figures: the words and references are invented; the least sizes are the table's, from memory.
"""

import pytest

from capcheck.model import Basis, PartName
from capcheck.packages.bodies.weighing import bodies_of
from capcheck.packages.names.least_bodies import least_bodies, read_least_body

SMALL = {
    "T1": [
        "Transformer EE16",
        "Trafo EE16",
        "Übertrager EP7",
        "transformateur",
        "transformador",
        "trasformatore",
        "トランス",
        "变压器",
    ],
    "K1": ["Relay 5V", "Relais 5V", "relè 5V", "relé 5V", "リレー", "继电器", "solid state relay"],
    "J1": [
        "USB A",
        "HDMI socket",
        "RJ45 jack",
        "pin header 2x5",
        "Stiftleiste 2x5",
        "connecteur",
        "conector",
        "connettore",
        "コネクタ",
        "连接器",
    ],
    "BT1": ["Battery CR2032", "Batterie", "pile", "pila", "电池", "電池", "battery holder"],
    "R1": ["BGA", "µBGA", "LGA module", "QFN", "Trimmer 10k", "Poti 10k", "potenciómetro 10k", "电位器"],
    "C1": [
        "Memory in BGA",
        "Elko 470u 25V",
        "electrolytic capacitor",
        "condensateur électrolytique",
        "condensador electrolítico",
        "condensatore elettrolitico",
        "电解电容",
        "アルミ電解",
    ],
    "DS1": ["LCD display", "Anzeige", "afficheur 7 segments", "pantalla", "液晶", "数码管"],
    "SW1": ["push button", "Taster", "interrupteur", "interruptor", "interruttore", "スイッチ", "轻触开关"],
    "U1": ["WiFi module", "Funkmodul 868 MHz", "module radio", "modulo radio", "无线模块"],
    "HS1": ["heat sink", "Kühlkörper", "dissipateur", "disipador", "dissipatore", "ヒートシンク", "散热器"],
    "F1": [
        "fuse holder",
        "Sicherungshalter",
        "porte-fusible",
        "portafusible",
        "portafusibile",
        "ヒューズホルダ",
        "保险丝座",
    ],
}


def body_of(ref, description, footprint="RESC1608X55N", value=""):
    letters = ref.rstrip("0123456789")
    name = PartName(footprint=footprint, description=description, value=value, ref_prefix=letters)
    (body,) = bodies_of([name])
    return body


@pytest.mark.rows(("ref", "words"), [(ref, words) for ref, many in SMALL.items() for words in many])
def test_a_chip_that_is_said_to_be_a_larger_sort_of_part_proves_nothing(ref, words):
    body = body_of(ref, words)
    assert {body.length.basis, body.width.basis, body.height.basis} == {Basis.UNKNOWN}


@pytest.mark.rows(
    ("ref", "words"),
    [
        ("T1", "Part"),
        ("J1", "ferrite bead for USB"),
        ("K1", "diode across relay"),
        ("C1", "100n capacitor for relay"),
        ("C1", "tantalum electrolytic"),
        ("U1", "load switch"),
        ("T1", "RF transformer"),
        ("R1", "display bias 10k"),
        ("BT1", "battery contact"),
    ],
)
def test_a_text_about_another_part_leaves_the_body(ref, words):
    assert body_of(ref, words).length.basis is not Basis.UNKNOWN


@pytest.mark.rows(
    ("ref", "words", "footprint"),
    [
        ("J1", "Steckverbinder 10pol", "RESC1608X55N"),
        ("J1", "Anschlussklemme 3pol", "RESC1608X55N"),
        ("L1", "toroid 100u", "0603"),
        ("R1", "wirewound resistor 10 W", "0603"),
        ("R1", "Hochlastwiderstand 25 W", "0603"),
        ("D1", "bridge rectifier", "DIOC1608X55N"),
    ],
)
def test_sorts_of_passives_and_words_that_count_poles(ref, words, footprint):
    assert body_of(ref, words, footprint).length.basis is Basis.UNKNOWN


def test_a_body_that_may_be_of_its_sort_stays():
    assert body_of("K1", "Relay 5V 10 x 6.5 x 5 mm", footprint="").length.high >= 10
    assert body_of("SW1", "push button", footprint="RESC3216X60N").length.basis is not Basis.UNKNOWN


def test_both_sources_are_shown_to_whoever_has_to_settle_it():
    body = body_of("K1", "Relay 5V")
    assert body.disputed == ("body",)
    assert body.conflicts[0].key == "packages.conflict open"


def test_the_value_says_it_too():
    assert body_of("K1", "", value="Relay 5V").length.basis is Basis.UNKNOWN


def test_every_sort_has_room_below_the_smallest_and_says_where_it_is_from():
    for row in least_bodies():
        assert 0 < row.shorter <= row.longer
        assert "from memory" in row.source
        assert row.letters


def test_words_of_a_sort_count_under_its_letters_alone():
    name = PartName(description="Relay 5V", ref_prefix="R")
    assert read_least_body(name) is None


# MO-220: 1.0 mm at most. Modules that are called QFN are to 4.4 mm high; from memory.
@pytest.mark.parametrize(
    ("footprint", "description", "high"),
    [
        ("QFN-41 9x11mm", "DC/DC power module 6A", 4.4),
        ("QFN-68", "Leistungsmodul", 4.4),
        ("B3QFN-41 9x11mm", "", 4.4),
        ("QFN-41 9x11x2.8mm", "power module", 2.8),
    ],
)
def test_a_power_module_is_higher_than_the_package_that_it_is_named_after(footprint, description, high):
    found = bodies_of([PartName(footprint=footprint, description=description, ref_prefix="U")])[0]
    assert found.height.low <= high <= found.height.high
    assert found.lead_style == "no lead"
    plain = bodies_of([PartName(footprint="QFN-41 9x11mm", description="converter", ref_prefix="U")])[0]
    assert plain.height.high == 1.0


# Potted converters are 10 mm high, bricks 13 mm, supplies for the mains to 25 mm; from memory.
def test_a_power_module_may_be_as_high_as_a_potted_one():
    for footprint in ("", "BGA-144 15x15", "LGA-66", "PWRMOD"):
        found = bodies_of([PartName(footprint=footprint, description="DC/DC power module", ref_prefix="U")])[0]
        assert found.height.high >= 25.0, footprint


# Couplers with the leads of an SO-8 are 3.2 mm high, those bent from a dual in-line body 4 mm; from memory.
def test_an_optocoupler_is_higher_than_the_outline_that_it_is_named_after():
    for footprint, height in (("SO-8", 3.2), ("SO-4", 4.0)):
        name = PartName(footprint=footprint, description="Optokoppler SMD", ref_prefix="U")
        assert bodies_of([name])[0].height.value.high > height
