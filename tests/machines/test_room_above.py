"""The room above the board is that of the heads, which a machine's own stands in for where a head states none.

Figures: invented in round numbers.
"""

import pytest

from capcheck.checking import check
from capcheck.checking.answer import Choice
from capcheck.machines import MachineProfile
from capcheck.values import Interval


@pytest.mark.parametrize(
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


@pytest.mark.parametrize(("height", "undecided"), [("8", []), ("9", [True]), ("12", [True]), ("13", [True])])
def test_the_check_is_open_between_the_lowest_head_and_the_highest(make_board, make_line, tmp_path, height, undecided):
    table = tmp_path / "parts.csv"
    row = f"XQ9901-99,surface,2,1,{height}"
    table.write_text(f"part number,mounting,length [mm],width [mm],height [mm]\n{row}\n")
    folder = make_board(["U1,5,10,0,top,1,OWN LAND"], bom=["Ref,Qty,Part number", "U1,1,XQ9901-99"])
    heads = "".join(f'[[head]]\nname = "h{room}"\ntop_clearance = "{room} mm"\n' for room in (8, 12))
    line = make_line(f'name = "M"\n[board]\ntop_clearance = "5 mm"\n{heads}')
    report = check(folder, line=line, libraries=[table], choice=Choice(select=["height-before"]))
    assert [f.undecided for f in report.findings] == undecided
