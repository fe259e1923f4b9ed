"""Gaps between bodies, against shapely.

Figures: geometry of invented bodies, worked by hand; a figure of the trade has its source beside it.
"""

import math
from unittest import mock

import numpy as np
import pytest
import shapely
from hypothesis import given, strategies as st

from capcheck.geometry import spacing
from capcheck.geometry.bodies import Bodies, rectangles
from capcheck.geometry.spacing import pairs
from capcheck.model import Side

# Round figures make sides that are parallel, touch, or lie in one line.
SIZES = st.floats(0.1, 8.0) | st.sampled_from((0.5, 1.0, 2.0, 5.0))
PLACES = st.floats(-10, 10) | st.integers(-10, 10).map(float)
ANGLES = st.floats(-360, 720) | st.sampled_from((0.0, 90.0, -180.0, 630.0, 45.0, 135.0, 37.3, 127.3))
PART = st.tuples(PLACES, PLACES, ANGLES, SIZES, SIZES, st.floats(0.0, 0.5) | st.just(0.0), st.integers(0, 1))


def chips(places, *, length=(2.0, 2.0), width=(1.0, 1.0), side=None, rotation=0.0):
    x, y = np.array(places, float).T
    return rectangles(x, y, np.full(len(x), rotation), length, width, oriented=True, side=side)


def from_parts(parts):
    x, y, rotation, length, width, slack, side = (np.array(c) for c in zip(*parts, strict=True))
    return rectangles(x, y, rotation, (length, length + slack), (width, width + slack), oriented=True, side=side)


SAME = 1e-6  # mm; bodies that turn by a millionth of a degree overlap by less, or do not, as a library rounds


def slow_gap(one, other):
    """Return the distance as shapely has it, rectangle by rectangle; None where the two overlap."""
    first, second = shapely.Polygon(one), shapely.Polygon(other)
    return None if first.intersection(second).area > SAME else first.distance(second)


@given(st.lists(PART, min_size=2, max_size=12), st.floats(0.0, 6.0))
def test_gaps_are_those_of_shapely_on_every_pair(parts, search):
    bodies = from_parts(parts)
    found = pairs(bodies, search)
    known = {(i, j): k for k, (i, j) in enumerate(zip(found.i.tolist(), found.j.tolist(), strict=True))}
    outer, inner = bodies.outer_corners(), bodies.inner_corners()
    for i in range(len(parts)):
        for j in range(i + 1, len(parts)):
            gap = slow_gap(outer[i], outer[j])
            if bodies.side[i] != bodies.side[j] or (gap is not None and gap > search + SAME):
                assert (i, j) not in known
            elif gap is None or gap < search - SAME:
                low, high = found.gap_low[known[i, j]], found.gap_high[known[i, j]]
                assert low == pytest.approx(gap, abs=SAME) if gap is not None else low < SAME
                least = slow_gap(inner[i], inner[j])
                assert high == pytest.approx(least, abs=SAME) if least is not None else high < SAME
                assert low <= high


@given(st.lists(PART, min_size=2, max_size=30), st.floats(-0.2, 6.0), st.integers(1, 8))
def test_pairs_do_not_depend_on_the_strips_that_the_search_takes(parts, search, strip):
    bodies = from_parts(parts)
    whole = pairs(bodies, search)
    with mock.patch.object(spacing, "_STRIP", strip):
        in_strips = pairs(bodies, search)
    assert in_strips.i.tolist() == whole.i.tolist()
    assert in_strips.j.tolist() == whole.j.tolist()


@given(PART, PART)
def test_shifting_overlapping_bodies_by_the_overlap_parts_them_and_by_less_does_not(one, other):
    bodies = from_parts([(*one[:6], 0), (*other[:6], 0)])
    gap = float(pairs(bodies, 0.0).gap_low[0]) if len(pairs(bodies, 0.0)) else 1.0
    if gap > -1e-3:
        return
    still = shapely.Polygon(bodies.outer_corners()[0])
    moved = shapely.Polygon(bodies.outer_corners()[1])
    directions = np.radians(np.concatenate([bodies.angle_deg + k * 90 for k in range(4)]))
    overlap = [
        still.intersection(shapely.affinity.translate(moved, -gap * s * math.cos(d), -gap * s * math.sin(d))).area
        for s in (1.0 + 1e-9, 0.99)
        for d in directions
    ]
    assert min(overlap[:8]) == pytest.approx(0.0, abs=1e-6)
    assert min(overlap[8:]) > 0


def test_gap_runs_from_the_greatest_to_the_least_bodies():
    found = pairs(chips([(0, 0), (3, 0)], length=(1.8, 2.2)), 1.0)
    assert (found.gap_low[0], found.gap_high[0]) == pytest.approx((0.8, 1.2))


def test_parts_on_opposite_sides_have_no_gap_and_face_each_other_through_the_board():
    bodies = chips([(0, 0), (0.5, 0)], side=[Side.TOP, Side.BOTTOM])
    assert len(pairs(bodies, 1.0)) == 0
    facing = pairs(bodies, 0.0, opposite=True)
    assert facing.gap_high[0] < 0
    assert facing.side[0] == Side.UNKNOWN


def test_a_part_of_unknown_side_may_collide_but_is_not_proved_to():
    found = pairs(chips([(0, 0), (0.5, 0)], side=[Side.TOP, Side.UNKNOWN]), 1.0)
    assert found.gap_low[0] < 0
    assert found.gap_high[0] == math.inf


def test_a_body_of_unknown_size_stays_undecided_with_its_nearest_neighbour_however_far():
    bodies = rectangles(
        [0, 50, 90], [0, 0, 0], [0, 0, 0], ([0, 2, 2], [math.inf, 2, 2]), ([0, 1, 1], [math.inf, 1, 1]), oriented=True
    )
    found = pairs(bodies, 1.0)
    assert list(zip(found.i, found.j, strict=True)) == [(0, 1)]
    assert (found.gap_low[0], found.gap_high[0]) == (-math.inf, pytest.approx(49.0))
    assert found.unbounded.tolist() == [0]
    low, _, neighbour = found.closest(3)
    assert low[0] == -math.inf
    assert neighbour[0] == 1
    far = np.array([False, False, True])
    assert found.closest(3, to=far)[0][0] == -math.inf
    assert found.closest(3, to=~far & False)[0][0] == 1.0


def test_parts_without_a_place_and_absent_parts_are_left_out():
    bodies = chips([(0, 0), (math.nan, 0), (2.5, 0), (0, math.inf)])
    assert list(zip(*(a.tolist() for a in (pairs(bodies, 1).i, pairs(bodies, 1).j)), strict=True)) == [(0, 2)]
    assert len(pairs(bodies, 1.0, present=np.array([True, True, False, True]))) == 0


@pytest.mark.parametrize("count", [0, 1])
def test_fewer_than_two_bodies_make_no_pair(count):
    bodies = chips([(0, 0)] * 2).take(np.arange(count))
    assert len(pairs(bodies, 1.0)) == 0
    assert pairs(bodies, 1.0).closest(count)[2].tolist() == [-1] * count


def test_the_closest_neighbour_counts_and_far_bodies_are_at_least_the_search_distance_away():
    bodies = chips([(0, 0), (2.5, 0), (5.2, 0), (40, 0)])
    low, high, neighbour = pairs(bodies, 1.0).closest(4)
    assert low == pytest.approx([0.5, 0.5, 0.7, 1.0])
    assert high == pytest.approx([0.5, 0.5, 0.7, math.inf])
    assert neighbour.tolist() == [1, 0, 1, -1]


def test_a_ring_around_marked_bodies_counts_only_them_as_neighbours():
    bodies = chips([(0, 0), (2.5, 0), (5.2, 0)])
    low, _, neighbour = pairs(bodies, 5.0).closest(3, to=np.array([False, False, True]))
    assert low == pytest.approx([3.2, 0.7, 5.0])
    assert neighbour.tolist() == [2, 2, -1]


def test_the_order_of_pairs_does_not_depend_on_chance():
    rng = np.random.default_rng(3)
    bodies = chips(rng.uniform(0, 60, (400, 2)), rotation=30.0)
    found = pairs(bodies, 2.0)
    assert np.all(np.diff(found.i * 400 + found.j) > 0)
    shuffled = rng.permutation(400)
    again = pairs(bodies.take(shuffled), 2.0)
    named = {frozenset((shuffled[i], shuffled[j])) for i, j in zip(again.i, again.j, strict=True)}
    assert named == {frozenset(p) for p in zip(found.i, found.j, strict=True)}


def test_an_infinite_centre_is_no_place():
    assert not Bodies(
        np.array([math.inf]), np.zeros(1), np.zeros(1), np.ones((1, 2)), np.ones((1, 2)), np.zeros(1, np.int8)
    ).located[0]


@given(st.lists(PART, min_size=2, max_size=6))
def test_a_body_that_may_lie_either_way_is_measured_in_both(parts):
    """Against all ways, one after the other, as oriented bodies."""
    x, y, rotation, length, width, slack, _ = (np.array(c) for c in zip(*parts, strict=True))
    longer, shorter = np.maximum(length, width), np.minimum(length, width)
    sizes = (longer, longer + slack), (shorter, shorter + slack)
    found = pairs(rectangles(x, y, rotation, *sizes, oriented=False), 4.0)
    known = {(i, j): k for k, (i, j) in enumerate(zip(found.i.tolist(), found.j.tolist(), strict=True))}
    for i in range(len(parts)):
        for j in range(i + 1, len(parts)):
            two = np.array([i, j])
            ends = []
            for a in (0.0, 90.0):
                for b in (0.0, 90.0):
                    way = [(low[two], high[two]) for low, high in sizes]
                    gap = pairs(rectangles(x[two], y[two], rotation[two] + np.array([a, b]), *way, oriented=True), 99.0)
                    ends.append((float(gap.gap_low[0]), float(gap.gap_high[0])))
            low, high = min(e[0] for e in ends), max(e[1] for e in ends)
            assert ((i, j) in known) == (low <= 4.0) or low == pytest.approx(4.0)
            if (i, j) in known:
                gap = known[i, j]
                assert (found.gap_low[gap], found.gap_high[gap]) == pytest.approx((low, high), abs=1e-9)


def test_a_neighbour_at_the_corner_of_the_square_clears_the_body_whichever_way_it_lies():
    two = rectangles([0, 1.2], [0, 1.2], [0, 0], (2, 2), (0.4, 0.4), oriented=[False, False])
    found = pairs(two, 3.0)
    assert found.gap_low[0] == pytest.approx(0.0, abs=1e-9)  # one along x, the other along y: they touch
    apart = pairs(rectangles([0, 1.3], [0, 1.3], [0, 0], (2, 2), (0.4, 0.4), oriented=False), 3.0)
    assert apart.gap_low[0] == pytest.approx(math.hypot(0.1, 0.1))
