"""Outputs that leave the shop name the customer's files, not the folders of the shop's own disk.

Figures: invented; the land patterns' names are of IPC-7351B.
"""

import pytest

ROWS = ["R1,10,20,0,top,1k,RESC2012X55N", "R2,30,40,0,top,2k,RESC2012X55N", "U1,50,40,0,top,v,mystery"]
BOM = ["Refs,Part number,Length [mm],Width [mm],Height [mm]", "R1,RC-1,,,", "R2,RC-2,,,", "U1,W-1,4,4,1"]


@pytest.mark.parametrize("command", ["read", "part", "csv"])
def test_a_folder_given_from_the_root_is_not_printed(make_board, shop, run, command):
    folder = make_board(ROWS, bom=BOM).resolve()
    arguments = {
        "read": ["read", folder],
        "part": ["part", "U1", folder],
        "csv": ["check", folder, "--line", shop / "lines" / "mixed.line.toml", "--format", "csv"],
    }[command]
    _, out, _ = run(*arguments)
    assert "bom.csv:4 length" in out
    assert str(folder) not in out


def test_the_heads_of_a_part_are_told_apart_in_its_cell(make_board, shop):
    """The names of machines and heads hold blanks."""
    from capcheck.checking import check
    from capcheck.report.parts_table import parts_table

    report = check(make_board(ROWS, bom=BOM), line=shop / "lines" / "mixed.line.toml")
    head, first, *_ = parts_table(report.board, report)
    heads = report.row_results()[0].taken_by
    assert len(heads) > 1
    assert str(first[head.index("taken_by")]).split("; ") == list(heads)
