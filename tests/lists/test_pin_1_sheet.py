"""Where pin 1 lies at a part's angle; what need not be looked at.

Figures: positions are invented, angles geometry; bodies are the digits of the texts.
"""

import pytest

from capcheck import read_board
from capcheck.lists import pin_1_list
from capcheck.lists.pin_1_sheet import direction

CHIP = "RESC1608X55"  # IPC-7351B: 1.6 × 0.8 mm, by the digits of the name
SOIC = "SOIC127P600X175-8"  # IPC-7351B: eight leads, by the name
DIODE = "DIOM5226X262"  # IPC-7351B: a molded diode, by the name


@pytest.mark.rows(
    ("degrees", "told"),
    [
        (0, "right"),
        (135, "upper left"),
        (180, "left"),
        (225 + 360, "lower left"),
        (-90, "bottom"),
        (359.9, "right"),
        (150, "between upper left and left"),
        (350, "between lower right and right"),
    ],
)
def test_an_angle_in_words(degrees, told):
    assert direction(degrees) == told


def told(listed):
    return {row.refs[0]: dict(zip(listed.columns, row.cells, strict=True)) for row in listed.rows}


def test_pin_1_turns_with_the_part_and_what_may_be_turned_is_left_out(make_board):
    found = told(
        pin_1_list(
            read_board(
                make_board(
                    [
                        f"U1,10,10,90,top,x,{SOIC}",
                        f"D1,20,10,180,top,x,{DIODE}",
                        f"R1,30,10,0,top,x,{CHIP}",
                        "X7,40,10,0,top,x,strange",
                    ]
                )
            )
        )
    )
    assert set(found) == {"U1", "D1", "X7"}
    # IPC-7351A: pin 1 at the upper left, or at the left of two, at 0°; the rest is geometry.
    assert (found["U1"]["pin 1 at"], found["U1"]["known"]) == ("lower left", "assumed")
    assert found["D1"]["pin 1 at"] == "right"
    assert found["X7"]["why"].key == "lists.polarity not known"


def test_a_pad_that_the_file_shows_counts(make_board):
    header = "Part,Middle X,Middle Y,Origin X,Origin Y,Pad X,Pad Y,Face,Angle,Package"
    rows = [f"U{n},{10 * n}mm,10mm,{10 * n}mm,10mm,{10 * n + 2}mm,8mm,top,0,{SOIC}" for n in range(1, 5)]
    found = told(pin_1_list(read_board(make_board(rows, header=header))))
    assert {row["pin 1 at"] for row in found.values()} == {"lower right"}
    assert {row["known"] for row in found.values()} == {"shown"}


def test_a_part_without_an_angle_is_listed_and_not_known(make_board):
    found = told(pin_1_list(read_board(make_board([f"U1,10,10,,top,x,{SOIC}"]))))
    assert (found["U1"]["pin 1 at"], found["U1"]["known"], found["U1"]["angle °"]) == (None, None, None)
