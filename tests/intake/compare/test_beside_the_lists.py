"""What further files, names and lines beside the lists say of parts, or of the whole list, is asked about.

Boards and parts are invented.

Figures: invented, or the digits of the text.
"""

import pytest

from capcheck.intake.read import read_package
from capcheck.lexicon import sentence

PLACED = "Ref,Value,Footprint,X (mm),Y (mm),Rotation,Side\n" + "".join(
    f"R{i},10k,0603,{i},2,0,top\n" for i in range(1, 9)
)
BOM = 'References,Value,Quantity,Part number\n"R1, R2, R3, R4, R5, R6, R7, R8",10k,8,QX-1K\n'


@pytest.fixture
def read(tmp_path):
    def board(*, placements="places.csv", bom="list.csv", above="", below="", **further):
        (tmp_path / placements).write_text(PLACED, encoding="utf-8")
        (tmp_path / bom).write_text(above + BOM + below, encoding="utf-8")
        for name, text in further.items():
            (tmp_path / name.replace("__", ".")).write_text(text, encoding="utf-8")
        return read_package(tmp_path)

    return board


def told(package):
    return [sentence(d.said) for d in package.discrepancies if d.title == "row left out"]


def provisional(package):
    return [sentence(d.said) for d in package.discrepancies if d.title == "revision"]


@pytest.mark.parametrize(
    ("name", "text", "said"),
    [
        ("readme__txt", "Please do not fit R7.\nThank you.\n", "do not fit R7"),
        ("notes__md", "# Board\n\n- R3 is 12 mm high with its cap\n", "R3 is 12 mm high"),
        ("DNP__txt", "R7\n", "R7"),
        ("not_fitted__csv", "Reference\nR7\n", "R7"),
        ("change-12__csv", "Reference,Old part,New part\nR7,QX-1K,QX-9\n", "QX-9"),
    ],
)
def test_a_further_file_that_speaks_of_some_parts_is_asked_about(read, name, text, said):
    (found,) = told(read(**{name: text}))
    assert said in found


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("readme__txt", "Gerber files: 4 layers.\nThank you.\n"),
        ("netlist__txt", "".join(f"NET{i} R{i} pin 1\n" for i in range(1, 9))),
        ("sockets__csv", "Test,Result,Who\n1,good,AB\n2,good,AB\n"),
    ],
)
def test_a_further_file_that_says_nothing_of_single_parts_is_no_question(read, name, text):
    assert told(read(**{name: text})) == []


def test_what_a_list_of_all_parts_says_of_not_fitting_one_is_asked_about(read):
    text = "".join(f"R{i} {'do not fit' if i == 7 else 'resistor'}\n" for i in range(1, 9))
    (found,) = told(read(overview__txt=text))
    assert "R7 do not fit" in found
    assert "R6" not in found


@pytest.mark.parametrize(
    "line",
    [
        "PRELIMINARY - not for production",
        "# Draft, do not build",
        "Status: not released",
        "Vorläufig – nicht freigegeben",
        "Vorabversion",
        "Provisoire",
        "暫定版",
        "草案",
    ],
)
@pytest.mark.parametrize("where", ["above", "below"])
def test_a_list_that_says_that_it_is_provisional_is_asked_about(read, line, where):
    (found,) = provisional(read(**{where: line + "\n"}))
    assert "list.csv" in found


def test_a_file_whose_name_says_so_is_asked_about(read):
    (found,) = provisional(read(placements="pump_draft_places.csv"))
    assert "pump_draft_places.csv" in found


@pytest.mark.parametrize("line", ["Drafted by: AB", "Released", "Pump, final list"])
def test_an_ordinary_line_above_a_list_is_no_question(read, line):
    assert provisional(read(above=line + "\n")) == []


REMARKS = [
    "Bottom side mirrored",
    "Panel 2x2 - coordinates of panel",
    "General tolerance on heights: +20 mm",
    "all angles counter-clockwise from bottom",
    "crossed-out circuits",
    "Angles clockwise",
    "Bottom view",
    "x from the right edge",
    "Height without heatsink",
    "Unteransicht",
    "Unterseite gespiegelt",
    "Koordinaten des Nutzens",
    "Tolérance générale: +2 mm",
    "vista desde abajo",
    "specchiato",
    "裏面ミラー",
    "底面镜像",
    "Parts in red are not ours",
    "origin = lower right",
    "mirror bottom",
    "x axis points left",
    "y axis down",
    "Heights ±10 mm",
    "Nullpunkt oben rechts",
    "Some parts are missing here",
    "Stückliste unvollständig",
]


def on_data(package):
    return [sentence(d.said) for d in package.discrepancies if d.said.key == "compare.told of the data"]


@pytest.mark.parametrize("line", REMARKS)
@pytest.mark.parametrize("where", ["above", "below", "readme__txt"])
def test_a_line_that_says_how_the_data_are_to_be_read_is_asked_about(read, line, where):
    (found,) = on_data(read(**{where: line + "\n"}))
    assert line.replace(",", "") in found.replace(",", "")


@pytest.mark.parametrize(
    "line",
    [
        "Angles in degrees, counter-clockwise",
        "Origin: bottom left",
        "Origin = lower left",
        "Heights in mm",
        "Coordinates from bottom left corner",
        "Mirrored: no",
        "Units: mm",
        "Panel: none",
        "Component placement list of the pump",
    ],
)
@pytest.mark.parametrize("where", ["above", "below", "readme__txt"])
def test_what_every_list_says_is_no_question(read, line, where):
    assert on_data(read(**{where: line + "\n"})) == []


@pytest.mark.parametrize(
    ("name", "text"),
    [
        (
            "legend-top__gbr",
            "G04 #@! TF.FileFunction,Legend,Top*\n%FSLAX46Y46*%\n%MOMM*%\n%ADD10C,0.15*%\nG04 #@! TO.C,R7*\nM02*\n",
        ),
        ("no-holes__drl", "M48\n;FORMAT={-:-/ absolute / metric / decimal}\nFMAT,2\nMETRIC,TZ\n%\nG90\nT0\nM30\n"),
    ],
    ids=["a layer", "a drill program"],
)
def test_comments_of_programs_for_machines_are_no_remarks(read, name, text):
    """They come from the program that wrote the file: nobody says anything by them, and nobody can answer for them."""
    assert [sentence(d.said) for d in read(**{name: text}).discrepancies if "remark" in sentence(d.said)] == []


def test_a_sheet_named_draft_is_asked_about(tmp_path):
    xlsxwriter = pytest.importorskip("xlsxwriter")
    (tmp_path / "places.csv").write_text(PLACED, encoding="utf-8")
    with xlsxwriter.Workbook(tmp_path / "list.xlsx") as book:
        sheet = book.add_worksheet("DRAFT")
        sheet.write_row(0, 0, ["Reference", "Quantity", "Part number"])
        for n in range(1, 9):
            sheet.write_row(n, 0, [f"R{n}", 1, "QX-1K"])
    (found,) = provisional(read_package(tmp_path))
    assert "DRAFT" in found


def test_a_second_list_that_repeats_the_parts_names_no_part_by_its_value(tmp_path):
    """``B9901W`` reads like a designator, and both lists say that it is the part of D1 and D2."""
    placed, bom, second = (tmp_path / name for name in ("placements.csv", "bom.csv", "bom.txt"))
    placed.write_text("Ref,X (mm),Y (mm),Rotation,Side\nD1,1,1,0,top\nD2,5,1,0,top\nR1,9,1,0,top\n", encoding="utf-8")
    rows = 'Value,Designator,Package,Part number\nB9901W,"D1, D2",SOD-123,PN-1\n10k,R1,0603,PN-2\n'
    bom.write_text(rows, encoding="utf-8")
    second.write_text(rows.replace("Value,Designator", "Value,RefDes"), encoding="utf-8")
    package = read_package(tmp_path)
    assert not [d for d in package.discrepancies if d.title == "row left out"]
