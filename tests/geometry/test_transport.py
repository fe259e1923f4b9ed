import math

import pytest
import shapely

from capcheck.geometry.transport import (
    TransportLimits,
    Wish,
    aspect,
    bare_mass,
    board_area,
    choose_travel,
    corner_radius,
    cutout_behind_edge,
    hole_at_edge,
    ratio,
    side_profiles,
    ways,
)
from capcheck.lexicon import sentence
from capcheck.model import say
from capcheck.values.interval import UNKNOWN_SIZE, Interval


def mm(value):
    return Interval.exactly(value)


def limits(along, across, name=""):
    return TransportLimits(Interval(50, along), Interval(50, across), name)


def test_the_long_edge_lies_along_the_conveyor_where_both_ways_fit():
    assert not choose_travel(mm(200), mm(100), [limits(500, 400)]).turned
    travel = choose_travel(mm(100), mm(200), [limits(500, 400)])
    assert travel.turned
    assert travel.along == mm(200)
    assert travel.transported == ("left", "right")
    assert travel.leading == ("bottom", "top")


def test_a_board_that_fits_only_with_its_short_edge_along_is_turned_with_the_reason():
    travel = choose_travel(mm(300), mm(200), [limits(250, 400)])
    assert travel.turned
    assert travel.fits is True
    assert "only this way fits" in sentence(travel.reason)


def test_rails_are_carried_where_both_ways_fit_and_else_the_way_that_fits_is_taken():
    rails_below_and_above = Wish(turned=False)
    travel = choose_travel(mm(60), mm(94), [limits(500, 400)], rails_below_and_above)
    assert travel.transported == ("bottom", "top")
    assert "the rails are then carried" in sentence(travel.reason)
    other = choose_travel(mm(60), mm(94), [limits(500, 90)], rails_below_and_above)
    assert other.transported == ("left", "right")
    assert other.fits is True
    assert "rails then run ahead" in sentence(other.reason)


def test_a_stated_way_is_the_only_one():
    stated = Wish(turned=True, reason=say("facts.stated way"), only=True)
    assert {w.turned for w in ways(mm(200), mm(100), [limits(150, 400)], stated)} == {True}
    assert choose_travel(mm(200), mm(100), [limits(500, 400)], stated).turned
    travel = choose_travel(mm(200), mm(100), [limits(500, 150)], stated)
    assert travel.fits is False
    assert sentence(travel.reason) == "does not fit; taken with the short edge along the conveyor"


@pytest.mark.parametrize(("length", "fits"), [(400, True), (400.1, False)])
def test_a_board_exactly_as_large_as_the_limit_fits_and_one_step_more_does_not(length, fits):
    assert choose_travel(mm(length), mm(390), [limits(400, 400)]).fits is fits


def test_a_size_that_is_only_bounded_is_not_proved_to_fit():
    travel = choose_travel(Interval(180, math.inf), Interval(90, math.inf), [limits(400, 400)])
    assert travel.fits is None
    assert "not known well enough" in sentence(travel.reason)
    assert choose_travel(UNKNOWN_SIZE, UNKNOWN_SIZE, []).fits is True


def test_a_wider_lane_mode_is_taken_where_the_narrow_one_is_too_small():
    modes = [limits(460, 200, "two lanes"), limits(460, 400, "one lane")]
    assert choose_travel(mm(250), mm(180), modes).mode == "two lanes"
    assert choose_travel(mm(250), mm(220), modes).mode == "one lane"
    assert len(ways(mm(250), mm(220), modes)) == 4


def test_ratios_hold_every_quotient_and_stay_open_where_a_size_may_be_zero():
    assert ratio(Interval(10, 20), Interval(2, 4)) == Interval(2.5, 10)
    assert ratio(Interval(10, 20), UNKNOWN_SIZE) == UNKNOWN_SIZE
    assert ratio(mm(250), mm(1.6)).low == pytest.approx(156.25)  # assembler guideline: above 150 is flagged


def test_the_aspect_is_long_over_short_whichever_is_which():
    assert aspect(mm(100), mm(250)) == mm(2.5)
    assert aspect(Interval(90, 110), mm(100)).low == 1.0
    assert aspect(Interval(90, 110), mm(100)).high == pytest.approx(100 / 90)


@pytest.mark.parametrize(("density", "mass"), [(0.00185, 148), (0.0027, 216)])
def test_the_bare_mass_is_the_worked_example(density, mass):
    # Handbook densities, from memory: 250 x 200 x 1.6 mm is 148 g of FR-4 and 216 g of aluminium.
    assert bare_mass(mm(250 * 200), mm(1.6), mm(density)).high == pytest.approx(mass)


def test_an_unknown_thickness_leaves_the_mass_open_and_a_missing_outline_bounds_the_area():
    assert bare_mass(mm(100), UNKNOWN_SIZE, mm(0.002)) == UNKNOWN_SIZE
    assert board_area(None, mm(20), mm(10)) == Interval(0, 200)
    assert board_area(shapely.box(0, 0, 4, 5), mm(9), mm(9)) == mm(20)
    assert board_area(None, UNKNOWN_SIZE, mm(0)) == UNKNOWN_SIZE


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
    assert (web, what) == (pytest.approx(1.5), "the hole of 3 mm at (97, 30)")
    assert hole_at_edge(board, [])[0] == 4
    assert hole_at_edge(board, [(0.5, 30, 2)])[0] == pytest.approx(-0.5)
    assert hole_at_edge(shapely.box(0, 0, 9, 9), []) is None
