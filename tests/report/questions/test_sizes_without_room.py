"""A size code of two systems is asked with what the neighbours leave room for, in the shop's words and the customer's.

Figures: invented parts; 0603 is 1.6 × 0.8 mm in inch and 0.6 × 0.3 mm in metric (size_codes.csv).
"""

import pytest

from capcheck import check
from capcheck.report.questions import questions

LIBRARY = "footprint,length [mm],width [mm],height [mm],mounting,length along x\nW-7,2,1,0.5,surface,yes\n"


@pytest.fixture
def asked(make_board, tmp_path):
    def ask(x):
        library = tmp_path / "library.csv"
        library.write_text(LIBRARY)
        rows = [f"C{n},{x},{10 * n},0,top,100n,C0603\nU{n},10,{10 * n},0,top,Z,W-7" for n in (1, 2)]
        return check(make_board(rows), libraries=[library])

    return ask


def of(report):
    message = next(f.message for f in report.findings if f.rule == "size-code-settled")
    question = next(q for q in questions(report) if q.type == "size-code")
    return message, question


def test_the_size_that_would_reach_into_a_neighbour_is_named_with_it(asked):
    message, question = of(asked(11.29))  # see tests/geometry/test_room_for_sizes.py
    assert "chip 1608M (inch 0603) of 1.6 × 0.8 mm, C1 would reach into U1" in message
    assert "more likely chip 0603M (inch 0201)" in message
    assert "1.6 × 0.8 mm" in question.rows[0].detail
    assert "U1" in question.rows[0].detail


def test_both_sizes_stay_what_is_checked(asked):
    report = asked(11.29)  # invented, as above
    body = next(b for b in report.board.bodies if b.may_be)
    assert body.length.value.low < 0.6
    assert body.length.value.high > 1.6


def test_with_room_for_both_nothing_is_told(asked):
    message, question = of(asked(13))
    assert "reach into" not in message
    assert question.rows[0].detail == ""
