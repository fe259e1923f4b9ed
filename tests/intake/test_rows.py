"""Rows read and rows set apart are the rows of the file, for the invented boards and for every form of a table.

The check itself stands in conftest.py and holds for every other package that a test of this folder reads.

Figures: invented, or the digits of the text.
"""

import pytest

from capcheck.intake.read import read_package

PARTS = [(f"R{k}", "10k", f"{3.5 * k:.2f}", f"{k % 5 + 0.25:.2f}", "90", "top") for k in range(1, 15)]
TITLES = ("Reference", "Value", "X (mm)", "Y (mm)", "Rotation", "Side")


@pytest.mark.parametrize("board", ["flow-sensor", "irrigation-controller", "light-strip"])
def test_every_row_of_the_invented_boards_is_accounted_for(shop, board):
    assert len(read_package(shop / board).placements)


def rows(delimiter):
    return [delimiter.join(row) for row in (TITLES, *PARTS)]


def in_columns():
    widths = [max(len(row[k]) for row in (TITLES, *PARTS)) + 2 for k in range(6)]
    return ["".join(c.ljust(w) for c, w in zip(row, widths, strict=True)).rstrip() for row in (TITLES, *PARTS)]


def page():
    cells = "".join(f"<tr>{''.join(f'<td>{c}</td>' for c in row)}</tr>" for row in (TITLES, *PARTS))
    return [f"<html><table>{cells}</table></html>"]


FORMS = {
    "comma": rows(","),
    "semicolon": rows(";"),
    "tab": rows("\t"),
    "pipe": rows("|"),
    "fixed width": in_columns(),
    "HTML": page(),
    "preamble": ["Board Lantern", "made by hand", "", *rows(",")],
    "remarks": ["# units: mm", *rows(",")[:4], "# the rest", *rows(",")[4:], "# end"],
    "totals": [*rows(","), "", "Total,14,,,,"],
    "blank rows": [row for line in rows(",") for row in (line, ",,,,,")],
    "header again": [*rows(",")[:8], *rows(",")[:1], *rows(",")[8:]],
    "ragged": [*rows(",")[:5], "R20,10k,1.00,2.00", *rows(",")[5:], "R21,10k,1.00,2.00,0,top,more,and more"],
    "many blank rows": [*rows(","), *[",,,,,"] * 500],
    "two tables": [*rows(","), "", "Bottom side", *rows(",")[:1], "C1,1n,1.00,2.00,0,bottom"],
    "line breaks": [*rows(","), 'C1,"1n\n50V",1.00,2.00,0,top'],
    "quote left open": [*rows(","), 'C1,"1n,1.00,2.00,0,top', "C2,1n,1.00,4.00,0,top"],
    "no header": rows(",")[1:],
}


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
@pytest.mark.parametrize("last", [True, False])
def test_every_row_of_every_form_is_accounted_for(tmp_path, form, end, last):
    (tmp_path / "placements-top.csv").write_bytes((end.join(FORMS[form]) + end * last).encode())
    package = read_package(None, placements=[tmp_path / "placements-top.csv"])
    assert {f"R{k}" for k in range(1, 15)} <= set(package.placements.ref)


BOM = ["References,Value,Quantity,Part number", '"R1,R2",10k,2,PN-1', "R3-R14,10k,12,PN-1"]


@pytest.mark.parametrize(
    "more",
    [
        [],
        [",,,"],
        ["Total,,14,"],
        ["# end"],
        ["", "Screws", ",M3,4,"],
        ["-,,,"],
        ['"R1,R2",10k,2,PN-1', "R3-R14,10k,12,"],
    ],
)
def test_every_row_of_a_bill_of_materials_is_accounted_for(tmp_path, more):
    (tmp_path / "placements.csv").write_text("\n".join(rows(",")))
    (tmp_path / "bom.csv").write_text("\n".join([*BOM, *more]))
    package = read_package(None, placements=[tmp_path / "placements.csv"], bom=tmp_path / "bom.csv")
    assert package.bom is not None
