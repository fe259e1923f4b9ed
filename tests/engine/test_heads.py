"""Which head a part is judged by where none is proved to take it: the one that comes closest.

Figures: invented.
"""

from __future__ import annotations

import pytest

from capcheck.checking.answer import Choice, check
from capcheck.machines import read_line

PROFILE = """
name = "Placer"
[[head]]
name = "low"
max_part_height = "10 mm"
[[head]]
name = "high"
max_part_height = "16 mm"
[[head]]
name = "middle"
max_part_height = "12 mm"
"""
UNSTATED = '[[head]]\nname = "unstated"\n'


@pytest.mark.parametrize(
    ("height", "heads", "closest"), [("40", "", "high"), ("", UNSTATED, "high"), ("40", UNSTATED, "unstated")]
)
def test_of_heads_that_leave_as_much_open_the_one_with_the_most_room_counts(
    make_board, make_line, height, heads, closest
):
    bom = ["Refs,Part number,Length [mm],Width [mm],Height [mm]", f"U1,P-1,5,5,{height}"]
    board = make_board(["U1,10,10,0,top,,"], bom=bom, toml='units = "mm"\nmounting = { "U*" = "surface" }\n')
    report = check(board, line=read_line(make_line(PROFILE + heads)), choice=Choice(select=["part-height"]))
    (finding,) = report.answers.findings
    assert finding.subject.head == closest
