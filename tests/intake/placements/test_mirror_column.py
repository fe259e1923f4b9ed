"""A column of mirror flags that puts a part on the other side than the column of the side leaves its side open.

Figures: boards and places are invented.
"""

import pytest

from capcheck.checking import read_board
from capcheck.model import Side


@pytest.fixture
def sides(tmp_path):
    def read(title, flags):
        rows = [f"Ref,X [mm],Y [mm],Rotation,Side,{title}"]
        rows += [f"R{i},{9 * i},{5 * i},0,{'top' if i < 4 else 'bottom'},{flag}" for i, flag in enumerate(flags, 1)]
        (tmp_path / "placements.csv").write_text("\n".join(rows) + "\n")
        board = read_board(tmp_path)
        asked = any(getattr(d.evidence, "key", "") == "sides.against mirror" and d.open for d in board.decisions)
        return board.placements.side.tolist(), asked

    return read


ALL = [Side.TOP] * 3 + [Side.BOTTOM] * 3


@pytest.mark.parametrize("title", ["Mirror", "Mirrored", "gespiegelt", "Miroir", "Flip"])
@pytest.mark.parametrize(("no", "yes"), [("no", "yes"), ("0", "1"), ("N", "Y"), ("nein", "ja"), ("false", "true")])
def test_a_flag_against_the_side_leaves_that_part_open(sides, title, no, yes):
    found, asked = sides(title, [no, yes, no, yes, yes, yes])
    assert asked
    assert found == [Side.TOP, Side.UNKNOWN, Side.TOP, *ALL[3:]]


def test_flags_that_agree_say_nothing(sides):
    assert sides("Mirror", ["no", "no", "no", "yes", "yes", "yes"]) == (ALL, False)


@pytest.mark.parametrize("flag", ["no", "yes", ""])
def test_one_flag_for_all_says_nothing_of_any(sides, flag):
    assert sides("Mirror", [flag] * 6) == (ALL, False)
