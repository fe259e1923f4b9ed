"""One circuit is stepped to the panel of board.toml, with its outline.

Figures: invented, or the digits of the text.
"""

import numpy as np
import pytest
import shapely

from capcheck.intake.frame.stepped_panel import step, step_outline
from capcheck.model import Doubt, Outline, say
from capcheck.model.stated import PanelSource

X, Y = np.array([3.0, 10.0, 17.5, 8.0]), np.array([2.0, 9.0, 4.0, 15.0])
CIRCUIT = Outline(shapely.box(0, 0, 20, 18))


def spec(**fields):
    return PanelSource.model_validate(fields)


def test_stepping_copies_every_row_by_the_pitch():
    panel = spec(columns=2, rows=2, pitch_x="30 mm", pitch_y="25 mm")
    copies = step(X, Y, np.zeros(4), CIRCUIT, panel)
    assert copies.circuit.tolist() == [1] * 4 + [2] * 4 + [3] * 4 + [4] * 4
    assert copies.x[4:8].tolist() == (X + 30).tolist()
    assert copies.y[12:].tolist() == (Y + 25).tolist()


def test_a_half_turn_keeps_the_circuit_in_its_box():
    panel = spec(columns=2, pitch_x="30 mm", half_turns="columns")
    copies = step(X, Y, np.full(4, 90.0), CIRCUIT, panel)
    assert copies.x[4:].tolist() == (30 + 20 - X).tolist()
    assert copies.y[4:].tolist() == (18 - Y).tolist()
    assert copies.rotation_deg[4:].tolist() == [270.0] * 4


def test_the_outline_becomes_the_panel_with_its_rails():
    outline = Outline(shapely.box(0, 0, 20, 18), ((2.0, 2.0, 3.0),))
    stepped = step_outline(outline, spec(columns=2, rows=3, pitch_x="22 mm", rails={"top": "6 mm", "bottom": "5 mm"}))
    # 22 + 20 wide; 3 × 18 and both rails high, as circuits without a stated pitch touch.
    assert stepped.polygon.bounds == (0, -5, 42, 60)
    assert len(stepped.holes) == 6


def test_rails_around_a_single_circuit_count():
    outline = Outline(shapely.box(0, 0, 60, 40))
    railed = step_outline(outline, spec(columns=1, rows=1, rails={"top": "6 mm", "bottom": "6 mm"}))
    assert railed.polygon.bounds == (0, -6, 60, 46)
    assert step_outline(outline, spec(columns=1, rows=1)) is outline


@pytest.mark.parametrize(("half_turns", "second"), [("none", (34, 4)), ("columns", (40, 8))])
def test_cut_outs_are_stepped_and_turned_like_holes(half_turns, second):
    """A slot from (4, 4) to (10, 10) in a circuit of 20 × 18; a half turn takes it to (10, 8) … (16, 14)."""
    outline = Outline(shapely.box(0, 0, 20, 18).difference(shapely.box(4, 4, 10, 10)))
    stepped = step_outline(outline, spec(columns=2, pitch_x="30 mm", half_turns=half_turns))
    corners = sorted(ring.bounds[:2] for ring in stepped.polygon.interiors)
    assert corners == [(4, 4), second]


def test_circuits_that_overlap_still_have_a_valid_contour():
    outline = Outline(shapely.box(0, 0, 20, 18).difference(shapely.box(4, 4, 10, 10)))
    assert step_outline(outline, spec(columns=2, pitch_x="3 mm")).polygon.is_valid


def test_cut_outs_of_circuits_that_overlap_stay_cut_out():
    outline = Outline(shapely.box(0, 0, 20, 18).difference(shapely.box(2, 4, 18, 10)))
    (hole,) = step_outline(outline, spec(columns=2, pitch_x="15 mm")).polygon.interiors
    assert shapely.Polygon(hole).bounds == (2, 4, 33, 10)


@pytest.mark.parametrize(("half_turns", "second"), [("none", (34, 4)), ("columns", (40, 8))])
def test_what_may_be_an_opening_is_stepped_and_turned_too(half_turns, second):
    doubts = (
        Doubt(shapely.box(4, 4, 10, 10), say("outline.lines", count=1)),
        Doubt(None, say("outline.lines", count=1)),
    )
    outline = Outline(shapely.box(0, 0, 20, 18), doubts=doubts)
    stepped = step_outline(outline, spec(columns=2, pitch_x="30 mm", half_turns=half_turns))
    assert sorted(d.area.bounds[:2] for d in stepped.doubts if d.area is not None) == [(4, 4), second]
    assert [d.area for d in stepped.doubts].count(None) == 1


def test_an_outline_that_is_the_panel_already_stays():
    outline = Outline(shapely.box(0, 0, 62, 30))
    panel = spec(columns=3, pitch_x="20 mm")
    assert step_outline(outline, panel) is outline
    # A half turn is then about the middle of the placements' box, from (3, 2) to (17.5, 15).
    assert step(X, Y, np.zeros(4), outline, spec(columns=3, pitch_x="20 mm", half_turns="columns")).x[4] == 37.5


@pytest.mark.parametrize("half_turns", ["rows", "alternate", "none"])
def test_each_way_of_turning(half_turns):
    copies = step(X, Y, np.zeros(4), CIRCUIT, spec(columns=2, rows=2, half_turns=half_turns))
    angles = {k: copies.rotation_deg[copies.circuit == k][0] for k in (1, 2, 3, 4)}
    expected = {"rows": [0, 0, 180, 180], "alternate": [0, 180, 180, 0], "none": [0, 0, 0, 0]}[half_turns]
    assert list(angles.values()) == expected
