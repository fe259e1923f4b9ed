"""What the cells of a coordinate may say: a length, with its unit or without.

Figures: invented, or the digits of the text.
"""

import math

import pytest

from capcheck import read_board
from capcheck.model import Topic


@pytest.mark.rows("cell", ["5 kg", "70°", "3 V", "12 s"])
def test_a_coordinate_in_a_unit_that_is_no_length_places_nothing(make_board, cell):
    rows = ["R1,10,10,0,top,10k,0603", f"R2,{cell},10,0,top,10k,0603", "R3,30,10,0,top,10k,0603"]
    board = read_board(make_board(rows))
    assert [math.isnan(x) for x in board.placements.x_mm] == [False, True, False]
    assert [d.refs for d in board.discrepancies if d.topic is Topic.NO_POSITION] == [("R2",)]
