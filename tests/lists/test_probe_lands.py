"""Test points: their size as a name states it, and which rows they are.

Figures: sizes are those that the texts state, positions are invented; bodies are the digits of the texts.
"""

import pytest

from capcheck import read_board
from capcheck.lists import probing_list
from capcheck.lists.probe_lands import land_size

CHIP = "RESC1608X55"  # IPC-7351B: 1.6 × 0.8 mm, by the digits of the name


@pytest.mark.rows(
    ("text", "size"),
    [
        ("test point d1.5mm", 1.5),
        ("TP 1,0 mm", 1.0),
        ("test pad 40mil", 1.016),
        ("TestPad_2.0x1.5mm", "2 × 1.5"),
        ("Pad 2mm x 2mm", "2 × 2"),
        ("TEST POINT 1.0", None),
        ("TP-12", None),
        ("", None),
    ],
)
def test_only_a_size_with_a_unit_is_one(text, size):
    assert land_size(text) == size


def told(listed):
    return {row.refs[0]: dict(zip(listed.columns, row.cells, strict=True)) for row in listed.rows}


def test_lands_are_listed_by_side_and_other_features_are_counted(make_board):
    listed = probing_list(
        read_board(
            make_board(
                [
                    f"R1,30,10,0,top,x,{CHIP}",
                    "TP1,10,10,0,top,x,test point d1.5mm",
                    "TP2,10,20,0,bottom,x,TP",
                    "H1,3,3,0,top,,mounting hole",
                    "K1,13,3,0,top,,K",
                ],
                toml='kinds = { K1 = "mechanical" }\n',
            )
        )
    )
    found = told(listed)
    assert {ref: (row["side"], row["size mm"]) for ref, row in found.items()} == {
        "TP1": ("top", 1.5),
        "TP2": ("bottom", None),
    }
    assert listed.totals[0].values["others"] == 2


def test_lands_of_a_panel_stand_on_each_circuit(make_board):
    toml = 'length = "50 mm"\nwidth = "40 mm"\n[panel]\ncolumns = 2\nrows = 1\npitch_x = "60 mm"\n'
    rows = [f"R1,30,10,0,top,x,{CHIP}", "TP1,10,10,0,top,x,test point d1.5mm"]
    assert set(told(probing_list(read_board(make_board(rows, toml=toml))))) == {"TP1", "TP1/2"}
