"""A library written of a board's unsettled parts, filled in and used: the parts are decided, by each kind of key.

Figures: invented.
"""

import csv
import io
import json
from itertools import count

import pytest

# Part numbers follow their makers' published schemes (sources: packages/data/part_numbers); devices are invented.

FILLED = {
    "length [mm]": "4.1",
    "width [mm]": "3.1",
    "height [mm]": "1.1",
    "pitch [mm]": "0.5",
    "pins": "8",
    "mounting": "surface",
    "lead style": "no lead",
}
HEIGHT = (1.1, 1.1)
OPEN = (0, None)


@pytest.fixture
def template(run, tmp_path):
    """Return a function that writes a board's template and gives its rows."""
    number = count()

    def write(board, *arguments):
        folder = tmp_path / f"template{next(number)}"
        code, _, err = run("init", folder, "--board", board, *arguments)
        assert (code, err) == (0, "")
        return list(csv.DictReader(io.StringIO((folder / "packages.csv").read_text())))

    return write


@pytest.fixture
def filled(tmp_path):
    """Return a function that fills in the rows of a template and gives the library's file."""

    def fill(rows, **keys):
        path = tmp_path / "filled.csv"
        with path.open("w", newline="") as file:
            writer = csv.DictWriter(file, rows[0].keys())
            writer.writeheader()
            writer.writerows({**row, **FILLED, **keys} for row in rows)
        return path

    return fill


def heights(run, board, *arguments):
    parts = json.loads(run("read", board, "--format", "json", *arguments)[1])["parts"]
    return {part["ref"]: tuple(part["body_mm"]["height"]) for part in parts}


def test_each_kind_of_key_is_written_and_found_again(run, make_board, template, filled):
    board = make_board(
        ["U1,1,1,0,top,sensor,OWN-1", "J1,9,9,0,top,plug,OWN-2", "C1,20,1,0,top,100n,", "C2,30,1,0,top,100n,"],
        bom=["Ref,Part number", "U1,QX-100 A"],
    )
    rows = template(board)
    keys = ("part number", "footprint", "value", "reference")
    assert [tuple(row[key] for key in keys) for row in rows] == [
        ("QX-100 A", "", "sensor", ""),
        ("", "OWN-2", "plug", ""),
        ("", "", "100n", "C1 C2"),
    ]
    assert heights(run, board, "--library", filled(rows)) == dict.fromkeys(("U1", "J1", "C1", "C2"), HEIGHT)


@pytest.mark.parametrize("number", ["qx-100-a", "QX100A", "QX 100 A", "Qx\u2010100\u00a0a", "QX–100-A"])
def test_a_number_is_the_same_with_other_case_spaces_and_hyphens(run, make_board, template, filled, number):
    board = make_board(["U1,1,1,0,top,,"], bom=["Ref,Part number", "U1,QX-100 A"])
    path = filled(template(board), **{"part number": number})
    assert heights(run, board, "--library", path) == {"U1": HEIGHT}


def test_ambiguous_and_disputed_parts_are_listed_with_what_is_open(run, make_board, template, filled):
    board = make_board(
        ["R2,9,1,0,top,10k,R0402", "U1,20,9,0,top,QX,QFN-44"],
        bom=["Ref,Part number,Package", "R2,RC1206FR-0710KL,1206"],
    )
    rows = template(board)
    assert {row["part number"] or row["footprint"]: row["what is missing"] for row in rows} == {
        "RC1206FR-0710KL": "length, width",
        "QFN-44": "which of two sizes is meant",
    }
    library = filled(rows)
    assert heights(run, board, "--library", library) == dict.fromkeys(("R2", "U1"), HEIGHT)
    again = run("part", "R2", board, "--library", library, "--format", "json")[1]
    assert json.loads(again)["taken"]["length"]["value"] == [4.1, 4.1]


def test_a_size_code_of_two_systems_is_listed(run, make_board, template, filled):
    board = make_board(["C1,1,1,0,top,100n,C0603"])
    (row,) = template(board)
    assert (row["footprint"], row["value"], row["what is missing"]) == ("C0603", "100n", "which of two sizes is meant")
    assert heights(run, board, "--library", filled([row])) == {"C1": HEIGHT}


def test_a_row_of_one_board_says_nothing_of_the_same_reference_on_another(run, make_board, template, filled):
    rows = template(make_board(["C1,1,1,0,top,100n,"]))
    library = filled(rows)
    other = make_board(["C1,1,1,0,top,100n,"], toml='name = "another"\n')
    assert heights(run, other, "--library", library) == {"C1": OPEN}
    assert heights(run, other, "--library", filled(rows, board="")) == {"C1": HEIGHT}


def test_a_value_counts_where_no_number_does(run, make_board, template, filled):
    board = make_board(["J1,1,1,0,top,plug A,OWN-2", "J2,30,1,0,top,plug B,OWN-2"])
    rows = template(board)
    assert len(rows) == 2
    assert heights(run, board, "--library", filled(rows[:1])) == {"J1": HEIGHT, "J2": OPEN}
    assert heights(run, board, "--library", filled(rows[:1], value="")) == dict.fromkeys(("J1", "J2"), HEIGHT)


def test_one_row_may_be_split_by_reference(run, make_board, template, filled):
    board = make_board(["C1,1,1,0,top,100n,", "C2,30,1,0,top,100n,"])
    library = filled(template(board), reference="C2")
    assert heights(run, board, "--library", library) == {"C1": OPEN, "C2": HEIGHT}


def test_both_parts_that_a_reference_may_be_are_listed(run, make_board, template, filled):
    board = make_board(["U1,1,1,0,top,,OWN"], bom=["Ref,Part number", "U1,QX-1", "U1,QX-2"])
    rows = template(board)
    assert [row["part number"] for row in rows] == ["QX-1", "QX-2"]
    assert heights(run, board, "--library", filled(rows)) == {"U1": HEIGHT}


def test_references_that_look_like_lists_or_ranges_are_found_again(run, make_board, template, filled):
    refs = ("C1", "C2", "47uF 35V", "J1-2", "C7-C9")
    board = make_board([f'"{ref}",{9 * n},1,0,top,47u,' for n, ref in enumerate(refs)])
    found = heights(run, board, "--library", filled(template(board)))
    assert found == dict.fromkeys(refs, HEIGHT)


def test_what_the_shop_has_settled_and_knows_is_not_asked_for(make_board, template, filled, tmp_path, monkeypatch):
    board = make_board(["C1,1,1,0,top,100n,C0603", "U1,20,1,0,top,QX-1,OWN-1"])
    rows = template(board)
    assert [row["footprint"] for row in rows] == ["C0603", "OWN-1"]
    shop = tmp_path / "shop"
    shop.mkdir()
    (shop / "own.csv").write_bytes(filled(rows[1:]).read_bytes())
    (shop / "capcheck.toml").write_text('libraries = ["own.csv"]\n')
    assert [row["footprint"] for row in template(board, "--config", shop / "capcheck.toml")] == ["C0603"]
    monkeypatch.chdir(shop)
    assert [row["footprint"] for row in template(board)] == ["C0603"]
    assert len(template(board, "--no-config")) == 2


def test_a_part_of_the_library_that_is_named_is_not_asked_for_again(make_board, template, filled):
    board = make_board(
        ["U1,1,1,0,top,sensor,OWN-1", "U2,9,9,0,top,sensor,OWN-2"], bom=["Ref,Part number", "U1,QX-99", "U2,QX-98"]
    )
    rows = template(board)
    assert [row["part number"] for row in rows] == ["QX-99", "QX-98"]
    known = filled(rows[:1])
    assert [row["part number"] for row in template(board, "--library", known)] == ["QX-98"]


@pytest.mark.parametrize("arguments", [(), ("--demo",)])
def test_a_library_without_a_board_is_refused(run, tmp_path, arguments):
    code, _, err = run("init", tmp_path / "new", "--library", tmp_path / "any.csv", *arguments)
    assert code == 2
    assert "--board" in err
    assert not (tmp_path / "new").exists()


def test_the_library_goes_before_a_column_where_the_board_prefers_it(run, make_board, template, filled):
    board = make_board(["U1,1,1,0,top,sensor,OWN-1"], bom=["Ref,Part number", "U1,QX-99"])
    library = filled(template(board))
    (board / "bom.csv").write_text("Ref,Part number,Height [mm]\nU1,QX-99,2.5\n")
    assert heights(run, board, "--library", library) == {"U1": (1.1, 2.5)}  # either may be right
    (board / "board.toml").write_text('name = "Lamp"\nprefer = "library"\n')
    assert heights(run, board, "--library", library) == {"U1": HEIGHT}
