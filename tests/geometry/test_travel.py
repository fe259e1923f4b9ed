"""Which way a board travels, and what its edges hold.

Figures: geometry of invented bodies, worked by hand; a figure of the trade has its source beside it.
"""

import math

import pytest

from capcheck.geometry.travel import TransportLimits, Travel, TravelReason, Wish, choose_travel, ways
from capcheck.lexicon import sentence
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
    stated = Wish(turned=True, because=TravelReason.STATED, only=True)
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


@pytest.mark.rows("because", TravelReason)
def test_every_reason_has_its_sentence(because):
    assert sentence(Travel(turned=False, along=mm(20), across=mm(10), because=because).reason)
