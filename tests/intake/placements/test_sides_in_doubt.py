"""A side that is written in another language is read; one that cannot be read is open, and fails nothing.

Figures: invented, or the digits of the text.
"""

import pytest

from capcheck import read_board
from capcheck.model import Side, Topic


@pytest.fixture
def board(tmp_path):
    def read(title, top, bottom, between=""):
        (tmp_path / "placements.csv").write_text(
            f"Ref,X (mm),Y (mm),Rot,{title},Package\nR1,10,20,0,{top},0603\n{between}R2,30,20,0,{bottom},0603\n"
        )
        return read_board(tmp_path)

    return read


@pytest.mark.parametrize(
    ("title", "top", "bottom"),
    [
        ("Strona", "Góra", "Dół"),
        ("Zijde", "boven", "onder"),
        ("Сторона", "Верх", "Низ"),
        ("Strana", "horní", "dolní"),
        ("Yüzey", "üst", "alt yüzey"),
        ("면", "윗면", "아랫면"),
        ("面别", "top", "bottom"),
        ("Lato", "Componenti", "Saldature"),
        ("Face", "Obverse", "Reverse"),
        ("Zzz", "top", "bottom"),
    ],
)
def test_a_column_of_sides_is_read_in_further_languages(board, title, top, bottom):
    assert board(title, top, bottom).placements.side.tolist() == [Side.TOP, Side.BOTTOM]


def test_labels_of_no_known_side_leave_it_open(board):
    found = board("Side", "Foo", "Bar")
    assert found.placements.side.tolist() == [Side.UNKNOWN, Side.UNKNOWN]
    assert any(d.topic is Topic.SIDE and d.open for d in found.decisions)


def test_a_heading_of_the_other_side_puts_the_rows_below_it_in_question(board):
    found = board("Side", "top", "top", "Bottom side,,,,,\n")
    assert found.placements.side.tolist() == [Side.TOP, Side.UNKNOWN]
    assert any(d.topic is Topic.SIDE and d.open for d in found.decisions)


def placed(tmp_path, name, cells, above=""):
    rows = "".join(f"R{i},{10 * i},20,0,{side},0603\n" for i, side in enumerate(cells, 1))
    (tmp_path / name).write_text(f"{above}Ref,X (mm),Y (mm),Rot,Side,Package\n{rows}", encoding="utf-8")
    found = read_board(tmp_path)
    return found.placements.side.tolist(), [d for d in found.decisions if d.topic is Topic.SIDE and d.open]


@pytest.mark.parametrize(
    ("name", "above", "cells"),
    [
        ("pump_bottom.csv", "", ["top", "top"]),
        ("pump-top.csv", "", ["B", "B", ""]),
        ("Unterseite.csv", "", ["oben", "oben"]),
        ("places.csv", "Side: bottom\n", ["top", "top"]),
    ],
)
def test_names_of_the_other_side_than_every_row_leave_it_open(tmp_path, name, above, cells):
    sides, asked = placed(tmp_path, name, cells, above)
    assert set(sides) == {Side.UNKNOWN}
    assert asked


@pytest.mark.parametrize(
    ("name", "cells"),
    [
        ("pump_bottom.csv", ["bottom", "bottom"]),
        ("pump_bottom.csv", ["bottom", "top"]),
        ("pump_top_and_bottom.csv", ["top", "top"]),
        ("pump.csv", ["bottom", "bottom"]),
    ],
)
def test_names_that_go_with_the_rows_are_no_question(tmp_path, name, cells):
    sides, asked = placed(tmp_path, name, cells)
    assert Side.UNKNOWN not in sides
    assert not asked


@pytest.mark.parametrize("cell", ["top?", "top ?", "bottom (tbc)", "oben, unklar", "T?", "1?"])
def test_a_side_with_a_question_mark_is_open(board, cell):
    assert board("Side", "top", cell).placements.side.tolist() == [Side.TOP, Side.UNKNOWN]


@pytest.mark.parametrize("cell", ["yes?", "y ?", "ja (unklar)", "no, tbc"])
def test_a_cell_in_doubt_below_what_is_fitted_is_asked_about(tmp_path, cell):
    (tmp_path / "placements.csv").write_text(
        f'Ref,X,Y,Rot,Side,Package,Fitted\nR1,1,2,0,top,0603,yes\nR2,8,2,0,top,0603,"{cell}"\n'
    )
    found = read_board(tmp_path)
    assert [d.refs for d in found.discrepancies if d.topic is Topic.ROW_IN_QUESTION] == [("R2",)]


@pytest.mark.parametrize(
    ("name", "above", "sides"),
    [
        ("top.csv", "Bottom side\n\n", [Side.UNKNOWN]),
        ("bottom.csv", "Seite: oben\n\n", [Side.UNKNOWN]),
        ("top.csv", "Top side\n\n", [Side.TOP]),
        ("placements.csv", "Bottom side\n\n", [Side.BOTTOM]),
    ],
)
def test_a_file_whose_name_and_first_line_state_two_sides_has_neither(tmp_path, name, above, sides):
    (tmp_path / name).write_text(f"{above}Ref,X (mm),Y (mm),Rot,Package\nR1,10,20,0,0603\n")
    found = read_board(tmp_path)
    assert found.placements.side.tolist() == sides
    assert any(d.topic is Topic.SIDE and d.open for d in found.decisions) is (sides == [Side.UNKNOWN])
