"""Decimal commas with three digits behind them: told from thousands by what the parts' extent would be.

Figures: invented, or the digits of the text; an inch is 25.4 mm by definition.
"""

import pytest

from capcheck import read_board
from capcheck.model import Topic

COLUMNS = "Ref;X (mm);Y (mm);Rotation;Side;Package"
ROWS = [("R1", 20.0, 20.137), ("R2", 30.0, 30.274), ("R3", 75.5, 40.411), ("R4", 10.125, 60.0)]


def written(number, mark=",", digits=3):
    return f"{number:.{digits}f}".replace(".", mark)


def rows(cell=written, turn="90"):
    return [f"{ref};{cell(x)};{cell(y)};{turn};top;RES-0603-1608M" for ref, x, y in ROWS]


@pytest.fixture
def read(tmp_path):
    def write(lines, title=COLUMNS, toml="", bom="", delimiter=";"):
        text = "\n".join([title, *lines]) + "\n"
        if delimiter == ",":
            text = "\n".join(",".join(f'"{c}"' for c in line.split(";")) for line in text.splitlines()) + "\n"
        (tmp_path / "placements.csv").write_text(text.replace(";", delimiter) if delimiter == "\t" else text)
        if toml:
            (tmp_path / "board.toml").write_text(toml)
        if bom:
            (tmp_path / "bom.csv").write_text(bom)
        return read_board(tmp_path)

    return write


def places(board):
    return list(zip(board.placements.x_mm.tolist(), board.placements.y_mm.tolist(), strict=True))


def doubts(board):
    return [d for d in board.decisions if d.topic is Topic.UNIT and d.open]


EXPECTED = [(x, y) for _, x, y in ROWS]


@pytest.mark.parametrize("delimiter", [";", "\t", ","])
@pytest.mark.parametrize("turn", ["90", "90,000", "90.0", "90,00"])
def test_commas_before_three_digits_of_mm_are_decimal(read, delimiter, turn):
    board = read(rows(turn=turn), delimiter=delimiter)
    assert places(board) == EXPECTED
    assert board.placements.rotation_deg.tolist() == [90.0] * 4
    assert not doubts(board)


def test_the_unit_may_stand_in_the_cells_or_nowhere(read):
    assert places(read(rows(lambda n: written(n) + "mm"))) == EXPECTED
    board = read(rows(), title="Ref;X;Y;Rotation;Side;Package")
    assert places(board) == EXPECTED


# A mil is 0.0254 mm by definition.
def test_commas_before_three_digits_of_mil_part_thousands(read):
    lines = [f"{ref};{x * 40:,.0f};{y * 40:,.0f};0;top;RES-0603-1608M" for ref, x, y in ROWS]
    board = read(lines, title="Ref;X (mil);Y (mil);Rotation;Side;Package")
    assert places(board)[2] == pytest.approx((75.5 * 1.016, 1616 * 0.0254))
    board = read(
        [f"{ref};{x * 1000:,.0f};{y * 1000:,.0f};0;top;RES-0603-1608M" for ref, x, y in ROWS],
        title="Ref;X (µm);Y (µm);Rotation;Side;Package",
    )
    assert places(board) == [pytest.approx(at) for at in EXPECTED]


def test_where_both_readings_make_a_board_it_is_asked(read):
    board = read(["R1;85;20;0;top;0603", "R2;1,250;30;0;top;0603", "R3;40;60;0;top;0603"])
    assert doubts(board)
    assert not board.unit_settled


def test_a_stated_mark_holds_where_it_can_be_read(read):
    bom = "References,Quantity,Part number,Package,Height (mm)\nR1 R2 R3 R4,4,PN-1,0603,0.55\n"
    board = read(rows(), toml='decimal = ","\n', bom=bom)
    assert places(board) == EXPECTED
    assert board.bodies[0].height.high == 0.55
    dotted = read(rows(lambda n: written(n, ".")), toml='decimal = ","\n', bom=bom.replace("0.55", '"0,55"'))
    assert places(dotted) == EXPECTED
    assert dotted.bodies[0].height.high == 0.55


def test_a_stated_mark_settles_thousands(read):
    board = read(["R1;85;20;0;top;0603", "R2;1,250;30;0;top;0603", "R3;40;60;0;top;0603"], toml='decimal = ","\n')
    assert places(board)[1] == (1.25, 30)
    assert not doubts(board)


def test_sizes_beside_semicolons_have_decimal_commas(read):
    bom = "References;Quantity;Part number;Package;Height (mm)\nR1,R2,R3,R4;4;PN-1;XQ9;1,250\n"
    assert read(rows(), bom=bom).bodies[0].height.value.high == 1.25
