"""The sides of a contour: which stretches are straight, and where a part lies to them.

Figures: geometry of invented bodies, worked by hand; a figure of the trade has its source beside it.
"""

import math

import pytest
import shapely

from capcheck.geometry.contour_sides import corner_radius, cutout_behind_edge, hole_at_edge, side_profiles
from capcheck.lexicon import sentence


def test_a_plain_rectangle_is_straight_with_square_corners():
    profiles = side_profiles(shapely.box(0, 0, 100, 60))
    assert {p.straight_share for p in profiles.values()} == {1.0}
    assert corner_radius(profiles) == 0.0
    assert profiles["left"].length == 60


def test_rounded_and_cut_corners_are_measured_and_one_square_corner_decides():
    rounded = shapely.box(3, 3, 97, 57).buffer(3, quad_segs=16)
    assert corner_radius(side_profiles(rounded)) == pytest.approx(3.0, abs=0.1)
    cut = shapely.Polygon([(2, 0), (98, 0), (100, 2), (100, 58), (98, 60), (2, 60), (0, 58), (0, 2)])
    assert corner_radius(side_profiles(cut)) == pytest.approx(2.0)
    square = shapely.Polygon([(0, 0), (98, 0), (100, 2), (100, 58), (98, 60), (2, 60), (0, 58)])
    assert corner_radius(side_profiles(square)) == 0.0


def test_the_longest_notch_counts_and_not_a_missing_corner():
    board = shapely.box(0, 0, 100, 60)
    for x1, x2 in ((20, 24), (50, 62), (90, 100)):
        board = board.difference(shapely.box(x1, 55, x2, 60))
    top = side_profiles(board)["top"]
    assert top.notch == pytest.approx(12)
    assert top.end_gap == pytest.approx(10)
    assert top.straight_share == pytest.approx((100 - 4 - 12 - 10) / 100)


def test_a_round_board_has_no_straight_edge():
    assert side_profiles(shapely.Point(0, 0).buffer(30))["left"].straight_share < 0.2


def test_a_cutout_is_seen_behind_the_edge_it_lies_next_to():
    board = shapely.Polygon(shapely.box(0, 0, 100, 60).exterior, [shapely.box(5, 20, 15, 30).exterior])
    assert cutout_behind_edge(board, "left") == 5
    assert cutout_behind_edge(board, "right") == 85
    assert cutout_behind_edge(board, "top") == 30
    assert cutout_behind_edge(shapely.box(0, 0, 1, 1), "left") == math.inf


@pytest.mark.parametrize(("diameter", "distance"), [(2.0, 4.0), (1.9, math.inf)])
def test_holes_that_a_light_beam_passes_count_behind_the_leading_edge(diameter, distance):
    board = shapely.box(0, 0, 100, 60)
    assert cutout_behind_edge(board, "left", [(4 + diameter / 2, 30, diameter)]) == pytest.approx(distance)


def test_the_web_at_the_edge_is_that_of_the_nearest_hole_or_cut_out():
    board = shapely.Polygon(shapely.box(0, 0, 100, 60).exterior, [shapely.box(40, 52, 60, 56).exterior])
    web, what = hole_at_edge(board, [(5, 5, 3.2), (math.nan, 1, 1), (97, 30, 3)])
    assert (web, sentence(what)) == (pytest.approx(1.5), "the hole of 3 mm at (97, 30)")
    assert hole_at_edge(board, [])[0] == 4
    assert hole_at_edge(board, [(0.5, 30, 2)])[0] == pytest.approx(-0.5)
    assert hole_at_edge(shapely.box(0, 0, 9, 9), []) is None


# A disc of 30 mm radius is within 1 mm of a side along the chord 2·√(30² − 29²) = 15.36 mm of 60 mm.
def test_what_lies_on_a_rail_is_what_stays_near_to_it():
    assert side_profiles(shapely.box(0, 0, 100, 60))["left"].carried_share == pytest.approx(1)
    assert side_profiles(shapely.Point(0, 0).buffer(30))["left"].carried_share == pytest.approx(0.256, abs=0.005)
    wavy = shapely.Polygon([(0, 0), (100, 0), (100, 60), (50, 59.5), (0, 60)])
    assert side_profiles(wavy)["top"].carried_share == pytest.approx(1)


# Round corners of 5 mm leave 1 mm of a side after 2 mm: 5 − √(5² − 4²) = 2. Depths beside 1 mm decide, not widths.
@pytest.mark.rows(
    ("cut", "share", "reach"),
    [
        ([], 0.96, 0.96),
        ([(20, 0, 80, 0.9)], 0.96, 0.96),
        ([(20, 0, 80, 1.1)], 0.36, 0.96),
        ([(-9, -9, 60, 9)], 0.38, 0.38),
        ([(x, -9, x + 4, 9) for x in range(0, 100, 5)], 0.19, 0.91),
    ],
)
def test_a_side_is_carried_from_its_first_stretch_to_its_last(cut, share, reach):
    board = (
        shapely.box(5, 5, 95, 55).buffer(5, quad_segs=64).difference(shapely.union_all([shapely.box(*c) for c in cut]))
    )
    bottom = side_profiles(board)["bottom"]
    assert (bottom.carried_share, bottom.carried_reach) == pytest.approx((share, reach), abs=0.011)
