"""Contours that are the bodies of the placed parts are drawings of them; a single one may be a window.

Figures: files and bodies are invented.
"""

import ezdxf
import pytest

from capcheck.checking.read import read_board
from capcheck.model import Topic

# JEDEC MS-012 AA: 4.9 x 3.9 mm.
BODY = "SOIC8 pitch1.27mm body3.9x4.9mm"


@pytest.fixture
def board(tmp_path):
    def read(drawn, width=3.9, shift=0.0):
        drawing = ezdxf.new(units=4)
        space = drawing.modelspace()
        space.add_lwpolyline([(0, 0), (100, 0), (100, 80), (0, 80)], close=True, dxfattribs={"layer": "outline"})
        places = [(10 + 15 * k, 20 + 8 * k) for k in range(5)]
        for at, y in places[:drawn]:
            x, half, tall = at + shift, width / 2, 4.9 / 2
            corners = [(x - half, y - tall), (x + half, y - tall), (x + half, y + tall), (x - half, y + tall)]
            space.add_lwpolyline(corners, close=True, dxfattribs={"layer": "parts"})
        drawing.saveas(tmp_path / "outline.dxf")
        rows = [f"U{k},{x},{y},0,top,v,{BODY}" for k, (x, y) in enumerate(places, 1)]
        (tmp_path / "placements.csv").write_text("\n".join(["Ref,X [mm],Y [mm],Rotation,Side,Value,Footprint", *rows]))
        read = read_board(tmp_path)
        return len(read.outline.doubts), any(d.topic is Topic.DRAWN_INSIDE for d in read.discrepancies)

    return read


def test_the_bodies_of_the_parts_are_no_openings(board):
    assert board(5) == (0, False)


@pytest.mark.parametrize(("drawn", "width", "shift"), [(2, 3.9, 0.0), (5, 12.0, 0.0), (5, 3.9, 1.0)])
def test_few_contours_and_those_of_another_size_or_place_stay_in_doubt(board, drawn, width, shift):
    doubts, is_asked = board(drawn, width, shift)
    assert doubts >= drawn
    assert is_asked
