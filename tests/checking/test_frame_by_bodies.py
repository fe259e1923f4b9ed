"""A frame in which all centres lie on the board and bodies over its edge is a question where another one holds them.

Figures: files and bodies are invented; sizes of codes and outlines are in capcheck/packages/data/*.csv, with
their sources.
"""

import ezdxf
import pytest

from capcheck.checking.read import read_board
from capcheck.lexicon import sentence
from capcheck.model import Topic

# JEDEC MS-012 AA: 4.9 x 3.9 mm.
SOIC = "SOIC8 pitch1.27mm body3.9x4.9mm"


@pytest.fixture
def origin(tmp_path):
    """Return a function that reads a board of 60 × 40 mm at *corner* and gives its decision on the origin."""

    def read(rows, corner=(0.0, 0.0), toml="", holes=()):
        x, y = corner
        drawing = ezdxf.new(units=4)
        space = drawing.modelspace()
        space.add_lwpolyline([(x, y), (x + 60, y), (x + 60, y + 40), (x, y + 40)], close=True)
        for at in holes:
            space.add_circle(at, 1.6)
        drawing.saveas(tmp_path / "outline.dxf")
        header = "Ref,X [mm],Y [mm],Rotation,Side,Value,Footprint"
        (tmp_path / "placements.csv").write_text("\n".join([header, *rows]))
        if toml:
            named = 'placements = "placements.csv"\noutline = "outline.dxf"\n'
            (tmp_path / "board.toml").write_text(named + toml)
        board = read_board(tmp_path)
        return next((d for d in board.decisions if d.topic is Topic.ORIGIN), None)

    return read


def full(dx=0.0, dy=0.0, name=SOIC, letter="U"):
    """Return parts all over a board of 60 × 40 mm, 0.55 mm of air beside the outermost bodies."""
    places = [(3.1 + k % 10 * 5.95, 3.0 + k // 10 * 11.3) for k in range(40)]
    return [f"{letter}{k},{x + dx:.3f},{y + dy:.3f},0,top,v,{name}" for k, (x, y) in enumerate(places, 1)]


def test_bodies_over_the_edge_open_the_origin_where_the_outlines_corner_holds_all(origin):
    decision = origin(full(), corner=(2.5, 2.5))
    assert decision.open
    assert "lie over the edge" in sentence(decision.evidence)
    assert "2.50, 2.50 mm" in sentence(decision.runner_up)


def test_bodies_that_all_lie_on_the_board_open_nothing(origin):
    assert not origin(full()).open
    assert not origin(full(200, 100), corner=(200, 100)).open


def test_an_inferred_shift_with_bodies_over_the_edge_is_open_where_a_further_one_holds_all(origin):
    """The parts' own lower left is 2 mm off the outline's: counted from the corner the centres fit, the bodies not."""
    decision = origin(full(-2.0, -2.0), corner=(300, 200))
    assert decision.open


def test_what_is_stated_stays(origin):
    decision = origin(full(), corner=(2.5, 2.5), toml='origin = { x = "0 mm", y = "0 mm" }\n')
    assert decision is None or not decision.open


def test_coinciding_holes_settle_the_frame_whatever_hangs_over_the_edge(origin):
    holes = [(6.0, 6.0), (56.0, 36.0)]
    rows = [*full(), "H1,6,6,0,top,hole,mounting hole 3.4mm", "H2,56,36,0,top,hole,mounting hole 3.4mm"]
    decision = origin(rows, corner=(2.5, 2.5), holes=holes)
    assert decision is None or not decision.open


def test_a_connector_over_the_edge_opens_nothing(origin):
    rows = [*full()[11:29], f"J1,0.5,20,0,top,plug,{SOIC}"]
    assert not origin(rows, corner=(0.0, 0.0)).open
    assert not origin([*full(2.5, 2.5), f"J1,2.6,20,0,top,plug,{SOIC}"], corner=(2.5, 2.5)).open


def test_a_part_over_the_edge_that_no_other_frame_explains_stays_a_finding(origin):
    assert not origin([*full()[11:29], f"U99,1,20,0,top,v,{SOIC}"]).open
