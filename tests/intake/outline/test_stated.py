"""What a drawing states in words is compared with what it shows.

Figures: invented, or the digits of the text; an inch is 25.4 mm by definition.
"""

import ezdxf
import pytest

from capcheck.checking.read import read_board
from capcheck.model import Topic

PLACED = "Ref,X (mm),Y (mm),Rotation,Side\n" + "".join(f"R{i},{9 * i},{5 * i},0,top\n" for i in range(1, 9))


@pytest.fixture
def asked(tmp_path):
    """Return a function that reads a board of 100 × 80 mm and gives the keys of what its drawing contradicts."""

    def read(draw, toml=""):
        drawing = ezdxf.new(units=4)
        space = drawing.modelspace()
        space.add_lwpolyline([(0, 0), (100, 0), (100, 80), (0, 80)], close=True, dxfattribs={"layer": "outline"})
        draw(space)
        drawing.saveas(tmp_path / "outline.dxf")
        (tmp_path / "placements.csv").write_text(PLACED)
        if toml:
            (tmp_path / "board.toml").write_text(toml)
        return [d.said.key for d in read_board(tmp_path).discrepancies if d.topic is Topic.STATED_IN_DRAWING]

    return read


def dimension(text):
    return lambda space: space.add_linear_dim(base=(0, -10), p1=(0, 0), p2=(100, 0), text=text).render()


@pytest.mark.parametrize("text", ["120", "120 mm", "4.5 in", "120 ±0.1", "W=99"])
def test_a_dimension_written_over_with_another_number_is_a_question(asked, text):
    assert asked(dimension(text)) == ["outline.dimension contradicted"]


@pytest.mark.parametrize("text", ["<>", "<> mm", "100", "100.0 ±0.1", "100,00", "3.937", "2x 100", "width", "10 cm"])
def test_a_dimension_that_says_what_it_measures_is_none(asked, text):
    assert asked(dimension(text)) == []


@pytest.mark.parametrize(
    "text",
    ["ALL DIMENSIONS IN INCHES", "Alle Maße in Zoll", "Units: mil", "BOTTOM VIEW", "mirrored", "PANEL 3x4"],
)
def test_a_text_by_which_the_drawing_means_something_else_is_a_question(asked, text):
    assert asked(lambda space: space.add_text(text, dxfattribs={"insert": (10, 90)})) == ["outline.text contradicted"]


@pytest.mark.parametrize("text", ["ALL DIMENSIONS IN MM", "Units: mm", "SCALE 1:1", "TOP VIEW", "Rev 2", "hole 3 mm"])
def test_an_ordinary_text_of_a_drawing_is_none(asked, text):
    assert asked(lambda space: space.add_text(text, dxfattribs={"insert": (10, 90)})) == []


@pytest.mark.parametrize(
    "text",
    [
        "PCB THICKNESS 0.3 mm",
        "0.3 mm thick",
        "Dicke: 0,3 mm",
        "épaisseur 0.3",
        "Espesor: 0.3mm",
        "板厚 0.3mm",
        "THK 12 mil",
    ],
)
def test_another_thickness_than_board_toml_states_is_a_question(asked, text):
    found = asked(lambda space: space.add_text(text, dxfattribs={"insert": (0, -20)}), 'thickness = "1.6 mm"\n')
    assert found == ["outline.another thickness"]


@pytest.mark.parametrize("text", ["1.6 mm thick", "thickness 1,60 mm", "copper thickness 35 µm", "thick lines"])
def test_the_same_thickness_and_other_words_are_none(asked, text):
    assert asked(lambda space: space.add_text(text, dxfattribs={"insert": (0, -20)}), 'thickness = "1.6 mm"\n') == []


def test_an_external_reference_is_something_drawn_that_is_not_known(tmp_path):
    drawing = ezdxf.new(units=4)
    space = drawing.modelspace()
    space.add_lwpolyline([(0, 0), (100, 0), (100, 80), (0, 80)], close=True, dxfattribs={"layer": "outline"})
    drawing.add_xref_def("cutouts.dxf", "XR")
    space.add_blockref("XR", (0, 0))
    drawing.saveas(tmp_path / "outline.dxf")
    (tmp_path / "placements.csv").write_text(PLACED)
    board = read_board(tmp_path)
    assert any(d.topic is Topic.DRAWN_INSIDE for d in board.discrepancies)
    assert any(doubt.area is None for doubt in board.outline.doubts)
