"""Of several bodies that a name may mean, those that would reach into a neighbour are told apart, and prove nothing.

Figures: geometry of invented bodies, worked by hand.
"""

import numpy as np
import pytest
from msgspec.structs import replace

from capcheck.geometry.orientation import near_parts
from capcheck.geometry.room_for_sizes import told_by_room
from capcheck.lexicon import sentence
from capcheck.model import Body, Measure, Placements, PossibleBody
from capcheck.values.interval import Interval

LARGE = PossibleBody("large", Interval(1.5, 1.7), Interval(0.7, 0.9), (1.6, 0.8))
SMALL = PossibleBody("small", Interval(0.55, 0.65), Interval(0.25, 0.35), (0.6, 0.3))
EITHER = Body(
    length=Measure(Interval(0.55, 1.7)), width=Measure(Interval(0.25, 0.9)), family="code", may_be=(LARGE, SMALL)
)
SURE = Body(length=Measure(Interval.exactly(2.0)), width=Measure(Interval.exactly(1.0)), oriented=True)


def rows(places):
    """Return parts from rows x, y, type."""
    x, y, of = (np.array(c) for c in zip(*places, strict=True))
    n = len(x)
    return Placements(
        ref=[f"K{k}" for k in range(n)],
        x_mm=x.astype(float),
        y_mm=y.astype(float),
        rotation_deg=np.zeros(n),
        side=np.zeros(n, np.int8),
        kind=np.zeros(n, np.int8),
        fitted=np.ones(n, bool),
        file=np.zeros(n, np.int64),
        row=np.arange(1, n + 1),
        bom_line=np.full(n, -1),
        part_type=of.astype(np.int64),
        files=["a.csv"],
    )


def told(places, *bodies):
    return [
        [sentence(said) for said in body.no_room]
        for body in told_by_room(rows(places), bodies, near_parts(rows(places), bodies))
    ]


def test_a_body_that_would_reach_into_a_sure_neighbour_is_named_with_it_and_with_what_is_left():
    # The sure one ends 1 mm from its middle. At 1.3 mm the large one begins at 1.3 − 1.5/2 = 0.55 along,
    # or 1.3 − 0.7/2 = 0.95 across: both reach in by 0.05 and more; the small one begins at 1.3 − 0.55/2 = 1.025.
    (evidence,), _ = told([(1.29, 0, 0), (0, 0, 1)], EITHER, SURE)
    assert "large" in evidence
    assert "K0 would reach into K1" in evidence
    assert "more likely small" in evidence


def test_the_hull_stays_what_counts():
    places, bodies = rows([(1.29, 0, 0), (0, 0, 1)]), [EITHER, SURE]
    body, _ = told_by_room(places, bodies, near_parts(places, bodies))
    assert replace(body, no_room=()) == EITHER


@pytest.mark.parametrize(
    "places",
    [
        [(1.36, 0, 0), (0, 0, 1)],  # across, the large one begins at 1.36 − 0.35 = 1.01: it may lie that way
        [(5.0, 0, 0), (0, 0, 1)],
        [(1.0, 0, 0), (0, 0, 1)],  # the small one reaches in as well: a place is wrong, or a neighbour
    ],
)
def test_nothing_is_told_where_a_way_is_left_or_no_body_has_room(places):
    assert told(places, EITHER, SURE) == [[], []]


def test_parts_of_the_same_name_are_of_the_same_size():
    # 0.6 mm apart: two large ones overlap along and across (0.7), two small ones across do not (0.25).
    (evidence,) = told([(0, 0, 0), (0.6, 0, 0)], EITHER)[0]
    assert "K0 would reach into K1" in evidence


def test_one_pair_against_a_body_that_most_others_speak_for_tells_nothing():
    # Three places speak against the large one; at a fourth even the small one would not have room.
    places = [(1.29, 10 * k, 0) for k in range(3)] + [(0, 10 * k, 1) for k in range(3)]
    assert told(places, EITHER, SURE)[0]
    assert not told([*places, (0.5, 30, 0), (0, 30, 1)], EITHER, SURE)[0]
