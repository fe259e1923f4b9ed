"""Exceptions for reflow, wash and hand, from the table of classes (common practice, no source).

Figures: positions are invented; bodies are the digits of the texts.
"""

from capcheck import read_board
from capcheck.lists import handling_list

CHIP = "RESC1608X55"  # IPC-7351B: 1.6 × 0.8 mm, by the digits of the name


def test_a_class_tells_what_it_knows_and_the_rest_stays_not_known(make_board):
    rows = [
        "K1,10,10,0,top,relay 5 V,RELAY",
        f"R1,30,10,0,top,x,{CHIP}",
        "SW1,40,10,0,top,key switch,keyswitch",
    ]
    listed = handling_list(read_board(make_board(rows)))
    found = {row.refs[0]: dict(zip(listed.columns, row.cells, strict=True)) for row in listed.rows}
    assert [row.refs[0] for row in listed.rows] == ["SW1", "K1", "R1"]
    assert (found["SW1"]["reflow"], found["SW1"]["aqueous wash"]) == ("no", "no")
    assert found["SW1"]["placed by"] == "hand after reflow"
    assert (found["K1"]["reflow"], found["K1"]["aqueous wash"]) == (None, "no")
    assert (found["R1"]["class"], found["R1"]["reflow"]) == ("none", None)


def test_a_text_of_the_bom_that_says_by_hand_counts(make_board):
    bom = ["Part number,References,Value,Remark", "W-1,R1,x,solder by hand", "W-2,R2,x,"]
    rows = [f"R1,30,10,0,top,x,{CHIP}", f"R2,40,10,0,top,x,{CHIP}"]
    listed = handling_list(read_board(make_board(rows, bom=bom)))
    placed = {row.refs[0]: row.cells[listed.columns.index("placed by")] for row in listed.rows}
    assert placed == {"R1": "hand", "R2": "machine"}
