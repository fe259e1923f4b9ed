"""Distances of bodies to the board's edges.

Figures: geometry of invented bodies, worked by hand; a figure of the trade has its source beside it.
"""

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, strategies as st

from capcheck.geometry.bodies import rectangles
from capcheck.geometry.covering import Covering
from capcheck.geometry.edges import (
    contour_distance,
    cutout_distance,
    point_distance,
    rail_width_needed,
    transported_distance,
)

BOARD = shapely.Polygon(shapely.box(0, 0, 100, 60).exterior, [shapely.box(40, 20, 60, 30).exterior])


def part(x, y, rotation=0.0, length=(4.0, 4.0), width=(2.0, 2.0)):
    return rectangles([x], [y], [rotation], length, width, oriented=True)


def ends(bounds):
    return float(bounds[0][0]), float(bounds[1][0])


def test_turned_rectangles_reach_with_their_corner():
    assert ends(transported_distance(part(50, 8, 45), BOARD.bounds, turned=False)) == pytest.approx(
        (8 - 3 / math.sqrt(2),) * 2
    )


def test_the_transported_edges_follow_the_way_of_travel():
    body = part(10, 8)
    assert ends(transported_distance(body, BOARD.bounds, turned=False)) == pytest.approx((7, 7))
    assert ends(transported_distance(body, BOARD.bounds, turned=True)) == pytest.approx((8, 8))
    assert ends(transported_distance(part(90, 52), BOARD.bounds, turned=False)) == pytest.approx((7, 7))
    assert ends(transported_distance(part(90, 52), BOARD.bounds, turned=True)) == pytest.approx((8, 8))


def test_distance_runs_from_the_greatest_to_the_least_body_and_overhang_is_negative():
    assert ends(transported_distance(part(50, 1, width=(1.8, 2.6)), BOARD.bounds, turned=False)) == pytest.approx(
        (-0.3, 0.1)
    )


@pytest.mark.parametrize(
    "measure",
    [
        lambda b: transported_distance(b, BOARD.bounds, turned=False),
        lambda b: contour_distance(b, BOARD),
        lambda b: cutout_distance(b, BOARD),
    ],
)
def test_an_unknown_size_or_place_is_never_proved_to_be_clear(measure):
    unknown_size = part(20, 10, length=(0, math.inf), width=(0, math.inf))
    low, high = ends(measure(unknown_size))
    assert low <= 0
    assert math.isfinite(high)
    nowhere = ends(measure(part(math.nan, math.nan)))
    assert nowhere[0] <= 0
    assert nowhere[1] == math.inf


def test_the_contour_counts_and_not_only_the_box():
    notched = shapely.box(0, 0, 100, 60).difference(shapely.box(45, 50, 55, 60))
    assert ends(contour_distance(part(50, 47), notched)) == pytest.approx((2, 2))
    assert ends(contour_distance(part(50, 50.5), notched)) == pytest.approx((-1.5, -1.5))
    assert ends(contour_distance(part(50, 70), notched)) == pytest.approx((-math.hypot(3, 11),) * 2)


def test_a_notch_that_pokes_into_a_body_is_an_overhang_though_all_corners_lie_on_the_board():
    slotted = shapely.box(0, 0, 100, 60).difference(shapely.box(49.5, 40, 50.5, 60))
    low, _ = ends(contour_distance(part(50, 41, length=(8.0, 8.0)), slotted))
    assert low < -0.4


def test_cutouts_are_measured_from_outside_and_within():
    assert ends(cutout_distance(part(36, 25), BOARD)) == pytest.approx((2, 2))
    assert ends(cutout_distance(part(41, 25), BOARD)) == pytest.approx((-3, -3))
    assert ends(cutout_distance(part(50, 25), BOARD))[0] <= -4
    assert ends(cutout_distance(part(50, 25), shapely.box(0, 0, 100, 60))) == (math.inf, math.inf)


def finely_divided(corners=3000, radius=60.0, waves=0.0):
    """Return a round contour of many corners, as drawn arcs and curves leave it."""
    turn = np.linspace(0, 2 * math.pi, corners, endpoint=False)
    r = radius + waves * np.sin(300 * turn)
    return shapely.Polygon(np.column_stack([r * np.cos(turn), r * np.sin(turn)]))


@pytest.mark.parametrize("board", [finely_divided(), finely_divided(waves=0.5), finely_divided(waves=9.0)])
def test_distances_to_a_contour_of_many_corners_are_exact_near_it_and_hold_the_true_one_far_from_it(board):
    """Reference: shapely's distance to the whole contour, body by body."""
    rng = np.random.default_rng(5)
    x, y = rng.uniform(-62, 62, (2, 300))
    bodies = rectangles(x, y, rng.uniform(0, 360, 300), (2, 2), (1, 1), oriented=True)
    low, high = contour_distance(bodies, board)
    shapes = shapely.polygons(bodies.outer_corners())
    inside = shapely.within(shapes, board)
    true = shapely.distance(shapes, board.exterior)
    near = inside & (true < 20)
    assert near.any()
    assert (inside & ~near).any()
    assert low[near] == pytest.approx(true[near], abs=1e-9)
    assert high[near] == pytest.approx(true[near], abs=1e-9)
    assert (low[inside] <= true[inside] + 1e-9).all()
    assert (true[inside] <= high[inside] + 1e-9).all()
    assert (low[inside & ~near] >= 20).all()
    assert (high[~inside] <= 0).all()


def test_a_cutout_of_many_corners_is_measured_the_same_way():
    board = shapely.Polygon(shapely.box(-200, -200, 200, 200).exterior, [finely_divided().exterior])
    low, high = cutout_distance(part(70, 0, length=(2.0, 2.0)), board)
    assert (low[0], high[0]) == pytest.approx((9, 9), abs=1e-3)
    low, high = cutout_distance(part(170, 0, length=(2.0, 2.0)), board)
    assert low[0] <= 109 <= high[0] <= low[0] + 0.51


def test_a_cutout_under_the_middle_of_a_body_is_found():
    holed = shapely.Polygon(shapely.box(0, 0, 100, 60).exterior, [shapely.box(49.5, 24.5, 50.5, 25.5).exterior])
    assert ends(cutout_distance(part(50, 25), holed))[0] == pytest.approx(-0.5, abs=0.05)


@given(
    st.tuples(st.floats(-20, 120), st.floats(-20, 80)),
    st.floats(0, 360),
    st.floats(0.2, 30),
    st.floats(0.2, 30),
    st.floats(0, 3),
)
def test_contour_and_cutout_distances_agree_with_shapely_where_the_body_is_clear(centre, angle, length, width, slack):
    bodies = part(*centre, angle, (length, length + slack), (width, width + slack))
    for corners, end in ((bodies.outer_corners(), 0), (bodies.inner_corners(), 1)):
        shape = shapely.Polygon(corners[0])
        contour, cutout = ends(contour_distance(bodies, BOARD))[end], ends(cutout_distance(bodies, BOARD))[end]
        if shape.within(shapely.box(0, 0, 100, 60)):
            assert contour == pytest.approx(shape.distance(BOARD.exterior), abs=1e-9)
        else:
            assert contour <= 0
        if shape.disjoint(shapely.box(40, 20, 60, 30)):
            assert cutout == pytest.approx(shape.distance(BOARD.interiors[0]), abs=1e-9)
        else:
            assert cutout <= 0
    assert ends(contour_distance(bodies, BOARD))[0] <= ends(contour_distance(bodies, BOARD))[1]


@given(st.floats(-9, 9), st.floats(-9, 9), st.floats(-180, 360), st.floats(0.1, 9), st.floats(0.1, 9))
def test_distance_to_a_point_is_that_of_shapely(x, y, angle, length, width):
    body = part(1, 2, angle, (length, length), (width, width))
    slow = shapely.Polygon(body.outer_corners()[0]).distance(shapely.Point(x, y))
    assert ends(point_distance(body, x, y)) == pytest.approx((slow, slow), abs=1e-9)


def test_a_rail_makes_up_for_the_strip_that_is_missing():
    # 4.75 mm: transport clearance of SMEMA 3.1. 0.5 mm beside an overhang: common practice, no source.
    free = (np.array([4.75, 4.74, 0.0, -1.0]), np.array([5.0, 4.75, 0.5, -0.5]))
    low, high = rail_width_needed(free, 4.75)
    assert high == pytest.approx([0.0, 0.01, 4.75, 6.25])
    assert low == pytest.approx([0.0, 0.0, 4.25, 5.75])


def test_no_body_gives_no_distance():
    none = part(1, 1).take(np.zeros(0, np.int64))
    assert len(contour_distance(none, BOARD)[0]) == len(cutout_distance(none, BOARD)[0]) == 0


def comb(teeth, *, lying):
    """Return a board of 100 × 100 mm with slots 90 mm deep from one edge, half as wide as their pitch."""
    slots = [shapely.box(100 * (k + 0.25) / teeth, 10, 100 * (k + 0.75) / teeth, 101) for k in range(teeth)]
    board = shapely.box(0, 0, 100, 100).difference(shapely.union_all(slots))
    return shapely.transform(board, lambda c: c[:, ::-1]) if lying else board


@pytest.mark.parametrize("lying", [False, True])
@given(st.integers(2, 30), st.lists(st.tuples(st.floats(-5, 105), st.floats(-5, 105)), min_size=1, max_size=20))
def test_what_lies_on_a_comb_is_what_the_library_says(lying, teeth, places):
    board = comb(teeth, lying=lying)
    covering = Covering(board)
    assert covering.exchanged is not lying
    x, y = np.array(places).T
    shapes = np.array([shapely.box(a, b, a + 1.5, b + 0.5) for a, b in places])
    assert covering.covers(shapes).tolist() == shapely.covers(board, shapes).tolist()
    assert covering.contains_xy(x, y).tolist() == shapely.contains_xy(board, x, y).tolist()


def test_of_very_many_bodies_across_notches_the_rest_is_bounded(monkeypatch):
    """Slots 5 mm wide at a pitch of 10 mm; bodies of 8 × 1 mm across them reach 0.5 mm into each."""
    board = comb(10, lying=False)
    x = np.arange(5.0, 100.0, 10.0)
    bodies = rectangles(x, np.full(10, 50.0), np.zeros(10), (8.0, 8.0), (1.0, 1.0), oriented=True)
    exact = contour_distance(bodies, board)
    assert exact[0] == pytest.approx(np.full(10, -0.5), abs=0.01)
    assert exact[1] == pytest.approx(exact[0])
    monkeypatch.setattr("capcheck.geometry.edges._MOST_NOTCHED", 3)
    low, high = contour_distance(bodies, board)
    assert low[:3] == pytest.approx(high[:3])
    assert (low[3:] <= exact[0][3:]).all()
    assert high[3:].tolist() == [0.0] * 7


def test_a_large_round_hole_is_a_cut_out_and_one_for_a_screw_is_not():
    board = shapely.box(0, 0, 100, 60)
    _, high = cutout_distance(part(50, 30), board, [(50.0, 30.0, 30.0)])
    assert high[0] < 0
    assert cutout_distance(part(50, 30), board, [(50.0, 30.0, 6.6)])[0][0] == math.inf
    assert cutout_distance(part(50, 30), board, [(50.0, 30.0, 6.7)])[0][0] < 0


@pytest.mark.rows("reach", [0.001, 0.05, 0.2, 0.5, 0.7, 1.0, 2.0, 4.0])
@pytest.mark.rows("diameter", [6.8, 8.0, 20.0])
@pytest.mark.rows("angle", [0.0, 30.0, 45.0, 90.0])
def test_a_round_opening_that_reaches_into_a_body_is_never_at_its_side(reach, diameter, angle):
    """The piece that a circle cuts from the side of a body has all its corners on the rim."""
    away = 2.5 + diameter / 2 - reach
    turn = math.radians(angle)
    holes = [(50 + away * math.cos(turn), 30 + away * math.sin(turn), diameter)]
    low, high = cutout_distance(part(50, 30, angle, (5, 5), (5, 5)), shapely.box(0, 0, 100, 60), holes)
    assert low[0] == high[0] <= -0.3 * reach, (
        "nearly half of the reach is the radius of the circle that the piece holds"
    )


@pytest.mark.parametrize("reach", [0.001, 0.2, 0.5, 1.0])
def test_a_round_notch_that_reaches_into_a_body_is_never_at_its_side(reach):
    board = shapely.box(0, 0, 100, 60).difference(shapely.Point(50, 60).buffer(10, quad_segs=64))
    _, high = contour_distance(part(50, 50 - 2.5 + reach, 0.0, (5, 5), (5, 5)), board)
    assert high[0] <= -0.3 * reach


def test_a_body_across_a_notch_lies_as_deep_there_as_in_the_notch_though_a_corner_is_beside_the_board():
    """A corner 1 µm beside the board once hid a notch 2 mm deep."""
    board = shapely.box(0, 0, 100, 60).difference(shapely.box(20, 50, 24, 60.0))
    _, high = contour_distance(part(22, 55.001, 0.0, (20, 20), (10, 10)), board)
    assert high[0] == pytest.approx(-2.0, abs=0.01)


def test_a_body_of_no_width_across_a_cut_out_reaches_into_it():
    board = shapely.Polygon(shapely.box(0, 0, 100, 60).exterior, [shapely.box(49, 20, 51, 40).exterior])
    _, high = cutout_distance(part(50, 30, 0.0, (10, 10), (0, 0)), board)
    assert high[0] == pytest.approx(-1.0, abs=0.2)
