"""A file that names two units, in a line, a column or a title: one is wrong, and nobody knows which.

Figures: boards and sizes are invented.
"""

import pytest

from capcheck.intake import read_package
from capcheck.model import Topic

PLACED = ["Ref,X [mm],Y [mm],Rotation,Side", "R1,20,20,0,top", "R2,50,30,0,top"]
LISTED = ["Ref,Part number,Qty,Length [mm],Width [mm],Height [mm]", "R1,QX-1W,1,4,4,1.8", "R2,QX-2W,1,12,8,5"]


@pytest.fixture
def asked(tmp_path):
    def ask(placed, listed):
        (tmp_path / "p.csv").write_text("\n".join(placed) + "\n")
        (tmp_path / "b.csv").write_text("\n".join(listed) + "\n")
        package = read_package(None, placements=[tmp_path / "p.csv"], bom=tmp_path / "b.csv")
        return {decision.topic for decision in package.decisions if decision.open}

    return ask


def with_column(rows, title, *cells):
    return [f"{row},{cell}" for row, cell in zip(rows, (title, *cells), strict=True)]


def test_files_of_one_unit_ask_nothing(asked):
    assert not asked(PLACED, LISTED)


@pytest.mark.parametrize(
    "placed",
    [
        ["Units: mil", *PLACED],
        [*PLACED, "", "Units: inch"],
        ["# All coordinates in mil", *PLACED],
        with_column(PLACED, "Units", "mil", "mil"),
    ],
)
def test_coordinates_of_two_units_are_asked_about(asked, placed):
    assert Topic.UNIT in asked(placed, LISTED)


@pytest.mark.parametrize(
    "listed",
    [
        ["Units: mil", "", *LISTED],
        [*LISTED, "", "All dimensions in inches"],
        with_column(LISTED, "Unit", "mil", "mil"),
    ],
)
def test_sizes_of_two_units_are_asked_about(asked, listed):
    assert Topic.SIZE_UNIT in asked(PLACED, listed)


@pytest.mark.parametrize(
    "listed",
    [
        ["Units: mm", "", *LISTED],
        ["Board 120 x 90 mm, tracks 6 mil", "", *LISTED],
        with_column(LISTED, "Unit", "pcs", "m"),
        with_column(LISTED, "Unit", "ea", "mm"),
    ],
)
def test_what_names_the_same_unit_or_none_of_sizes_is_no_question(asked, listed):
    assert not asked(["Units: mm", *PLACED], listed)


@pytest.mark.parametrize(
    ("below", "topic"),
    [
        (",mil,mil,deg,", Topic.UNIT),
        (",inch,inch,,", Topic.UNIT),
        (",mm,mm,rad,", Topic.ROTATION),
    ],
)
def test_a_row_of_units_below_titles_with_other_ones_is_asked_about(asked, below, topic):
    head = PLACED[0].replace("Rotation", "Rotation [deg]")
    assert topic in asked([head, below, *PLACED[1:]], LISTED)


def test_a_row_of_units_that_repeats_those_of_the_titles_asks_nothing(asked):
    head = PLACED[0].replace("Rotation", "Rotation [deg]")
    assert not asked([head, ",mm,mm,deg,", *PLACED[1:]], [LISTED[0], ",,,mm,mm,mm", *LISTED[1:]])


def test_a_row_of_units_against_titles_of_sizes_is_asked_about(asked):
    assert Topic.SIZE_UNIT in asked(PLACED, [LISTED[0], ",,,mil,mil,mil", *LISTED[1:]])
