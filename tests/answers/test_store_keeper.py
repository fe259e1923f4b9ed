"""With a store in the configuration figures go there, with who and when; an older one is superseded and kept.

Figures: invented.
"""

import datetime as dt

import pytest

from capcheck.answers import StoreKeeper
from capcheck.packages import Key, Statement
from capcheck.store import PartKey, open_store
from capcheck.values import Interval

BALLS = "body-size:17cfd"
BY = ("--by", "Ada Example", "--on", "2030-01-02")
PART = PartKey(part_number="W-36002")


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
    path = fill({BALLS: {"ball diameter [mm]": "0,6 mm"}})
    code, out, err = run("answers", path, "--board", "board")
    assert (code, err) == (0, "")
    assert "parts.db: W-36002: ball diameter 0.6" in out
    assert kept() == [], "showing writes nothing"
    assert run("answers", path, "--board", "board", "--write", *BY)[0] == 0
    (figure,) = kept()
    assert (figure.field, figure.value.low, figure.value.high) == ("ball_diameter", 0.6, 0.6)
    assert (figure.given.who, figure.given.date, figure.given.source) == ("Ada Example", "2030-01-02", "answered")
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
