"""Who may ask what: a desk answers its own pages alone.

Figures: invented.
"""

import asyncio
import re

import pytest
from starlette.testclient import TestClient

from capcheck.desk.web import app_of, guard
from capcheck.desk.web.guard import is_ours, session_of

OURS = "http://127.0.0.1:8765"


def sign_in(text):
    return re.search(r'data-sign="(\w+)"', text)[1]


@pytest.mark.rows(
    ("host", "listening", "ours"),
    [
        ("127.0.0.1:8765", "127.0.0.1", True),
        ("localhost:8765", "127.0.0.1", True),
        ("[::1]:8765", "127.0.0.1", True),
        ("desk.example:8765", "127.0.0.1", False),
        ("127.0.0.1.example:8765", "127.0.0.1", False),
        ("10.0.0.9:8765", "127.0.0.1", False),
        ("", "127.0.0.1", False),
        ("10.0.0.9:8765", "10.0.0.9", True),
        ("10.0.0.9:8765", "0.0.0.0", True),  # noqa: S104 - nothing is listened at
        ("desk.example:8765", "0.0.0.0", False),  # noqa: S104
        ("desk.example:8765", "desk.example", True),
    ],
)
def test_a_name_that_was_bent_to_our_address_is_not_ours(host, listening, ours):
    assert is_ours(host, listening) is ours


def test_a_foreign_name_gets_no_page(client):
    answer = client.get("/", headers={"host": "evil.example"})
    assert answer.status_code == 421
    assert "Quotes" not in answer.text


@pytest.mark.rows(
    ("headers", "status"),
    [
        ({}, 303),
        ({"origin": OURS}, 303),
        ({"origin": "http://evil.example"}, 403),
        ({"origin": "null"}, 403),
        ({"sec-fetch-site": "cross-site"}, 403),
        ({"sec-fetch-site": "same-site"}, 403),
        ({"origin": "http://[::1"}, 403),
        ({"host": "[::1"}, 421),
        ({"referer": "http://[::1"}, 303),
    ],
)
def test_another_page_changes_nothing(client, sign, headers, status):
    assert client.post("/name", data={"sign": sign, "name": "Eve"}, headers=headers).status_code == status


def test_a_change_carries_the_sign_of_its_own_session(desk, client, sign):
    other = TestClient(client.app, base_url=OURS, follow_redirects=False)
    theirs = sign_in(other.get("/").text)
    for given, status in ((sign, 303), (theirs, 403), ("", 403), ("é", 403)):
        assert client.post("/name", data={"sign": given, "name": "Ada"}).status_code == status
        answer = client.post("/quotes", data={"sign": given}, files={"files": ("a.csv", b"x")})
        assert answer.status_code == status
    assert len(desk.quotes.all()) == 1
    assert len(list((desk.folder / "quotes").iterdir())) == 1


def test_no_page_runs_a_script_or_takes_a_style_but_the_desks_files(client):
    for path in ("/", "/quotes/99", "/static/desk.js", "/picture.css"):
        policy = client.get(path).headers["content-security-policy"]
        assert "unsafe" not in policy
        assert "default-src 'none'" in policy
    page = client.get("/").text
    assert not re.search(r"<script(?![^>]*src=)|<style|\son\w+=|\sstyle=", page)


def test_the_cookie_is_for_the_browser_alone_and_made_by_nobody_else(desk, client):
    cookie = TestClient(client.app, base_url=OURS).get("/").headers["set-cookie"]
    assert {"HttpOnly", "SameSite=Strict", "Path=/"} <= {part.strip() for part in cookie.split(";")}
    value = cookie.split(";")[0].partition("=")[2]
    assert session_of(value, desk.secret).entered
    number, entered, sign = value.split(".")
    assert session_of(f"{number}.0.{sign}", desk.secret) is None
    assert session_of(f"{number[:-1]}.{entered}.{sign}", desk.secret) is None
    assert session_of(value, b"another") is None
    assert (desk.folder / "secret").stat().st_mode & 0o077 == 0


def test_others_are_let_in_by_the_token(desk):
    app = app_of(desk, jobs=1, host="10.0.0.9", token="right-one")  # noqa: S106 - invented
    browser = TestClient(app, base_url="http://10.0.0.9:8765", follow_redirects=False)
    for path in ("/", "/quotes/1", "/quotes/1/events", "/picture.css"):
        assert browser.get(path).headers["location"] == "/enter"
    sign = sign_in(browser.get("/enter").text)
    assert browser.post("/name", data={"sign": sign, "name": "Eve"}).headers["location"] == "/enter"
    for wrong in ("", "right-on", "right-one2", "é"):
        assert browser.post("/enter", data={"sign": sign, "token": wrong}).status_code == 403
        assert browser.get("/").status_code == 303
    assert browser.post("/enter", data={"sign": sign, "token": " right-one "}).headers["location"] == "/"
    assert browser.get("/").status_code == 200
    again = TestClient(
        app_of(desk, jobs=1, host="10.0.0.9", token="next-one"),  # noqa: S106 - invented
        base_url="http://10.0.0.9:8765",
        follow_redirects=False,
        cookies=dict(browser.cookies),
    )
    assert again.get("/").headers["location"] == "/enter", "the token of an earlier start lets nobody in"


def test_a_secret_that_was_never_written_signs_nothing(desk):
    (desk.folder / "secret").write_bytes(b"")
    assert len(desk.secret) == 32
    assert desk.secret == desk.secret


def test_a_body_that_stays_away_is_broken_off(monkeypatch):
    monkeypatch.setattr(guard, "SILENT_S", 0.01)

    async def ask():
        received = guard._in_time(asyncio.Event().wait)
        return await received()

    assert asyncio.run(ask()) == {"type": "http.disconnect"}


@pytest.mark.rows(
    ("size", "status"),
    [(600_000, 303), (1_100_000, 413)],
)
def test_a_form_is_bounded(request, size, status):
    client, sign = request.getfixturevalue("client"), request.getfixturevalue("sign")
    assert client.post("/name", data={"sign": sign, "name": "a" * size}).status_code == status
