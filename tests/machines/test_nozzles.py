"""Nozzles by size, pick area and the parts that they are for; several together are held to every size in the bounds.

Figures: invented in round numbers.
"""

from itertools import product

import pytest
from hypothesis import given, strategies as st

from capcheck.checking import check
from capcheck.checking.answer import Choice
from capcheck.machines import Nozzle, holding
from capcheck.values import Interval

_MM = st.integers(1, 8)


def nozzle(**stated):
    return Nozzle.model_validate({"name": "n"} | stated)


@pytest.mark.rows(
    ("stated", "length", "width", "fits"),
    [
        ({"max_side": "5 mm", "pick_length": "1 mm"}, 1, 1, True),
        ({"max_side": "5 mm", "pick_length": "1 mm"}, 2, 0.9, False),
        ({"max_side": "5 mm", "pick_length": "1 mm", "pick_width": "0.5 mm"}, 1, 0.5, True),
        ({"max_side": "5 mm", "pick_length": "1 mm", "pick_width": "0.5 mm"}, 0.9, 0.5, False),
        ({"max_side": "5 mm", "pick_length": "1 mm", "min_side": "2 mm"}, 3, 1.9, False),
        ({"takes": ["AB-*"]}, 90, 90, True),
        ({"takes": ["AB-*"], "max_side": "5 mm"}, 5.1, 1, False),
    ],
)
def test_a_nozzle_holds_what_covers_its_pick_area(stated, length, width, fits):
    assert nozzle(**stated).fits(Interval.exactly(length), Interval.exactly(width)) is fits


@pytest.mark.rows(
    ("names", "own"),
    [
        (["ab-99"], True),
        (["XQ99", "ab-99"], True),
        (["XQ99", "OWN LAND"], False),
        (["", "OWN LAND"], None),
        ([], None),
    ],
)
def test_a_nozzle_for_some_parts_is_for_no_others(names, own):
    special = nozzle(takes=["AB-*"], max_side="9 mm", min_side="1 mm")
    assert special.is_for(names) is own
    side = Interval.exactly(2.0)
    assert holding([special], side, side, names) is own
    assert holding([special], Interval.exactly(10.0), side, names) is False


@pytest.mark.rows(
    ("stated", "told"),
    [
        ({}, "neither the parts"),
        ({"min_side": "1 mm"}, "add takes, or max_side"),
        ({"max_side": "1 mm"}, "with min_side or pick_length"),
        ({"min_side": "2 mm", "max_side": "1 mm"}, "is more than the greatest"),
        ({"max_side": "5 mm", "pick_width": "1 mm"}, "goes with a pick_length"),
        ({"max_side": "5 mm", "pick_length": "1 mm", "pick_width": "2 mm"}, "exchange"),
        ({"max_side": "5 mm", "min_side": "1 mm", "pick_length": "1 mm", "holds": "sides"}, "no pick area"),
        ({"takes": []}, "at least 1"),
    ],
)
def test_what_contradicts_itself_in_a_nozzle_is_told_with_what_to_do(stated, told):
    with pytest.raises(ValueError, match=told):
        nozzle(**stated)


@given(
    st.lists(st.tuples(_MM, _MM, _MM), min_size=1, max_size=3),
    st.integers(0, 4),
    st.integers(0, 3),
    _MM,
    st.integers(0, 3),
)
def test_nozzles_hold_a_bounded_body_exactly_where_they_hold_every_size_within(areas, length, more, width, wide):
    nozzles = [
        nozzle(min_side=f"{low} mm", max_side=f"{max(low + most, p)} mm", pick_length=f"{p} mm")
        for low, most, p in areas
    ]
    shorter = Interval(float(width), float(width + wide))
    longer = Interval(shorter.high + length, shorter.high + length + more)
    quarters = [[side.low + k / 4 for k in range(int(4 * (side.high - side.low)) + 1)] for side in (longer, shorter)]
    each = {any(n.fits(Interval.exactly(a), Interval.exactly(b)) for n in nozzles) for a, b in product(*quarters)}
    answer = holding(nozzles, longer, shorter, ["XQ99"])
    assert (answer is True) is (each == {True})
    assert answer is not False or each == {False}


MACHINE = """\
name = "M"
[[head]]
name = "h"
nozzle = [
  { name = "round", max_side = "9 mm", pick_length = "1 mm" },
  { name = "own", takes = ["XQ9902-*"] },
]
"""


@pytest.mark.parametrize(
    ("number", "width", "fails"), [("XQ9901-99", 1, []), ("XQ9901-99", 0.9, [False]), ("XQ9902-99", 0.9, [])]
)
def test_the_check_asks_pick_area_and_parts(make_board, make_line, tmp_path, number, width, fails):
    table = tmp_path / "parts.csv"
    table.write_text(f"part number,mounting,length [mm],width [mm],height [mm]\n{number},surface,2,{width},0.5\n")
    folder = make_board(["U1,5,10,0,top,1,OWN LAND"], bom=["Ref,Qty,Part number", f"U1,1,{number}"])
    choice = Choice(select=["nozzle-for-size"])
    report = check(folder, line=make_line(MACHINE), libraries=[table], choice=choice)
    assert [f.undecided for f in report.findings] == fails
