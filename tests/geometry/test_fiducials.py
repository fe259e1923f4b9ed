"""Fiducials: their place, their clear ring, and what half a turn shows.

Figures: geometry of invented bodies, worked by hand; a figure of the trade has its source beside it.
"""

import math
from dataclasses import dataclass

import numpy as np
import pytest
import shapely
from hypothesis import given, strategies as st

from capcheck.geometry.bodies import rectangles
from capcheck.geometry.edges import point_distance
from capcheck.geometry.fiducials import (
    FoundFiducial,
    are_local,
    arrangement,
    clear_rings,
    collect_fiducials,
    diameter_spread,
    edge_distances,
    local_fiducials,
    ring_needed,
    shown_on,
)
from capcheck.lexicon import sentence
from capcheck.model import Kind, Mark, Outline, Placements, Side
from capcheck.values.errors import Place
from capcheck.values.interval import UNKNOWN_SIZE, Interval

BOX = (0.0, 0.0, 100.0, 60.0)


def mark(x, y, diameter=1.0, side=Side.TOP, **more):
    return FoundFiducial(x, y, side, Interval.exactly(diameter), **more)


def chip(x, y, *, side=Side.TOP, length=(2.0, 2.0)):
    return rectangles([x], [y], [0.0], length, (1.0, 1.0), oriented=True, side=[side])


@dataclass
class Stated:
    x: float
    y: float
    diameter: float | None = 1.0
    side: str = "top"
    kind: str = "board"
    shape: str | None = None


def rows(*places):
    """Return placement rows: x, y, side, kind."""
    x, y, side, kind = (np.array(c) for c in zip(*places, strict=True))
    n = len(x)
    return Placements(
        ref=[f"FID{k}" for k in range(n)],
        x_mm=x.astype(float),
        y_mm=y.astype(float),
        rotation_deg=np.zeros(n),
        side=side.astype(np.int8),
        kind=kind.astype(np.int8),
        fitted=np.ones(n, bool),
        file=np.zeros(n, np.int64),
        row=np.arange(2, n + 2),
        bom_line=np.full(n, -1),
        part_type=np.full(n, -1),
        files=["centroids.csv"],
    )


def test_marks_come_from_placements_outline_and_board_file_each_once():
    outline = Outline(shapely.box(*BOX), marks=((5, 5, 1.0), (50, 30, 1.5)), source="outline.dxf")
    places = rows((5.05, 5, 0, Kind.FIDUCIAL), (95, 55, 0, Kind.FIDUCIAL), (9, 9, 0, Kind.PART))
    marks = collect_fiducials(places, outline, [Stated(95, 55, 1.2)])
    assert [(m.x_mm, m.diameter.high, m.certain, m.side) for m in marks] == [
        (95, 1.2, True, Side.TOP),
        (5.05, 1.0, True, Side.TOP),
        (50, 1.5, False, Side.UNKNOWN),
    ]
    assert marks[1].place == Place("centroids.csv", 2)
    assert sentence(marks[1].diameter_source) == "centroids.csv:2, diameter from outline.dxf"
    assert sentence(marks[0].diameter_source) == "board.toml"


@given(st.lists(st.tuples(st.integers(-9, 9), st.integers(-9, 9), st.integers(0, 1)), min_size=1, max_size=40))
def test_rows_at_one_place_are_one_mark_whatever_lies_between(places):
    """On a grid of 0.07 mm: what is within 0.2 mm of the first found at a place is that one, as compared one by one."""
    listed = rows(*((0.07 * x, 0.07 * y, side, Kind.FIDUCIAL) for x, y, side in places))
    wanted = []
    for x, y, side in places:
        if not any(side == s and math.hypot(0.07 * x - a, 0.07 * y - b) <= 0.2 for a, b, s in wanted):
            wanted.append((0.07 * x, 0.07 * y, side))
    found = collect_fiducials(listed, None)
    assert [(one.x_mm, one.y_mm, int(one.side)) for one in found] == wanted


def test_a_stated_mark_takes_the_name_of_the_row_at_its_place_and_keeps_its_own_shape():
    marks = collect_fiducials(rows((5, 5, 0, Kind.FIDUCIAL)), None, [Stated(5.1, 5, 1.2, shape="cross")])
    assert [(m.name, m.row, m.shape, m.diameter.high) for m in marks] == [("FID0", 0, "cross", 1.2)]


def test_copper_at_a_listed_mark_gives_it_its_diameter_before_the_outline_and_after_board_toml():
    outline = Outline(shapely.box(*BOX), marks=((5, 5, 3.0),), source="outline.dxf")
    copper = [Mark(x, y, "top", 1.0, file="copper.gbr", listed=True) for x, y in ((5.1, 5), (95, 55), (40, 40))]
    listed = rows((5, 5, 0, Kind.FIDUCIAL), (40, 40, 1, Kind.FIDUCIAL))
    stated, sized, below = collect_fiducials(listed, outline, [Stated(95, 55, 1.2)], copper)
    assert stated.diameter == Interval.exactly(1.2)
    assert sized.diameter == Interval.exactly(1.0)
    assert sentence(sized.diameter_source) == "centroids.csv:2, diameter from copper.gbr"
    assert not below.diameter.is_known  # that copper is on the other side


def test_circles_of_copper_that_nothing_lists_are_marks_as_far_as_they_are_proved():
    drawn = [Mark(9, 9, "bottom", 1.0, 2.0, file="copper.gbr"), Mark(8, 8, "top", 1.5, certain=False)]
    proved, maybe = collect_fiducials(rows((50, 30, 0, Kind.PART)), None, (), drawn)
    assert (proved.side, proved.certain, proved.diameter.high) == (Side.BOTTOM, True, 1.0)
    assert (proved.name, proved.place) == ("fiducial at 9.00, 9.00", Place("copper.gbr"))
    assert (maybe.side, maybe.certain) == (Side.TOP, False)
    assert shown_on([proved, maybe], Side.TOP) == ((), (maybe,))
    assert shown_on([proved, maybe], Side.BOTTOM) == ((proved,), ())


def test_marks_of_further_circuits_are_as_large_as_those_of_the_first():
    listed = rows((5, 5, 0, Kind.FIDUCIAL), (55, 5, 0, Kind.FIDUCIAL), (60, 9, 0, Kind.FIDUCIAL))
    listed.ref[:] = ["FID1", "FID1/2", "FID7/2"]
    marks = collect_fiducials(listed, None, (), [Mark(5, 5, "top", 1.0, file="copper.gbr", listed=True)])
    assert [m.diameter.is_known for m in marks] == [True, True, False]


def test_rows_and_circles_without_a_place_are_left_out():
    outline = Outline(shapely.box(*BOX), marks=((math.nan, 5, 1.0),))
    assert collect_fiducials(rows((math.nan, 1, 0, Kind.FIDUCIAL)), outline) == ()
    assert collect_fiducials(rows((1, 1, 0, Kind.FIDUCIAL)), None)[0].diameter == UNKNOWN_SIZE


def test_a_bare_circle_widens_the_count_of_both_sides_and_proves_nothing():
    marks = (mark(5, 5), mark(95, 55), mark(50, 30, side=Side.UNKNOWN, certain=False))
    assert [len(s) for s in shown_on(marks, Side.TOP)] == [2, 1]
    assert [len(s) for s in shown_on(marks, Side.BOTTOM)] == [0, 1]


def test_the_figures_of_smema_3_1_for_a_mark_of_1_mm():
    # SMEMA 3.1, as restated where rules/guidelines.csv says, number 8: a ring of 0.5 mm.
    assert ring_needed(Interval.exactly(1.0)).high == 0.5


@pytest.mark.parametrize(("x", "holds"), [(5.75, True), (5.74, False)])
def test_the_edge_distance_is_that_of_the_rim(x, holds):
    # SMEMA 3.1: 4.75 mm and the ring of 0.5 mm; a centre at 5.75 mm has its rim at 5.25 mm.
    free = edge_distances([mark(x, 30)], shapely.box(*BOX))[0]
    assert (free.low >= 5.25 - 1e-9) is holds


def test_the_clear_ring_ends_at_bodies_of_its_side_and_at_other_marks():
    marks = (mark(10, 10), mark(14, 10), mark(10, 12, side=Side.BOTTOM))
    rings = clear_rings(marks, chip(10, 13))
    assert (rings[0].low, rings[0].high) == pytest.approx((2.0, 2.0))
    assert rings[2].low == math.inf
    assert clear_rings(marks[:2], chip(60, 60))[0].high == pytest.approx(3.0)


def test_vague_bodies_and_unknown_diameters_open_the_ring():
    vague = rectangles([10], [13], [0], (2, 2), (1, 3), oriented=True)
    ring = clear_rings((mark(10, 10),), vague)[0]
    assert (ring.low, ring.high) == pytest.approx((1.0, 2.0))
    unbounded = rectangles([30], [13], [0], (0, math.inf), (0, math.inf), oriented=True)
    assert clear_rings((mark(10, 10),), unbounded)[0].low <= 0
    unknown = clear_rings((FoundFiducial(10, 10, Side.TOP),), chip(10, 13))[0]
    assert unknown.low == -math.inf
    assert unknown.high == pytest.approx(2.5)
    assert clear_rings((FoundFiducial(10, 10, Side.TOP),), chip(10, 13, side=Side.BOTTOM))[0].low == -math.inf


def test_marks_in_opposite_corners_span_the_diagonal_and_marks_along_an_edge_do_not():
    across = arrangement([mark(5, 5), mark(95, 55)], BOX)
    assert across.diagonal_share == pytest.approx(math.hypot(90, 50) / math.hypot(100, 60))
    assert across.across_both == pytest.approx(50 / 60)
    assert arrangement([mark(5, 5), mark(95, 5)], BOX).across_both == 0


def test_a_pattern_that_maps_onto_itself_by_a_half_turn_is_found():
    assert arrangement([mark(5, 5), mark(95, 55)], BOX).half_turn_offset_mm == pytest.approx(0)
    assert arrangement([mark(5, 5), mark(95, 50)], BOX).half_turn_offset_mm == pytest.approx(5)
    assert arrangement([mark(5, 5), mark(95, 55), mark(5, 55)], BOX).half_turn_offset_mm == pytest.approx(50)


@pytest.mark.parametrize("marks", [[], [mark(5, 5)]])
def test_fewer_than_two_marks_span_nothing(marks):
    assert arrangement(marks, BOX).diagonal_share == 0
    assert diameter_spread(marks) == Interval(0, 0)


def test_a_single_mark_in_the_middle_looks_right_when_turned():
    assert arrangement([mark(50, 30)], BOX).half_turn_offset_mm == pytest.approx(0)
    assert arrangement([mark(5, 5)], BOX).half_turn_offset_mm > 50


def test_the_spread_of_diameters_is_open_where_one_is_unknown():
    # SMEMA 3.1 limits the spread to 0.025 mm.
    assert diameter_spread([mark(1, 1), mark(2, 2, 1.03)]).low == pytest.approx(0.03)
    unknown = diameter_spread([mark(1, 1), FoundFiducial(2, 2, Side.TOP)])
    assert (unknown.low, unknown.high) == (0.0, math.inf)


def test_local_marks_lie_near_a_fine_pitch_part_on_its_side():
    bodies = rectangles([30, 60], [30, 30], [0, 0], (10, 10), (10, 10), oriented=True, side=[0, 0])
    fine = np.array([True, False])
    near, far = mark(24, 24), mark(45, 30)
    assert are_local([near], bodies, fine) == [True]
    assert are_local([far], bodies, fine) == [False]
    assert are_local([mark(0, 0, role="local")], bodies, fine) == [True]
    low, high = local_fiducials([near, mark(36, 36), far, mark(36, 24, side=Side.BOTTOM)], bodies, fine)
    assert (low.tolist(), high.tolist()) == ([2, 0], [2, 0])


def test_a_bare_circle_near_a_fine_pitch_part_may_be_its_mark():
    bodies = rectangles([30], [30], [0], (10, 10), (10, 10), oriented=True, side=[0])
    low, high = local_fiducials([mark(24, 24, side=Side.UNKNOWN, certain=False)], bodies, np.array([True]))
    assert (low[0], high[0]) == (0, 1)


SIDES = st.sampled_from([Side.TOP, Side.BOTTOM, Side.UNKNOWN])
SPOTS = st.tuples(st.floats(0, 100), st.floats(0, 60))


@given(
    st.lists(st.tuples(SPOTS, SIDES, st.booleans(), st.floats(0.5, 3)), min_size=1, max_size=6),
    st.lists(
        st.tuples(SPOTS, SIDES, st.floats(0.5, 40), st.floats(0, 5), st.booleans(), st.floats(0, 90)), max_size=12
    ),
)
def test_a_look_at_the_near_bodies_finds_what_a_look_at_all_finds(marks, parts):
    """Against the distance of every fiducial to every body and to every other fiducial, one by one."""
    fiducials = tuple(mark(*spot, size, side, certain=certain) for spot, side, certain, size in marks)
    lows = [size for _, _, size, *_ in parts]
    highs = [math.inf if open_ else size + more for _, _, size, more, open_, _ in parts]
    bodies = rectangles(
        [spot[0] for spot, *_ in parts],
        [spot[1] for spot, *_ in parts],
        [turn for *_, turn in parts],
        (lows, highs),
        ([low / 2 for low in lows], [high / 2 for high in highs]),
        oriented=True,
        side=[side for _, side, *_ in parts],
    )
    unknown = Side.UNKNOWN
    for one, ring in zip(fiducials, clear_rings(fiducials, bodies), strict=True):
        greatest, least = point_distance(bodies, one.x_mm, one.y_mm)
        others = [(o, math.hypot(o.x_mm - one.x_mm, o.y_mm - one.y_mm)) for o in fiducials if o is not one]
        maybe = [s == one.side or unknown in {s, one.side} for s in bodies.side.tolist()]
        low = [d for d, may in zip(greatest, maybe, strict=True) if may]
        low += [d - o.diameter.high / 2 for o, d in others if o.side == one.side or unknown in {o.side, one.side}]
        high = [d for d, s in zip(least, bodies.side.tolist(), strict=True) if s == one.side]
        high += [d - o.diameter.low / 2 for o, d in others if o.certain and o.side == one.side]
        radius = one.diameter.high / 2
        assert ring.low == pytest.approx(min(low, default=math.inf) - radius, abs=1e-9)
        assert ring.high == pytest.approx(min(high, default=math.inf) - radius, abs=1e-9)
