"""Bodies as turned rectangles between a least and a greatest size.

Figures: geometry of invented bodies, worked by hand; a figure of the trade has its source beside it.
"""

import math

import numpy as np
import pytest
from msgspec.structs import replace

from capcheck.geometry.bodies import body_rectangles, least_sides, rectangles
from capcheck.model import UNKNOWN_MEASURE, Body, Family, Measure, Placements, Side
from capcheck.values.interval import Interval


def one(rotation=0.0, length=(2.0, 2.2), width=(1.0, 1.2), *, oriented=True, side=Side.TOP, x=0.0):
    return rectangles([x], [0.0], [rotation], length, width, oriented=oriented, side=[side])


def extent(corners):
    return corners[0].max(axis=0) - corners[0].min(axis=0)


def test_an_oriented_body_keeps_length_along_its_own_x():
    body = one(90.0)
    assert extent(body.outer_corners()) == pytest.approx([1.2, 2.2])
    assert extent(body.inner_corners()) == pytest.approx([1.0, 2.0])


def test_exchangeable_sides_give_the_square_around_and_the_square_within():
    body = one(oriented=False)
    assert extent(body.outer_corners()) == pytest.approx([2.2, 2.2])
    assert extent(body.inner_corners()) == pytest.approx([1.0, 1.0])


def test_a_width_without_bound_is_no_longer_than_the_length():
    assert extent(one(width=(0.0, math.inf), oriented=False).outer_corners()) == pytest.approx([2.2, 2.2])


def test_unknown_rotation_holds_every_turned_body_and_lies_within_every_turned_body():
    unknown = one(math.nan)
    for angle in range(0, 360, 7):
        turned = one(float(angle))
        assert np.all(np.abs(turned.outer_corners()) <= unknown.outer[0] + 1e-9)
        local = np.abs(
            unknown.inner_corners()[0]
            @ np.array(
                [
                    [math.cos(math.radians(angle)), -math.sin(math.radians(angle))],
                    [math.sin(math.radians(angle)), math.cos(math.radians(angle))],
                ]
            )
        )
        assert np.all(local <= turned.inner[0] + 1e-9)


def test_an_angle_on_the_bottom_turns_the_other_way_as_seen_from_the_top():
    top, bottom = one(30.0), one(30.0, side=Side.BOTTOM)
    mirrored = {(round(x, 9), round(-y, 9)) for x, y in top.outer_corners()[0].tolist()}
    assert {(round(x, 9), round(y, 9)) for x, y in bottom.outer_corners()[0].tolist()} == mirrored
    assert bottom.outer_corners()[0] != pytest.approx(top.outer_corners()[0])


def test_an_unknown_side_with_an_oblique_angle_leaves_both_views_possible():
    either = one(30.0, side=Side.UNKNOWN)
    for side in (Side.TOP, Side.BOTTOM):
        assert np.all(np.abs(one(30.0, side=side).outer_corners()) <= either.outer[0] + 1e-9)


def test_missing_sizes_and_places_stay_open_and_do_not_crash():
    body = one(length=(math.nan, math.nan), x=math.nan)
    assert not body.located[0]
    assert not body.bounded[0]
    assert np.isnan(body.outer_corners()).all()
    assert body.inner[0].tolist() == [0.0, 0.5]


def table(part_type, rotation=0.0):
    n = len(part_type)
    zeros = np.zeros(n)
    return Placements(
        ref=[f"U{k}" for k in range(n)],
        x_mm=zeros,
        y_mm=zeros,
        rotation_deg=zeros + rotation,
        side=np.zeros(n, np.int8),
        kind=np.zeros(n, np.int8),
        fitted=np.ones(n, bool),
        file=np.zeros(n, np.int64),
        row=np.arange(1, n + 1),
        bom_line=np.full(n, -1),
        part_type=np.array(part_type),
        files=["a.csv"],
    )


def measure(low, high):
    return Measure(Interval(low, high))


def test_leads_widen_the_greatest_body_only():
    body = Body(length=measure(4.8, 5.0), width=measure(3.8, 4.0), span=measure(5.8, 6.2), oriented=True)
    with_leads = body_rectangles(table([0]), [body])
    without = body_rectangles(table([0]), [body], over_leads=False)
    assert extent(with_leads.outer_corners()) == pytest.approx([6.2, 6.2])
    assert extent(without.outer_corners()) == pytest.approx([5.0, 4.0])
    assert extent(with_leads.inner_corners()) == pytest.approx([4.8, 3.8])


def test_a_row_without_a_type_is_a_point_at_least_and_unbounded_at_most():
    bodies = body_rectangles(table([0, -1]), [Body(length=measure(1, 1), width=measure(1, 1), oriented=True)])
    assert bodies.bounded.tolist() == [True, False]
    assert bodies.inner[1].tolist() == [0.0, 0.0]


def test_a_typical_size_bounds_nothing():
    """Two bodies must not be said to overlap, or to clear each other, because of a size that is only usual."""
    from capcheck.geometry.bodies import _sizes
    from capcheck.model import Basis, Body, Measure
    from capcheck.values.interval import Interval

    usual = Measure(Interval(4.8, 5.0), Basis.TYPICAL, "from memory")
    stated = Measure(Interval(4.8, 5.0), Basis.STATED, "bom.csv:2")
    assert _sizes(Body(length=usual, width=usual, span=usual), over_leads=True)[:4] == (0.0, math.inf, 0.0, math.inf)
    assert _sizes(Body(length=stated, width=stated), over_leads=True)[:4] == (4.8, 5.0, 4.8, 5.0)


def test_a_body_off_its_point_reaches_its_whole_side_from_there_or_not_at_all():
    off_its_point = Body(length=measure(4.0, 4.2), width=measure(2.0, 2.2), oriented=True, centred=False)
    bodies = body_rectangles(table([0]), [off_its_point])
    assert bodies.outer[0].tolist() == pytest.approx([4.2, 2.2])
    assert bodies.inner[0].tolist() == [0.0, 0.0]


def test_a_body_with_leads_on_one_side_covers_less_around_the_middle_of_its_lands():
    """6.22 mm of body in 9.9 mm of span may lie 1.84 mm off the middle: a neighbour on the lands' side is clear.

    Nominal sizes of TO-252 as in the table of families; the sum by hand: 6.22 − (9.9 − 6.22) = 2.54.
    """
    sizes = {name: Measure(Interval.exactly(size)) for name, size in (("length", 6.5), ("width", 6.22), ("span", 9.9))}
    tab, other = (Body(**sizes, family_key=family) for family in (Family.DPAK, Family.SOIC))
    assert least_sides(tab) == pytest.approx((2.82, 2.54))
    assert least_sides(other) == (6.5, 6.22)
    assert least_sides(replace(tab, span=UNKNOWN_MEASURE)) == (0.0, 0.0)
