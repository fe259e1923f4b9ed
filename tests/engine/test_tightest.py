"""The tightest margins: of each limit the subject nearest to it, whichever way the limit points.

Figures: facts and limits are invented, margins worked by hand.
"""

from __future__ import annotations

import pytest

from capcheck.checking.answer import Choice, check
from capcheck.report.page.margins import bars
from capcheck.report.sentences import closest


@pytest.fixture
def margins(make_board):
    """Return a function that gives the report on a rule that requires *text* of three parts in a row."""

    def ask(require, *, subject="part", when=""):
        rows = ["U1,10,10,0,top,,", "U2,20,10,0,top,,", "U3,40,10,0,top,,"]
        bom = ["Refs,Part number,Length [mm],Width [mm],Height [mm]", "U1,P-1,5,5,8", "U2,P-2,5,5,2", "U3,P-3,5,5,4"]
        board = make_board(rows, bom=bom, toml='units = "mm"\nmounting = { "U*" = "surface" }\n')
        words = dict.fromkeys(("title", "message", "why", "remedy", "basis"), "as it says")
        rule = {"id": "own", "subject": subject, "require": require, "when": when, **words}
        return check(board, choice=Choice(made=[rule], select=["own"]))

    return ask


def test_of_a_pair_the_tighter_of_the_two_ways_round_counts(margins):
    """U1 and U2 are 5 mm apart: half of U1's 8 mm leaves 1 mm, half of U2's 2 mm leaves 4 mm."""
    for require in ("pair.gap >= pair.second.height / 2", "pair.gap >= pair.first.height / 2"):
        (tight,) = margins(require, subject="pair", when="pair.gap < '6 mm'").answers.tightest
        assert (tight.subject.ref, tight.margin.low) == ("U1 and U2", 1.0)
        assert {fact.name: fact.low for fact in tight.facts}[require.split()[2]] == 8.0


@pytest.mark.parametrize(
    ("require", "share"),
    [
        ("part.height <= '10 mm'", 0.2),
        ("'10 mm' >= part.height", 0.2),
        ("part.height >= '1 mm'", 0.5),
        ("'1 mm' <= part.height <= '10 mm'", 0.2),
        ("'1.5 mm' <= part.height <= '16 mm'", 0.25),
    ],
)
def test_a_margin_is_a_share_of_the_larger_of_the_two_that_are_compared(margins, require, share):
    """The tallest part has 8 mm, the lowest 2 mm; a limit in the rule counts as one of a machine does."""
    (tight,) = closest(margins(require))
    assert tight.share == pytest.approx(share)


@pytest.mark.parametrize(("require", "share"), [("part.height <= '2 mm'", -75), ("part.height >= '8 mm'", -75)])
def test_what_is_passed_has_a_share_of_the_same_kind(margins, require, share):
    bar, *_ = bars(margins(require), type("Rows", (), {"of_subject": lambda *_: ()})())
    assert bar.share == pytest.approx(share)


def test_a_limit_of_which_there_is_none_hides_no_other(margins):
    """The least of no parts is beyond any number: that leaves no margin to tell, and the other one counts."""
    never = "least(part.height, where part.height > '9 mm')"
    report = margins(f"{never} + part.height >= greatest(part.height) and part.height <= '10 mm'")
    (tight,) = closest(report)
    assert (tight.tightest.subject.ref, tight.share) == ("U1", pytest.approx(0.2))
    report = margins(f"{never} <= {never} + {never}", subject="board")
    assert report.answers.tightest == []
