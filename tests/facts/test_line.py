"""Length and area of a line as facts, and whether it fits its floor.

Figures: boards, parts and machines are invented; limits have their basis in rules/line.toml.
"""

import math

import pytest

from capcheck.checking.answer import Choice, check

PLACER = 'name = "{name}"\n{width}\n[[head]]\nname = "h"\n'
OVEN = '[[station]]\nname = "oven"\nlength = "4 m"\n'


def line_of(make_line, *widths, extra):
    machines = [
        PLACER.format(name=f"M{k}", width=f'floor_width = "{w}"\nfloor_depth = "2 m"' if w else "")
        for k, w in enumerate(widths)
    ]
    return make_line(*machines, extra=extra)


@pytest.mark.parametrize(
    ("free", "expected"), [("6.5 m", set()), ("6499 mm", {("line-length", "fail", False)}), (None, set())]
)
def test_machines_and_stations_stand_one_after_another(make_board, make_line, free, expected):
    """1 m + 1.5 m of machines + 4 m of oven: 6.5 m, worked by hand."""
    extra = (f'free_length = "{free}"\n' if free else "") + OVEN
    line = line_of(make_line, "1 m", "1500 mm", extra=extra)
    report = check(make_board(["C1,5,10,0,top,1u,CAPC1005X55N"]), line=line, choice=Choice(select=["line-length"]))
    assert {(f.rule, f.outcome, f.undecided) for f in report.findings} == expected
    assert report.session.get("line.length").low[0] == pytest.approx(6500)
    assert report.session.get("line.machine_area").low[0] == pytest.approx(2.5 * 2 * 1e6)


# IPC-7351B: 1.0 x 0.5 mm.
def test_a_machine_that_states_no_width_leaves_the_length_open_unless_the_rest_is_too_long(make_board, make_line):
    board = make_board(["C1,5,10,0,top,1u,CAPC1005X55N"])
    choice = Choice(select=["line-length"])
    line = line_of(make_line, "1 m", None, extra=f'free_length = "6 m"\n{OVEN}')
    report = check(board, line=line, choice=choice)
    assert [(f.outcome, f.undecided) for f in report.findings] == [("warn", True)]
    assert math.isinf(report.session.get("line.length").high[0])
    line = line_of(make_line, "1 m", None, extra=f'free_length = "4900 mm"\n{OVEN}')
    assert [f.outcome for f in check(board, line=line, choice=choice).findings] == ["fail"]


@pytest.mark.parametrize(
    ("free", "expected"), [("5 m**2", set()), ("4999999 mm**2", {("line-area", "fail", False)}), (None, set())]
)
def test_the_machines_fit_the_area_there_is_for_them(make_board, make_line, free, expected):
    """(1 m + 1.5 m) × 2 m of machines: 5 m², worked by hand."""
    line = line_of(make_line, "1 m", "1500 mm", extra=f'free_area = "{free}"\n' if free else "")
    report = check(make_board(["C1,5,10,0,top,1u,CAPC1005X55N"]), line=line, choice=Choice(select=["line-area"]))
    assert {(f.rule, f.outcome, f.undecided) for f in report.findings} == expected


# IPC-7351B: 1.0 x 0.5 mm.
def test_a_machine_that_states_no_depth_leaves_the_area_open(make_board, make_line):
    line = line_of(make_line, "1 m", None, extra='free_area = "3 m**2"\n')
    report = check(make_board(["C1,5,10,0,top,1u,CAPC1005X55N"]), line=line, choice=Choice(select=["line-area"]))
    assert [(f.outcome, f.undecided) for f in report.findings] == [("warn", True)]
