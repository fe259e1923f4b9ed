"""A list that comes back: what each answer changes, what is doubted, what is refused, and what is asked next.

Figures: boards and sizes are invented.
"""

import csv
import datetime as dt
import io
import json
import zipfile
from pathlib import Path
from xml.sax.saxutils import escape

import pytest
from openpyxl import load_workbook

from capcheck.answers import Edit, Settled, State, doubts_of, read_figure
from capcheck.answers.agreement import of_one_mind
from capcheck.commands import answers
from capcheck.model import PartName, Severity
from capcheck.packages import bodies_of, load_library
from capcheck.report import Question
from capcheck.shop import read_answers, read_configuration
from capcheck.values import Interval, Place

pytestmark = pytest.mark.usefixtures("desk")

BALLS = "body-size:17cfd"
PLACED = {"C1": "1u", "C2": "2u", "C3": "3u", "C4": "4u", "C5": "5u"}
CONNECTOR = "body-size:ad9dc"
BY = ("--by", "Ada Example", "--on", "2030-01-02")


def states(out):
    return {one["key"]: one["state"] for one in json.loads(out)["answers"]}


def shown(run, path, *arguments, board="board"):
    code, out, err = run("answers", path, "--board", board, "--format", "json", *arguments)
    assert err == ""
    return code, json.loads(out)


def one_of(data, key):
    return next(one for one in data["answers"] if one["key"] == key)


def test_nothing_is_written_unless_it_is_asked_for(desk, run, fill):
    path = fill({BALLS: {"ball diameter [mm]": "0.6"}, "size-code": {"your choice": "metric"}})
    before = {file: file.read_bytes() for file in desk.rglob("*") if file.is_file()}
    code, out, _ = run("answers", path, "--board", "board")
    assert code == 0
    assert "packages.csv: W-36002: ball diameter 0.6" in out
    assert 'size_codes = "metric"' in out
    assert "nothing was written" in out
    assert {file: file.read_bytes() for file in desk.rglob("*") if file.is_file()} == before


def test_each_answer_goes_where_it_belongs_with_who_and_when(desk, run, fill):
    cells = {
        BALLS: {"ball diameter [mm]": "0,6 mm", "data sheet (link or number)": "DS-1"},
        "size-code": {"your choice": "metric"},
        "not-in-bom": {"your choice": "leave it off"},
        "half-turn": {"your choice": "no"},
    }
    assert run("answers", fill(cells), "--board", "board", "--write", *BY)[0] == 0
    (entry,) = load_library(desk / "packages.csv").entries
    assert (entry.part_number, entry.candidate.ball_diameter.low, entry.candidate.ball_diameter.high) == (
        "W-36002",
        0.6,
        0.6,
    )
    assert "answered by Ada Example, 2030-01-02, data sheet DS-1" in (desk / "packages.csv").read_text()
    text = (desk / "board" / "board.toml").read_text()
    assert 'not_fitted = ["R120"]' in text
    kept = {one.key: one for one in read_answers(desk / "answers.csv")}
    assert kept["half-turn"].closes
    assert (kept["half-turn"].by, kept["half-turn"].on, kept["half-turn"].answer) == ("Ada Example", "2030-01-02", "no")


def test_comments_and_layout_of_the_files_stay(desk, run, fill):
    board, configuration = desk / "board" / "board.toml", desk / "capcheck.toml"
    before = {file: file.read_text().splitlines() for file in (board, configuration)}
    run("answers", fill({"size-code": {"your choice": "metric"}}), "--board", "board", "--write", *BY)
    for file, lines in before.items():
        after = file.read_text().splitlines()
        assert [line for line in after if line in lines] == lines
        assert len(after) == len(lines) + 1


def test_the_next_list_holds_only_what_is_open(run, fill, listed):
    before = {row["key"] for row in listed()}
    answered = {
        BALLS: {"ball diameter [mm]": "0.6"},
        "not-in-bom": {"your choice": "leave it off"},
        "rails-from-us": {"your answer": "yes"},
        "pin-one": {"your choice": "we will send an assembly drawing"},
    }
    run("answers", fill(answered), "--board", "board", "--write", *BY)
    after = {row["key"] for row in listed()}
    assert before - after == {BALLS, "not-in-bom", "not-in-bom:29b69", "rails-from-us"}
    assert after <= before


def test_what_the_customer_promises_to_send_stays_open(run, fill, listed):
    run("answers", fill({CONNECTOR: {"your choice": "we will send data sheets"}}), "--board", "board", "--write", *BY)
    assert CONNECTOR in {row["key"] for row in listed()}


def test_an_answered_part_that_changes_is_asked_again(run, fill, listed):
    filled = fill({"not-in-bom:29b69": {"your choice": "fit; we will send the part numbers"}})
    run("answers", filled, "--board", "board",
        "--write", *BY)  # fmt: skip
    assert "not-in-bom:29b69" in {row["key"] for row in listed()}, "it waits for the part numbers"
    run("answers", fill({"half-turn": {"your choice": "no"}}), "--board", "board", "--write", *BY)
    assert "half-turn" not in {row["key"] for row in listed()}


def test_reading_a_list_twice_writes_nothing_new(desk, run, fill):
    path = fill({BALLS: {"ball diameter [mm]": "0.6"}, "half-turn": {"your choice": "no"}})
    run("answers", path, "--board", "board", "--write", *BY)
    before = {file: file.read_bytes() for file in desk.rglob("*") if file.is_file()}
    code, data = shown(run, path, "--write", *BY)
    assert code == 0
    assert {one["state"] for one in data["answers"]} == {"before"}
    assert {file: file.read_bytes() for file in desk.rglob("*") if file.is_file()} == before


def test_an_answer_to_a_question_that_changed_meanwhile_is_refused(desk, run, fill):
    path = fill({CONNECTOR: {"leads": "rows of leads"}, "not-in-bom": {"your choice": "leave it off"}})
    placements = desk / "board" / "placements.csv"
    text = placements.read_text()
    line = next(line for line in text.splitlines() if line.startswith("R120,"))
    placements.write_text(text.replace(line, f"{line}\n{line.replace('R120', 'R920').replace('97.200', '99.700')}"))
    code, data = shown(run, path)
    assert code == 1
    assert {one["key"]: one["state"] for one in data["answers"]} == {CONNECTOR: "written", "not-in-bom": "changed"}


def test_an_answer_to_another_board_is_refused(run, fill, make_board):
    path = fill({"half-turn": {"your choice": "no"}, BALLS: {"ball diameter [mm]": "0.6"}})
    other = make_board(["R1,10,10,0,top,10k,0805"])
    code, data = shown(run, path, board=other)
    assert code == 1
    assert {one["state"] for one in data["answers"]} <= {"unknown", "changed"}
    assert data["files"] == []


@pytest.mark.parametrize(
    ("footprint", "column", "text", "why"),
    [
        ("OWN-1", "height [mm]", "350", "is the unit right"),
        ("OWN-1", "length [mm]", "12 in", "is the unit right"),
        ("OWN-1", "height [mm]", "1,200", "part thousands"),
        ("OWN-1", "height [mm]", "2026-02-01", "reads as a date"),
        ("OWN-1", "height [mm]", "1.2 g", "is a mass, not a length"),
        ("OWN-1", "height [mm]", "4 x 3", "is not a length"),
        ("OWN-1", "pins", "7.5", "whole number"),
        ("OWN-1", "pins", "90000", "no part has so many"),
    ],
)
def test_a_figure_that_cannot_be_is_questioned_and_not_written(
    desk, run, fill, make_board, listed, footprint, column, text, why
):
    board = make_board([f"C1,10,10,0,top,W-1,{footprint}", "U2,40,40,0,top,W-2,OWN-2", "R1,20,20,0,top,10k,0805"])
    rows = listed(board)
    asked = next(row for row in rows if row["key"].startswith(("body-size:", "size-code:")) and "W-1" in row["part"])
    assert column in asked
    path = fill({asked["key"]: {column: text}}, rows=rows)
    code, data = shown(run, path, board=board)
    assert code == 1
    one = one_of(data, asked["key"])
    assert (one["state"], one["library"]) == ("doubted", [])
    assert why in one["doubts"][0]["why"]
    assert run("answers", path, "--board", board, "--write", *BY)[0] == 1
    assert (desk / "packages.csv").read_text() == "part number,height [mm],note\n"


def test_two_millimetres_are_questioned_for_a_small_chip(run, fill):
    # 0201 by either reading is a chip of at most 0.6 × 0.3 mm: packages/data/size_codes.csv.
    code, data = shown(run, fill({"size-code:999a3": {"height [mm]": "2 mm"}}))
    assert code == 1
    assert "gives at most" in one_of(data, "size-code:999a3")["doubts"][0]["why"]


@pytest.mark.rows("code", ["0402", "C0402", "R0402", "L0402", "CAPC1005X55N"])
def test_a_height_of_two_millimetres_is_doubted_for_each_chip_of_one_millimetre(code):
    (body,) = bodies_of([PartName(footprint=code, ref_prefix=code[:1] if code[0].isalpha() else "C")])
    value = read_figure("height", "2 mm")
    (doubt,) = doubts_of({"height": value}, {"height": "2 mm"}, [body])
    assert doubt.why
    assert not doubts_of({"height": Interval(0.5, 0.5)}, {"height": "0.5 mm"}, [body])


def test_figures_of_one_part_are_held_against_each_other(run, fill, make_board, listed):
    board = make_board(["U1,10,10,0,top,W-1,OWN-1", "R1,20,20,0,top,10k,0805"])
    rows = listed(board)
    key = next(row["key"] for row in rows if row["key"].startswith("body-size:"))
    cells = {"length [mm]": "4", "width [mm]": "3", "height [mm]": "40", "pitch [mm]": "5"}
    data = shown(run, fill({key: cells}, rows=rows), board=board)[1]
    assert {doubt["figure"] for doubt in one_of(data, key)["doubts"]} == {"height", "pitch"}


HEAVY = [f"U{n},{x},20,0,{side},W-1,OWN-1" for n, x, side in ((1, 20, "bottom"), (2, 20, "top"), (3, 60, "top"))]
"""Bodies of several grams on both sides, by an estimate: that below may fall while the other side is soldered."""
LEADLESS = "part number,footprint,value,length [mm],width [mm],height [mm],lead style,mounting,pins,pitch [mm],source\n"


@pytest.fixture
def heavy(desk, make_board):
    """A board whose parts' bodies are known, and nothing of their mass but an estimate of 1.8 to 5.2 g."""
    (desk / "packages.csv").write_text(f"{LEADLESS},OWN-1,W-1,12,12,8,no lead,surface,4,3,measured\n")
    return make_board([*HEAVY, "R1,40,20,0,top,10k,0805"])


def weighed(rows):
    return next((row for row in rows if row.get("part", "").endswith("mass")), None)


def test_a_mass_that_may_be_too_much_below_is_asked_for_and_taken_into_the_library(desk, run, fill, heavy, listed):
    rows = listed(heavy)
    asked = weighed(rows)
    assert asked["designators"] == "U1", "the others do not hang"
    key = asked["key"]
    code, data = shown(run, fill({key: {"mass [g]": "0,8"}}, rows=rows), "--write", *BY, board=heavy)
    assert (code, one_of(data, key)["state"]) == (0, "written")
    assert data["counts"]["after"]["questions"] < data["counts"]["before"]["questions"]
    (entry,) = load_library(desk / "packages.csv").entries
    assert (entry.candidate.mass.low, entry.candidate.mass.high) == (0.8, 0.8)
    assert weighed(listed(heavy)) is None


def test_a_mass_that_is_stated_is_not_asked_for_again_where_the_joints_are_open(run, fill, heavy, listed):
    rows = listed(heavy)
    run("answers", fill({weighed(rows)["key"]: {"mass [g]": "4"}}, rows=rows), "--board", heavy, "--write", *BY)
    assert weighed(listed(heavy)) is None
    assert '"hanging-mass"' in run("check", heavy, "--format", "json")[1], "it stays undecided"


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("900", "is the unit right?"),
        ("40", "the density of parts"),
        ("0.1", "the density of parts"),
        ("1,200 g", "may be the decimal one"),
        ("4 mm", "not a mass"),
    ],
)
def test_a_mass_that_cannot_be_is_questioned(run, fill, heavy, listed, text, why):
    rows = listed(heavy)
    key = weighed(rows)["key"]
    code, data = shown(run, fill({key: {"mass [g]": text}}, rows=rows), board=heavy)
    assert (code, one_of(data, key)["state"]) == (1, "doubted")
    assert why in one_of(data, key)["doubts"][0]["why"]


def test_no_part_is_taken_to_be_heavier_than_a_block_of_copper():
    # 10 × 10 × 1 mm at 9 g/cm³: 0.9 g.
    (body,) = bodies_of([PartName("", "OWN-9")])
    sides = {"length": Interval(10, 10), "width": Interval(10, 10), "height": Interval(1, 1)}
    texts = dict.fromkeys((*sides, "mass"), "text")
    (doubt,) = doubts_of({**sides, "mass": Interval(0.91, 0.91)}, texts, [body])
    assert "copper" in doubt.why
    assert not doubts_of({**sides, "mass": Interval(0.89, 0.89)}, texts, [body])


@pytest.mark.parametrize(("text", "grams"), [("800 mg", 0.8), ("0.8", 0.8), ("max 2 g", 2), ("0.0008 kg", 0.8)])
def test_a_mass_is_read_with_its_unit(text, grams):
    assert read_figure("mass", text).high == pytest.approx(grams, rel=1e-6)


def test_a_figure_of_the_library_is_not_replaced_unasked(run, fill, make_board, listed, desk):
    board = make_board(["U1,10,10,0,top,W-1,OWN-1", "U2,40,40,0,top,W-2,OWN-2", "R1,20,20,0,top,10k,0805"])
    (desk / "packages.csv").write_text("footprint,value,height [mm],source\nOWN-1,W-1,1.2,measured\n")
    rows = listed(board)
    key = next(row["key"] for row in rows if row["key"].startswith("body-size:") and "W-1" in row["part"])
    path = fill({key: {"length [mm]": "4", "width [mm]": "3", "height [mm]": "1.23"}}, rows=rows)
    code, data = shown(run, path, "--write", *BY, board=board)
    assert (code, one_of(data, key)["state"]) == (1, "doubted")
    assert "has 1.2 for" in one_of(data, key)["doubts"][0]["why"]
    assert "1.23" not in (desk / "packages.csv").read_text()
    code, data = shown(run, path, "--write", "--take", key, *BY, board=board)
    assert (code, one_of(data, key)["state"]) == (0, "written")
    assert "OWN-1,W-1,1.23" in (desk / "packages.csv").read_text()


def test_words_where_a_figure_was_asked_are_kept_and_stay_open(desk, run, fill, listed):
    path = fill({CONNECTOR: {"leads": "see data sheet"}, "pin-one": {"your answer": "as in the drawing"}})
    code, data = shown(run, path, "--write", *BY)
    assert code == 0
    assert {one["key"]: one["state"] for one in data["answers"]} == {CONNECTOR: "words", "pin-one": "words"}
    assert {CONNECTOR, "pin-one"} <= {row["key"] for row in listed()}
    assert "see data sheet" in (desk / "answers.csv").read_text()


def test_one_row_answered_in_two_ways_is_doubted(run, fill, listed):
    rows = listed()
    twice = next(dict(row) for row in rows if row["key"] == "half-turn")
    path = fill(
        {"half-turn": {"your choice": "no"}}, rows=[*rows, twice | {"your choice": "yes, in the next revision"}]
    )
    data = shown(run, path)[1]
    assert {one["state"] for one in data["answers"]} == {"doubted"}


def test_an_entry_of_the_whole_board_needs_all_parts_of_one_mind(run, fill):
    one, other = "size-code:09886", "size-code:999a3"
    data = shown(run, fill({one: {"your choice": "metric"}, other: {"your choice": "metric"}}))[1]
    assert [row["board"] for row in data["answers"] if row["board"]] == [
        [{"entry": "size_codes", "old": "", "new": '"metric"'}]
    ]
    data = shown(run, fill({one: {"your choice": "metric"}, "size-code": {"your choice": "metric"}}))[1]
    assert {row["state"] for row in data["answers"]} == {"written"}


@pytest.mark.parametrize("others", ["", "metric"])
def test_a_size_code_that_is_answered_for_one_part_is_of_that_part_alone(desk, run, fill, listed, others):
    # 0603 by the inch is 1.6 × 0.8 mm, 0201 by the millimetre 0.25 × 0.125 mm: packages/data/size_codes.csv.
    one, other = "size-code:09886", "size-code:999a3"
    cells = {one: {"your choice": "inch"}} | ({other: {"your choice": others}} if others else {})
    code, data = shown(run, fill(cells), "--write", *BY)
    assert (code, {row["state"] for row in data["answers"]}) == (0, {"written"})
    assert not any(row["board"] for row in data["answers"])
    assert "\nsize_codes" not in (desk / "board" / "board.toml").read_text()
    known = {entry.part_number: entry.candidate for entry in load_library(desk / "packages.csv").entries}
    assert known.keys() == ({"W-33002", "W-31008"} if others else {"W-33002"})
    assert known["W-33002"].length.low <= 1.6 <= known["W-33002"].length.high
    assert not others or known["W-31008"].length.low <= 0.25 <= known["W-31008"].length.high
    assert (one in (still := {row["key"] for row in listed()}), other in still) == (False, not others)


@pytest.mark.parametrize(
    ("taken", "written"), [((), []), (("a:1",), ["a:1"]), (("a:1", "a:2"), [])], ids=["none", "one", "both"]
)
def test_of_entries_that_differ_the_one_that_is_taken_is_written(taken, written):
    rows = [Settled(f"a:{n}", "", "", word, State.WRITTEN, Place("list.csv", row=n), edits=(Edit(("side",), word),))
            for n, word in ((1, "left"), (2, "right"))]  # fmt: skip
    asked = {row.key: Question("a", next(iter(Severity)), "", (), "") for row in rows}
    found = of_one_mind(rows, asked, {row.key: lambda _: () for row in rows}, taken)
    assert [one.key for one in found if one.edits] == written
    assert all(one.doubts for one in found)


def test_an_answer_shows_units_and_what_of_it_is_no_figure(run, fill, make_board, listed):
    board = make_board(["U1,10,10,0,top,W-1,OWN-1", "R1,20,20,0,top,10k,0805"])
    rows = listed(board)
    key = next(row["key"] for row in rows if row["key"].startswith("body-size:"))
    path = fill({key: {"length [mm]": "4", "width [mm]": "as drawn", "pins": "8"}}, rows=rows)
    out = run("answers", path, "--board", board)[1]
    assert "length 4 mm, pins 8\n" in out
    assert "width “as drawn”: is no figure, and stays open" in out


def test_what_is_said_of_all_is_not_said_of_a_part_that_is_answered_on_its_own(run, fill, make_board, listed):
    placed = [f"{ref},{10 * n},20,0,top,{value},C2012M" for n, (ref, value) in enumerate(PLACED.items(), 1)]
    board = make_board(placed, bom=["References,Value,Part number", "C1,1u,W-9"])
    keys = {row["part"].partition(" ")[0]: row["key"] for row in listed(board) if row["key"].startswith("not-in-bom:")}
    assert keys.keys() == {"2u", "3u", "4u", "5u"}
    cells = {
        "not-in-bom": {"your choice": "leave all of them off"},
        keys["3u"]: {"your choice": "fit; we will send the part numbers"},
        keys["4u"]: {"your answer": "we are not sure yet"},
        keys["5u"]: {"your choice": "leave all of them off"},
    }
    path = fill(cells, board=board)
    data = shown(run, path, "--write", *BY, board=board)[1]
    assert {key: one_of(data, key)["state"] for key in cells} == {
        "not-in-bom": "written",
        keys["3u"]: "waits",
        keys["4u"]: "words",
        keys["5u"]: "written",
    }
    assert 'not_fitted = ["C2", "C5"]' in (board / "board.toml").read_text()
    still = {row["key"] for row in listed(board) if row["key"].startswith("not-in-bom")}
    assert {keys["3u"], keys["4u"]} <= still
    assert not {keys["2u"], keys["5u"]} & still
    # A question of which one part alone is left stays open where that part is.
    board = make_board(placed[::2][:2], bom=["References,Value,Part number", "C1,1u,W-9"])
    path = fill({"not-in-bom": {"your choice": "leave it off"}, keys["3u"]: {"your answer": "maybe"}}, board=board)
    assert shown(run, path, "--write", *BY, board=board)[0] == 0
    assert keys["3u"] in {row["key"] for row in listed(board)}


def test_parts_that_an_answer_does_not_name_are_asked_about_still(run, fill, make_board, listed):
    placed = [f"{ref},{10 * n},20,0,top,{value},C2012M" for n, (ref, value) in enumerate(PLACED.items(), 1)]
    board = make_board(placed[:4], bom=["References,Value,Part number", "C1,1u,W-9"])
    cells = {"not-in-bom": {"your choice": "leave off only: ___", "your answer": "C3"}}
    assert shown(run, fill(cells, board=board), "--write", *BY, board=board)[0] == 0
    left = [row["part"].partition(" ")[0] for row in listed(board) if row["key"].startswith("not-in-bom:")]
    assert left == ["2u", "4u"], "nobody has said which part they are"


def test_who_says_what_is_provided_alone_is_not_asked_again(run, fill, make_board, listed):
    placed = [f"U{n},{10 * n},20,0,top,,SOIC-8" for n in (1, 2, 3)]
    bom = ["References,Part number,Comment", "U1 U2,W-1,consigned", "U3,W-3,free issue"]
    board = make_board(placed, bom=bom)
    path = fill({"provided": {"your choice": "we provide only: ___", "your answer": "U1, U2"}}, board=board)
    assert shown(run, path, "--write", *BY, board=board)[0] == 0
    stated = (board / "board.toml").read_text()
    assert ('provided = ["U1", "U2"]' in stated, 'bought = ["U3"]' in stated) == (True, True)
    assert "provided" not in {row["key"] for row in listed(board)}


def test_an_acceptance_becomes_a_waiver_that_ends(desk, run, listed, fill):
    placements = desk / "board" / "placements.csv"
    placements.write_text(placements.read_text().replace("R1,33R 1%,R1608M,top,127.000", "R1,33R 1%,R1608M,top,0.5"))
    code, data = shown(run, fill({"over-edge": {"your choice": "yes, as drawn"}}), "--write", *BY)
    assert code == 0
    waivers = read_configuration(desk / "capcheck.toml").values.waiver
    assert waivers
    assert {(waiver.who, waiver.part) for waiver in waivers} == {("Ada Example", "R1")}
    assert {waiver.until for waiver in waivers} == {dt.date(2031, 1, 2)}  # invented
    assert data["counts"]["after"]["waived"] == len(waivers)
    assert "# every machine" in (desk / "capcheck.toml").read_text()
    assert "over-edge" not in {row["key"] for row in listed()}


def test_board_answers_may_be_written_elsewhere(desk, run, fill, tmp_path):
    before = (desk / "board" / "board.toml").read_bytes()
    into = tmp_path / "kept.toml"
    path = fill({"size-code": {"your choice": "metric"}})
    assert run("answers", path, "--board", "board", "--into", into, "--write", *BY)[0] == 0
    assert (desk / "board" / "board.toml").read_bytes() == before
    assert 'size_codes = "metric"' in into.read_text()
    # It is the board's own file with the answers in it, and may take its place.
    lines = into.read_text().splitlines()
    assert [line for line in before.decode().splitlines() if line not in lines] == []


def test_the_next_check_reads_what_was_written_elsewhere(desk, run, fill, listed):
    """The customer's folder stays as it came: the shop's own file of the board is named in its configuration."""
    (desk / "boards").mkdir()
    before = {path: path.read_bytes() for path in (desk / "board").iterdir()}
    path = fill({"size-code": {"your choice": "metric"}})
    out = run("answers", path, "--board", "board", "--into", "boards/board.toml", "--write", *BY)[1]
    assert "written: capcheck.toml" in out
    assert 'board_file = "boards/board.toml"' in (desk / "capcheck.toml").read_text()
    assert {path: path.read_bytes() for path in (desk / "board").iterdir()} == before
    assert "size-code" not in {row["key"] for row in listed()}
    parts = json.loads(run("read", "board", "--format", "json")[1])["parts"]
    assert next(part for part in parts if part["ref"] == "C55")["body_mm"]["length"][1] < 0.5
    # A second list adds to the same file, and the board's name and files stay what they were.
    row = next(row for row in listed() if row["key"].startswith("not-in-bom:"))
    path = fill({row["key"]: {"your choice": "leave it off"}})
    out = run("answers", path, "--board", "board", "--write", *BY)[1]
    assert "written: boards/board.toml" in out
    assert "R120" in (desk / "boards" / "board.toml").read_text()
    assert {path: path.read_bytes() for path in (desk / "board").iterdir()} == before


def as_ods(path, table):
    """Write a sheet as an office suite of open documents saves it: texts with paragraphs, one number as a number."""
    spaces = ("office", "table", "text")
    names = " ".join(f'xmlns:{name}="urn:oasis:names:tc:opendocument:xmlns:{name}:1.0"' for name in spaces)

    def cell(text):
        try:
            number = f'office:value-type="float" office:value="{float(text)}"'
        except ValueError:
            number = 'office:value-type="string"'
        return f"<table:table-cell {number}><text:p>{escape(text)}</text:p></table:table-cell>"

    rows = "".join(f"<table:table-row>{''.join(map(cell, row))}</table:table-row>" for row in table)
    kind = "application/vnd.oasis.opendocument.spreadsheet"
    with zipfile.ZipFile(path, "w") as archive:
        archive.writestr("mimetype", kind)
        archive.writestr(
            "META-INF/manifest.xml",
            '<manifest:manifest xmlns:manifest="urn:oasis:names:tc:opendocument:xmlns:manifest:1.0">'
            f'<manifest:file-entry manifest:full-path="/" manifest:media-type="{kind}"/></manifest:manifest>',
        )
        archive.writestr(
            "content.xml",
            f'<?xml version="1.0"?><office:document-content {names}><office:body><office:spreadsheet>'
            f'<table:table table:name="Sheet1">{rows}</table:table>'
            "</office:spreadsheet></office:body></office:document-content>",
        )


def test_a_list_that_comes_back_as_an_open_document_says_the_same(run, fill, tmp_path):
    filled = fill({BALLS: {"ball diameter [mm]": "0.6"}, "size-code": {"your choice": "metric"}})
    table = list(csv.reader(io.StringIO(filled.read_text(encoding="utf-8"), newline="")))
    as_ods(tmp_path / "filled.ods", table)

    def told(path):
        data = json.loads(run("answers", path, "--board", "board", "--format", "json")[1])
        return [{k: v for k, v in one.items() if k not in {"file", "sheet", "row"}} for one in data["answers"]]

    assert told(tmp_path / "filled.ods") == told(filled)
    assert {one["key"] for one in told(filled)} == {BALLS, "size-code"}


def test_a_thickness_is_read_in_any_form_and_one_in_inches_is_not_taken_for_mm(run, fill, make_board, listed):
    board = make_board(["R1,20,20,0,top,10k,0805"])
    rows = listed(board)
    for text, entry in (("1,55 mm", "1.55 mm"), ("0.062 inch", "1.575 mm"), ("1.0 mm", "1.0 mm")):
        data = shown(run, fill({"board-thickness": {"your answer": text}}, rows=[dict(r) for r in rows]), board=board)[
            1
        ]
        assert one_of(data, "board-thickness")["board"] == [{"entry": "thickness", "old": "", "new": f'"{entry}"'}]
    data = shown(run, fill({"board-thickness": {"your answer": "62"}}, rows=[dict(r) for r in rows]), board=board)[1]
    assert one_of(data, "board-thickness")["state"] == "doubted"


def test_a_workbook_saved_by_another_library_is_read(run):
    assert run("check", "board", "--format", "questions-xlsx", "--output", "sent.xlsx")[0] == 0
    book = load_workbook("sent.xlsx")
    sheet = book["parts"]
    head = [cell.value for cell in sheet[1]]
    for row in sheet.iter_rows(min_row=2):
        if row[head.index("key")].value == BALLS:
            row[head.index("ball diameter [mm]")].value = 0.6
    sheet.title, sheet.auto_filter.ref = "Bauteile (2)", None
    book.save("back.xlsx")
    data = shown(run, "back.xlsx")[1]
    assert one_of(data, BALLS)["library"][0]["new"] == "0.6"


def test_the_workbook_offers_the_boxes_and_hides_what_programs_need(run):
    run("check", "board", "--format", "questions-xlsx", "--output", "sent.xlsx")
    book = load_workbook("sent.xlsx")
    assert book["choices"].sheet_state == "hidden"
    for name in ("board", "parts"):
        sheet = book[name]
        head = [cell.value for cell in sheet[1]]
        hidden = [column for column in sheet.column_dimensions.values() if column.hidden]
        columns = {at for column in hidden for at in range(column.min, column.max + 1)}
        assert columns == {head.index(title) + 1 for title in ("key", "version")}
        offered = [rule.formula1 for rule in sheet.data_validations.dataValidation]
        assert offered
        assert all(rule.type == "list" for rule in sheet.data_validations.dataValidation)


def test_a_row_without_a_key_is_told(run, fill, listed):
    rows = listed()
    blank = dict.fromkeys(rows[0], "")
    path = fill({}, rows=[*rows, blank | {"your answer": "and R7 is 10k"}])
    data = shown(run, path)[1]
    assert len(data["rows_without_key"]) == 1


def test_rows_of_a_sheet_that_lost_its_keys_are_told_beside_those_of_another_that_has_them(run):
    run("check", "board", "--format", "questions-xlsx", "--output", "sent.xlsx")
    book = load_workbook("sent.xlsx")
    sheet = book["parts"]
    head = [cell.value for cell in sheet[1]]
    sheet.cell(3, head.index("height [mm]") + 1).value = 1.2
    sheet.delete_cols(head.index("key") + 1)
    book.save("back.xlsx")
    assert shown(run, "back.xlsx")[1]["rows_without_key"] == ["back.xlsx[parts]:3"]


def test_a_copy_without_the_hidden_columns_is_refused_in_words(run, tmp_path):
    path = tmp_path / "visible.csv"
    path.write_text("no.,question,your answer\n1,How thick?,1.6 mm\n")
    code, out, err = run("answers", path, "--board", "board")
    assert (code, out) == (2, "")
    assert "hidden columns" in err


def test_a_renamed_column_of_keys_is_found_by_what_it_holds(run, fill):
    path = fill({"half-turn": {"your choice": "no"}})
    path.write_text(path.read_text().replace(",key,version,", ",A,B,"))
    assert one_of(shown(run, path)[1], "half-turn")["state"] == "noted"


@pytest.mark.parametrize("cell", ['"]\n[[waiver]]\nrule = "*"', "=cmd|' /c calc'!A1", "\x1b]0;x\x07", "a" * 5000])
def test_what_a_hostile_cell_holds_is_text_everywhere(desk, run, fill, cell):
    path = fill({"half-turn": {"your answer": cell}, "rails-from-us": {"your choice": "no: ___", "your answer": cell}})
    code, out, err = run("answers", path, "--board", "board", "--write", *BY)
    assert (code, err) == (0, "")
    assert "\x1b" not in out
    assert not read_configuration(desk / "capcheck.toml").values.waiver
    assert not [line for line in (desk / "answers.csv").read_text().splitlines() if ",=cmd" in line]
    assert len((desk / "answers.csv").read_text()) < 10_000


@pytest.mark.parametrize("content", [b"PK\x03\x04 damaged", b"%PDF-1.7", b"", b"\x00" * 100])
def test_a_file_that_is_no_list_ends_in_words(run, tmp_path, content):
    path = tmp_path / "sent.xlsx"
    path.write_bytes(content)
    code, out, err = run("answers", path, "--board", "board")
    assert (code, out) == (2, "")
    assert "Traceback" not in err
    assert "sent.xlsx" in err


def test_who_answered_must_be_named_to_write(run, fill):
    code, _, err = run("answers", fill({"half-turn": {"your choice": "no"}}), "--board", "board", "--write")
    assert code == 2
    assert "--by" in err


@pytest.mark.parametrize("name", ["board/board.toml", "answers.csv"])
def test_what_another_desk_wrote_meanwhile_is_not_lost(desk, run, fill, monkeypatch, name):
    (desk / "answers.csv").write_text("board,key,version,answer,closes,by,on,from,goes to\n")
    with (desk / "capcheck.toml").open("a") as file:
        file.write('answers = "answers.csv"\n')
    placements = desk / "board" / "placements.csv"
    placements.write_text(placements.read_text().replace("R1,33R 1%,R1608M,top,127.000", "R1,33R 1%,R1608M,top,0.5"))
    cells = {
        BALLS: {"ball diameter [mm]": "0.6"},
        "size-code": {"your choice": "metric"},
        "over-edge": {"your choice": "yes, as drawn"},
    }
    path = fill(cells)

    def written_meanwhile(*_):
        (desk / name).write_bytes((desk / name).read_bytes() + b"\n")

    with monkeypatch.context() as patched:
        patched.setattr(answers, "_tried", written_meanwhile)
        before = {file: file.read_bytes() for file in desk.rglob("*") if file.is_file()}
        code, _, err = run("answers", path, "--board", "board", "--write", *BY)
        before[desk / name] += b"\n"
    assert code == 2
    assert f"{Path(name).name} was changed" in err.replace(":", "")
    assert {file: file.read_bytes() for file in desk.rglob("*") if file.is_file()} == before
    assert run("answers", path, "--board", "board", "--write", *BY)[0] == 0


def test_without_a_configuration_nothing_is_half_written(desk, run, fill):
    path = fill({"half-turn": {"your choice": "no"}, "size-code": {"your choice": "metric"}})
    before = (desk / "board" / "board.toml").read_bytes()
    line = desk / "lines" / "full.line.toml"
    arguments = ("--board", "board", "--no-config", "--line", line, "--library", "packages.csv")
    code, _, err = run("answers", path, *arguments, "--write", *BY)
    assert code == 2
    assert "capcheck init" in err
    assert (desk / "board" / "board.toml").read_bytes() == before


def test_a_library_that_is_a_workbook_is_not_spoilt(desk, run, fill):
    out = io.BytesIO()
    from openpyxl import Workbook

    book = Workbook()
    book.active.append(["part number", "height [mm]"])
    book.save(out)
    (desk / "packages.csv").write_bytes(out.getvalue())
    code, _, err = run("answers", fill({BALLS: {"ball diameter [mm]": "0.6"}}), "--board", "board")
    assert code == 2
    assert "save it as CSV" in err


def test_a_second_round_asks_for_the_figures_alone_that_are_still_missing(run, fill, make_board, listed):
    board = make_board(["U1,10,10,0,top,W-1,OWN-1", "R1,20,20,0,top,10k,0805"])
    rows = listed(board)
    key = next(row["key"] for row in rows if row["key"].startswith("body-size:"))
    assert {"length [mm]", "height [mm]", "pins", "leads"} <= set(rows[0])
    cells = {
        "length [mm]": "4",
        "width [mm]": "3",
        "height [mm]": "1.2",
        "pitch [mm]": "0.5",
        "mounting": "surface-mount",
    }
    assert run("answers", fill({key: cells}, rows=rows), "--board", board, "--write", *BY)[0] == 0
    again = listed(board)
    assert key in {row["key"] for row in again}
    assert not {"length [mm]", "height [mm]", "mounting"} & set(again[0])
    assert "leads" in again[0]
