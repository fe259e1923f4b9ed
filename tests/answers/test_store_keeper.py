"""With a store in the configuration figures go there, with who and when; an older one is superseded and kept.

Figures: invented.
"""

import datetime as dt
import json

import pytest

from capcheck.answers import StoreKeeper
from capcheck.commands import answers
from capcheck.packages import Key, Statement
from capcheck.store import BoardKey, PartKey, asked, open_store
from capcheck.values import InputError, Interval

BALLS = "body-size:17cfd"
BY = ("--by", "Ada Example", "--on", "2030-01-02")
PART = PartKey(part_number="W-36002")

WRITES = {"board.toml": (answers, "write_file"), "store": (asked, "write_answers")}


@pytest.fixture
def kept(desk):
    """Return a function that gives the figures that the shop's store has of the part."""
    (desk / "capcheck.toml").write_text('line = "lines/full.line.toml"\nstore = "parts.db"\n')
    with open_store(desk / "parts.db"):
        pass

    def read():
        with open_store(desk / "parts.db", create=False, read_only=True) as store:
            return store.figures(PART)

    return read


def test_a_figure_is_kept_in_the_store_and_used_by_the_next_check(kept, run, fill, listed):
    path = fill({BALLS: {"ball diameter [mm]": "0,6 mm", "data sheet (link or number)": "DS-1"}})
    code, out, err = run("answers", path, "--board", "board")
    assert (code, err) == (0, "")
    assert "parts.db: W-36002: ball diameter 0.6" in out
    assert kept() == [], "showing writes nothing"
    assert run("answers", path, "--board", "board", "--write", *BY)[0] == 0
    (figure,) = kept()
    assert (figure.field, figure.value.low, figure.value.high) == ("ball_diameter", 0.6, 0.6)
    assert (figure.given.who, figure.given.date, figure.given.source) == ("Ada Example", "2030-01-02", "answered")
    assert figure.given.link == "DS-1"
    assert BALLS not in {row["key"] for row in listed()}


def test_another_figure_of_the_store_is_told_before_it_is_superseded(kept, desk):
    def keeper():
        return StoreKeeper("parts.db", by="Ada Example", on=dt.date(2030, 1, 2), board="board")

    key = Key(part_number="W-36002")
    first, second = (Statement(key, {"ball diameter": Interval(v, v)}, "told") for v in (0.6, 0.5))
    one = keeper()
    assert [change.kind for change in one.changes(first)] == ["new"]
    one.state(first)
    assert [change.kind for change in one.changes(second)] == ["other"], "beside what was taken before"
    one.commit()
    other = keeper()
    assert [(change.kind, change.old) for change in other.changes(second)] == [("other", "0.6")]
    other.state(second)
    other.commit()
    assert [figure.value.low for figure in kept()] == [0.5]
    with open_store(desk / "parts.db", create=False, read_only=True) as store:
        assert [figure.value.low for figure in store.history(PART)] == [0.6, 0.5]


def answered(desk):
    with open_store(desk / "parts.db", create=False, read_only=True) as store:
        standing = store.questions(BoardKey("Irrigation controller"), only_open=False)
    return {one.question.key: [(a.text, a.settles, a.given.who, a.goes_to) for a in one.answers] for one in standing}


@pytest.mark.usefixtures("kept")
def test_what_is_answered_and_asked_is_kept_in_the_store_and_in_no_file(desk, run, fill, listed):
    size_code = "size-code"
    path = fill({BALLS: {"ball diameter [mm]": "0.6"}, size_code: {"your choice": "metric"}})
    shown = run("answers", path, "--board", "board")[1]
    assert "nothing was written" in shown
    assert answered(desk) == {}
    code, out, _ = run("answers", path, "--board", "board", "--write", *BY)
    assert code == 0
    assert "written: parts.db (1 part and" in out
    found = answered(desk)
    assert found[size_code][0][1:] == (True, "Ada Example", "board.toml")
    assert found[BALLS][0][1:] == (True, "Ada Example", "store")
    assert not (desk / "answers.csv").exists()
    assert "answers" not in (desk / "capcheck.toml").read_text()
    assert not {row["key"] for row in listed()} & {size_code, BALLS}
    again = run("answers", path, "--board", "board", "--write", *BY)[1]
    assert "answered before" in again
    assert "nothing to write" in again


@pytest.mark.usefixtures("kept")
def test_answers_of_a_file_hold_beside_those_of_the_store(desk, run, fill, listed):
    """What was answered before there was a store is not asked again."""
    without = desk / "without.toml"
    without.write_text('line = "lines/full.line.toml"\nanswers = "answers.csv"\n')
    packaging = next(row["key"] for row in listed() if row["key"].startswith("not-in-bom"))
    path = fill({packaging: {"your choice": "leave it off"}})
    assert run("answers", path, "--board", "board", "--write", *BY, "--config", without)[0] in {0, 1}
    (desk / "capcheck.toml").write_text((desk / "capcheck.toml").read_text() + 'answers = "answers.csv"\n')
    assert packaging not in {row["key"] for row in listed()}


@pytest.mark.usefixtures("kept")
def test_a_board_that_is_kept_leaves_its_questions_in_the_store(desk, run, listed):
    assert run("check", "board", "--keep", "--by", "Ada Example")[0] in {0, 1}
    assert {row["key"] for row in listed()} <= answered(desk).keys()


@pytest.mark.usefixtures("kept")
def test_what_the_store_knows_of_a_number_is_told_as_data_too(run, fill):
    path = fill({BALLS: {"ball diameter [mm]": "0,6 mm"}})
    assert run("answers", path, "--board", "board", "--write", *BY)[0] == 0
    code, out, _ = run("part", "W-36002", "--format", "json")
    told = json.loads(out)
    assert code == 0
    (figure,) = told["figures"]
    assert (figure["field"], figure["value"], figure["who"]) == ("ball_diameter", [0.6, 0.6], "Ada Example")
    assert told["boards"] == []


def test_a_list_named_beside_the_store_takes_the_figures_and_the_store_the_answers(kept, desk, run, fill):
    path = fill({BALLS: {"ball diameter [mm]": "0.6"}})
    (desk / "own.csv").write_text("part number,ball diameter [mm]\n")
    out = run("answers", path, "--board", "board", "--write", *BY, "--library", "own.csv")[1]
    assert "written: own.csv" in out
    assert "written: parts.db (1 answer)" in out
    assert "0.6" in (desk / "own.csv").read_text()
    assert kept() == []
    assert BALLS in answered(desk)


@pytest.mark.usefixtures("kept")
@pytest.mark.parametrize("fails", WRITES)
def test_where_one_place_cannot_be_written_the_list_can_be_read_again(desk, run, fill, listed, monkeypatch, fails):
    """An answer is not kept as given before what it says stands in board.toml, nor the other way round."""
    before = (desk / "board" / "board.toml").read_text()
    path = fill({BALLS: {"ball diameter [mm]": "0.6"}, "size-code": {"your choice": "metric"}})

    def refused(*_):
        raise InputError.at(fails, "cannot be written: the disk is full")

    with monkeypatch.context() as patched:
        patched.setattr(*WRITES[fails], refused)
        code, _, told = run("answers", path, "--board", "board", "--write", *BY)
    assert (code, "disk is full" in told) == (2, True)
    assert (desk / "board" / "board.toml").read_text() == before
    assert answered(desk) == {}
    assert run("answers", path, "--board", "board", "--write", *BY)[0] == 0
    assert 'size_codes = "metric"' in (desk / "board" / "board.toml").read_text()
    assert not {row["key"] for row in listed()} & {"size-code", BALLS}
