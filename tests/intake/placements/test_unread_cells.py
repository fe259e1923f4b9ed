"""One cell that cannot be read leaves one part open, not the board.

Figures: invented, or the digits of the text.
"""

import numpy as np
import pytest

from capcheck import read_board
from capcheck.model import Side, Topic
from capcheck.values import InputError

ROWS = [f"R{k},{10 * k},{20 + k},90,top,0603" for k in range(1, 13)]


@pytest.fixture
def read(tmp_path):
    def write(*rows):
        (tmp_path / "placements.csv").write_text("\n".join(["Ref,X (mm),Y (mm),Rot,Side,Package", *rows]) + "\n")
        return read_board(tmp_path)

    return write


@pytest.mark.parametrize("cell", ["N/A", "see drawing", "90x", "??"])
def test_one_cell_that_is_no_angle_is_asked_about(read, cell):
    board = read(*ROWS, f"U1,90,80,{cell},top,0603")
    assert np.isnan(board.placements.rotation_deg[-1])
    assert board.placements.rotation_deg[0] == 90
    asked = [d for d in board.decisions if d.topic is Topic.ROTATION and d.open]
    assert [d.choice.values["refs"] for d in asked] == [["U1"]]


@pytest.mark.parametrize("cell", ["both", "TBD!", "inner"])
def test_one_cell_that_is_no_side_is_asked_about(read, cell):
    board = read(*ROWS, f"U1,90,80,0,{cell},0603")
    assert board.placements.side[-1] == Side.UNKNOWN
    assert [d.refs for d in board.discrepancies if d.topic is Topic.SIDE_UNKNOWN] == [("U1",)]


def test_a_column_without_one_side_leaves_every_side_open(read):
    board = read("R1,10,20,0,here,0603", "R2,20,20,0,there,0603")
    assert board.placements.side.tolist() == [Side.UNKNOWN, Side.UNKNOWN]


@pytest.mark.parametrize("place", ["70,70,0,top", "70,70,0,bottom", "10,21,90,bottom"])
def test_one_reference_at_two_places_leaves_both_rows_open(read, place):
    board = read(*ROWS, f"R1,{place},0603")
    open_rows = [i for i, ref in enumerate(board.placements.ref) if ref == "R1"]
    assert board.placements.place_open[open_rows].all()
    assert not board.placements.place_open[1:12].any()
    assert [d.refs for d in board.discrepancies if d.topic is Topic.ONE_REFERENCE_TWICE] == [("R1",)]


def test_many_references_at_two_places_are_no_slip(read):
    with pytest.raises(InputError, match="different places"):
        read(*ROWS, *(f"R{k},{10 * k},{60 + 2 * k},90,top,0603" for k in (1, 3, 4, 9)))
