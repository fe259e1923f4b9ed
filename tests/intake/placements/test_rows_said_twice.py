"""A row that repeats another in every cell is one row; one that differs in a cell is a question.

Figures: invented in round numbers.
"""

import pytest

from capcheck import check
from capcheck.lexicon import sentence

HEADER = "Ref,Value,Package,X,Y,Rot,Side\n"
ROWS = "R1,10k,0603,10,10,0,top\nR2,10k,0603,30,40,0,top\n"


def checked(tmp_path, more):
    (tmp_path / "placements.csv").write_text(HEADER + ROWS + more, encoding="utf-8")
    return check(tmp_path)


def asked(report):
    return [f for f in report.findings if f.rule == "one-row-a-reference"]


def test_a_row_that_is_repeated_whole_counts_once_and_is_told(tmp_path):
    report = checked(tmp_path, "R2,10k,0603,30,40,0,top\n")
    assert not asked(report)
    assert list(report.board.placements.ref) == ["R1", "R2"]
    assert [row.place.row for row in report.board.set_aside] == [1, 4]  # the header, and the repeated row
    assert any("R2" in sentence(note.said) and note.place.row == 4 for note in report.board.notes)


@pytest.mark.parametrize("row", ["R2,10k,0603,30,40,90,top", "R2,22k,0603,30,40,0,top"])
def test_a_row_that_differs_in_a_cell_is_asked_about(tmp_path, row):
    report = checked(tmp_path, row + "\n")
    assert asked(report)
    assert len(report.board.placements.ref) == 3
