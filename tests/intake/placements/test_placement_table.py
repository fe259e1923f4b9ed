"""A placement table becomes columns; each form in which customers write it gives the same parts.

Figures: invented, or the digits of the text; an inch is 25.4 mm by definition.
"""

import numpy as np
import pytest

from capcheck.intake.placements.angles import looks_like_radians
from capcheck.intake.read import read_package
from capcheck.lexicon import sentence
from capcheck.model import Kind, Side


@pytest.fixture
def read(tmp_path):
    def write(text, name="placements.csv", **more):
        path = tmp_path / name
        path.write_text(text, encoding="utf-8")
        return read_package(None, placements=[path], **more)

    return write


def topics(package):
    return {d.topic: d for d in package.decisions}


def test_a_plain_table(read):
    p = read(
        "Ref,X (mm),Y (mm),Rotation,Side,Value,Footprint\nR1,1.5,2,90,top,10k,R-0603\nC1,-3,4.25,-90,bottom,1u,C-0603\n"
    ).placements
    assert list(p.ref) == ["R1", "C1"]
    assert p.x_mm.tolist() == [1.5, -3.0]
    assert p.y_mm.tolist() == [2.0, 4.25]
    assert p.rotation_deg.tolist() == [90.0, 270.0]
    assert p.side.tolist() == [Side.TOP, Side.BOTTOM]
    assert p.row.tolist() == [2, 3]


def test_angles_come_out_from_0_to_360(read):
    rows = "".join(
        f"R{i},{i * 2.5},1,{a},top\n" for i, a in enumerate(["0", "360", "-90", "450", "359.99999", "", "-0"], 1)
    )
    p = read("Ref,X mm,Y mm,Rotation,Side\n" + rows).placements
    assert p.rotation_deg[:5].tolist() == [0, 0, 270, 90, 0]
    assert np.isnan(p.rotation_deg[5])
    assert p.rotation_deg[6] == 0


def test_radians_are_recognised_and_said(read):
    package = read(
        "Ref,X mm,Y mm,Rotation,Side\nR1,1,2,1.5708,top\nR2,4,5,3.1416,top\nR3,7,9,0,top\nR4,12,5,4.712,top\n"
    )
    assert package.placements.rotation_deg.tolist() == pytest.approx([90, 180, 0, 270], abs=0.05)
    assert "radians" in sentence(topics(package)["rotation"].choice)


@pytest.mark.parametrize("angles", [[0, 90, 180], [0, 1, 2, 3], [0.5, 1.5, 2.5], [45, 1.571]])
def test_degrees_are_not_taken_for_radians(angles):
    assert not looks_like_radians(np.array(angles, dtype=float))


# An inch is 25.4 mm by definition (1959).
@pytest.mark.parametrize(
    ("header", "x", "y"),
    [
        ("X (mm),Y (mm)", "25.4", "12.7"),
        ("X (mil),Y (mil)", "1000", "500"),
        ("X (inch),Y (inch)", "1", "0.5"),
        ("X [um],Y [um]", "25400", "12700"),
        ("X,Y", "1000mil", "500mil"),
        ("X,Y", "25.4mm", "12.7mm"),
    ],
)
def test_the_unit_is_taken_from_header_or_cells(read, header, x, y):
    package = read(f"Ref,{header},Rotation,Side\nR1,{x},{y},0,top\nR2,{y},{x},0,top\n")
    p = package.placements
    assert (p.x_mm[0], p.y_mm[0]) == pytest.approx((25.4, 12.7))
    assert "unit" not in topics(package)


# Definitions: an inch is 25.4 mm, a mil a thousandth of it.
def test_cells_with_different_units_are_all_turned_to_mm(read):
    p = read("Ref,X,Y,Side\nR1,25.4mm,500mil,top\nR2,1000mil,2mm,top\n").placements
    assert p.x_mm.tolist() == pytest.approx([25.4, 25.4])
    assert p.y_mm.tolist() == pytest.approx([12.7, 2.0])


# An inch is 25.4 mm by definition.
def test_a_preamble_line_states_the_unit(read):
    p = read("# Unit of lengths: mil\nRef,X,Y,Rotation,Side\nR1,1000,500,0,top\nR2,1100,500,0,top\n").placements
    assert p.x_mm.tolist() == pytest.approx([25.4, 27.94])


def test_a_column_of_sides_of_which_no_cell_is_read_is_one_open_question(read):
    package = read("Ref,X (mm),Y (mm),Rotation,Side\nR1,1,2,0,here\nR2,9,2,0,there\nR3,3,2,90,left\n")
    side = topics(package)["side"]
    assert side.open
    assert (side.place.row, side.place.column) == (2, "Side")


def test_a_cell_that_is_no_coordinate_leaves_the_place_of_its_part_unknown(read):
    package = read("Ref,X (mm),Y (mm),Rotation,Side\nR1,1,2,0,top\nR2,abc,2,0,top\nR3,3,2,0,top\n")
    assert [d.refs for d in package.discrepancies if d.title == "no position"] == [("R2",)]


def test_a_side_comes_from_the_file_name_as_a_decision(read):
    package = read("Ref,X (mm),Y (mm),Rotation\nR1,1,2,0\nR2,4,2,0\n", "board-bottom.csv")
    assert set(package.placements.side) == {Side.BOTTOM}
    assert "file name" in sentence(topics(package)["side"].evidence)
    assert not topics(package)["side"].open


def test_an_unknown_side_is_an_open_question_and_not_a_guess(read):
    package = read("Ref,X (mm),Y (mm),Rotation\nR1,1,2,0\nR2,4,2,0\n")
    assert set(package.placements.side) == {Side.UNKNOWN}
    assert not package.sides_settled
    assert package.discrepancies[0].title == "side open"


def test_rows_of_every_kind_stay_in_the_table(read):
    package = read(
        "Ref,X (mm),Y (mm),Rotation,Side,Footprint\nR1,1,2,0,top,R-0603\n"
        "FID1,5,5,0,top,MARK-1MM\nH1,9,9,0,top,mounting hole\n"
    )
    assert package.placements.kind.tolist() == [Kind.PART, Kind.FIDUCIAL, Kind.MECHANICAL]
    assert package.placements.part_type.tolist() == [0, -1, -1]
    assert any("FID1" in sentence(n.said) for n in package.notes)


def test_a_row_without_coordinates_is_kept_and_asked_about(read):
    package = read("Ref,X (mm),Y (mm),Rotation,Side\nR1,1,2,0,top\nR2,,,0,top\nR3,4,5,0,top\n")
    assert np.isnan(package.placements.x_mm[1])
    assert [d.refs for d in package.discrepancies if d.title == "no position"] == [("R2",)]


def test_a_decimal_comma(read):
    p = read("Ref;X (mm);Y (mm);Rotation;Side\nR1;1,5;2,25;90;top\nR2;4,75;2,5;0;top\n").placements
    assert p.x_mm.tolist() == [1.5, 4.75]


def test_a_value_that_says_so_is_not_fitted(read):
    p = read("Ref,X (mm),Y (mm),Rotation,Side,Value\nR1,1,2,0,top,10k DNP\nR2,4,2,0,top,10k\n").placements
    assert p.fitted.tolist() == [False, True]


def test_a_height_column_carries_its_place(read):
    package = read("Ref,X (mm),Y (mm),Rotation,Side,Height (mm)\nR1,1,2,0,top,0.6\nC1,4,2,0,top,\n")
    interval, place = package.types[0].dimensions["height"]
    assert (interval.low, interval.high) == (0.6, 0.6)
    assert place.endswith("placements.csv:2 height")
    assert "height" not in package.types[1].dimensions


def test_a_reference_behind_other_text_and_a_gap_is_taken_out_with_a_note(read):
    package = read("Ref,X mm,Y mm,Rotation,Side\nR1,1,2,0,top\n24        J24,5,2,0,top\nU 2,9,2,0,top\n")
    assert list(package.placements.ref) == ["R1", "J24", "U 2"]
    (note,) = [n for n in package.notes if "other text" in sentence(n.said)]
    assert sentence(note.said) == 'one reference follows other text: "24 J24" is read as J24'
    assert note.place.row == 3


def test_a_cell_that_says_fitted_wins_over_a_word_of_its_row(tmp_path):
    (tmp_path / "p.csv").write_text(
        "Ref,Value,X (mm),Y (mm),Rotation,Side,Fitted\n"
        "R1,10k DNF,1,1,0,top,yes\nR2,10k DNF,2,1,0,top,\nR3,10k,3,1,0,top,no\nR4,10k,4,1,0,top,\n"
    )
    package = read_package(None, placements=[tmp_path / "p.csv"])
    assert package.placements.fitted.tolist() == [True, False, False, True]
    said = [
        (sentence(n.said).split(":")[0], n.place.row) for n in package.notes if " word of the row" in sentence(n.said)
    ]
    assert said == [("R2", 3), ("R1", 2)]
