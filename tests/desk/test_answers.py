"""Open questions answered at the desk: typed, refused, in a workbook, by two people at once, and taken back.

Figures: invented, those of the shop that comes with the program.
"""

from __future__ import annotations

import datetime as dt
import html
import io
import re
import shutil
import time

import openpyxl
import pytest

from capcheck.desk.areas.open_questions import OpenQuestions
from capcheck.desk.shop_at_desk import Desk
from capcheck.desk.web import app_of
from capcheck.desk.workers import read_form
from capcheck.store import BoardKey, Given, Revision, Statement, Used
from capcheck.values import Interval
from tests.desk.conftest import OURS, TestClient, bring, sign_in


@pytest.fixture(scope="session")
def checked_once(tmp_path_factory, demo_shop):
    """The folder of a desk at which the invented board was checked once, by a worker; to be copied."""
    folder = tmp_path_factory.mktemp("checked") / "desk"
    desk = _desk_in(folder, demo_shop)
    with TestClient(app_of(desk, jobs=1, cold=True), base_url=OURS) as client:
        number = bring(desk, demo_shop[1])
        client.app.state.crew.poke()
        _checked(desk, number)
    desk.store.close()
    return folder


@pytest.fixture
def desk(tmp_path, demo_shop, checked_once):
    shutil.copytree(checked_once, tmp_path / "desk")
    made = _desk_in(tmp_path / "desk", demo_shop)
    yield made
    made.store.close()


def _desk_in(folder, demo_shop):
    made = Desk(folder, demo_shop[0], plan_seconds=0.0)
    made.lines = made.lines[:2]
    return made


@pytest.fixture
def quote(desk):
    """The quote of the invented board, which has been checked."""
    return desk.quotes.one(1)


@pytest.fixture
def client(desk):
    """A browser at a desk that works."""
    with TestClient(app_of(desk, jobs=1, cold=True), base_url=OURS, follow_redirects=False) as client:
        yield client


def _checked(desk, number):
    for _ in range(600):
        quote = desk.quotes.one(number)
        if quote.boards and not quote.boards[0].is_open:
            assert quote.boards[0].last.outcome == "done", quote.boards[0].last.told
            return quote
        time.sleep(0.05)
    raise AssertionError("the check did not end")


def _open(desk, quote):
    folder = desk.of_work(quote, quote.boards[0].last_done.id)
    return read_form(folder / "open_questions.json", OpenQuestions)


def _page(quote):
    return f"/quotes/{quote.id}/boards/{quote.boards[0].id}"


def _post(client, quote, what, **form):
    sign = sign_in(client.get(_page(quote)).text)
    return client.post(f"{_page(quote)}/{what}", data={"sign": sign, **form})


def _part(open_):
    return next(part for one in open_.questions for part in one.parts if "height" in part.figures)


def _figures_of(part):
    usual = {"length": "1.6 mm", "width": "0.8 mm", "height": "0.95 mm"}
    return {name: usual[name] for name in part.figures if name in usual}


def test_an_answer_is_kept_with_its_giver_decides_and_can_be_taken_back(desk, quote, client):
    before = _open(desk, quote)
    part = _part(before)
    client.cookies.set("desk_name", "Ada")
    given = _post(client, quote, "answer", key=part.key, asked=part.asked, **_figures_of(part))
    assert given.status_code == 303, given.text
    figures = [one for one in desk.store.figures() if one.given.who == "Ada"]
    assert {one.field for one in figures} >= {"height"}
    quote = _checked(desk, quote.id)
    after = _open(desk, quote)
    assert part.key not in {one.key for question in after.questions for one in question.parts}
    text = client.get(_page(quote)).text
    token = re.search(r'name="token" value="(\w+)"', text)[1]
    assert _post(client, quote, "undo", token=token).status_code == 303
    assert not [one for one in desk.store.figures() if one.given.who == "Ada"]
    assert all(one.is_open for one in desk.store.questions(BoardKey(before.board, quote.customer), only_open=False))
    assert _open(desk, _checked(desk, quote.id)).questions == before.questions


def test_undo_brings_back_the_figure_that_the_answer_superseded(desk, quote, client):
    part = _part(_open(desk, quote))
    client.cookies.set("desk_name", "Ada")
    assert _post(client, quote, "answer", key=part.key, asked=part.asked, **_figures_of(part)).status_code == 303
    (answered,) = [one for one in desk.store.figures() if one.field == "height"]
    token = answered.given.where.partition("-")[0]
    earlier = Given("Ben", dt.datetime(2026, 5, 4, tzinfo=dt.UTC), "stated")
    desk.store.withdraw(answered.key, ["height"], earlier, answered.scope)
    desk.store.record([Statement(answered.key, {"height": Interval(0.5, 0.5)}, earlier, answered.scope)])
    desk.store.record([Statement(answered.key, {"height": answered.value}, answered.given, answered.scope)])
    assert _post(client, quote, "undo", token=token).status_code == 303
    assert [(one.field, one.value, one.given.who) for one in desk.store.figures()] == [
        ("height", Interval(0.5, 0.5), "Ben")
    ]


def test_an_earlier_board_that_used_the_part_is_offered_with_what_its_files_state(desk, quote, client):
    part = _part(_open(desk, quote))
    given = Given("Ada", dt.datetime(2026, 5, 4, tzinfo=dt.UTC), "stated")
    stated = {"height": (Interval(0.95, 0.95), "bom.csv:3")}
    used = Used(part.number, ("L1",), stated)
    desk.store.keep_revision(Revision(BoardKey("Rain gauge"), "a" * 64, (), given, "B"), [used])
    text = client.get(_page(quote)).text
    at = text.index(f'id="w-{part.key}"')
    offered = text[at : text.index("</details>", at)]
    assert "Rain gauge B: height 0.95" in offered
    assert '<input type="hidden" name="height" value="0.95">' in offered
    assert _post(client, quote, "answer", key=part.key, asked=part.asked, height="0.95").status_code == 303
    assert [one.value for one in desk.store.figures() if one.field == "height"] == [Interval(0.95, 0.95)]


def test_what_is_no_figure_is_refused_where_it_was_typed_and_changes_nothing(desk, quote, client):
    part = _part(_open(desk, quote))
    state = desk.store.state()
    given = _post(client, quote, "answer", key=part.key, asked=part.asked, height="900 mm")
    told = client.get(given.headers["location"].partition("#")[0]).text
    at = told.index(f'id="q-{part.key}"')
    refusal = told.index('class="refusal"', at)
    assert "900 mm" in html.unescape(told[refusal : refusal + 600])
    assert not desk.store.figures()
    assert state.split()[0] == desk.store.state().split()[0]


def test_of_two_answers_to_one_question_the_second_is_told_of_the_first(desk, quote, client):
    part = _part(_open(desk, quote))
    client.cookies.set("desk_name", "Ada")
    assert _post(client, quote, "answer", key=part.key, asked=part.asked, **_figures_of(part)).status_code == 303
    client.cookies.set("desk_name", "Ben")
    late = _post(client, quote, "answer", key=part.key, asked=part.asked, height="0.8 mm")
    text = late.text if late.status_code != 303 else client.get(late.headers["location"].partition("#")[0]).text
    assert "answered meanwhile" in text or "Refused: not asked of this board" in text or "refused" in text
    assert {one.given.who for one in desk.store.figures()} == {"Ada"}


def test_a_workbook_that_comes_back_is_the_customers_and_what_cannot_be_read_is_told(desk, quote, client):
    part = _part(_open(desk, quote))
    sent = client.get(f"{_page(quote)}/files/questions-en.xlsx").content
    book = openpyxl.load_workbook(io.BytesIO(sent))
    sheet = book["parts"]
    titles = [cell.value for cell in sheet[1]]
    row = next(r for r in sheet.iter_rows(min_row=2) if r[titles.index("key")].value == part.key)
    for name, text in _figures_of(part).items():
        at = next(i for i, title in enumerate(titles) if title.split(" [")[0] == name)
        row[at].value = text
    lost = sheet.max_row + 1
    sheet.cell(lost, titles.index("your answer") + 1, "yes")
    out = io.BytesIO()
    book.save(out)
    sign = sign_in(client.get(_page(quote)).text)
    files = {"files": ("../questions <b>.xlsx", out.getvalue())}
    came = client.post(f"{_page(quote)}/answers", data={"sign": sign, "by": "Meadow Pumps"}, files=files)
    assert came.status_code == 303, came.text
    assert {one.given.who for one in desk.store.figures()} == {"Meadow Pumps (customer)"}
    text = client.get(came.headers["location"].partition("#")[0]).text
    assert "no key tells what it answers" in text
    assert "<b>.xlsx" not in text


def test_what_is_dropped_on_a_quote_is_told_by_its_content(desk, quote, client):
    part = _part(_open(desk, quote))
    book = openpyxl.load_workbook(io.BytesIO(client.get(f"{_page(quote)}/files/questions-en.xlsx").content))
    sheet = book["parts"]
    titles = [str(cell.value).split(" [")[0] for cell in sheet[1]]
    row = next(r for r in sheet.iter_rows(min_row=2) if r[titles.index("key")].value == part.key)
    for name, text in _figures_of(part).items():
        row[titles.index(name)].value = text
    out = io.BytesIO()
    book.save(out)
    for name, content, where in (
        ("any name.xlsx", out.getvalue(), f"{_page(quote)}?answer="),
        ("questions-en.csv", b"Ref,Part\nR1,9\n", f"/quotes/{quote.id}?took=revision"),
    ):
        sign = sign_in(client.get(_page(quote)).text)
        came = client.post(f"/quotes/{quote.id}/files", data={"sign": sign}, files={"files": (name, content)})
        assert came.headers["location"].startswith(where), came.headers
        told = client.get(came.headers["location"].partition("#")[0]).text
        assert ("Taken as a newer revision" in told) is ("revision" in where)
    assert {one.given.who for one in desk.store.figures()} == {f"{quote.customer or 'the customer'} (customer)"}


@pytest.mark.parametrize("language", ["es", "fr", "zh"])
def test_the_text_of_a_mail_that_comes_back_is_read_in_the_language_it_went_out_in(desk, quote, client, language):
    part = _part(_open(desk, quote))
    key = part.key.partition(":")[0]
    mail = client.get(f"{_page(quote)}/files/mail-{language}.txt").text
    before, code, after = mail.partition(f"[{key}/")
    start = before.rindex("\n\n")
    block = before[start:].replace("☐", "☒", 1)
    sign = sign_in(client.get(_page(quote)).text)
    form = {"sign": (None, sign), "by": (None, "Meadow Pumps"), "pasted": (None, before[:start] + block + code + after)}
    came = client.post(f"{_page(quote)}/answers", files=form)
    assert came.status_code == 303, came.text
    board = BoardKey(_open(desk, quote).board, quote.customer)
    answered = [one for one in desk.store.questions(board, only_open=False) if one.question.key == key]
    assert [one.is_open for one in answered] == [False]
    assert answered[0].answers[-1].given.who == "Meadow Pumps (customer)"


def test_a_mail_that_was_edited_stays_so_and_a_question_given_to_the_customer_says_by_whom(desk, quote, client):
    client.cookies.set("desk_name", "Ada")
    first = _open(desk, quote).questions[0]
    assert _post(client, quote, "ask", key=first.key).status_code == 303
    assert _post(client, quote, "letter", language="de", version="x", text="Guten Tag <Ada>").status_code == 303
    text = client.get(f"{_page(quote)}?language=de").text
    assert "with the customer" in text
    assert "Guten Tag &lt;Ada&gt;" in text
    assert "Edited by Ada" in text
    assert "What is asked has changed" in text  # of another version than is asked now


def test_a_change_without_the_sign_of_its_session_is_refused(client, desk, demo_shop):
    number = bring(desk, demo_shop[1])
    for what in ("answer", "undo", "ask", "letter"):
        assert client.post(f"/quotes/{number}/boards/1/{what}", data={"key": "x"}).status_code == 403


def test_a_part_filled_in_once_has_its_boards_checked_again_and_goes_out_and_in_as_a_library(desk, quote, client):
    text = client.get("/library").text
    number = re.search(r'name="part_number" value="([^"]+)"', text)[1]
    sign = sign_in(text)
    wrong = client.post("/library/parts", data={"sign": sign, "part_number": number, "height": "tall"})
    assert wrong.status_code == 422
    assert not desk.store.figures()
    given = {"length": "0.6 mm", "width": "0.3 mm", "height": "0.35 mm"}
    assert client.post("/library/parts", data={"sign": sign, "part_number": number, **given}).status_code == 303
    assert len(_checked(desk, quote.id).boards[0].works) == 2
    assert number not in client.get("/library").text
    out = client.get("/library/library.csv").text
    assert number in out
    changed = out.replace("0.35", "0.4")
    assert changed != out
    came = client.post("/library/files", data={"sign": sign}, files={"files": ("l.csv", changed)})
    assert came.status_code == 303, came.text
    (height,) = [one.value for one in desk.store.figures() if one.field == "height"]
    assert height.low == 0.4
