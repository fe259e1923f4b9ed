"""What stands on the board before a part is placed.

Figures: geometry of invented bodies, worked by hand; a figure of the trade has its source beside it.
"""

import math

import numpy as np
import pytest

from capcheck.geometry.bodies import rectangles
from capcheck.geometry.height_order import placed_after_taller, tall_neighbour_gap
from capcheck.geometry.spacing import pairs

# The order by height is common practice; it has no published source.

TWO = pairs(rectangles([0, 3], [0, 0], [0, 0], (2, 2), (1, 1), oriented=True), 3.0)


@pytest.mark.parametrize(
    ("first", "last", "after"),
    [([1, 0], [1, 0], True), ([1, 0], [1, 1], False), ([0, 0], [1, 0], False), ([0, 1], [0, 1], False)],
)
def test_the_lower_part_comes_after_the_taller_where_its_first_machine_stands_behind_the_last_of_that(
    first, last, after
):
    """Part 0 is 1 mm tall, part 1 is 9 mm: whichever is listed first."""
    height = np.array([1.0, 9.0])
    assert placed_after_taller(TWO, (height, height), first, last).tolist() == [after]
    turned = [h[::-1] for h in (height, first, last)]
    assert placed_after_taller(TWO, (turned[0], turned[0]), *turned[1:]).tolist() == [after]


def test_an_order_of_heights_that_is_not_proved_forces_nothing():
    assert not placed_after_taller(TWO, ([1, 0], [1, math.inf]), [1, 0], [1, 0])[0]


def test_the_gap_beside_a_tall_part_equals_the_height_difference():
    low, high = tall_neighbour_gap(([1, 5], [2, 6]), TWO)
    assert (low[0], high[0]) == (3, 5)
    low, high = tall_neighbour_gap(([1, 1], [2, 2]), TWO)
    assert (low[0], high[0]) == (0, 1)
