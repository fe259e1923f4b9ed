"""Files larger than any board: refused at once, with the limit and its reason.

Figures: invented, or the digits of the text.
"""

import tracemalloc

import pytest

from capcheck.cli import main
from capcheck.intake.files import open_file
from capcheck.values import InputError

HEAD = "Part,Value,Package,Middle X,Middle Y,Angle,Face\n"
ROW = "C1,100nF,CAP-0402-1005M,10,10,0,top\n"


def told_of(capsys, folder):
    assert main(["check", str(folder), "--no-config"]) == 2
    return capsys.readouterr().err


def test_more_rows_than_any_board_has_parts(tmp_path, capsys):
    (tmp_path / "placements.csv").write_text(HEAD + ROW * 150_000)
    assert "has 150,001 rows (no board has more than 120,000 parts)" in told_of(capsys, tmp_path)


def test_far_too_many_lines_are_counted_without_a_list_of_them(tmp_path):
    file = tmp_path / "placements.csv"
    file.write_text("1,2,3\n" * 1_500_000)
    tracemalloc.start()
    try:
        with pytest.raises(InputError, match="1,500,001 rows"):
            open_file(str(file))
        assert tracemalloc.get_traced_memory()[1] < 60_000_000
    finally:
        tracemalloc.stop()


def test_a_list_of_parts_that_is_too_long_is_not_left_out(tmp_path, capsys):
    (tmp_path / "placements.csv").write_text(HEAD + ROW)
    (tmp_path / "bom.csv").write_text("Reference,Part number\n" + "C1,P1\n" * 150_000)
    assert "bom.csv: the file has 150,001 rows" in told_of(capsys, tmp_path)


def test_a_line_longer_than_any_row(tmp_path, capsys):
    (tmp_path / "placements.csv").write_text(HEAD + ROW + f"C2,{'x' * 5_000_000},C_0402,1,1,0,top\n")
    assert "placements.csv:3: this line has 5,000,02" in told_of(capsys, tmp_path)


@pytest.mark.parametrize("filling", ["x resistor 1206 ", "x resistor\n1206 "])
def test_a_cell_in_quotes_longer_than_any_row(tmp_path, capsys, filling):
    rows = "".join(f"C{n},100nF,CAP-0402-1005M,10,10,0,top\n" for n in range(1, 401))
    (tmp_path / "placements.csv").write_text(HEAD + rows + f'C401,"{filling * 50_000}",C_0402,1,1,0,top\n')
    assert "placements.csv:402: this " in (told := told_of(capsys, tmp_path))
    assert "(a row of a table has fewer than 400,000)" in told


def test_a_cell_with_every_reference_of_a_large_board_is_read(tmp_path):
    (tmp_path / "placements.csv").write_text(HEAD + ROW)
    every = ", ".join(f"C{n}" for n in range(1, 30_001))
    (tmp_path / "bom.csv").write_text(f'Reference,Part number,Qty\n"{every}",P1,30000\n')
    assert main(["read", str(tmp_path), "--format", "json", "--output", str(tmp_path / "out")]) == 0


def test_a_million_blank_rows_below_a_table_are_no_parts(tmp_path):
    (tmp_path / "placements.csv").write_text(HEAD + ROW + ",,,,,,\n" * 300_000)
    assert main(["read", str(tmp_path), "--format", "json", "--output", str(tmp_path / "out")]) == 0


@pytest.mark.parametrize("name", ["placements.csv", "bom.csv"])
def test_a_file_of_too_many_bytes(tmp_path, capsys, name):
    (tmp_path / "placements.csv").write_text(HEAD + ROW)
    with (tmp_path / name).open("ab") as file:
        file.truncate(100_000_000)
    assert "the file has 100 MB" in told_of(capsys, tmp_path)
