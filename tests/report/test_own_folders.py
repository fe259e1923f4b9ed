"""Outputs that leave the shop name the customer's files, not the folders of the shop's own disk.

Figures: invented; the land patterns' names are of IPC-7351B.
"""

import html
import io
import zipfile
from pathlib import Path

import pytest

from capcheck import check
from capcheck.checking import names_for_others
from capcheck.report import format_names, load_format, plain, styled_report

ROWS = ["R1,10,20,0,top,1k,RESC2012X55N", "R2,30,40,0,top,2k,RESC2012X55N", "U1,50,40,0,top,v,mystery"]
BOM = ["Refs,Part number,Length [mm],Width [mm],Height [mm]", "R1,RC-1,,,", "R2,RC-2,,,", "U1,W-1,4,4,1"]


def in_format(name):
    return ["check", "FOLDER", "--line", "LINE", "--format", name]


@pytest.mark.parametrize(
    "arguments",
    [
        *(in_format(name) for name in ("csv", "json", "junit", "sarif")),
        *(
            [*command, "--format", form]
            for command in (["read", "FOLDER"], ["part", "U1", "FOLDER"])
            for form in ("text", "json")
        ),
        ["lists", "nozzles", "FOLDER", "--line", "LINE", "--format", "json"],
        ["diff", "FOLDER", "FOLDER", "--format", "json"],
        ["diff", "FOLDER", "FOLDER"],
    ],
)
def test_a_folder_given_from_the_root_is_not_printed(make_board, shop, run, arguments):
    line = (shop / "lines" / "mixed.line.toml").resolve()
    folder = (make_board(ROWS, bom=BOM).resolve() / ".." / "board 1 & 2").resolve()
    (folder.parent / "board").rename(folder)
    given = {"FOLDER": folder, "LINE": line}
    _, out, _ = run(*(given.get(argument, argument) for argument in arguments))
    assert arguments[0] in {"diff", "lists"} or "bom.csv" in out or "placements.csv" in out
    for telling in (folder.parent, line.parent):
        assert telling.as_posix() not in out


def read_by_others(made):
    """Return a format's text, without escapes, or that of the members of a workbook."""
    if isinstance(made, bytes):
        with zipfile.ZipFile(io.BytesIO(made)) as book:
            made = " ".join(
                book.read(name).decode() for name in book.namelist() if not name.endswith((".png", ".jpeg"))
            )
    return html.unescape(made).replace("\\", "")


@pytest.mark.parametrize("form", sorted({*format_names(), "first screen"} - {"lines"}))
def test_no_format_tells_the_folder_of_a_file_that_a_finding_quotes(form, make_board, shop):
    """``lines`` is for an editor on this disk, which opens each place as it is written."""
    rows, bom = ["U1,10,20,0,top,v,QFN50P500X500X90-33N,20"], ["Refs,Part number", "U1,IC-9999"]
    folder = make_board(rows, bom=bom, header="Ref,X [mm],Y [mm],Rotation,Side,Value,Footprint,Pins").resolve()
    report = check(folder, line=shop / "lines" / "mixed.line.toml")
    assert any("placements.csv:2 pins" in finding.message for finding in report.findings)
    made = (
        plain(styled_report(report, width=500, full=False))
        if form == "first screen"
        else load_format(form).render(report)
    )
    assert folder.parent.as_posix() not in read_by_others(made)


@pytest.mark.rows(
    ("files", "names"),
    [
        (["a/bom.csv", "bom.csv"], {}),
        (["HERE/a/bom.csv"], {"HERE/a/bom.csv": "a/bom.csv"}),
        (["lines/../machines/m.toml"], {"lines/../machines/m.toml": "machines/m.toml"}),
        (["/x/acme/bom.csv", "../y/pos.csv"], {"/x/acme/bom.csv": "bom.csv", "../y/pos.csv": "pos.csv"}),
        (["/x/a/bom.csv", "/x/b/bom.csv"], {"/x/a/bom.csv": "a/bom.csv", "/x/b/bom.csv": "b/bom.csv"}),
        (["/x/kit 1.zip/data/bom.csv"], {"/x/kit 1.zip/data/bom.csv": "kit 1.zip/data/bom.csv"}),
        (["C:\\quotes\\bom.csv"], {"C:\\quotes\\bom.csv": "bom.csv"}),
    ],
)  # fmt: skip
def test_a_file_is_named_from_where_one_works_or_by_what_tells_it_apart(files, names, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    here = Path.cwd().as_posix()
    told = {file.replace("HERE", here): name for file, name in names.items()}
    assert names_for_others(file.replace("HERE", here) for file in files) == told


def test_the_heads_of_a_part_are_told_apart_in_its_cell(make_board, shop):
    """The names of machines and heads hold blanks."""
    from capcheck.report.parts_table import parts_table

    report = check(make_board(ROWS, bom=BOM), line=shop / "lines" / "mixed.line.toml")
    head, first, *_ = parts_table(report.board, report)
    heads = report.row_results()[0].taken_by
    assert len(heads) > 1
    assert str(first[head.index("taken_by")]).split("; ") == list(heads)
