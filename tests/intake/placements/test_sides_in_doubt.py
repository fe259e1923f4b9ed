"""A side that is written in another language is read; one that cannot be read is open, and fails nothing."""

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
