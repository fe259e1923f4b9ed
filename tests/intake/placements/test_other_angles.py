"""A second column of angles, or a title by which angles mean something else, is asked about.

Figures: boards and parts are invented; a quarter turn is 1.5708 rad.
"""

import numpy as np
import pytest

from capcheck.intake.read import read_package
from capcheck.lexicon import sentence


@pytest.fixture
def read(tmp_path):
    def board(titles, rows, stated=""):
        lines = [f"Ref,Value,Footprint,X [mm],Y [mm],Side,{titles}", *rows]
        (tmp_path / "places.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")
        (tmp_path / "board.toml").write_text(f'placements = "places.csv"\n{stated}')
        return read_package(tmp_path)

    return board


def rows(*angles):
    return [f"R{n},1k,0603,{10 * n},{5 + n},top,{angle}" for n, angle in enumerate(angles, 1)]


def asked(package):
    return [sentence(d.said) for d in package.discrepancies if str(d.topic) in {"rotation", "left out"} or d.said]


@pytest.mark.parametrize(
    "title", ["Rotation 2", "Rotation (machine)", "Rot. CPL", "Feeder rotation", "Rotation new", "PnP angle"]
)
def test_an_angle_that_a_second_column_states_otherwise_is_unknown_and_asked(read, title):
    package = read(f"Rotation,{title}", rows("0,0", "90,90", "90,180", "270,-90"))
    assert np.isnan(package.placements.rotation_deg).tolist() == [False, False, True, False]
    assert any("R3" in text and title in text for text in asked(package))


def test_a_second_column_that_agrees_or_holds_only_noughts_is_no_question(read):
    for title, cells in (("Rotation 2 (rad)", ("0,0", "90,1.5708")), ("Rotation 2", ("0,0", "90,0"))):
        package = read(f"Rotation,{title}", rows(*cells))
        assert package.placements.rotation_deg.tolist() == [0.0, 90.0]


def test_the_column_that_board_toml_names_counts_alone(read):
    package = read("Rotation,Rotation 2", rows("0,0", "90,180"), '[columns.placements]\nrotation = "Rotation"\n')
    assert package.placements.rotation_deg.tolist() == [0.0, 90.0]


@pytest.mark.parametrize(
    "title",
    [
        "Rotation CW",
        "Winkel im Uhrzeigersinn",
        "Rotation (bottom view)",
        "Rotation offset",
        "Rotation old",
        "Rotation ?",
    ],
)
def test_a_title_that_turns_the_sense_of_its_angles_is_asked_about(read, title):
    assert any(title in text for text in asked(read(title, rows("0", "90"))))


def test_a_plain_title_is_not_asked_about(read):
    for title in ("Rotation", "Angle [deg]", "Rotation CCW", "Winkel gegen den Uhrzeigersinn"):
        assert not any(title in text for text in asked(read(title, rows("0", "90"))))


def test_degrees_under_a_title_that_says_radians_are_asked_about(read):
    assert any("many turns" in text for text in asked(read("Rotation [rad]", rows("0", "90", "180"))))
