"""Mounting as texts say it in words."""

import pytest

from capcheck.model import PartName
from capcheck.packages.bodies.weighing import bodies_of
from capcheck.packages.names.mounting import mounting_in_words


@pytest.mark.parametrize(
    ("fields", "mounting"),
    [
        ({"footprint": "QK-77 SMD"}, "surface"),
        ({"footprint": "RELAY_QK77_SMT"}, "surface"),
        ({"description": "relay, surface mount"}, "surface"),
        ({"footprint": "RELAY_QK77_THT"}, "through hole"),
        ({"description": "terminal, through-hole"}, "through hole"),
    ],
)
def test_a_word_settles_the_mounting_of_an_unknown_family(fields, mounting):
    assert mounting_in_words(PartName(**fields)).mounting == mounting
    assert bodies_of([PartName(**fields)])[0].mounting == mounting


@pytest.mark.parametrize(
    "fields",
    [{"footprint": "QK77"}, {"footprint": "SMDX77"}, {"footprint": "USB_SMD_THT_PEGS"}, {"value": ""}],
)
def test_nothing_is_said_without_one_clear_word(fields):
    assert mounting_in_words(PartName(**fields)) is None


def test_the_footprint_is_heard_before_the_description():
    found = mounting_in_words(PartName(footprint="QK77_SMD", description="through hole version also sold"))
    assert found.mounting == "surface"
    assert "footprint" in found.source


def test_a_known_family_is_believed_before_a_word():
    assert bodies_of([PartName(footprint="SOIC-8", description="through hole")])[0].mounting == "surface"


@pytest.mark.parametrize("text", ["This is PCB copper", "no component", "sense area, copper only", "not a part"])
def test_words_for_a_feature_of_the_board_place_nothing(text):
    (found,) = bodies_of([PartName(value=text, description="20x20mm sensing footprint", ref_prefix="S")])
    assert found.mounting == "none"
    assert bodies_of([PartName(value="PCBCOPPERX", ref_prefix="S")])[0].mounting is None
