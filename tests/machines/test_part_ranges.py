"""Limits of a head that hang on the part's size: ranges that leave holes or overlap are refused, limits are bounds.

Figures: invented in round numbers.
"""

from types import SimpleNamespace

import numpy as np
import pytest
from hypothesis import given, strategies as st

from capcheck.checking import check, prepare
from capcheck.checking.answer import Choice
from capcheck.facts import FACTS, Numbers
from capcheck.machines import Head, read_machine
from capcheck.planning import plan
from capcheck.shop import Settings
from capcheck.values.errors import InputError

CHIP = '{ up_to = "12 mm", max_part_height = "6.5 mm" }'


def profile(tmp_path, ranges, more='max_body_length = "45 mm"\nmax_part_height = "15 mm"\n'):
    file = tmp_path / "m.machine.toml"
    file.write_text(f'name = "M"\n[[head]]\nname = "h"\n{more}range = [{ranges}]\n')
    return file


@pytest.mark.parametrize(
    ("ranges", "said"),
    [
        (f'{CHIP}, {{ over = "15 mm" }}', "no range is for bodies of 12 to 15 mm; close the hole before range 2"),
        (f'{CHIP}, {{ over = "10 mm" }}', "range 2 begins at 10 mm, but the one before goes up to 12 mm; they overlap"),
        (f"{{}}, {CHIP}", "range 2 has no sizes left: the one before has no end"),
        ('{ over = "1 mm" }', "no range is for bodies of 0 to 1 mm"),
        (f'{CHIP}, {{ up_to = "40 mm" }}', "the ranges end at 40 mm, but max_body_length is 45 mm"),
        (f'{CHIP}, {{ up_to = "50 mm" }}', "the ranges end at 50 mm, but max_body_length is 45 mm"),
        ('{ over = "5 mm", up_to = "5 mm" }', "goes from 5 to 5 mm, which is nothing"),
        ('{ max_part_height = "16 mm" }', "states max_part_height 16 mm, the head 15 mm for every part"),
        ('{ up_to = "0 mm" }', "up_to"),
        ('{ upto = "12 mm" }', 'did you mean "up_to"?'),
        ("", "range"),
    ],
)
def test_ranges_that_contradict_themselves_are_refused(tmp_path, ranges, said):
    with pytest.raises(InputError) as caught:
        read_machine(profile(tmp_path, ranges))
    assert said in str(caught.value)


def test_a_head_that_sees_no_balls_sees_none_at_any_size(tmp_path):
    with pytest.raises(InputError, match="range 1 recognises balls, the head does not"):
        read_machine(profile(tmp_path, "{ recognises_balls = true }", "recognises_balls = false\n"))


def test_what_no_rule_reads_stands_in_the_sheet(tmp_path):
    file = profile(tmp_path, CHIP, "")
    file.write_text(file.read_text() + '[sheet]\n"air supply" = "0.5 MPa"\npower = 3\noptions = ["a", "b"]\n')
    assert read_machine(file).sheet["air supply"] == "0.5 MPa"


# A chip unit for bodies up to 12 mm, 6.5 mm high; 15 mm above; put together from pictures over 30 mm, without balls.
HEAD = Head.model_validate(
    {
        "name": "h",
        "max_body_length": "45 mm",
        "max_part_height": "15 mm",
        "range": [
            {"up_to": "12 mm", "max_part_height": "6.5 mm"},
            {"up_to": "30 mm", "min_ball_pitch": "0.5 mm"},
            {"recognises_balls": False, "min_lead_pitch": "0.6 mm"},
        ],
    }
)
LINE = SimpleNamespace(machines=[SimpleNamespace(head=(HEAD,), name="M")])


def limit(fact, low, high):
    length = Numbers(np.array([float(low)]), np.array([float(high)]))
    (column,) = FACTS[fact].provider(length, LINE)
    return column


@pytest.mark.rows(
    ("low", "high", "height"),
    [
        (2, 2, (6.5, 6.5)),
        (12, 12, (6.5, 6.5)),
        (12.1, 12.1, (np.inf, np.inf)),
        (11, 13, (6.5, np.inf)),
        (0, np.inf, (6.5, np.inf)),
    ],
)
def test_a_body_that_may_lie_in_several_ranges_has_its_limit_within_bounds(low, high, height):
    column = limit("placing.max_height_of_size", low, high)
    assert (column.low[0], column.high[0]) == height


@pytest.mark.rows(
    ("low", "high", "balls"), [(10, 10, True), (30, 30, True), (30.1, 30.1, False), (29, 31, None), (0, np.inf, None)]
)
def test_balls_are_not_recognised_where_pictures_are_put_together(low, high, balls):
    assert limit("placing.recognises_balls_of_size", low, high).value(0) is balls


def test_beyond_all_ranges_no_limit_is_known():
    head = Head.model_validate({"name": "h", "range": [{"up_to": "12 mm", "max_part_height": "6.5 mm"}]})
    line = SimpleNamespace(machines=[SimpleNamespace(head=(head,), name="M")])
    (column,) = FACTS["placing.max_height_of_size"].provider(Numbers(np.array([5.0]), np.array([13.0])), line)
    assert (column.low[0], column.high[0]) == (-np.inf, np.inf)


sizes = st.floats(0.1, 60, allow_nan=False)


@given(sizes, sizes, sizes, sizes)
def test_bounds_of_a_body_known_worse_hold_those_of_one_known_better(a, b, c, d):
    inner, outer = sorted([a, b]), [min(a, b, c, d), max(a, b, c, d)]
    for fact in ("max_height", "min_lead_pitch", "min_ball_pitch"):
        wide, narrow = (limit(f"placing.{fact}_of_size", *ends) for ends in (outer, inner))
        assert wide.low[0] <= narrow.low[0]
        assert wide.high[0] >= narrow.high[0]
    wide, narrow = (limit("placing.recognises_balls_of_size", *ends).value(0) for ends in (outer, inner))
    assert wide in {None, narrow}


MACHINE = """\
name = "M"
[feeders]
slots = 20
slots_used = { "8 mm" = 1, "12 mm" = 1, "24 mm" = 1 }
[[head]]
name = "h"
min_part_height = "0.2 mm"
max_part_height = "15 mm"
max_body_length = "45 mm"
max_body_width = "45 mm"
accuracy = "0.01 mm"
accuracy_sigma = 3
rotation_accuracy = "0.01 degree"
range = [{ up_to = "12 mm", max_part_height = "6.5 mm" }, { }]
"""
RULES = ["part-height", "part-height-at-size", "part-thickness", "largest-body"]


@pytest.mark.parametrize(
    ("length", "height", "rule", "verdict"),
    [
        ("12", "6.5", None, "pass"),
        ("12", "6.6", "part-height-at-size", "fail"),
        ("12.1", "6.6", None, "pass"),
        ("12.1", "15.1", "part-height", "fail"),
        ("12", "0.2", None, "pass"),
        ("12", "0.19", "part-thickness", "fail"),
    ],
)
def test_check_and_plan_agree_on_the_limit_and_one_step_past_it(make_board, make_line, length, height, rule, verdict):
    listed = ["Ref,Qty,Part number,Length [mm],Width [mm],Height [mm],Tape width", f"U1,1,PN-1,{length},9,{height},24"]
    folder = make_board(["U1,5,10,0,top,1,OWN LAND"], bom=listed, toml='[mounting]\n"U*" = "surface"\n')
    line, choice = make_line(MACHINE), Choice(select=RULES)
    report = check(folder, line=line, choice=choice)
    assert {f.rule for f in report.findings} == ({rule} if rule else set())
    planned = plan([folder], line, shop=prepare(Settings(choice=choice), None)).plan
    assert [report.verdict, planned.verdict] == [verdict] * 2
