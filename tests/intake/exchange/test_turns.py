"""A file of fabrication that turns a part, or names it, otherwise than the lists is asked about.

Figures: boards, places and angles are invented; a step of the netlist is 0.00254 mm.
"""

import math

import pytest

from capcheck.checking import read_board
from capcheck.model import Topic

STEP_MM = 0.00254
FOOTPRINTS = {"D": "DIOM5227X250N", "U": "SOT95P280X145-5N"}
PARTS = {f"R{i}": (9 * i, 5 * i, (i % 2) * 90, "top") for i in range(1, 7)}
PARTS |= {f"D{i}": (9 * i, 50 + i, 90 * i, "top") for i in range(1, 5)}
PARTS |= {f"C{i}": (9 * i, 70 + i, 90 * i % 360, "bottom") for i in range(1, 6)}
PARTS["U1"] = (70, 20, 90, "top")


def idf(angles, numbers=None):
    head = '.HEADER\nBOARD_FILE 3.0 "somebody" 2020/01/02.03:04:05 1\n"invented" MM\n.END_HEADER\n'
    placed = "".join(
        f'"A" "{(numbers or {}).get(ref, "PN-" + ref)}" {ref}\n'
        f"{x} {y} 0.0 {angles(ref, turn, side)} {side.upper()} PLACED\n"
        for ref, (x, y, turn, side) in PARTS.items()
    )
    return f"{head}.PLACEMENT\n{placed}.END_PLACEMENT\n"


def netlist(angles):
    rows = ""
    for ref, (x, y, turn, side) in PARTS.items():
        turned = math.radians(angles(ref, turn, side))
        for pin, way in (("1", -0.8), ("2", 0.8)):
            at = x + way * math.cos(turned), y + way * math.sin(turned)
            place = "".join(f"{axis}{round(v / STEP_MM):+07d}" for axis, v in zip("XY", at, strict=True))
            rows += f"327{'NET':<14}   {ref:<6}-{pin:<4} {'':<6}A{'01' if side == 'top' else '02'}{place}X0300Y0300\n"
    return f"P  JOB   INVENTED\nP  UNITS CUST 0\n{rows}999\n"


@pytest.fixture
def board(tmp_path):
    def read(**files):
        rows = ["Ref,Value,Footprint,X (mm),Y (mm),Rotation,Side"]
        rows += [
            f"{ref},V-{ref},{FOOTPRINTS.get(ref[0], 'RESC1608X55N')},{x},{y},{turn},{side}"
            for ref, (x, y, turn, side) in PARTS.items()
        ]
        (tmp_path / "placements.csv").write_text("\n".join(rows) + "\n")
        bom = ["Refs,Part number,Qty", *(f"{ref},PN-{ref},1" for ref in PARTS)]
        (tmp_path / "bom.csv").write_text("\n".join(bom) + "\n")
        for name, text in files.items():
            (tmp_path / name.replace("__", ".")).write_text(text)
        return read_board(tmp_path)

    return read


def told(board, key):
    return {ref for d in board.discrepancies if getattr(d.said, "key", "") == key for ref in d.refs}


def turned(board):
    assert all(
        d.topic is Topic.AGAINST_LANDS
        for d in board.discrepancies
        if getattr(d.said, "key", "") == "fabrication.turned otherwise"
    )
    return told(board, "fabrication.turned otherwise")


@pytest.mark.parametrize("offset", [0, 90, 270])
@pytest.mark.parametrize("sense", [1, -1])
def test_angles_that_count_otherwise_throughout_are_the_same(board, offset, sense):
    def angle(_ref, turn, side):
        return (offset + (turn if side == "top" else sense * turn)) % 360

    assert turned(board(a__emn=idf(angle))) == set()


@pytest.mark.parametrize(("ref", "off"), [("R3", 90), ("D2", 180), ("C4", 90), ("U1", 90), ("U1", 45)])
def test_one_part_that_is_turned_otherwise_is_asked_about(board, ref, off):
    assert turned(board(a__emn=idf(lambda part, turn, _side: turn + off * (part == ref)))) == {ref}


def test_a_chip_turned_by_half_lies_the_same(board):
    assert turned(board(a__emn=idf(lambda part, turn, _side: turn + 180 * (part == "R3")))) == set()


def test_where_each_part_counts_its_own_way_nothing_is_said(board):
    ways = {ref: 37 * number for number, ref in enumerate(PARTS)}
    assert turned(board(a__emn=idf(lambda part, turn, _side: turn + ways[part]))) == set()


@pytest.mark.parametrize(("ref", "off"), [("R3", 90), ("D2", 180), ("C4", 90)])
def test_lands_of_one_footprint_are_set_against_each_other(board, ref, off):
    assert turned(board(a__txt=netlist(lambda part, turn, _side: turn + off * (part == ref)))) == {ref}


def test_lands_of_a_part_alone_say_nothing_of_its_angle(board):
    assert turned(board(a__txt=netlist(lambda part, turn, _side: turn + 90 * (part == "U1")))) == set()


def test_another_part_number_is_asked_about(board):
    read = board(a__emn=idf(lambda _part, turn, _side: turn, {"D3": "PN-99"}))
    assert told(read, "fabrication.another number") == {"D3"}


def test_numbers_of_another_kind_are_not(board):
    read = board(a__emn=idf(lambda _part, turn, _side: turn, dict.fromkeys(PARTS, "LIB")))
    assert told(read, "fabrication.another number") == set()
