"""A reading is changed on a board's page: board.toml says it, the board waits for its check, who did it is logged.

Figures: invented.
"""

import msgspec
import pytest

from capcheck.desk.areas.lines import Lines, OfLine
from capcheck.desk.areas.picture import DrawnPart, Picture
from capcheck.desk.areas.understood import FileRead, Reading, Understood
from capcheck.desk.workers.orders import Summary, write_form


def checked(desk, files=("top.csv", "sub/rim.dxf")):
    """A quote with a board that was checked once; its folder holds no file. Rows of a table have it in common."""
    if desk.quotes.all():
        return 1
    folder = desk.new_folder()
    number = desk.quotes.new(folder, customer="Meadow Pumps", name="Pump", quantity=5, due="", who="Ada")
    desk.quotes.add_files(number, "arrived/1", [], "Ada")
    rows = [(f"<i>{name}", name, 7) for name in files]
    desk.quotes.add_boards(desk.quotes.claim("test", 60), [("Pump", "1-board-1/Pump", rows)])
    quote = desk.quotes.one(number)
    desk.of_board(quote, quote.boards[0]).mkdir(parents=True)
    done(desk, number, "x is mirrored", "fail", "top")
    return number


def done(desk, number, reading, outcome, side):
    """Write what a check came to: one reading, one line, one part."""
    work = desk.quotes.claim("test", 60)
    into = desk.of_work(desk.quotes.one(number), work.id)
    into.mkdir(parents=True)
    line = OfLine("Line 1", "builds", 1, int(outcome == "pass"), 0, 0, 0, "1 of 9", "", "", "", (), (), "")
    readings = (Reading(reading, "bottom side", "they lie inside", "x is not", ""),)
    write_form(into / "lines.json", Lines((line,), 0))
    part = DrawnPart("<b>R1", "W-1", "10k", "", "", side, (1.0, 2.0), (outcome,), ("Placer/front",))
    write_form(into / "picture.json", Picture(("<svg></svg>",), ("Line 1",), 0, (part,)))
    files = (FileRead("top.csv", "placements"),)
    write_form(into / "understood.json", Understood("Pump", "9 × 9 mm", 1, files, readings, ()))
    desk.quotes.end(work.id, "done", result=msgspec.json.encode(Summary()).decode())


def file_number(desk, number, path):
    board = desk.quotes.one(number).boards[0].id
    return str(next(file.id for file in desk.quotes.files(number, board) if file.path == path))


def test_a_change_is_written_logged_checked_again_and_told(desk, client, sign):
    number = checked(desk)
    where = f"/quotes/{number}/boards/1"
    assert "they lie inside" in client.get(where).text
    answer = client.post(f"{where}/reading", data={"sign": sign, "key": "bottom_view", "value": "from below"})
    assert (answer.status_code, answer.headers["location"]) == (303, f"{where}#understood")
    quote = desk.quotes.one(number)
    own = desk.of_board(quote, quote.boards[0]) / "board.toml"
    assert own.read_text("utf-8").endswith('bottom_view = "from below"\n')
    assert [one.what for one in desk.quotes.logged(number)][:2] == ["asked for a check", "stated a reading"]
    assert 'bottom_view: not stated → "from below"' in desk.quotes.logged(number)[1].about
    done(desk, number, "x is not", "pass", "bottom")
    page = client.get(where).text
    assert "<del>x is mirrored</del> → <ins>x is not</ins>" in page
    assert "<del>builds, 0 of 1 parts proved, 1 of 9 feeder slots</del>" in page
    assert "&lt;b&gt;R1</a> fail → pass" in page
    client.post(f"{where}/reading/undo", data={"sign": sign})
    assert not own.exists()
    assert "Undo the last change" not in client.get(where).text


@pytest.mark.rows(
    ("form", "written"),
    [
        ({"file": "sub/rim.dxf", "role": "outline"}, 'outline = "sub/rim.dxf"'),
        ({"file": "top.csv", "role": "layer copper top"}, '[layers]\n"top.csv" = "copper top"'),
        ({"table": "placements", "column": "X<", "role": "x"}, '[columns.placements]\nx = "X<"'),
        ({"table": "bom", "column": "PN", "role": "part number"}, '[columns.bom]\n"part number" = "PN"'),
    ],
)
def test_files_and_columns_get_their_roles(request, form, written):
    desk, client, sign = (request.getfixturevalue(name) for name in ("desk", "client", "sign"))
    number = checked(desk)
    own = desk.of_board(desk.quotes.one(number), desk.quotes.one(number).boards[0]) / "board.toml"
    own.unlink(missing_ok=True)
    if "file" in form:
        form = {**form, "file": file_number(desk, number, form["file"])}
    board = desk.quotes.one(number).boards[0]
    client.post(f"/quotes/{number}/boards/{board.id}/reading", data={"sign": sign, **form})
    assert own.read_text("utf-8").partition("\n")[2].strip() == written


@pytest.mark.rows(
    ("form", "told"),
    [
        ({"key": "name", "value": "x"}, "choose one of the page"),
        ({"key": "units", "value": "<furlong>"}, "&lt;furlong&gt;"),
        ({"file": "../../secret", "role": "bom"}, "reload the page"),
        ({"file": "999", "role": "bom"}, "reload the page"),
        ({"file": "top.csv", "role": "layer ../x"}, "choose one of the list"),
        ({"table": "kinds", "column": "R1", "role": "x"}, "choose one of the list"),
        ({"table": "bom", "column": "R1", "role": "__class__"}, "choose one of the list"),
        ({}, "choose one of the page"),
    ],
)
def test_what_no_page_offers_is_refused_with_what_to_do(request, form, told):
    desk, client, sign = (request.getfixturevalue(name) for name in ("desk", "client", "sign"))
    number = checked(desk)
    board = desk.quotes.one(number).boards[0]
    where = f"/quotes/{number}/boards/{board.id}/reading"
    if form.get("file") == "top.csv":
        form = {**form, "file": file_number(desk, number, "top.csv")}
    answer = client.post(where, data={"sign": sign, **form})
    assert answer.status_code == 422
    assert told in answer.text
    assert client.post(where, data=form).status_code == 403
    assert list(desk.of_board(desk.quotes.one(number), board).iterdir()) == []


def test_a_part_has_an_address_and_the_script_gets_all_of_them(desk, client):
    number = checked(desk)
    where = f"/quotes/{number}/boards/1"
    assert "<b>&lt;b&gt;R1</b> W-1 · 10k" in client.get(f"{where}?part=%3Cb%3ER1").text
    assert "No part of this board is called &lt;i&gt;" in client.get(f"{where}?part=%3Ci%3E").text
    assert client.get(f"{where}/parts").json() == [
        ["<b>R1", "W-1", "10k", "", "", "top", "fail", "Placer/front"],
    ]


def test_what_is_dropped_on_a_board_is_a_later_revision_of_it(desk, client, sign):
    number = checked(desk)
    sent = {"files": ("pump-b.csv", b"Reference,X,Y\nR1,1,2\n")}
    answer = client.post(f"/quotes/{number}/boards/1/revision", data={"sign": sign}, files=sent)
    assert answer.status_code == 303
    desk.quotes.add_boards(desk.quotes.claim("test", 60), [("Pump b", "2-board-1/Pump b", [])])
    quote = desk.quotes.one(number)
    assert [board.revises for board in quote.boards] == [None, quote.boards[0].id]
    assert desk.order_of(desk.quotes.claim("test", 60), quote).earlier == str(desk.of_board(quote, quote.boards[0]))
    assert "A later revision came" in client.get(f"/quotes/{number}/boards/1").text
    assert client.post(f"/quotes/{number}/boards/99/revision", data={"sign": sign}, files=sent).status_code == 404
