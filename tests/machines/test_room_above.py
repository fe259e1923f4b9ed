"""The room above the board is that of the heads, which a machine's own stands in for where a head states none.

Figures: invented in round numbers.
"""

import pytest

from capcheck.checking import check
from capcheck.checking.answer import Choice
from capcheck.machines import MachineProfile
from capcheck.values import Interval


@pytest.mark.rows(
    ("machine", "heads", "room"),
    [
        ("8 mm", [None, None], Interval.exactly(8.0)),
        ("8 mm", ["5 mm", None], Interval(5.0, 8.0)),
        ("8 mm", ["9 mm", "12 mm"], Interval(9.0, 12.0)),
        (None, ["9 mm", None], None),
        (None, [None], None),
    ],
)
def test_room_above_spans_the_heads(machine, heads, room):
    stated = [{"name": f"h{k}"} | ({} if one is None else {"top_clearance": one}) for k, one in enumerate(heads)]
    board = {} if machine is None else {"top_clearance": machine}
    assert MachineProfile.model_validate({"name": "M", "board": board, "head": stated}).room_above == room


@pytest.mark.parametrize(("height", "outcomes"), [(8, []), (8.1, ["warn"]), (12, ["warn"]), (12.1, ["fail"])])
def test_the_check_is_open_between_the_lowest_head_and_the_highest(make_board, make_line, tmp_path, height, outcomes):
    """U3 is too long for the first machine; the second carries it over U1, which is too tall for it."""
    rows = ["part number,mounting,length [mm],width [mm],height [mm]"]
    rows += [f"XQ9901-99,surface,4,4,{height}", "XQ9903-99,surface,5,5,1"]
    table = tmp_path / "parts.csv"
    table.write_text("\n".join(rows))
    placed = ["U1,5,10,0,top,1,OWN LAND", "U3,25,10,0,top,1,OWN LAND"]
    folder = make_board(placed, bom=["Ref,Qty,Part number", "U1,1,XQ9901-99", "U3,1,XQ9903-99"])
    limits = 'max_part_height = "20 mm"\nmax_body_length = "4 mm"\nmax_body_width = "4 mm"\n'
    first = f'[board]\ntop_clearance = "30 mm"\n[[head]]\nname = "h"\n{limits}'
    reach = 'max_part_height = "2 mm"\nmax_body_length = "9 mm"\nmax_body_width = "9 mm"\n'
    heads = "".join(f'[[head]]\nname = "h{room}"\n{reach}top_clearance = "{room} mm"\n' for room in (8, 12))
    line = make_line(f'name = "First"\n{first}', f'name = "M"\n[board]\ntop_clearance = "5 mm"\n{heads}')
    choice = Choice(select=["height-before", "part-height", "largest-body"])
    report = check(folder, line=line, libraries=[table], choice=choice)
    told = [f for f in report.findings if f.rule == "height-before"]
    assert ["warn" if f.undecided else "fail" for f in told] == outcomes
