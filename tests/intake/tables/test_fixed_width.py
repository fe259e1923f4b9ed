"""Columns by position are read, also where long cells push a line aside.

Figures: invented, or the digits of the text.
"""

from __future__ import annotations

import pytest
from depth import sample_size
from hypothesis import given, settings, strategies as st

from capcheck.intake.tables import read_tables
from capcheck.intake.tables.fixed_width import read_columns, read_spaces
from capcheck.lexicon import sentence

WIDE = """\
Item    Land             Loc X    Loc Y  Up  Angle Remark
C1      chip-small      10.5mm  -3.25mm  T   90.00 input filter
C2      chip-small       9.5mm   3.25mm  B  270.00
U1      a-very-long-name-of-a-land    99.5mm   13.25mm  T    0.00 main brain
R1      chip-small       1.5mm   4.75mm  T    0.00 pull up
R2      another-name-that-is-too-long     1.5mm    5.75mm  B    0.00 pull up
R3      chip-small       1.5mm   6.75mm  T    0.00
R4      chip-small       1.5mm   7.75mm  T    0.00 pull up
"""


def test_lines_pushed_aside_by_a_long_name_are_dealt_to_the_right_columns(tmp_path):
    path = tmp_path / "p.txt"
    path.write_text(WIDE)
    (table,) = read_tables(path)
    assert table.delimiter == "fixed width"
    assert table.header == ("Item", "Land", "Loc X", "Loc Y", "Up", "Angle", "Remark")
    assert table.columns[0] == ["C1", "C2", "U1", "R1", "R2", "R3", "R4"]
    assert table.columns[1][2] == "a-very-long-name-of-a-land"
    assert table.columns[2] == ["10.5mm", "9.5mm", "99.5mm", "1.5mm", "1.5mm", "1.5mm", "1.5mm"]
    assert table.columns[4] == ["T", "B", "T", "T", "B", "T", "T"]
    assert table.columns[6] == ["input filter", "", "main brain", "pull up", "pull up", "", "pull up"]


def test_a_sparse_flag_between_columns_keeps_its_column():
    lines = [
        f"C{n:<6}{n * 1.5:10.3f}{n * 2.5:10.3f}{90:8}  {'m' if n % 7 == 0 else ' '} land-{n}" for n in range(1, 60)
    ]
    rows = read_columns("LENGTHS IN MIL\n" + "\n".join(lines)).rows
    assert rows[7] == ["C7", "10.500", "17.500", "90", "m", "land-7"]
    assert rows[8] == ["C8", "12.000", "20.000", "90", "", "land-8"]


def test_a_header_behind_a_comment_mark_keeps_its_columns(tmp_path):
    path = tmp_path / "p.pos"
    path.write_text(
        "#: made by hand\n#: all in mm\n# Part    Value    X-loc     Y-loc Turn Face\n"
        "C1        1u     10.5000   -2.2500   90  top\nC12       100 n  99.5000  -12.2500  270  bottom\n#: so far\n"
    )
    (table,) = read_tables(path)
    assert table.header == ("Part", "Value", "X-loc", "Y-loc", "Turn", "Face")
    assert table.columns[1] == ["1u", "100 n"]
    assert [sentence(a.reason) for a in table.set_aside] == [
        "before the header",
        "before the header",
        "header",
        "comment",
    ]


def test_cells_parted_by_single_spaces_without_header_are_read(tmp_path):
    path = tmp_path / "p.mnt"
    path.write_text("C1 97.50 82.20  90 10u chip-a\nC10 8.8 75.00 180 10u chip-a\nU7 108.5 7.70  0 QK-52 flat-8\n")
    (table,) = read_tables(path)
    assert table.header == ()
    assert table.columns[1] == ["97.50", "8.8", "108.5"]
    assert table.columns[5] == ["chip-a", "chip-a", "flat-8"]


def test_titles_of_two_words_are_joined_over_cells_parted_by_spaces():
    rows = read_spaces("Part Middle X Middle Y Angle Face\nC1 1.5 2.5 90 top\nC2 11.5 2.5 0 top\n").rows
    assert rows[0] == ["Part", "Middle X", "Middle Y", "Angle", "Face"]


@given(
    rows=st.lists(
        st.tuples(
            st.from_regex(r"[CRU][1-9][0-9]{0,4}", fullmatch=True),
            st.from_regex(r"[a-z]{2,6}-[0-9]{1,4}", fullmatch=True),
            st.decimals(-999, 999, places=3).map(str),
            st.decimals(-999, 999, places=3).map(str),
            st.sampled_from(["0", "90", "180", "270"]),
            st.sampled_from(["top", "bottom"]),
        ),
        min_size=4,
        max_size=20,
    ),
    right=st.booleans(),
)
@settings(max_examples=sample_size(80))
def test_a_table_in_fixed_widths_is_read_back(tmp_path, rows, right):
    widths = (10, 14, 12, 12, 10, 8)
    head = ("Part", "Package", "Middle X", "Middle Y", "Angle", "Face")

    def line(cells: tuple[str, ...]) -> str:
        parts = [
            (c.rjust(w) if right and 2 <= k <= 4 else c.ljust(w))
            for k, (c, w) in enumerate(zip(cells, widths, strict=True))
        ]
        return " ".join(parts).rstrip()

    path = tmp_path / "p.txt"
    path.write_text("\n".join(map(line, [head, *rows])))
    (table,) = read_tables(path)
    assert table.header == head
    assert list(zip(*table.columns, strict=True)) == rows


def test_a_long_line_is_cut_and_not_worked_on_for_minutes():
    rows = read_columns("C1    1.5   2.5   90" + " " * 100_000 + "x\n" + "C2    1.5   2.5   90\n" * 3).rows
    assert rows[0][:4] == pytest.approx(["C1", "1.5", "2.5", "90"])


def test_headings_of_pages_do_not_move_columns_and_are_set_apart(tmp_path):
    lines = []
    for page in range(4):
        lines += [f"\f Placement report of the board        Page {page + 1} of 4", " Board: lantern     Units: mm", ""]
        lines += [" Reference   Part              X-loc     Y-loc  Orient  Side", " " + "-" * 59]
        lines += [
            f" C{n:<11}LAND-{n % 3:<9}{n * 1.25:10.3f}{n * 2.5:10.3f}{90:8}  {'Top' if n % 2 else 'Bottom'}"
            for n in range(page * 9 + 1, page * 9 + 10)
        ]
    path = tmp_path / "report.txt"
    path.write_text("\n".join([*lines, "", " 36 parts placed"]) + "\n")
    (table,) = read_tables(path)
    assert table.columns[0] == [f"C{n}" for n in range(1, 37)]
    assert table.columns[2][35] == "45.000"
    assert (1, "Placement report of the board Page 1 of 4") in table.preamble
    reasons = [sentence(aside.reason) for aside in table.set_aside]
    assert reasons.count("heading of a page") == 3
    assert reasons.count("header repeated") == 3
    assert len(table) + len(reasons) == len(lines) + 2
