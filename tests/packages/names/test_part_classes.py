"""Classes of parts that are known by their names, against what the texts beside them say.

Figures: sizes are the digits of the name beside them; those of codes and outlines are in
capcheck/packages/data/*.csv with their sources, else from memory.
"""

import pytest

from capcheck.lexicon import Words, reference_letters
from capcheck.model import Basis, PartName
from capcheck.packages.bodies.weighing import bodies_of
from capcheck.packages.candidate import Candidate, Column, Trust
from capcheck.packages.library_entries import Entry, Library, build_library
from capcheck.packages.names import class_named, part_classes, read_class


def body(prefix, footprint="", **texts):
    (found,) = bodies_of([PartName(ref_prefix=prefix, footprint=footprint, **texts)])
    return found


@pytest.mark.rows(
    ("prefix", "texts", "name", "mounting"),
    [
        ("SW", {"footprint": "SW_Keyswitch_1u"}, "key switch", "through hole"),
        ("K", {"footprint": "MX_1.00u"}, "key switch", "through hole"),
        ("S", {"description": "Tastenschalter"}, "key switch", "through hole"),
        ("J", {"description": "Schraubklemme 2-polig"}, "screw terminal", "through hole"),
        ("J", {"description": "SCREW TERMINAL 2POS"}, "screw terminal", "through hole"),
        ("J", {"footprint": "BORNIER_2P_5.08"}, "screw terminal", "through hole"),
        ("X", {"footprint": "KLEMMLEISTE_4POL_3.5"}, "screw terminal", "through hole"),
        ("J", {"footprint": "Morsettiera_3P"}, "screw terminal", "through hole"),
        ("CN", {"footprint": "接线端子_5.08-2P"}, "screw terminal", "through hole"),
        ("J", {"footprint": "BORNIER_SMD_2P"}, "screw terminal", "surface"),
        ("X", {"footprint": "BANANA-JACK-4mm"}, "banana jack", "through hole"),
        ("J", {"footprint": "QX-BARRELJACK-9"}, "jack", None),
        ("J", {"value": "RJ45 SMD"}, "jack", "surface"),
        ("X", {"description": "Klinkenbuchse 3,5"}, "jack", None),
        ("BRD", {"value": "Devkit QX-9"}, "development board", "through hole"),
        ("TFT", {"footprint": "Module_240x320_TFT"}, "display", "through hole"),
        ("SJ", {"footprint": "SJ_2S_NO", "value": "NO"}, "solder bridge", "none"),
        ("JP", {"footprint": "solder jumper open 1.2mm"}, "solder bridge", "none"),
        ("SB", {"value": "Lötbrücke"}, "solder bridge", "none"),
        ("ANT", {"footprint": "PCB_Antenna_2.4GHz"}, "printed antenna", "none"),
        ("TP", {"footprint": "Testpad_1.0mm"}, "test land", "none"),
        ("H", {"footprint": "MTG_Hole_3.2"}, "hole", "none"),
        ("J", {"value": "Borne à vis 2P"}, "screw terminal", "through hole"),
        ("H", {"value": "M3 screw"}, "loose hardware", "none"),
        ("MP", {"description": "Schraube M3x8"}, "loose hardware", "none"),
    ],
)
def test_a_class_is_known_by_its_words_and_letters(prefix, texts, name, mounting):
    found = body(prefix, **texts)
    assert found.part_class == name
    assert found.mounting == mounting


@pytest.mark.rows(
    ("prefix", "texts"),
    [
        ("U", {"description": "LCD driver 48-LQFP"}),
        ("U", {"value": "OLED boost converter"}),
        ("J", {"description": "FPC connector for TFT display"}),
        ("J", {"description": "dev kit header 2x20"}),
        ("J", {"footprint": "USB micro with mounting holes"}),
        ("SW", {"footprint": "Keyswitch_Hotswap_Socket"}),
        ("R", {"description": "Resistor for key switch"}),
        ("U", {"footprint": "RELAY_DRIVER"}),
        ("U", {"value": "screwdriver ASIC"}),
        ("P", {"value": "OLEDX"}),
    ],
)
def test_words_beside_it_or_other_letters_make_it_another_part(prefix, texts):
    found = body(prefix, **texts)
    assert found.mounting is None or found.mounting == "surface"


@pytest.mark.rows("words", ["SMD", "SMT", "surface mount", "Surface-Mount"])
@pytest.mark.rows("column", ["footprint", "value", "description", "bom_package"])
def test_a_surface_part_of_a_drilled_class_stays_on_the_surface(words, column):
    texts = {"value": "Screw terminal 2P"} | {column: f"Screw terminal 2P {words}"}
    assert body("J", **texts).mounting == "surface"


def test_bare_copper_that_is_bought_is_a_part():
    assert body("SJ", "SJ_2S", value="NO").mounting == "none"
    assert body("SJ", "SJ_2S", value="NO", part_number="QX-1206-0").mounting is None


def test_the_library_goes_before_a_class():
    name = PartName(footprint="SW_Keyswitch_1u", ref_prefix="SW")
    known = Candidate(Basis.LIBRARY, Trust.LIBRARY, Column.LIBRARY, "x.csv:2", mounting="surface")
    library: Library = build_library("x.csv", [Entry("", name.footprint, known, "x.csv:2")])
    (found,) = bodies_of([name], library=library)
    assert found.mounting == "surface"
    assert found.part_class == "key switch"


def test_a_class_proves_no_size():
    for row in part_classes():
        for words in Words(row.words).listed[:3]:
            found = body(max(row.letters) if row.letters else "", description=words.strip("*"))
            assert not found.length.value.is_known or found.length.basis is Basis.BOUND


def test_each_row_of_the_table_is_found_by_its_own_name_and_words():
    names = [row.name for row in part_classes()]
    assert len(set(names)) == len(names) >= 30
    for row in part_classes():
        assert class_named(row.name) is row
        assert row.source
        listed = Words(row.words).listed
        assert listed
        first = listed[0].strip("*")
        letters = next((p for p in sorted(row.letters) if p and not reference_letters().get(p)), "") or ""
        found = read_class(PartName(ref_prefix=letters, value=first))
        assert found is None or found.part_class in names


def test_what_a_class_says_is_no_proof_by_a_name():
    found = read_class(PartName(ref_prefix="SW", footprint="Keyswitch"))
    assert found.basis is Basis.BOUND
    assert "common practice" in found.source
    assert class_named("key switch").placed_by == "hand after reflow"
    assert class_named("key switch").reflow is False
    assert class_named("key switch").washable is False
    assert class_named("no such class") is None
