"""Sides are understood in every usual spelling, and unknown ones are not guessed."""

import pytest

from capcheck.intake.sides import read_mirror_labels, read_side_labels, side_from_names
from capcheck.model import Side

T, B = Side.TOP, Side.BOTTOM


@pytest.mark.parametrize(
    ("top", "bottom"),
    [
        ("top", "bottom"),
        ("Top", "Bot"),
        ("T", "B"),
        ("F", "B"),
        ("F.Cu", "B.Cu"),
        ("TopLayer", "BottomLayer"),
        ("Top Layer", "Bottom Layer"),
        ("L1-TOP", "L8-BOTTOM"),
        ("front", "back"),
        ("Component Side", "Solder Side"),
        ("Oben", "Unten"),
        ("dessus", "dessous"),
        ("表", "裏"),
        ("部品面", "半田面"),
        ("Primary", "Secondary"),
        ("1", "2"),
        ("0", "1"),
        ("1", "16"),
        ("Layer 1", "Layer 4"),
        ("Bestückungsseite", "Lötseite"),
        ("TOP_SIDE", "BOTTOM_SIDE"),
    ],
)
def test_both_sides_are_told_apart(top, bottom):
    assert read_side_labels([top, bottom]) == {top: T, bottom: B}


def test_the_first_number_alone_is_the_top():
    assert read_side_labels(["1"]) == {"1": T}
    assert read_side_labels(["0"]) == {"0": T}


def test_a_label_that_says_nothing_has_no_side():
    assert read_side_labels(["left", "top"]) == {"left": None, "top": T}


def test_a_third_number_has_no_side():
    assert read_side_labels(["1", "2", "3"])["2"] is None


def test_a_blank_label_is_unknown():
    assert read_side_labels([""]) == {"": Side.UNKNOWN}


def test_mirrored_parts_sit_on_the_bottom():
    assert read_mirror_labels(["YES", "NO", "m", ""]) == {"YES": B, "NO": T, "m": B, "": T}


@pytest.mark.parametrize(
    ("file", "sheet", "preamble", "side"),
    [
        ("pos.csv", None, ((2, "## Side : bottom"),), B),
        ("board-top.pos", None, (), T),
        ("x.xlsx", "Bottom side", (), B),
        ("laptop.csv", "Sheet1", ((1, "layers: 4"),), None),
        ("top-bottom.csv", None, (), None),
    ],
)
def test_names_are_the_last_evidence(file, sheet, preamble, side):
    found = side_from_names(file, sheet, preamble)
    assert (found[0] if found else None) == side
