"""Placements come into the outline's frame by evidence; what the data leave open is said to be open.

Figures: invented, or the digits of the text.
"""

import numpy as np
import pytest
import shapely
from depth import sample_size
from hypothesis import given, settings, strategies as st

from capcheck.intake.frame.registration import ShiftBy, Wanted, register
from capcheck.lexicon import sentence
from capcheck.model import Kind, Outline, Side, say

# An L-shaped contour: no mirror image and no turn of it fits itself.
SHAPE = shapely.Polygon([(10, 20), (110, 20), (110, 60), (60, 60), (60, 100), (10, 100)])
HOLES = ((14.0, 24.0, 3.2), (106.0, 24.0, 3.2), (14.0, 96.0, 3.2))
OUTLINE = Outline(SHAPE, HOLES)


def parts(*, holes=True, seed=3):
    """Return places of parts all over the contour, half of them on the bottom, and the holes' rows."""
    rng = np.random.default_rng(seed)
    x, y = rng.uniform(12, 108, 400), rng.uniform(22, 98, 400)
    inside = shapely.contains_xy(SHAPE.buffer(-1), x, y)
    x, y = x[inside], y[inside]
    # Rows close to the edges: boards are filled, and only they fix the shift.
    edge_x, edge_y = np.array([11.2, 108.8, 11.2, 59.0]), np.array([21.2, 58.8, 98.8, 98.8])
    x, y = np.concatenate([x, edge_x]), np.concatenate([y, edge_y])
    side = (np.arange(len(x)) % 2).astype(np.int8)
    kind = np.zeros(len(x), dtype=np.int8)
    if holes:
        x = np.concatenate([x, [h[0] for h in HOLES]])
        y = np.concatenate([y, [h[1] for h in HOLES]])
        side = np.concatenate([side, np.zeros(3, dtype=np.int8)])
        kind = np.concatenate([kind, np.full(3, Kind.MECHANICAL, dtype=np.int8)])
    return x, y, side, kind


def test_a_shared_frame_is_left_alone():
    x, y, side, kind = parts()
    frame, decisions = register(x, y, side, kind, outline=OUTLINE, wanted=Wanted())
    assert frame.shift == (0, 0)
    assert not any(d.open for d in decisions)


@settings(max_examples=sample_size(30))
@given(
    dx=st.floats(-300, 300),
    dy=st.floats(-300, 300),
    y_down=st.booleans(),
    mirrored=st.sampled_from([None, "zero", "middle"]),
)
def test_shift_flip_and_mirror_are_found_where_holes_tell(dx, dy, y_down, mirrored):
    x, y, side, kind = parts()
    there_x, there_y = x - dx, y - dy
    if mirrored is not None:
        about = 0.0 if mirrored == "zero" else 60.0 - dx
        there_x = np.where(side == Side.BOTTOM, 2 * about - there_x, there_x)
    if y_down:
        there_y = -there_y
    frame, decisions = register(there_x, there_y, side, kind, outline=OUTLINE, wanted=Wanted())
    back_x, back_y = frame.apply(there_x, there_y, side)
    share = shapely.contains_xy(SHAPE.buffer(1.0), back_x, back_y).mean()
    right = np.hypot(back_x - x, back_y - y) < 0.2
    assert share > 0.95
    assert right.mean() > 0.95 or any(d.open for d in decisions)


def test_a_shift_that_only_containment_suggests_is_open_where_the_board_is_loose():
    rng = np.random.default_rng(1)
    x, y = rng.uniform(0, 30, 50), rng.uniform(0, 10, 50)
    outline = Outline(shapely.box(500, 500, 600, 580))
    _, decisions = register(
        x, y, np.zeros(50, dtype=np.int8), np.zeros(50, dtype=np.int8), outline=outline, wanted=Wanted()
    )
    origin = next(d for d in decisions if d.topic == "origin")
    assert origin.open or "corner" in origin.evidence
    assert origin.settle.startswith("origin = {")


def test_a_symmetric_board_leaves_the_bottom_side_open():
    x, y = np.tile([-20.0, -5, 5, 20], 2), np.repeat([-10.0, 10], 4)
    side = np.array([0, 0, 0, 0, 1, 1, 1, 1], dtype=np.int8)
    outline = Outline(shapely.box(-25, -15, 25, 15))
    _, decisions = register(x, y, side, np.zeros(8, dtype=np.int8), outline=outline, wanted=Wanted())
    assert [d.topic for d in decisions if d.open] == ["bottom side"]


def test_a_bottom_side_without_parts_leaves_nothing_open():
    """Test points, solder bridges and fiducials alone are placed by nobody: how their side is seen stops no order."""
    x, y = np.tile([-20.0, -5, 5, 20], 2), np.repeat([-10.0, 10], 4)
    side = np.array([0, 0, 0, 0, 1, 1, 1, 1], dtype=np.int8)
    kind = np.where(side == Side.BOTTOM, Kind.MECHANICAL, Kind.PART).astype(np.int8)
    outline = Outline(shapely.box(-25, -15, 25, 15))
    _, decisions = register(x, y, side, kind, outline=outline, wanted=Wanted())
    assert [(d.topic, d.open) for d in decisions] == [("origin", False), ("bottom side", False)]


def test_what_board_toml_states_is_not_inferred():
    x, y, side, kind = parts()
    wanted = Wanted((5.0, -2.0), y_down=False, bottom_mirrored=False)
    frame, decisions = register(x, y, side, kind, outline=OUTLINE, wanted=wanted)
    assert (frame.shift, frame.y_down, frame.mirror_x, decisions) == ((5.0, -2.0), False, None, [])


def test_placements_that_fit_nowhere_are_left_as_written_and_asked_about():
    x, y = np.linspace(0, 900, 60), np.linspace(0, 700, 60)
    frame, decisions = register(
        x, y, np.zeros(60, dtype=np.int8), np.zeros(60, dtype=np.int8), outline=OUTLINE, wanted=Wanted()
    )
    assert frame.shift == (0, 0)
    assert decisions[0].open


@pytest.mark.parametrize("mirrored", [True, False])
def test_without_an_outline_negative_x_on_the_bottom_alone_is_a_mirror(mirrored):
    rng = np.random.default_rng(5)
    x, y = rng.uniform(1, 80, 60), rng.uniform(1, 50, 60)
    side = (np.arange(60) % 2).astype(np.int8)
    there = np.where((side == 1) & mirrored, -x, x)
    frame, decisions = register(there, y, side, np.zeros(60, dtype=np.int8), outline=None, wanted=Wanted())
    assert np.allclose(frame.apply(there, y, side)[0], x)
    assert bool(decisions) is mirrored


def test_bottom_rows_that_lie_better_mirrored_about_the_middle_leave_the_side_open():
    x, y, side, kind = parts(holes=False)
    mirrored = np.where(side == Side.BOTTOM, 120.0 - x, x)
    # Of the mirrored rows some fall into the notch of the contour: most lie inside all the same.
    keep = (side == Side.TOP) | shapely.contains_xy(SHAPE, mirrored, y) | (np.arange(len(x)) % 10 == 1)
    frame, decisions = register(
        mirrored[keep], y[keep], side[keep], kind[keep], outline=Outline(SHAPE), wanted=Wanted()
    )
    assert frame.mirror_x is None
    (decision,) = [d for d in decisions if d.topic == "bottom side"]
    assert decision.open
    assert "mirrored about the outline's middle, 100% inside" in sentence(decision.runner_up)


@pytest.mark.rows("by", ShiftBy)
def test_every_way_of_finding_a_shift_has_its_sentence(by):
    assert sentence(say(by))
