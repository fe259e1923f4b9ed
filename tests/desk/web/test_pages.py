"""The pages: what the rows say stands there, whatever it is; what is changed there stands in the rows.

Figures: invented.
"""

import html
import json

import msgspec
import pytest

from capcheck.desk.areas.lines import Lines, OfLine, Reason
from capcheck.desk.workers.orders import OnLine, Summary, write_form
from capcheck.lexicon import cautions
from capcheck.store import quotes
from capcheck.values import InputError

MARKUP = "<script>alert(1)</script>"


def quote(desk, *, done=True, questions=2, verdicts=("fail", "warn"), **facts):
    """A quote with one board that was checked."""
    given = {"customer": "Meadow Pumps", "name": "Pump", "quantity": 500, "due": "", "who": "Ada", **facts}
    folder = desk.new_folder()
    number = desk.quotes.new(folder, **given)
    desk.quotes.add_files(number, "arrived/1", [(f"{MARKUP}.csv", "arrived/1/a.csv", 3)], "Ada")
    desk.quotes.add_boards(desk.quotes.claim("test", 60), [(given["name"], "1-board-1/Pump", [])])
    work = desk.quotes.claim("test", 60)
    if done:
        lines = tuple(OnLine(f"Line {n}", verdict) for n, verdict in enumerate(verdicts, 1))
        desk.of_work(desk.quotes.one(number), work.id).mkdir(parents=True)
        desk.quotes.end(work.id, "done", result=msgspec.json.encode(Summary(questions, lines)).decode())
    return number


@pytest.mark.rows(
    ("asked", "found"),
    [
        ("", {"Pump", "Lamp", "Valve"}),
        ("?q=meadow", {"Pump", "Valve"}),
        ("?q=MEADOW+alv", {"Valve"}),
        ("?q=lamp+meadow", set()),
        ("?state=reading", {"Valve"}),
        ("?state=questions+open&q=lamp", {"Lamp"}),
        ("?state=decided", set()),
    ],
)
def test_the_list_is_searched_by_words_and_state(request, asked, found):
    desk, client = request.getfixturevalue("desk"), request.getfixturevalue("client")
    if not desk.quotes.all():
        quote(desk, name="Pump")
        quote(desk, name="Lamp", customer="Brook Lights")
        quote(desk, name="Valve", done=False)
    page = client.get(f"/{asked}").text
    assert {name for name in ("Pump", "Lamp", "Valve") if f">{name}</a>" in page} == found


def test_each_page_carries_the_cautions_once(desk, client):
    number = quote(desk)
    board = desk.quotes.one(number).boards[0].id
    for path in ("/", f"/quotes/{number}", f"/quotes/{number}/boards/{board}"):
        assert html.unescape(client.get(path).text).count(cautions()) == 1


def test_the_list_says_what_a_quote_is_at(desk, client):
    quote(desk, due="2020-01-31")
    page = client.get("/").text
    assert "questions open" in page
    assert "2 open" in page
    assert "1 of 2 lines" in page
    assert "<strong>past</strong>" in page


def test_whatever_a_customer_names_is_text(desk, client):
    number = quote(desk, name=MARKUP, customer=MARKUP)
    for path in ("/", f"/quotes/{number}", f"/quotes/{number}/boards/1", f"/?q={MARKUP}", f"/?state={MARKUP}"):
        answer = client.get(path)
        assert answer.status_code == 200
        assert "<script>alert" not in answer.text


def test_a_quote_is_begun_with_its_files_and_waits_to_be_read(desk, client, sign):
    facts = {"sign": sign, "customer": "Meadow", "name": "", "quantity": "1,500", "due": "2027-03-31"}
    answer = client.post("/quotes", data=facts, files=[("files", ("pump_rev_b/bom.csv", b"ref\nR1\n"))])
    assert answer.headers["location"] == "/quotes/1"
    found = desk.quotes.one(1)
    assert (found.customer, found.name, found.quantity, found.due) == ("Meadow", "pump rev b", 1500, "2027-03-31")
    [file] = desk.quotes.files(1)
    assert file.shown == "pump_rev_b/bom.csv"
    assert (desk.of_quote(found.folder) / file.path).read_bytes() == b"ref\nR1\n"
    assert found.state(0) == "reading"
    assert "pump_rev_b/bom.csv" in client.get("/quotes/1").text


@pytest.mark.rows(
    ("facts", "told"),
    [
        ({"quantity": "many"}, "not a number of boards"),
        ({"quantity": "0"}, "not a number of boards"),
        ({"quantity": "²"}, "not a number of boards"),
        ({"due": "31.3."}, "not a day"),
    ],
)
def test_what_is_wrong_with_a_form_is_told_and_no_file_is_left(request, facts, told):
    desk, client, sign = map(request.getfixturevalue, ("desk", "client", "sign"))
    answer = client.post("/quotes", data={"sign": sign, **facts}, files=[("files", ("bom.csv", b"1"))])
    assert answer.status_code == 422
    assert told in answer.text.replace("&#34;", '"')
    assert desk.quotes.all() == []
    assert list((desk.folder / "quotes").glob("*")) == []


def test_a_quote_that_cannot_be_written_leaves_no_file(desk, client, sign, monkeypatch):
    def fails(*_, **__):
        raise InputError.at("the store", "cannot be written", "the disk is full")

    monkeypatch.setattr(quotes, "_ask", fails)
    answer = client.post("/quotes", data={"sign": sign}, files=[("files", ("bom.csv", b"1"))])
    assert answer.status_code == 422
    assert "the disk is full" in answer.text
    assert desk.quotes.all() == []
    assert list((desk.folder / "quotes").iterdir()) == []


def test_no_sign_that_a_database_refuses_is_kept(desk, client, sign):
    facts = {"sign": sign, "customer": "Mea\x00dow", "name": "Pu\x1b[31mmp"}
    client.post("/quotes", data=facts, files=[("files", ("a\x00b.csv", b"1"))])
    found = desk.quotes.one(1)
    assert (found.customer, found.name) == ("Meadow", "Pu[31mmp")
    assert client.get(f"/quotes/{10**25}").status_code == 404


def test_what_keeps_the_desk_from_working_stands_on_its_pages(client):
    assert "No check can be made" not in client.get("/").text
    client.app.state.crew._troubles["work"] = f"the disk is full {MARKUP}"
    assert "the disk is full &lt;script&gt;" in client.get("/").text


def test_facts_and_states_are_changed_and_logged_with_a_name(desk, client, sign):
    number = quote(desk)
    client.post("/name", data={"sign": sign, "name": "Bruna Æ"})
    client.post(
        f"/quotes/{number}", data={"sign": sign, "customer": "Brook", "name": "Lamp", "quantity": "", "due": ""}
    )
    for state in ("asked", "open", "decided"):
        client.post(f"/quotes/{number}/state", data={"sign": sign, "state": state, "decision": "quoted"})
    found = desk.quotes.one(number)
    assert (found.customer, found.quantity, found.decision, found.state(2)) == ("Brook", None, "quoted", "decided")
    assert [(one.who, one.what) for one in desk.quotes.logged(number)][:3] == [
        ("Bruna Æ", "decided"),
        ("Bruna Æ", "opened it again"),
        ("Bruna Æ", "sent the questions"),
    ]
    assert client.post(f"/quotes/{number}/state", data={"sign": sign, "state": "lost"}).status_code == 422


def test_an_area_shows_what_its_worker_wrote(desk, client):
    number = quote(desk)
    lines = [
        OfLine(f"Line {n}", "builds if", 9, 7, 0, 2, 1, "5 of 9", "", "", "", (), (Reason(MARKUP, ("R1",)),), "2 warn")
        for n in (1, 2)
    ]
    found = desk.quotes.one(number)
    write_form(desk.of_work(found, found.boards[0].last.id) / "lines.json", Lines(tuple(lines), 1))
    page = client.get(f"/quotes/{number}/boards/1").text
    assert "7 of 9" in page
    assert "&lt;script&gt;" in page
    alone = client.get(f"/quotes/{number}/boards/1/areas/lines?line=0").text
    assert alone.index('aria-current="true">Line 1') > 0
    assert client.get(f"/quotes/{number}/boards/1/areas/nothing").status_code == 404


def test_only_what_a_worker_wrote_to_be_taken_away_is(desk, client):
    number = quote(desk)
    found = desk.quotes.one(number)
    folder = desk.of_work(found, found.boards[0].last.id)
    (folder / "downloads").mkdir()
    (folder / "downloads" / "parts.csv").write_text("ref\n", encoding="utf-8")
    (folder / "downloads" / "link.csv").symlink_to(desk.folder / "secret")
    (folder / "result.json").write_text("{}", encoding="utf-8")
    at = f"/quotes/{number}/boards/1/files"
    answer = client.get(f"{at}/parts.csv")
    assert answer.text == "ref\n"
    assert answer.headers["content-disposition"].startswith("attachment")
    for name in ("link.csv", "..%2Fresult.json", "%2e%2e/result.json", "nothing"):
        assert client.get(f"{at}/{name}").status_code == 404


def test_a_check_that_came_to_nothing_says_why_and_keeps_what_the_last_one_found(desk, client, sign):
    number = quote(desk)
    client.post(f"/quotes/{number}/boards/1/check", data={"sign": sign})
    desk.quotes.end(desk.quotes.claim("test", 60).id, "refused", told=f"bom.csv: {MARKUP} is no height")
    page = client.get(f"/quotes/{number}/boards/1").text
    assert "&lt;script&gt;alert(1)&lt;/script&gt; is no height" in page
    assert desk.quotes.one(number).boards[0].last_done.id == 2


def test_events_tell_what_a_quote_is_at(desk):
    from capcheck.desk.web.events import quote_now

    number = quote(desk)
    now = quote_now(desk, number)
    assert (now.state, now.boards[0].open, now.boards[0].areas["lines"]) == ("questions open", False, "")
    desk.quotes.ask_again(number, 1, "Ada")
    assert quote_now(desk, number).boards[0].phase == "waiting for its turn"
    work = desk.quotes.claim("test", 60)
    folder = desk.of_work(desk.quotes.one(number), work.id)
    folder.mkdir()
    (folder / "phase.json").write_text(json.dumps({"words": "reading files", "done": 1, "of": 3}), encoding="utf-8")
    board = quote_now(desk, number).boards[0]
    assert (board.phase, board.done, board.of) == ("reading files", 1, 3)
    assert quote_now(desk, number + 1) is None
