"""Alternates of a cell are data: lists show them, and board.toml says which of them is fitted.

Figures: boards are invented; the part numbers follow a scheme of resistors that names/part_numbers holds with its
source, SOIC-8 stands for any body.
"""

import csv
import io
import json

import pytest

from capcheck.checking import check, read_board
from capcheck.model import Topic
from capcheck.packages import alternates
from capcheck.report.questions import questions

# Invented.
ROWS = ["R1,10,10,0,top,10k,", "R2,30,10,0,top,10k,", "U1,50,10,0,top,,SOIC-8"]
BOM = ["Ref,Part number,Value", '"R1,R2",RC0603FR-0710KL / RC0805FR-0710KL,10k', "U1,QX1234A,"]


@pytest.mark.rows(
    ("cell", "found"),
    [
        ("QX1234A / QX1235B", ("QX1234A", "QX1235B")),
        ("QX1234A; QX1235B", ("QX1234A", "QX1235B")),
        ("QX1234A OR QX1235B", ("QX1234A", "QX1235B")),
        ("QX1234A or QX1235B", ("QX1234A", "QX1235B")),
        ("QX1234A oder QX1235B", ("QX1234A", "QX1235B")),
        ("QX1234A (alt. QX1235B)", ("QX1234A", "QX1235B")),
        ("QX1234A または QX1235B", ("QX1234A", "QX1235B")),
        ("QX1234A or similar", ()),
        ("QX1234A,QX1235B,QX1234A", ("QX1234A", "QX1235B")),
        ("QX1234A", ()),
        ("QX1234A/NOPB", ()),
        ("QX1234A,215", ()),
        ("RC0603FR-07 10KL", ()),
        ("capacitor, 100 nF", ()),
        ("", ()),
    ],
)
def test_numbers_of_a_cell_are_told_apart_where_each_is_one(cell, found):
    assert alternates(cell) == found


def test_the_order_list_names_the_alternates_of_a_cell(make_board, run):
    out = run("lists", "order", make_board(ROWS, bom=BOM), "--format", "json")[1]
    (row,) = (row for row in json.loads(out)["rows"] if "R1" in row["references"])
    assert row["any_of"] == ["RC0603FR-0710KL", "RC0805FR-0710KL"]
    plain = run("lists", "order", make_board(ROWS, bom=[BOM[0], "U1,QX1234A,"]), "--format", "json")[1]
    assert all("any_of" not in row for row in json.loads(plain)["rows"])


def test_the_number_that_board_toml_states_is_the_parts_own(make_board):
    board = read_board(make_board(ROWS, bom=BOM, toml='[part_numbers]\nR1 = "RC0805FR-0710KL"\n'))
    numbers = {ref: board.types[index].part_number for ref, index in
               zip(board.placements.ref, board.placements.part_type.tolist(), strict=True)}  # fmt: skip
    assert numbers == {"R1": "RC0805FR-0710KL", "R2": "RC0603FR-0710KL / RC0805FR-0710KL", "U1": "QX1234A"}


@pytest.mark.parametrize(
    ("stated", "open_for"), [("", ("R1", "R2")), ('R1 = "XQ9903-99"', ("R2",)), ('"R*" = "XQ9903-99"', ())]
)
def test_a_number_in_question_is_open_for_parts_whose_number_board_toml_does_not_state(make_board, stated, open_for):
    bom = [BOM[0], '"R1,R2",XQ9902-99 or XQ9903-99,10k', "U1,QX1234A,"]
    board = read_board(make_board(ROWS, bom=bom, toml=f"[part_numbers]\n{stated}\n"))
    asked = [told.refs for told in board.discrepancies if told.topic is Topic.DAMAGED_PART_NUMBER]
    assert asked == ([open_for] if open_for else [])


def test_an_answer_to_which_number_settles_it(make_board, shop, run, tmp_path, monkeypatch):
    board = make_board(ROWS, bom=BOM)
    monkeypatch.chdir(tmp_path)
    line = shop / "lines" / "full.line.toml"
    (tmp_path / "capcheck.toml").write_text(f'line = "{line}"\nlibraries = ["packages.csv"]\n')
    (tmp_path / "packages.csv").write_text("part number,height [mm]\n")
    rows = list(csv.DictReader(io.StringIO(run("check", board, "--format", "questions-csv")[1])))
    row = next(row for row in rows if row["key"].startswith("which-number:"))
    row["your answer"] = "only: RC0805FR-0710KL"
    with (tmp_path / "back.csv").open("w", newline="") as file:
        writer = csv.DictWriter(file, rows[0].keys())
        writer.writeheader()
        writer.writerows(rows)
    assert run("answers", "back.csv", "--board", board, "--write", "--by", "Ada Example")[0] == 0
    assert read_board(board).manifest.part_numbers == dict.fromkeys(("R1", "R2"), "RC0805FR-0710KL")
    asked = {q.key for q in questions(check(board, line=line))}
    assert "which-number" not in asked


def test_a_pattern_of_board_toml_that_names_no_part_is_told(make_board):
    board = read_board(make_board(ROWS, bom=BOM, toml='[part_numbers]\n"X*" = "RC0805FR-0710KL"\n'))
    assert any("part_numbers" in str(note.said) for note in board.notes)
