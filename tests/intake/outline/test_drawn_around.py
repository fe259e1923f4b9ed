"""A drawing that may show the panel which a board comes in: what passes as one board is a question then.

Figures: boards and panels are invented.
"""

import ezdxf
import numpy as np
import pytest

from capcheck.intake.outline.outline_file import OutlineOptions, read_outline
from capcheck.model import Topic

LENGTH, WIDTH = 120.0, 90.0
PARTS = np.array([(20.0, 20.0), (110.0, 20.0), (60.0, 80.0), (15.0, 75.0)])


def rectangle(west, south, length, width, layer="Outline"):
    return (west, south, length, width, layer)


BOARD = rectangle(0, 0, LENGTH, WIDTH)


@pytest.fixture
def asked(tmp_path):
    """Return a function that draws rectangles and texts, and returns what is asked of a panel."""

    def ask(*drawn, texts=(), options=None):
        drawing = ezdxf.new(units=4)
        space = drawing.modelspace()
        for west, south, length, width, layer in drawn:
            corners = [(west, south), (west + length, south), (west + length, south + width), (west, south + width)]
            space.add_lwpolyline(corners, close=True, dxfattribs={"layer": layer})
        for text, place in texts:
            space.add_text(text, dxfattribs={"layer": "Outline"}).set_placement(place)
        drawing.saveas(tmp_path / "outline.dxf")
        read = read_outline(tmp_path / "outline.dxf", options or OutlineOptions(), PARTS)
        assert read.outline.polygon.bounds == (0, 0, LENGTH, WIDTH)
        return [d for d in read.decisions if d.topic is Topic.PANEL and d.open]

    return ask


def test_a_board_alone_is_no_question(asked):
    assert not asked(BOARD)


@pytest.mark.parametrize(
    "others",
    [
        [rectangle(125, 0, LENGTH, WIDTH)],
        [rectangle(0, 95, LENGTH, WIDTH, "Board 2")],
        [rectangle(125, 0, LENGTH, WIDTH), rectangle(0, 95, LENGTH, WIDTH), rectangle(125, 95, LENGTH, WIDTH)],
        [rectangle(130, 0, 100, 60)],
    ],
)
def test_boards_side_by_side_may_be_a_panel(asked, others):
    assert asked(BOARD, *others)


@pytest.mark.parametrize("layer", ["0", "Panel", "Mechanical 1"])
def test_a_frame_around_the_board_may_be_its_panel(asked, layer):
    assert asked(BOARD, rectangle(-5, -5, LENGTH + 10, WIDTH + 10, layer))


@pytest.mark.parametrize(
    "other",
    [
        rectangle(-5, -5, LENGTH + 10, WIDTH + 10, "Courtyard"),
        rectangle(-5, -5, LENGTH + 10, WIDTH + 10, "Title block"),
        rectangle(-60, -60, 297, 210, "0"),  # A4, ISO 216
        rectangle(130, 0, 20, 20, "0"),
    ],
)
def test_what_says_that_it_is_something_else_is_no_panel(asked, other):
    assert not asked(BOARD, other)


def test_a_frame_with_a_title_in_it_is_that_of_a_drawing(asked):
    texts = [("Scale 1:1", (125, -30)), ("Drawn by N. N.", (125, -40))]
    assert not asked(BOARD, rectangle(-60, -60, 290, 200, "0"), texts=texts)


def test_who_states_the_panel_is_not_asked(asked):
    other = rectangle(125, 0, LENGTH, WIDTH)
    assert not asked(BOARD, other, options=OutlineOptions(panel_stated=True))
