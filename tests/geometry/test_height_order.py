import math

import numpy as np
import pytest

from capcheck.geometry.bodies import rectangles
from capcheck.geometry.height_order import carried_over, low_parts_first, shut_out, tall_neighbour_gap
from capcheck.geometry.spacing import pairs

# The rules of this module are common practice; they have no published source.


def test_low_parts_come_first_within_each_group_and_unknown_heights_last():
    assert low_parts_first([3.0, 1.0, math.inf, 1.0]).tolist() == [2, 0, 3, 1]
    assert low_parts_first([1.0, 9.0, math.nan], group=[1, 0, 0]).tolist() == [2, 0, 1]


def test_a_head_carries_a_part_over_the_tallest_one_before_it_on_its_side():
    height = np.array([1.0, 5.0, 3.0, 2.0])
    rank = np.array([0, 1, 2, 3])
    low, high = carried_over((height, height), rank, [0, 0, 0, 1], margin_mm=2.0)
    assert low.tolist() == high.tolist() == [3.0, 8.0, 10.0, 4.0]


def test_an_unknown_height_on_the_board_leaves_all_later_parts_undecided():
    low, high = carried_over(([1, 1, 1], [1, math.inf, 1]), np.array([0, 1, 2]), [0, 0, 0])
    assert low.tolist() == [1, 2, 2]
    assert high.tolist() == [1, math.inf, math.inf]


def neighbours(gap, heights, *, spread=0.0):
    """Return a low chip and a tall part beside it at this gap, the tall one placed first."""
    bodies = rectangles([0, 2 + gap], [0, 0], [0, 0], (2 - spread, 2 + spread), (1, 1), oriented=True)
    low, high = (np.array(h, float) for h in zip(*heights, strict=True))
    return shut_out(pairs(bodies, 3.0), (low, high), np.array([1, 0]), ([0.38] * 2, [0.38] * 2), reach_mm=4.0)


@pytest.mark.parametrize(("gap", "found"), [(0.37, 1), (0.39, 0)])
def test_a_taller_neighbour_placed_first_needs_the_nozzle_gap(gap, found):
    shut = neighbours(gap, [(0.5, 0.5), (9, 9)])
    assert len(shut.late) == found
    assert shut.proved.tolist() == [True] * found


@pytest.mark.parametrize(("height", "found"), [(4.5, 0), (4.6, 1)])
def test_a_neighbour_within_the_free_reach_does_not_matter(height, found):
    assert len(neighbours(0.1, [(0.5, 0.5), (height, height)]).late) == found


def test_a_part_placed_before_its_tall_neighbour_is_not_shut_out():
    bodies = rectangles([0, 2.1], [0, 0], [0, 0], (2, 2), (1, 1), oriented=True)
    height = np.array([0.5, 9.0])
    found = shut_out(pairs(bodies, 3.0), (height, height), np.array([0, 1]), ([0.4] * 2, [0.4] * 2), reach_mm=4.0)
    assert len(found.late) == 0


@pytest.mark.parametrize(("heights", "spread"), [([(0.5, 0.5), (0, math.inf)], 0.0), ([(0.5, 0.5), (9, 9)], 0.1)])
def test_vague_heights_or_gaps_make_it_possible_and_not_proved(heights, spread):
    shut = neighbours(0.37 if not spread else 0.45, heights, spread=spread)
    assert shut.proved.tolist() == [False]
    assert (shut.late[0], shut.early[0]) == (0, 1)


def test_the_gap_beside_a_tall_part_equals_the_height_difference():
    bodies = rectangles([0, 3], [0, 0], [0, 0], (2, 2), (1, 1), oriented=True)
    low, high = tall_neighbour_gap(([1, 5], [2, 6]), pairs(bodies, 3.0))
    assert (low[0], high[0]) == (3, 5)
    low, high = tall_neighbour_gap(([1, 1], [2, 2]), pairs(bodies, 3.0))
    assert (low[0], high[0]) == (0, 1)
