"""A folder's files are told apart by content; their names do not matter.

Figures: invented, or the digits of the text; an inch is 25.4 mm by definition.
"""

import pytest

from capcheck.intake.folder.find import Found, find_inputs
from capcheck.intake.opened import OpenedFiles
from capcheck.intake.read import read_package
from capcheck.lexicon import sentence
from capcheck.values.errors import InputError

TOP = "Ref,X (mm),Y (mm),Rotation,Side\n" + "".join(f"R{i},{i}.5,{i},0,top\n" for i in range(1, 9))
BOTTOM = "Ref,X (mm),Y (mm),Rotation,Side\n" + "".join(f"C{i},{i}.5,{i},0,bottom\n" for i in range(1, 9))
PARTS = "Item,Quantity,Reference,Value,Part number\n1,8,R1-R8,10k,PN-1\n2,8,C1-C8,1u,PN-2\n"
GERBER = "%FSLAX46Y46*%\n%MOMM*%\n%TF.FileFunction,{function}*%\n%ADD10C,0.1*%\nD10*\nX0Y0D02*\nX10000000Y0D01*\nM02*\n"


@pytest.fixture
def folder(tmp_path):
    def write(**files):
        for name, text in files.items():
            (tmp_path / name.replace("__", ".")).write_text(text, encoding="utf-8")
        return tmp_path

    return write


def found_in(folder) -> Found:
    return find_inputs(folder, OpenedFiles())


def test_files_with_misleading_names_are_told_apart(folder):
    found = found_in(folder(bom__csv=TOP, placements__txt=PARTS, drawing__xyz=GERBER.format(function="Profile,NP")))
    assert [p.name for p in found.placements] == ["bom.csv"]
    assert found.bom.name == "placements.txt"
    assert found.outlines[0].name == "drawing.xyz"
    assert {d.topic for d in found.decisions} == {"placements", "BOM", "outline"}


def test_one_file_a_side(folder):
    found = found_in(folder(a__csv=TOP, b__csv=BOTTOM, c__csv=PARTS))
    assert [p.name for p in found.placements] == ["a.csv", "b.csv"]
    assert not any(d.open for d in found.decisions)


def test_a_second_copy_of_the_same_placements_is_left_out_and_said(folder):
    found = found_in(folder(a__csv=TOP, b__txt=TOP.replace(",", "\t")))
    assert [p.name for p in found.placements] == ["a.csv"]
    (decision,) = found.decisions
    assert not decision.open
    assert sentence(decision.evidence).endswith("b.txt has the same places")


def moved(change):
    """Return the placements of the top with x and y changed."""
    rows = (change(i, float(f"{i}.5"), float(i)) for i in range(1, 9))
    return "Ref,X,Y,Rotation,Side\n" + "".join(f"R{i},{x:.4f},{y:.4f},0,top\n" for i, (x, y) in enumerate(rows, 1))


# An inch is 25.4 mm by definition (1959).
@pytest.mark.parametrize(
    ("change", "copy"),
    [
        (lambda _, x, y: (x / 0.0254, y / 0.0254), True),
        (lambda _, x, y: (x + 100, 50 - y), True),
        (lambda i, x, y: (x + (i == 4) * 3, y), False),
        (lambda _, x, y: (x, 2 * y), False),
        (lambda _, x, y: (-x, y), False),
    ],
    ids=["mil", "origin and y down", "a part moved", "stretched", "mirrored"],
)
def test_another_version_is_no_copy_and_stays_a_question(folder, change, copy):
    found = found_in(folder(a__csv=TOP, b__csv=moved(change)))
    (decision,) = found.decisions
    assert decision.open is not copy
    assert sentence(decision.runner_up) == ("" if copy else "b.csv")


# 39.37 mil are a millimetre: definition of the inch, rounded.
def test_parts_that_lie_elsewhere_in_another_version_are_named(folder):
    found = found_in(folder(a__csv=TOP, b__csv=moved(lambda i, x, y: (39.37 * x + (i in {4, 6}) * 90, 39.37 * y))))
    (decision,) = found.decisions
    assert decision.open
    assert sentence(decision.evidence).endswith("in b.csv 2 lie elsewhere: R4, R6")


def test_of_several_gerber_files_the_profile_is_taken(folder):
    found = found_in(
        folder(p__csv=TOP, a__gbr=GERBER.format(function="Copper,L1,Top"), b__gbr=GERBER.format(function="Profile,NP"))
    )
    assert found.outlines[0].name == "b.gbr"


SHEET = '<Worksheet ss:Name="{name}"><Table>{rows}</Table></Worksheet>'
BOOK = (
    '<?xml version="1.0"?><Workbook xmlns="urn:schemas-microsoft-com:office:spreadsheet" '
    'xmlns:ss="urn:schemas-microsoft-com:office:spreadsheet">{sheets}</Workbook>'
)


def book(**sheets):
    """Return a workbook in the XML form, with a sheet for each text of comma-separated rows."""

    def rows(text):
        return "".join(
            f"<Row>{''.join(f'<Cell><Data>{cell}</Data></Cell>' for cell in line.split(','))}</Row>"
            for line in text.splitlines()
        )

    return BOOK.format(sheets="".join(SHEET.format(name=name, rows=rows(text)) for name, text in sheets.items()))


def test_a_workbook_may_hold_placements_and_bill_of_materials(folder):
    place = folder(lantern__xls=book(Parts=PARTS, Top=TOP, Bottom=BOTTOM))
    found = found_in(place)
    assert [p.name for p in found.placements] == ["lantern.xls"]
    assert found.bom.name == "lantern.xls"
    package = read_package(place)
    assert len(package.placements) == 16
    assert (package.placements.bom_line >= 0).all()
    assert not any("is not read" in sentence(note.said) for note in package.notes)


def test_a_list_of_nets_with_places_is_no_further_placement_file(folder):
    nets = "Net,Probe,X (mm),Y (mm),Side\n" + "".join(f"N{k},P{k},{3 * k},{k},top\n" for k in range(1, 9))
    found = found_in(folder(a__csv=TOP, b__csv=BOTTOM, nets__csv=nets))
    assert [p.name for p in found.placements] == ["a.csv", "b.csv"]
    (decision,) = found.decisions
    assert sentence(decision.runner_up) == "nets.csv"
    assert decision.open


def test_a_folder_without_placements_says_what_it_saw(folder):
    with pytest.raises(InputError) as caught:
        found_in(folder(c__csv=PARTS, readme__txt="Our board.\n"))
    assert "c.csv" in str(caught.value)
    assert "--placements" in str(caught.value)


def test_a_list_with_a_column_a_side_is_the_bom_and_a_table_that_is_not_used_is_named(tmp_path):
    (tmp_path / "pnp.csv").write_text("Ref,X [mm],Y [mm],Rot,Side\nC1,1,1,0,T\nC2,3,1,0,T\nR1,9,9,0,B\n")
    (tmp_path / "parts.csv").write_text(
        "Item,Qty,Value,Footprint,Top Designators,Bottom Designators\n1,2,100n,C0402,C1,C2\n2,1,10k,R0402,R1,\n"
    )
    (tmp_path / "prices.csv").write_text("supplier,price\nA,1.5\nB,1.7\n")
    (tmp_path / "copy.csv").write_text("Ref,X [mm],Y [mm]\nC1,1,1\nC2,3,1\n")
    found = found_in(tmp_path)
    notes = [sentence(note.said) for note in found.notes]
    assert found.bom == tmp_path / "parts.csv"
    assert [m for m in notes if "prices.csv" in m]
    assert not [m for m in notes if "copy.csv" in m or "pnp.csv" in m]


def test_a_folder_without_placements_says_why_a_file_could_not_be_read(tmp_path):
    (tmp_path / "placements.xlsx").write_bytes(b"PK\x03\x04 cut off")
    with pytest.raises(InputError) as caught:
        find_inputs(tmp_path, OpenedFiles())
    assert [problem.where.file for problem in caught.value.problems] == [str(tmp_path / "placements.xlsx")]
    assert "take placements.xlsx out of the folder" in str(caught.value)
