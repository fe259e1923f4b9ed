"""``capcheck part``: every reading of one part, what won and why."""

import json

import pytest


@pytest.fixture
def board(make_board):
    return make_board(
        [
            "R1,1,1,0,top,10k,R_0402_1005Metric",
            "C7,5,5,0,top,100n,C0603",
            "U2,9,9,0,top,QX1,SOIC127P600X175-8N",
            "FID1,2,2,0,top,,Fiducial",
        ],
        bom=["Ref,Value,Package", "R1,10k,0603", "C7,100n,", "U2,QX1,"],
    )


def test_text_names_every_candidate_the_winner_and_the_reason(run, board):
    code, out, err = run("part", "R1", board)
    assert (code, err) == (0, "")
    assert out.splitlines()[0].startswith("R1 (")
    assert 'footprint "R_0402_1005Metric" as size code 0402' in out
    assert '"0603"' in out
    first = next(line for line in out.splitlines() if line.startswith("  1. "))
    assert "R_0402_1005Metric" in first
    assert "decoded from a name" in first
    disputed = next(line for line in out.splitlines() if line.startswith("  length "))
    assert "R_0402_1005Metric" in disputed
    assert ', against BOM package "0603"' in disputed
    assert "conflict: body:" in out
    out = run("part", "U2", board)[1]
    taken = next(line for line in out.splitlines() if line.startswith("  length "))
    assert ": from 1 (" in taken
    assert "nominal width 3.9 mm" in taken  # what comes from one reading stands on one line


def test_what_nothing_tells_is_listed(run, make_board):
    board = make_board(["J1,1,1,0,top,,QX9", "L2,5,5,0,top,,L_4.0x4.0x1.8"])
    assert "not known: length, width, height, pitch, mounting" in run("part", "J1", board)[1]
    assert json.loads(run("part", "J1", board, "--format", "json")[1])["unknown"][0] == "length"
    coil = run("part", "L2", board)[1]
    assert "not known" not in coil
    assert "tape width" in coil


def test_json_gives_basis_source_and_candidate_of_each_number(run, board):
    code, out, _ = run("part", "U2", board, "--format", "json")
    data = json.loads(out)
    assert code == 0
    height = data["taken"]["height"]
    assert height["value"][1] == 1.75
    assert height["basis"] == "decoded from a name"
    assert data["candidates"][height["candidate"] - 1]["source"] == height["source"]
    assert data["taken"]["pins"]["value"] == 8


def test_json_and_text_tell_the_same_conflicts_and_questions(run, board):
    for ref in ("R1", "C7", "U2"):
        data = json.loads(run("part", ref, board, "--format", "json")[1])
        text = run("part", ref, board)[1].splitlines()
        assert [line for line in text if line.startswith("conflict: ")] == [f"conflict: {c}" for c in data["conflicts"]]
        assert [line for line in text if line.startswith("open: ")] == [f"open: {q}" for q in data["questions"]]


@pytest.mark.parametrize(("ref", "like"), [("R11", "R1"), ("u2", "U2")])
def test_an_unknown_reference_ends_with_2_and_the_nearest(run, board, ref, like):
    code, out, err = run("part", ref, board)
    assert (code, out) == (2, "")
    assert f'did you mean "{like}"?' in err


def test_a_mark_has_no_body(run, board):
    code, _, err = run("part", "FID1", board)
    assert code == 2
    assert "no part" in err
    assert "placements.csv:5" in err


def test_placements_alone_do(run, board):
    code, out, _ = run("part", "C7", "--placements", board / "placements.csv")
    assert code == 0
    assert "C0603" in out


def test_the_library_is_named_where_it_wins(run, board, tmp_path):
    path = tmp_path / "bodies.csv"
    path.write_text("footprint,length [mm],width [mm],height [mm]\nC0603,1.6,0.8,0.9\n")
    out = run("part", "C7", board, "--library", path)[1]
    assert "  1. shop library bodies.csv:2" in out
    taken = next(line for line in out.splitlines() if line.startswith("  length "))
    assert "height 0.9 mm" in taken
    assert taken.endswith("from 1 (the shop's library goes before names)")


def test_a_stated_mounting_is_told(run, make_board):
    board = make_board(["J1,1,1,0,top,,QX9"], toml='mounting = { "J*" = "surface" }')
    assert "board.toml: mounting surface" in run("part", "J1", board)[1]
    assert json.loads(run("part", "J1", board, "--format", "json")[1])["mounting_stated"] == "surface"


def test_it_writes_to_a_file(run, board, tmp_path):
    code, out, _ = run("part", "R1", board, "--output", tmp_path / "r1.txt")
    assert (code, out) == (0, "")
    assert (tmp_path / "r1.txt").read_text().startswith("R1 (")
