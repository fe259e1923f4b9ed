"""Where pin 1 lies at 0 degrees is shown by pad 1 or said to be unknown; contradictions are told.

Figures: invented, or the digits of the text.
"""

import math

import numpy as np
import pytest

from capcheck.intake.read import read_package
from capcheck.lexicon import sentence

HEADER = "Part,Footprint,Middle X (mm),Middle Y (mm),Pad X (mm),Pad Y (mm),Angle,Face\n"
# Places of pad 1 from the centre at 0 degrees. The conventions: IPC-7351A, pin 1 upper left; IEC 61188-7, lower left.
UPPER_LEFT, LOWER_LEFT, LEFT = (-2.0, 1.5), (-2.0, -1.5), (-1.0, 0.0)


def row(ref, footprint, pad, angle, at, side="top"):
    x, y = at
    turn = math.radians(angle)
    px = x + pad[0] * math.cos(turn) - pad[1] * math.sin(turn)
    py = y + pad[0] * math.sin(turn) + pad[1] * math.cos(turn)
    return f"{ref},{footprint},{x},{y},{px:.4f},{py:.4f},{angle},{side}\n"


@pytest.fixture
def notes(tmp_path):
    def read(text):
        (tmp_path / "p.csv").write_text(text)
        package = read_package(None, placements=[tmp_path / "p.csv"])
        return [sentence(note.said) for note in package.notes if sentence(note.said).startswith("rotation")]

    return read


@pytest.mark.parametrize(("pad", "place"), [(UPPER_LEFT, "upper left"), (LOWER_LEFT, "lower left")])
def test_pad_1_shows_the_convention_whatever_the_angles(notes, pad, place):
    rows = "".join(row(f"U{k}", "BODY-8", pad, 90 * k + 15, (10.0 * k, 3.0 * k)) for k in range(1, 6))
    rows += "".join(row(f"D{k}", "BODY-2", LEFT, 90 * k, (10.0 * k, 40.0)) for k in range(1, 4))
    (note,) = notes(HEADER + rows)
    assert f"{place} of U1–U5; left of D1–D3" in note


def test_the_place_of_pad_1_goes_with_each_row_as_the_part_lies_at_0_degrees(tmp_path):
    rows = row("U1", "BODY-8", UPPER_LEFT, 135, (10.0, 3.0)) + row("U2", "BODY-8", LEFT, 90, (30.0, 3.0))
    rows += row("U3", "BODY-8", UPPER_LEFT, 0, (50.0, 3.0), "bottom")
    (tmp_path / "p.csv").write_text(HEADER + rows)
    at = read_package(None, placements=[tmp_path / "p.csv"]).placements.pin_1_at
    assert at is not None
    assert at[:2].tolist() == [[-1.0, 1.0], [-1.0, 0.0]]
    assert np.isnan(at[2]).all()
    (tmp_path / "p.csv").write_text(PLAIN + "U1,BODY-8,1,2,90,top\n")
    assert read_package(None, placements=[tmp_path / "p.csv"]).placements.pin_1_at is None


def test_angles_that_contradict_pad_1_within_a_footprint_are_told(notes):
    rows = "".join(row(f"U{k}", "BODY-8", UPPER_LEFT, 90, (10.0 * k, 3.0 * k)) for k in range(1, 6))
    rows += row("U9", "BODY-8", LOWER_LEFT, 90, (90.0, 3.0))
    (note,) = notes(HEADER + rows)
    assert "BODY-8 (upper left: U1–U5, lower left: U9)" in note
    assert "contradict" in note


def test_parts_on_the_bottom_say_nothing(notes):
    rows = "".join(row(f"U{k}", "BODY-8", UPPER_LEFT, 90, (10.0 * k, 3.0), "bottom") for k in range(1, 6))
    (note,) = notes(HEADER + rows)
    assert "no file shows" in note


PLAIN = "Ref,Footprint,X (mm),Y (mm),Rotation,Side\n"


def test_without_pad_1_the_convention_is_said_to_be_unknown(notes):
    (note,) = notes(PLAIN + "U1,BODY-8,1,2,90,top\nQ2,BODY-3,5,2,0,top\nR1,CHIP,9,2,90,top\n")
    assert "no file shows" in note
    assert "Q2, U1" in note
    assert "settles it" in note


@pytest.mark.parametrize(
    "text",
    [
        PLAIN + "R1,CHIP,1,2,90,top\nC1,CHIP,5,2,0,top\n",
        "Ref,Footprint,X (mm),Y (mm),Side\nU1,BODY-8,1,2,top\nU2,BODY-8,8,2,top\n",
    ],
)
def test_without_polar_parts_or_angles_there_is_nothing_to_say(notes, text):
    assert notes(text) == []


def test_odd_angles_are_listed_and_many_of_them_are_no_oddity(notes):
    plain = "".join(f"R{k},CHIP,{3 * k},2,{90 * (k % 4)},top\n" for k in range(1, 12))
    found = notes(PLAIN + plain + "R20,CHIP,50,9,33.5,top\nR21,CHIP,55,9,30,top\n")
    assert found == ["rotation: R20, R21 are at angles that are no multiple of 45° (30°, 33.5°)"]
    assert notes(PLAIN + "".join(f"R{k},CHIP,{3 * k},2,{7 * k},top\n" for k in range(1, 12))) == []


def test_mirrored_coordinates_put_the_angles_of_polar_parts_on_the_bottom_in_question(notes):
    rows = "".join(f"U{k},BODY-8,{10 * k},2,90,top\n" for k in range(1, 5))
    rows += "".join(f"D{k},BODY-2,{-10 * k},9,90,bottom\n" for k in range(1, 5))
    (mirrored,) = [note for note in notes(PLAIN + rows) if "mirrored" in note]
    assert "depend on it: D1–D4;" in mirrored


def test_coordinates_that_differ_from_the_centre_taken_are_told(tmp_path):
    rows = "".join(row(f"U{k}", "BODY-8", UPPER_LEFT, 0, (10.0 * k, 3.0 * k)) for k in range(1, 6))
    (tmp_path / "p.csv").write_text(HEADER + rows)
    (note,) = [
        n for n in read_package(None, placements=[tmp_path / "p.csv"]).notes if "please confirm" in sentence(n.said)
    ]
    # The pad lies at (−2, 1.5) from the centre: √(4 + 2.25) = 2.5 mm away.
    assert sentence(note.said).startswith(
        '"Middle X (mm)" and "Middle Y (mm)" are taken as the body\'s centre; "Pad X (mm)" up to 2.5 mm'
    )
