"""What turning a part does at its outermost lead, as facts and as a finding.

Figures: boards, parts and machines are invented; limits have their basis in rules/accuracy.toml.
"""

import math

import pytest

from capcheck.checking.answer import Choice, check

PLACER = """\
name = "M"
[[head]]
name = "h"
accuracy = "0.03 mm"
accuracy_sigma = 3
rotation_accuracy = "{turn}"
"""
LIBRARY = (
    "part number,length [mm],width [mm],height [mm],pitch [mm],pins,lead style,lead width [mm],mounting\n"
    "W-1,14,14,1.6,0.5,100,gull wing,0.22,surface\n"
)


@pytest.fixture
def checked(make_board, make_line, tmp_path):
    def run(turn):
        library = tmp_path / "parts.csv"
        library.write_text(LIBRARY)
        board = make_board(["U1,5,10,0,top,,"], bom=["Ref,Part number", "U1,W-1"], toml="product_class = 2\n")
        return check(
            board,
            line=make_line(PLACER.format(turn=turn)),
            libraries=[library],
            choice=Choice(select=["accuracy-turned", "accuracy-lead"]),
        )

    return run


def test_reach_and_turn_of_a_square_body(checked):
    report = checked("0.1 degree")
    reach, turn = report.session.get("part.reach"), report.session.get("head.turn")
    # A square of 14 mm: its side lies 7 mm from the centre, its corner 7 × √2.
    assert (reach.low[0], reach.high[0]) == pytest.approx((7.0, 7 * math.sqrt(2)))
    assert turn.low[0] == pytest.approx(math.sin(math.radians(0.1)))


@pytest.mark.parametrize(
    ("turn", "expected"),
    [
        # 0.22 × 0.5 − 9.9 × sin 0.1° = 0.0927 mm ≥ 3 × 1.33 × 0.01 mm = 0.0399 mm; worked by hand.
        ("0.1 degree", set()),
        # 0.11 − 7 × sin 1° = −0.012 mm < 0.0399 mm: not even the lead nearest to the centre keeps to it.
        ("1 degree", {("accuracy-turned", "warn", False)}),
        # 0.11 − 9.9 × sin 0.5° = 0.024 mm, 0.11 − 7 × sin 0.5° = 0.049 mm: open.
        ("0.5 degree", {("accuracy-turned", "warn", True)}),
    ],
)
def test_a_head_that_turns_badly_misses_with_the_outermost_leads(checked, turn, expected):
    assert {(f.rule, f.outcome, f.undecided) for f in checked(turn).findings} == expected
