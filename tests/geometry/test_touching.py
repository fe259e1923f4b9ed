"""Which neighbours may touch as they are taken to lie.

Figures: geometry of invented bodies, worked by hand.
"""

import numpy as np
import pytest
from msgspec.structs import replace

from capcheck.geometry.bodies import rectangles
from capcheck.geometry.spacing import pairs
from capcheck.geometry.touching import may_touch
from capcheck.model import Body, Measure, Side
from capcheck.values.interval import Interval

LONG = Body(length=Measure(Interval.exactly(4.0)), width=Measure(Interval.exactly(1.0)))
OVERLAP = -0.05


def touching(places, bodies, footprints, side=Side.TOP):
    """Return whether the first pair may touch; a place is x, y, rotation, type."""
    x, y, rotation, of = (np.array(c, float) for c in zip(*places, strict=True))
    low = np.array([(bodies[int(k)].length.low, bodies[int(k)].width.low) for k in of]).T
    found = rectangles(x, y, rotation, (low[0], low[0]), (low[1], low[1]), oriented=False, side=np.full(len(x), side))
    return may_touch(found, pairs(found, 1.0), of.astype(np.int64), (bodies, footprints), OVERLAP)


BESIDE = [(0, 0, 0, 0), (2, 0, 0, 1)]
"""2 mm apart along x: free with both along y (1 mm) only, since one across the other needs 2.5 mm."""


@pytest.mark.rows(
    ("first", "second", "touch"),
    [(None, None, True), ("y", None, True), ("y", "y", False), ("x", "y", True), ("x", "x", True)],
)
def test_a_pair_is_left_unless_every_way_that_is_left_is_free(first, second, touch):
    bodies = [replace(LONG, longer_taken_along=first), replace(LONG, longer_taken_along=second)]
    assert touching(BESIDE, bodies, ["A", "B"]).tolist() == [touch]


@pytest.mark.parametrize(("footprints", "touch"), [(["A", "A"], False), (["A", "B"], True), (["", ""], True)])
def test_parts_of_one_footprint_lie_alike(footprints, touch):
    """2 mm apart along both axes: free where they lie alike; across they need 2.5 mm along one of them."""
    places = [(0, 0, 0, 0), (2.0, 2.0, 0, 1)]
    assert touching(places, [LONG, LONG], footprints).tolist() == [touch]


@pytest.mark.parametrize("side", [Side.TOP, Side.BOTTOM])
def test_the_way_is_that_of_the_part_itself(side):
    bodies = [replace(LONG, longer_taken_along="x")] * 2
    turned = [(x, y, 90, k) for x, y, _, k in BESIDE]
    assert touching(turned, bodies, ["A", "B"], side).tolist() == [False]


def test_nothing_taken_leaves_what_the_least_gap_leaves():
    random = np.random.default_rng(7)
    n = 60
    places = list(
        zip(random.uniform(0, 30, n), random.uniform(0, 30, n), random.uniform(0, 360, n), range(n), strict=True)
    )
    bodies = [LONG] * n
    x, y, rotation, _ = (np.array(c, float) for c in zip(*places, strict=True))
    found = rectangles(x, y, rotation, (4.0, 4.0), (1.0, 1.0), oriented=False)
    near = pairs(found, 1.0)
    assert touching(places, bodies, [""] * n).tolist() == (near.gap_low < OVERLAP).tolist()


@pytest.mark.parametrize(("longest", "touch"), [(7.9, True), (8.0, False)])
def test_a_body_whose_bounds_tell_no_size_is_taken_no_larger_than_its_neighbours_leave_room(longest, touch):
    """4 to 8 mm long, 4.2 mm beside a chip of 1 mm: the least ends 1.7 mm before it, the greatest reaches 0.3 mm in."""
    places = ([0.0, 4.2], [0.0, 0.0], [0.0, 0.0])
    found = rectangles(*places, ([4.0, 1.0], [longest, 1.0]), ([1.0, 0.9], [1.0, 0.9]), oriented=True)
    open_ = Body(length=Measure(Interval(4.0, longest)), width=Measure(Interval.exactly(1.0)))
    chip = Body(length=Measure(Interval.exactly(1.0)), width=Measure(Interval.exactly(0.9)))
    left = may_touch(found, pairs(found, 3.0), np.array([0, 1]), ([open_, chip], ["A", "B"]), OVERLAP)
    assert left.tolist() == [touch]
