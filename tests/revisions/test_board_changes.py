"""What changed of the board itself, and of the frame in which its parts lie. Figures: invented, sums by hand.

Figures: invented.
"""

import numpy as np
import pytest
from depth import sample_size
from hypothesis import given, settings, strategies as st
from msgspec.structs import replace
from shapely import box
from shapely.affinity import translate

from capcheck import read_board
from capcheck.model import Side
from capcheck.revisions import Change, Motion, data_changes, in_later_frame


@pytest.fixture(scope="module")
def board(shop):
    return read_board(shop / "irrigation-controller")


def with_contour(board, polygon, **others):
    return replace(board, outline=replace(board.outline, polygon=polygon, **others))


def shifted(board, dx, dy, *, outline):
    placements = board.placements
    moved = replace(board, placements=replace(placements, x_mm=placements.x_mm + dx, y_mm=placements.y_mm + dy))
    return with_contour(moved, translate(board.outline.polygon, dx, dy)) if outline else moved


def what(found):
    return [change.what for change in found.board]


def test_a_notch_a_cut_out_and_a_hole_are_told(board):
    contour = board.outline.polygon
    left, bottom, *_ = contour.bounds
    notch = box(left + 30, bottom - 1, left + 40, bottom + 3)
    assert what(data_changes(board, with_contour(board, contour.difference(notch)))) == ["contour"]
    window = box(left + 30, bottom + 2, left + 33, bottom + 4)
    found = data_changes(board, with_contour(board, contour.difference(window)))
    assert [(c.what, c.new - c.old) for c in found.board] == [("cut-outs", 1)]
    holes = (*board.outline.holes, (left + 50, bottom + 4, 3.0))
    found = data_changes(board, with_contour(board, contour, holes=holes))
    assert [(c.what, c.new - c.old) for c in found.board] == [("holes", 1)]


def test_a_contour_drawn_with_other_steps_of_its_curves_is_the_same(board):
    assert what(data_changes(board, with_contour(board, board.outline.polygon.segmentize(0.5).simplify(0.005)))) == []


def test_parts_and_outline_that_moved_together_have_not_moved_on_the_board(board):
    found = data_changes(board, shifted(board, 12.0, -7.5, outline=True))
    assert (found.is_empty, found.motion.told_by) == (True, "outline")
    assert (found.motion.dx_mm, found.motion.dy_mm) == (pytest.approx(12.0), pytest.approx(-7.5))


def test_parts_that_moved_within_an_outline_that_did_not_have_all_moved(board):
    found = data_changes(board, shifted(board, 0.5, 0.0, outline=False))
    assert found.motion.is_still
    moved = [part for part in found.parts if part.changes == {Change.MOVED}]
    assert len(moved) == int(np.isfinite(board.placements.x_mm).sum())
    assert {round(part.dx_mm, 6) for part in moved} == {0.5}


@settings(max_examples=sample_size(20))
@given(turns=st.integers(0, 3), dx=st.integers(-200, 200), dy=st.integers(-200, 200))
def test_a_board_drawn_elsewhere_and_turned_is_the_same_board(board, turns, dx, dy):
    elsewhere = in_later_frame(board, Motion(turns, float(dx), float(dy)))
    size = elsewhere.size
    if turns % 2:
        elsewhere = replace(elsewhere, size=replace(size, length=size.width, width=size.length))
    found = data_changes(board, elsewhere)
    assert found.is_empty
    assert (found.motion.quarter_turns, round(found.motion.dx_mm, 6), round(found.motion.dy_mm, 6)) == (turns, dx, dy)


@pytest.mark.parametrize("axis", ["x", "y"])
@pytest.mark.parametrize("side", [Side.TOP, Side.BOTTOM])
def test_a_side_seen_from_the_other_face_is_told_as_one_thing_beside_its_moves(board, side, axis):
    placed, about = board.placements, 35.0
    here = placed.side == side
    values = placed.x_mm if axis == "x" else placed.y_mm
    column = {f"{axis}_mm": np.where(here, 2 * about - values, values)}
    (found,) = (changes := data_changes(board, replace(board, placements=replace(placed, **column)))).mirrored
    assert (found.side, found.axis, round(found.about_mm, 6)) == (side, axis, about)
    assert found.of == int((here & np.isfinite(values)).sum())
    assert 0.9 * found.of < found.parts <= found.of, "but where two alike parts took each other's place"
    assert {part.new.side for part in changes.parts} == {side}
    assert data_changes(board, board).mirrored == ()


def test_a_board_that_grew_tells_its_size_and_not_its_parts(board):
    left, bottom, right, top = board.outline.polygon.bounds
    wider = with_contour(board, box(left - 5, bottom, right, top))
    size = board.size
    grown = replace(size.length, value=type(size.length.value)(right - left + 5, right - left + 5))
    found = data_changes(board, replace(wider, size=replace(size, length=grown)))
    assert (found.parts, found.motion.is_still) == ((), True)
    assert "length" in what(found)
    assert "contour" not in what(found)
