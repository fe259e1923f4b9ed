"""Bottom parts may be written mirrored about the board's middle, as seen from below: asked where answers differ.

Figures: files and bodies are invented.
"""

import ezdxf
import pytest

from capcheck.checking.read import read_board
from capcheck.lexicon import sentence
from capcheck.model import Topic

# JEDEC MS-012 AA: 4.9 x 3.9 mm.
BODY = "SOIC8 pitch1.27mm body3.9x4.9mm"
TOP = [f"U{k},{20 + 15 * k},{60 if k % 2 else 15},0,top,v,{BODY}" for k in range(1, 5)]
BOTTOM = [f"U1{k},{60 + 6 * k},40,0,bottom,v,{BODY}" for k in range(1, 5)]
SQUARE = [(0, 0), (100, 0), (100, 80), (0, 80)]


@pytest.fixture
def bottom(tmp_path):
    """Return a function that reads a board and gives the open decision on its bottom side."""

    def read(rows, holes=(), contour=SQUARE, toml=""):
        drawing = ezdxf.new(units=4)
        space = drawing.modelspace()
        space.add_lwpolyline(contour, close=True, dxfattribs={"layer": "outline"})
        for x, y in holes:
            space.add_circle((x, y), 2, dxfattribs={"layer": "outline"})
        drawing.saveas(tmp_path / "outline.dxf")
        header = "Ref,X [mm],Y [mm],Rotation,Side,Value,Footprint"
        (tmp_path / "placements.csv").write_text("\n".join([header, *TOP, *rows]))
        if toml:
            named = 'placements = "placements.csv"\noutline = "outline.dxf"\n'
            (tmp_path / "board.toml").write_text(named + toml)
        board = read_board(tmp_path)
        return board, next((d for d in board.decisions if d.topic is Topic.BOTTOM_SIDE and d.open), None)

    return read


def test_a_hole_that_only_the_mirrored_reading_puts_under_a_body_is_a_question(bottom):
    _, decision = bottom(BOTTOM, holes=[(34, 40)])
    assert "U11 then lies over the edge" in sentence(decision.runner_up)


def test_a_notch_that_only_the_mirrored_reading_puts_under_a_body_is_a_question(bottom):
    notched = [(0, 0), (100, 0), (100, 80), (35, 80), (35, 39), (31, 39), (31, 80), (0, 80)]
    assert bottom(BOTTOM, contour=notched)[1] is not None


def test_where_both_readings_answer_alike_nothing_is_asked(bottom):
    assert bottom(BOTTOM)[1] is None
    assert bottom(BOTTOM, holes=[(20, 15), (80, 15)])[1] is None


def test_a_mirrored_reading_with_many_bodies_over_openings_is_none(bottom):
    assert bottom(BOTTOM, holes=[(34, 40), (28, 40), (22, 40)])[1] is None


def test_holes_that_coincide_as_written_alone_settle_it(bottom):
    holes = [(34, 40), (10, 10), (95, 70)]
    rows = [*BOTTOM, "H1,10,10,0,bottom,hole,mounting hole 4mm", "H2,95,70,0,bottom,hole,mounting hole 4mm"]
    assert bottom(rows, holes=holes)[1] is None


def test_what_is_stated_is_no_question_and_turns_the_parts(bottom):
    board, decision = bottom(BOTTOM, holes=[(34, 40)], toml='bottom_view = "through the board"\n')
    assert decision is None
    stated = 'bottom_view = "from below"\ny_axis = "up"\norigin = { x = "0 mm", y = "0 mm" }\n'
    board, decision = bottom(BOTTOM, holes=[(34, 40)], toml=stated)
    assert decision is None
    assert board.placements.x_mm[board.placements.ref.index("U11")] == 34.0
