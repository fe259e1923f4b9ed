"""Sides are understood in every usual spelling, and unknown ones are not guessed.

Figures: invented, or the digits of the text; an inch is 25.4 mm by definition.
"""

import pytest

from capcheck.intake.read import read_package
from capcheck.intake.tables.sides import read_mirror_labels, read_side_labels, side_from_names
from capcheck.lexicon import sentence
from capcheck.model import Side

T, B = Side.TOP, Side.BOTTOM


@pytest.mark.rows(
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
        ("A面", "B面"),
        ("Ａ面", "Ｂ面"),
        ("表面", "裏面"),
        ("正面", "反面"),
        ("正面", "背面"),
        ("顶层", "底层"),
        ("頂層", "底層"),
        ("元件面", "焊锡面"),
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


@pytest.mark.parametrize("number", ["0", "1", "3"])
def test_a_number_beside_words_has_no_side(number):
    assert read_side_labels(["top", number])[number] is None


def test_a_third_number_has_no_side():
    assert read_side_labels(["1", "2", "3"])["2"] is None


def test_a_blank_label_is_unknown():
    assert read_side_labels([""]) == {"": Side.UNKNOWN}


def test_mirrored_parts_sit_on_the_bottom():
    assert read_mirror_labels(["YES", "NO", "m", ""]) == {"YES": B, "NO": T, "m": B, "": T}


@pytest.mark.rows(
    ("file", "sheet", "preamble", "side"),
    [
        ("pos.csv", None, ((2, "#: this side: bottom"),), B),
        ("board-top.pos", None, (), T),
        ("x.xlsx", "Bottom side", (), B),
        ("laptop.csv", "Sheet1", ((1, "layers: 4"),), None),
        ("top-bottom.csv", None, (), None),
        ("board.mnt", None, (), T),
        ("board.MNB", None, (), B),
        ("board.top", None, (), T),
        ("board.bot", None, (), B),
        ("bottom.mnt", None, (), B),
    ],
)
def test_names_are_the_last_evidence(file, sheet, preamble, side):
    found = side_from_names(file, sheet, preamble)
    assert (found[0] if found else None) == side


ROWS = "".join(f"R{k},10k,{3 * k},{k},0\n" for k in range(1, 5))


def sides(tmp_path, text, name="p.csv"):
    (tmp_path / name).write_text(text)
    package = read_package(None, placements=[tmp_path / name])
    return dict(zip(package.placements.ref, package.placements.side.tolist(), strict=True)), package


def test_titles_between_the_rows_tell_the_side(tmp_path):
    text = f"Ref,Value,X (mm),Y (mm),Rotation\nTOP SIDE\n{ROWS}Bottom side:,,,,\n{ROWS.replace('R', 'C')}"
    found, package = sides(tmp_path, text)
    assert found == {f"R{k}": Side.TOP for k in range(1, 5)} | {f"C{k}": Side.BOTTOM for k in range(1, 5)}
    (decision,) = [d for d in package.decisions if d.topic == "side"]
    assert 'row 2 says "TOP SIDE", row 7 says "Bottom side:"' in sentence(decision.evidence)
    assert not decision.open


def test_rows_above_the_first_title_leave_the_side_open(tmp_path):
    found, package = sides(tmp_path, f"Ref,Value,X (mm),Y (mm),Rotation\n{ROWS}Bottom side\n{ROWS.replace('R', 'C')}")
    assert set(found.values()) == {Side.UNKNOWN}
    assert any(d.open and d.topic == "side" for d in package.decisions)


def test_letters_before_the_angle_tell_a_mirrored_part(tmp_path):
    text = "Ref,X (mm),Y (mm),Rot\nR1,1,2,R90\nR2,4,2,MR270\nR3,7,2,R0\n"
    found, package = sides(tmp_path, text)
    assert found == {"R1": Side.TOP, "R2": Side.BOTTOM, "R3": Side.TOP}
    assert package.placements.rotation_deg.tolist() == [90, 270, 0]


def test_letters_before_the_angle_say_nothing_where_none_is_mirrored(tmp_path):
    found, package = sides(tmp_path, "Ref,X (mm),Y (mm),Rot\nR1,1,2,R90\nR2,4,2,R270\n")
    assert set(found.values()) == {Side.UNKNOWN}
    assert package.placements.rotation_deg.tolist() == [90, 270]


def test_a_rotation_that_is_not_read_is_told(tmp_path):
    _, package = sides(tmp_path, "Ref,X (mm),Y (mm),Rotation,Side\nR1,1,2,north,top\nR2,4,2,east,top\n")
    assert any('"Rotation" is not read as the rotation' in sentence(note.said) for note in package.notes)


@pytest.mark.parametrize(
    ("one", "two"),
    [("lamp.mt", "lamp.mb"), ("lamp_T.csv", "lamp_B.csv"), ("pos-f.txt", "pos-b.txt"), ("tlamp", "blamp")],
)
def test_two_names_that_differ_in_one_letter_tell_the_sides(tmp_path, one, two):
    (tmp_path / one).write_text("Ref,Value,X (mm),Y (mm),Rotation\n" + ROWS)
    (tmp_path / two).write_text("Ref,Value,X (mm),Y (mm),Rotation\n" + ROWS.replace("R", "C"))
    package = read_package(None, placements=[tmp_path / one, tmp_path / two])
    assert package.placements.side.tolist() == [Side.TOP] * 4 + [Side.BOTTOM] * 4
    assert [sentence(d.evidence) for d in package.decisions if d.topic == "side"] == [
        f'the names "{one}" and "{two}" differ in {x} alone'
        for x in 2 * ["f and b" if one.startswith("pos") else "t and b"]
    ]


@pytest.mark.parametrize(
    ("one", "two"), [("lamp1.csv", "lamp2.csv"), ("lamp-at.csv", "lamp-ob.csv"), ("a.csv", "ab.csv")]
)
def test_other_pairs_of_names_tell_nothing(tmp_path, one, two):
    (tmp_path / one).write_text("Ref,Value,X (mm),Y (mm),Rotation\n" + ROWS)
    (tmp_path / two).write_text("Ref,Value,X (mm),Y (mm),Rotation\n" + ROWS.replace("R", "C"))
    package = read_package(None, placements=[tmp_path / one, tmp_path / two])
    assert set(package.placements.side.tolist()) == {Side.UNKNOWN}


def test_the_letters_c_and_s_mean_component_and_solder_side_only_together():
    assert read_side_labels(["C", "s", ""]) == {"C": T, "s": B, "": Side.UNKNOWN}
    assert read_side_labels(["C"]) == {"C": None}
    assert read_side_labels(["C", "S", "X"])["C"] is None
