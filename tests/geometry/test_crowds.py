"""Crowds: very many bodies in one place cost in proportion to their number, and each is told of.

Figures: geometry of invented bodies, worked by hand; a figure of the trade has its source beside it.
"""

import numpy as np
import pytest

from capcheck.geometry.bodies import Bodies
from capcheck.geometry.crowds import gathered
from capcheck.geometry.spacing import pairs


def squares(x, y, half=0.5):
    n = len(x)
    halves = np.full((n, 2), half)
    return Bodies(np.array(x, float), np.array(y, float), np.zeros(n), halves, halves.copy(), np.zeros(n, np.int8))


def gathered_of(bodies):
    found = pairs(bodies, 3.0)
    return gathered(found, len(bodies), np.zeros(len(found), bool))


@pytest.mark.parametrize("spread_mm", [0.0, 1.0])
def test_the_pairs_of_a_crowd_grow_with_its_bodies(spread_mm):
    places = np.random.default_rng(1).uniform(0, spread_mm, (4000, 2))
    found, crowd = gathered_of(squares(*places.T))
    assert len(found) <= 4000
    assert crowd is not None
    assert set(found.i.tolist()) == set(range(4000))
    assert (found.gap_high < 0).all()


def test_a_crowd_in_a_row_is_told_by_those_that_touch_and_not_by_all_within_reach():
    """Squares of 0.5 mm every 0.01 mm: 50 touch each behind it, and 350 lie within 3 mm."""
    x = 0.01 * np.arange(3000)
    found = pairs(squares(x, np.zeros(len(x)), half=0.25), 3.0)
    assert len(found) < 60 * len(x)
    gathered_ones, crowd = gathered(found, len(x), np.zeros(len(found), bool))
    assert crowd is not None
    assert set(range(len(x))) <= {*gathered_ones.i.tolist(), *gathered_ones.j.tolist()}
    assert (gathered_ones.gap_low < 0).all()


def test_bodies_outside_the_crowd_keep_each_pair():
    x = [*([0.0] * 300), *(100 + 1.2 * np.arange(50)), 0.9, 1.95]
    bodies = squares(x, np.zeros(len(x)))
    found, crowd = gathered_of(bodies)
    alone = pairs(bodies.take(np.arange(300, len(x))), 3.0)
    told = {(i, j) for i, j in zip(found.i.tolist(), found.j.tolist(), strict=True)}
    assert crowd is not None
    assert {(i + 300, j + 300) for i, j in zip(alone.i.tolist(), alone.j.tolist(), strict=True) if i < 50} <= told
    assert set(range(300)) <= set(found.i[crowd.first :].tolist())
    assert any(351 in pair for pair in told)  # beside the crowd, on one body that lies in it


def test_a_body_over_many_that_do_not_touch_is_no_crowd():
    """A can over a hundred chips: each pair is told, for none of the chips is known by the can alone."""
    grid = np.stack(np.meshgrid(np.arange(12), np.arange(12)), -1).reshape(-1, 2) * 1.5
    bodies = squares([*grid[:, 0], 8.25], [*grid[:, 1], 8.25])
    bodies.outer[-1] = bodies.inner[-1] = 10.0
    found, crowd = gathered_of(bodies)
    assert crowd is None
    assert ((found.j == 144) & (found.gap_high < 0)).sum() == 144


def test_a_crowd_whose_overlaps_are_not_proved_proves_nothing():
    bodies = squares(np.zeros(500), np.zeros(500))
    bodies.inner[:] = 0.0
    found, crowd = gathered_of(bodies)
    assert crowd is not None
    assert (found.gap_low < -0.05).all()
    assert set(found.i.tolist()) == set(range(500))


def test_rows_of_one_part_do_not_hide_another():
    bodies = squares(np.zeros(400), np.zeros(400))
    found = pairs(bodies, 3.0)
    told, crowd = gathered(found, 400, (found.i < 390) & (found.j < 390))
    assert crowd is not None
    assert set(range(390, 400)) <= set(told.i.tolist())
    assert (told.gap_low[told.i >= 390] < -0.05).all()
