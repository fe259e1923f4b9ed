"""What texts beside the lists say of the whole board counts beside what the data say.

Figures: boards and sizes are invented; 94 mil are 2.39 mm, an inch 25.4 mm by definition.
"""

import ezdxf
import pytest

from capcheck import check
from capcheck.intake.told_of_board import said_of_board
from capcheck.model import SetAside, Topic, say
from capcheck.values import Place

MACHINE = """name = "M"
[board]
max_length = "200 mm"
max_width = "150 mm"
max_thickness = "2 mm"
max_mass = "500 g"
[[head]]
name = "H"
"""


@pytest.fixture
def asked(make_line, tmp_path):
    line = make_line(MACHINE)

    def ask(text, *, name="readme.txt", stated='thickness = "1.6 mm"\n', listed=()):
        folder = tmp_path / "board"
        folder.mkdir(exist_ok=True)
        rows = ["Ref,X [mm],Y [mm],Rotation,Side,Value,Footprint"]
        rows += [f"R{n},{10 * n},20,0,top,1k,RESC1608X55N" for n in range(1, 7)]
        (folder / "placements.csv").write_text("\n".join(rows) + "\n")
        bom = ["Refs,Part number,Description,Qty", '"R1,R2,R3,R4,R5,R6",QX-1,Resistor,6', *listed]
        (folder / "bom.csv").write_text("\n".join(bom) + "\n")
        (folder / "board.toml").write_text(stated)
        if text:
            (folder / name).write_text(f"Order\n\n{text}\n\nThanks\n", encoding="utf-8")
        drawing = ezdxf.new(units=4)
        drawing.modelspace().add_lwpolyline([(0, 0), (120, 0), (120, 90), (0, 90)], close=True)
        drawing.saveas(folder / "o.dxf")
        return check(folder, line=line)

    return ask


def is_asked(report):
    return any(getattr(d.said, "key", "") == "compare.told of the board" for d in report.board.discrepancies)


@pytest.mark.parametrize("name", ["readme.txt", "README.md", "notes", "fab.txt"])
@pytest.mark.parametrize(
    "text",
    [
        "Board thickness: 2.4 mm",
        "PCB thickness = 2,4 mm",
        "tloušťka desky 2,4 mm",
        "grubość płytki 2,4 mm",
        "толщина платы 2,4 мм",
        "FR4, 2.4 mm, HASL, green",
        "Leiterplattendicke: 2.4 mm",
        "épaisseur du circuit : 2.4 mm",
        "spessore 2.4 mm",
        "板厚：2.4 mm",
        "Thickness: 94 mil",
        "4 layers, 2.4 mm, ENIG",
    ],
)
def test_another_thickness_is_asked_about_and_counts_until_settled(asked, text, name):
    report = asked(text, name=name)
    assert is_asked(report)
    low, high = report.board.size.thickness.value.low, report.board.size.thickness.value.high
    assert (low, high) == (1.6, pytest.approx(2.4, abs=0.02))


@pytest.mark.parametrize(
    "text",
    [
        "",
        "Board thickness: 1.6 mm",
        "Thickness 1.6 mm +/- 10 %, copper 0.035 mm",
        "Stencil thickness 0.3 mm",
        "PCB revision 2.4",
        "FR4, tracks 0.2 mm, holes 0.3 mm",
        "The board is 120 x 90 mm",
        "Board size 90 x 120 mm",
        "Board: 4.72 x 3.54 inch",
        "The display beside it is 30 x 20 mm",
    ],
)
def test_what_agrees_or_is_of_something_else_is_not(asked, text):
    report = asked(text)
    assert not is_asked(report)
    # What agrees may have a tolerance: 10 % of 1.6 is 0.16.
    most = 1.76 if "10 %" in text else 1.6
    assert (report.board.size.thickness.value.low, report.board.size.thickness.value.high) == (1.6, most)
    assert report.board.size.length.value.is_exact


@pytest.mark.parametrize(
    "text",
    [
        "the board is 210 x 120 mm",
        "Abmessungen: 210 mm x 120 mm",
        "Leiterplattengröße 210 x 120 mm",
        "Board outline 210mm by 120mm",
        "Length 210 mm, width 120 mm",
        "Board is 8.27 x 4.72 inch",
        "外形寸法 210 x 120 mm",
    ],
)
def test_another_size_than_the_outline_is_asked_about(asked, text):
    report = asked(text)
    assert is_asked(report)
    assert report.board.size.length.value.low == report.board.size.length.value.high == 120


@pytest.mark.parametrize("text", ["Mass of the populated board: 2.4 kg", "Gewicht der Baugruppe: 2,4 kg"])
def test_another_mass_is_asked_about(asked, text):
    assert is_asked(asked(text))


def test_so_does_a_line_below_a_list(asked):
    assert is_asked(asked("", listed=["Board thickness 2.4 mm,,,"]))


def test_the_bare_board_in_the_bom_is_asked_about_once_with_what_texts_say_of_it(asked):
    for text, line, topics in (
        ("", '"",,PCB with a stencil,1', [Topic.NO_REFERENCE]),
        ("", '"",,"PCB 120*90*1.6mm, 8 layers",1', [Topic.NO_REFERENCE]),
        ("PCB 95*75*1.6mm, 4 layers", '"",,"PCB 125*125*1.6mm, 8 layers",1', [Topic.LEFT_OUT]),
    ):
        found = asked(text, listed=(line,)).board.discrepancies
        assert [told.topic for told in found if told.topic in {Topic.LEFT_OUT, Topic.NO_REFERENCE}] == topics
        assert ("125*125" in str(found)) == ("95*75" in str(found))


def test_a_thickness_that_nothing_else_states_is_asked_about_and_proves_nothing(asked):
    report = asked("Board thickness: 1.6 mm", stated="")
    assert is_asked(report)
    assert not report.board.size.thickness.value.is_known


@pytest.mark.parametrize("text", ["9" * 200, "board " + "1 x " * 48, "thickness " + "1.5 mm, " * 22])
def test_long_lines_are_read_or_left(text):
    assert len(said_of_board([SetAside(Place("a"), say("tables.comment"), text)])) <= 1


def counts_asked(report):
    return any(getattr(d.said, "key", "") == "compare.another count" for d in report.board.discrepancies)


@pytest.mark.parametrize(
    ("text", "is_told"),
    [("Number of components: 60", True), ("Anzahl Bauteile: 55", True), ("Total placements: 6", False)],
)
def test_another_count_of_parts_is_asked_about(asked, text, is_told):
    assert counts_asked(asked(text)) == is_told


def test_a_tolerance_is_no_thickness_and_the_greater_end_counts():
    """Sums by hand: 10 % of 1.6 is 0.16."""
    for text, thickness, thickest in (
        ("Board thickness 1.6 mm ±10%", 1.6, 1.76),
        ("Thickness: 1.6 -0.1/+0.2 mm", 1.6, 1.8),
        ("PCB thickness 1.6 mm (±0.2 mm)", 1.6, 1.8),
        ("FR4, 2.4 mm tol. 0.2 mm", 2.4, 2.6),
        ("Finished thickness 1.6 mm - 0.1 mm + 0.3 mm", 1.6, 1.9),
        ("Finished thickness 1.6 -0.1 mm", 1.6, 1.6),
    ):
        (told,) = said_of_board([SetAside(Place("a"), say("find.beside the lists"), text)])
        assert (told.thickness, told.thickest) == ((thickness,), thickest), text
    for text in ("Board size 100 ±0.2 x 80 ±0.2 mm", "PCB 100 mm +0.5/-0.2 mm x 80 mm"):
        (told,) = said_of_board([SetAside(Place("a"), say("find.beside the lists"), text)])
        assert (told.size, told.thickness) == (((100.0, 80.0),), ()), text
