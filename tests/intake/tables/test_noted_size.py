"""Cells that state a size with a word or a mark beside it, and cells that state none: one cell holds no board back.

Figures: invented, or the digits of the text; an inch is 25.4 mm by definition.
"""

import math

import pytest

from capcheck import read_board
from capcheck.intake.tables.cells import CellError
from capcheck.intake.tables.noted_size import How, read_noted
from capcheck.model import Topic
from capcheck.values import LENGTH, InputError, Interval

PLACED = "Ref,X (mm),Y (mm),Rot,Side,Package\n" + "".join(f"J{k},{10 * k},20,0,top,XQ9\n" for k in range(1, 7))
HEIGHTS = {"J1": "1.2", "J2": "0.9", "J3": "3.5", "J4": "8.5", "J5": "2.2"}
TEXT = "connector 12.7x5.1x8.5 mm"


@pytest.mark.rows(
    ("text", "low", "high", "how"),
    [
        ("27 (max. 29)", 0, 29, How.AS_WRITTEN),
        ("27 mm (29 mm max)", 0, 29, How.AS_WRITTEN),
        ("27, max 29", 0, 29, How.AS_WRITTEN),
        ("typ. 27 max. 29", 0, 29, How.AS_WRITTEN),
        ('1 5/8"', 41.275, 41.275, How.AS_WRITTEN),
        ("~28", 21, 35, How.ABOUT),
        ("approx. 28 mm", 21, 35, How.ABOUT),
        ("ca. 28", 21, 35, How.ABOUT),
        ("約28mm", 21, 35, How.ABOUT),
        ("environ 28", 21, 35, How.ABOUT),
        ("0.9 (typ.)", 0.675, 1.125, How.ABOUT),
        ("typ 0,9", 0.675, 1.125, How.ABOUT),
        ("0.9 nominal", 0.675, 1.125, How.ABOUT),
        ("0.9 typisch", 0.675, 1.125, How.ABOUT),
    ],
)
def test_words_beside_a_size_say_how_surely_it_is_stated(text, low, high, how):
    noted = read_noted(text, LENGTH, units=("mm",), decimal=None)
    assert (noted.value.low, noted.value.high) == pytest.approx((low, high))
    assert noted.how is how


@pytest.mark.rows(
    "text",
    ["see datasheet", "8.5*", "8.5¹", "8.5²⁾", "2x20", "8.5 / 40", "08. Mai", "29 (max. 27)", "5/8", "=B2*2", "40 (5)"],
)
def test_what_states_no_size_for_certain_is_none(text):
    with pytest.raises(CellError):
        read_noted(text, LENGTH, units=("mm",), decimal=None)


@pytest.fixture
def read(tmp_path):
    def write(heights, title="Height (mm)", placed=PLACED):
        lines = [f'{ref},1,PN-{ref},XQ9,{TEXT},"{h}"' for ref, h in heights.items()]
        (tmp_path / "placements.csv").write_text(placed)
        (tmp_path / "bom.csv").write_text(
            "\n".join([f"Ref,Qty,Part number,Package,Description,{title}", *lines]) + "\n"
        )
        return read_board(tmp_path)

    return write


def body(board, ref):
    return board.bodies[board.placements.part_type[list(board.placements.ref).index(ref)]]


@pytest.mark.parametrize(
    "cell", ["see datasheet", "8.5*", "8.5¹⁾", "2x20", "8.5 / 40", "08. Mai", "0", "0.0", "-8.5", "8.5 kg"]
)
def test_a_cell_that_cannot_be_read_leaves_one_height_open_and_is_named(read, cell):
    board = read({**HEIGHTS, "J6": cell})
    open_ = body(board, "J6")
    assert (open_.height.low, open_.height.high) == (0.0, math.inf)
    assert any(cell[:3] in str(q.values.get("where", "")) for q in open_.questions)
    assert body(board, "J4").height.high == 8.5


def test_about_has_room_and_a_question(read):
    found = body(read({**HEIGHTS, "J6": "~8.8"}), "J6")
    assert (found.height.low, found.height.high) == pytest.approx((6.6, 11.0))
    assert any(q.key == "packages.size is about" for q in found.questions)


def test_a_column_of_which_no_cell_is_read_is_refused(read):
    with pytest.raises(InputError, match="see 1"):
        read({f"J{k}": f"see {k}" for k in range(1, 7)})


def test_zeros_all_over_are_how_a_column_states_nothing(read):
    board = read({f"J{k}": "0" for k in range(1, 7)})
    assert body(board, "J6").height.high < 9  # from its description


@pytest.mark.parametrize("title", ["Height", "Höhe", "Hauteur"])
def test_heights_without_a_unit_are_of_parts_in_mm_and_asked_about(read, title):
    board = read({**HEIGHTS, "J6": "4.4"}, title=title)
    assert body(board, "J4").height.value == Interval.exactly(8.5)
    assert [d.topic for d in board.decisions if d.open and d.topic is Topic.SIZE_UNIT]


def test_heights_that_may_be_in_two_units_are_either(read):
    found = body(read({"J1": "0.9", "J2": "1.6"}, title="Height"), "J2").height
    assert (found.low, found.high) == pytest.approx((1.6, 40.64))


def test_heights_in_no_unit_are_open(read):
    found = body(read({**HEIGHTS, "J6": "9000"}, title="Height"), "J4").height
    assert found.high == math.inf
