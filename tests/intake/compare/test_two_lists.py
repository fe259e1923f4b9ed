"""Two placement files of one folder: what they disagree on is unknown, and both are named.

Figures: invented, or the digits of the text.
"""

import math

import pytest

from capcheck import read_board
from capcheck.lexicon import sentence
from capcheck.model import Side

HEADER = "Ref,X [mm],Y [mm],Rotation,Side,Value,Footprint"
ROWS = [f"R{k},{10 * k},{20 + 7 * (k % 3)},{90 * (k % 2)},top,10k,RESC1608X55N" for k in range(1, 9)]


@pytest.fixture
def read(tmp_path):
    def write(second, first=ROWS):
        (tmp_path / "a.csv").write_text("\n".join([HEADER, *first]) + "\n")
        (tmp_path / "b.csv").write_text("\n".join([HEADER, *second]) + "\n")
        return read_board(tmp_path)

    return write


def told(board):
    """Return what two lists are said to state differently, with the references in front as a report has them."""
    found = [(d.refs, sentence(d.said)) for d in board.discrepancies]
    return [f"{', '.join(refs)}: {said}" for refs, said in found if "state another" in said]


@pytest.mark.parametrize(
    ("row", "what"),
    [
        ("R3,33,20,90,top,10k,RESC1608X55N", "position"),
        ("R3,30,20,0,top,10k,RESC1608X55N", "rotation"),
        ("R3,30,20,90,bottom,10k,RESC1608X55N", "side"),
        ("R3,30,20,90,top,47k,RESC1608X55N", "value"),
        ("R3,30,20,90,top,10k,INDM6060X1200N", "footprint"),
        ("R3,30,20,90,top,XQ-7,RESC1608X55N", "value"),
    ],
)
@pytest.mark.parametrize("first", [ROWS, ROWS[1:4]])
def test_what_two_lists_disagree_on_is_unknown(read, row, what, first):
    board = read([row if r.startswith("R3,") else r for r in first], first)
    (said,) = told(board)
    assert f"another {what}" in said
    assert "a.csv" in said
    assert "b.csv" in said
    assert "/" not in said  # no path of our own disk: others read it
    assert "R3" in said
    at = list(board.placements.ref).index("R3")
    placed, body = board.placements, board.bodies[board.placements.part_type[at]]
    assert math.isnan(placed.x_mm[at]) is (what == "position")
    assert math.isnan(placed.rotation_deg[at]) is (what == "rotation")
    assert bool(placed.side[at] == Side.UNKNOWN) is (what == "side")
    assert (body.height.high == math.inf) is (what == "footprint")


@pytest.mark.parametrize(
    "change",
    [
        lambda r: r,
        lambda r: r.replace(",10k,", ",10 kOhm,"),
        lambda r: ",".join([*r.split(",")[:3], str((int(r.split(",")[3]) + 90) % 360), *r.split(",")[4:]]),
        lambda r: ",".join([r.split(",")[0], str(float(r.split(",")[1]) + 5), *r.split(",")[2:]]),
    ],
)
def test_copies_in_other_conventions_agree(read, change):
    board = read([change(row) for row in ROWS])
    assert not told(board)
    assert math.isfinite(board.placements.x_mm.sum())


def test_a_disputed_place_leaves_its_rule_undecided_not_failed(read, tmp_path, run):
    read([r.replace("R3,30", "R3,33") for r in ROWS])
    _, out, _ = run("check", tmp_path, "--format", "json")
    import json

    report = json.loads(out)
    (found,) = [f for f in report["findings"] if f["rule"] == "part-located"]
    assert found["undecided"]
    assert report["verdict"] == "warn"


def test_a_reference_on_two_lines_of_the_bom_may_be_either_part(tmp_path):
    (tmp_path / "a.csv").write_text("\n".join([HEADER, *ROWS, "U1,50,50,0,top,OPA,"]) + "\n")
    bom = [
        "Ref,Part number,Qty,Package,Height [mm]",
        "U1,QX-1,1,SOIC127P600X175-8N,1.2",
        "U1,QX-2,1,SOIC127P1030X265-16N,12",
        '"R1,R2,R3,R4,R5,R6,R7,R8",QX-3,8,0603,0.5',
    ]
    (tmp_path / "bom.csv").write_text("\n".join(bom) + "\n")
    board = read_board(tmp_path)
    body = board.bodies[board.placements.part_type[list(board.placements.ref).index("U1")]]
    assert body.height.low <= 1.2
    assert body.height.high >= 12
    assert body.length.high > 10
    assert body.pins is None
    assert "bom.csv:3" in body.height.source
    same = [bom[0], bom[1], bom[1].replace("QX-1", "QX-9"), bom[3]]
    (tmp_path / "bom.csv").write_text("\n".join(same) + "\n")
    board = read_board(tmp_path)
    body = board.bodies[board.placements.part_type[list(board.placements.ref).index("U1")]]
    assert body.pins == 8
