"""Rows whose columns may have shifted: what they state places nothing and sizes nothing.

Figures: invented, or the digits of the text.
"""

import math

import pytest

from capcheck import read_board
from capcheck.values.errors import InputError

PLACED = "Ref,X [mm],Y [mm],Rotation,Side,Value,Footprint,Height [mm]"
ROWS = [f"R{k},{10 * k},{20 + k % 3},90,top,10k,RESC1608X55N,0.55" for k in range(1, 9)]
BOM = "Ref,Part number,Package,Qty,Length [mm],Width [mm],Height [mm],Note"
LINES = [f"R{k},PN-{k},0603,1,1.6,0.8,0.5,a" for k in range(1, 9)]


@pytest.fixture
def read(tmp_path):
    def write(rows, lines=()):
        (tmp_path / "placements.csv").write_text("\n".join([PLACED, *rows]) + "\n")
        if lines:
            (tmp_path / "bom.csv").write_text("\n".join([BOM, *lines]) + "\n")
        return read_board(tmp_path)

    return write


def of(board, ref):
    row = list(board.placements.ref).index(ref)
    return row, board.bodies[board.placements.part_type[row]]


@pytest.mark.parametrize(
    "line",
    [
        "U1,PN-9,SOIC-8,1,4.9,12,1.2",  # the width is missing, and the height stands in its column
        "U1,PN-9,SOIC-8,4.9,3.9,12,1.2",
        "U1,PN-9,1,4.9,3.9,12,a",
        "U1,PN-9, SOIC, 8,1,4.9,3.9,12,1.2,a",
        "U1,PN-9,SOIC-8,1,4,9,3,9,1,2,a",
        "U1,PN-9,SOIC-8,1,4.9,3.9,1,2,a",
        "U1,PN-9,SOIC-8,1,25,15.1,1,10.1,a",
        "U1,PN-9,1,SOIC-8,1,4.9,3.9,12,a",
        "U1,PN-9,SOIC-8,1,4.9,1,3.9,12,a",
        "U1,PN-9,SOIC-8,1,4.9,3.9,1,12,a",
        "U1,PN-9,SOIC-8,1,4.9,3.9,1.2,a,more",
    ],
)
def test_a_shifted_line_of_the_bom_proves_no_size(read, line):
    board = read([*ROWS, "U1,50,40,0,top,OPA,SOIC127P600X175-8N,"], [*LINES, line])
    _, body = of(board, "U1")
    assert (body.height.low, body.height.high, body.length.high) == (0.0, math.inf, math.inf)
    assert body.mounting is None
    assert any("may have shifted" in str(q) or q.key == "packages.row in doubt" for q in body.questions)
    assert of(board, "R1")[1].height.high < 1


@pytest.mark.parametrize(
    "row",
    [
        "U1,50,90,top,OPA,SOIC127P600X175-8N,1.2",
        "U1,50,40,0,OPA,SOIC127P600X175-8N,1.2",
        "U1,50,40,0,top,SOIC127P600X175-8N,1.2",
        "U1,50,40,0,top,OPA",
        "U1,50,40,0,top,OPA, rev 2,SOIC127P600X175-8N,1,2",
    ],
)
def test_a_shifted_placement_has_no_place_and_no_body(read, row):
    try:
        board = read([*ROWS, row])
    except InputError:
        return  # a cell that is no coordinate is refused
    at, body = of(board, "U1")
    assert math.isnan(board.placements.x_mm[at])
    assert body.height.high == math.inf
    assert board.placements.fitted[at]


def test_cells_left_out_at_the_end_of_a_line_are_no_shift(read):
    lines = [line.removesuffix(",a") for line in LINES[:4]] + LINES[4:]
    board = read(ROWS, lines)
    assert of(board, "R1")[1].height.high < 1
    nearly_all_short = read(ROWS, [line.removesuffix(",a") for line in LINES[1:]] + [LINES[0][:-1] + "1295310"])
    assert of(nearly_all_short, "R2")[1].height.high < 1
    everything_short = read(ROWS, [line.removesuffix(",a") for line in LINES])
    assert of(everything_short, "R1")[1].height.high < 1


def test_a_cell_that_one_place_alone_explains_is_put_together(read):
    board = read([*ROWS, "U1,50,40,0,top,10u, 16V,RESC1608X55N,0.55"])
    at, _ = of(board, "U1")
    assert board.placements.x_mm[at] == 50


WORDED = "Ref,Part number,Qty,Length [mm],Width [mm],Height [mm],Mass [g],Mounting,Fitted"


@pytest.mark.parametrize(
    ("line", "stands"),
    [
        ("U1,PN-9,1,4.9,3.9,1,2,0.05,SMD", False),  # 1,2 fell apart, and the last cell lacks
        ("U1,PN-9,1,4.9,3.9,1.2,0,05,SMD", False),
        ("U1,PN-9,1,4.9,3.9,1.2,0.05,SMD,1", True),
        ("U1,PN-9,1,4.9,3.9,1.2,0.05,SMD,", True),
        ("U1,SMD,1,4.9,3.9,1.2,0.05,SMD,yes", True),
    ],
)
def test_a_line_of_the_right_width_whose_cells_stand_aside_proves_no_size(tmp_path, line, stands):
    rows = [f"R{k},{10 * k},20,90,top,10k,XQ," for k in range(1, 9)]
    (tmp_path / "placements.csv").write_text("\n".join([PLACED, *rows, "U1,50,40,0,top,OPA,XQ-9,"]) + "\n")
    lines = [f"R{k},PN-{k},1,1.6,0.8,0.5,0.01,SMD,yes" for k in range(1, 9)]
    (tmp_path / "bom.csv").write_text("\n".join([WORDED, *lines, line]) + "\n")
    board = read_board(tmp_path)
    assert (of(board, "U1")[1].height.high < 2) is stands
    assert of(board, "R1")[1].height.high < 1
    assert any(note.said.key == "tables.cells aside" for note in board.notes) is not stands


def test_a_placement_whose_cells_stand_aside_is_nowhere(read):
    board = read([*ROWS, "U1,49,25,15.5,0,top,OPA,1.2"])
    row, _ = of(board, "U1")
    assert math.isnan(board.placements.x_mm[row])


def test_a_height_below_a_title_of_usual_sizes_has_room(tmp_path):
    (tmp_path / "placements.csv").write_text(f"{PLACED}\nU1,50,40,0,top,OPA,XQ-9," + "\n")
    (tmp_path / "bom.csv").write_text("Ref,Part number,Qty,Height typ [mm]\nU1,PN-9,1,9\n")
    assert of(read_board(tmp_path), "U1")[1].height.high > 9
