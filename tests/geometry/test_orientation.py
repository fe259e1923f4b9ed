"""How bodies lie that may be turned, from what is known of their place.

Figures: geometry of invented bodies, worked by hand; a figure of the trade has its source beside it.
"""

import math

import numpy as np
import pytest
from msgspec.structs import replace

from capcheck.geometry.bodies import body_rectangles
from capcheck.geometry.orientation import orient_by_fit, orientation_fit
from capcheck.geometry.spacing import pairs
from capcheck.lexicon import sentence
from capcheck.model import Basis, Body, Measure, Placements
from capcheck.values.interval import Interval


def body(length=(4.0, 4.2), width=(1.0, 1.2), *, oriented=False):
    return Body(
        length=Measure(Interval(*length)),
        width=Measure(Interval(*width)),
        oriented=oriented,
        family="long part",
        nominal_length=Measure(Interval.exactly(4.0)),
    )


def rows(places):
    """Return parts from rows x, y, rotation, type."""
    x, y, rotation, of = (np.array(c) for c in zip(*places, strict=True))
    n = len(x)
    return Placements(
        ref=[f"K{k}" for k in range(n)],
        x_mm=x.astype(float),
        y_mm=y.astype(float),
        rotation_deg=np.array(rotation, float),
        side=np.zeros(n, np.int8),
        kind=np.zeros(n, np.int8),
        fitted=np.ones(n, bool),
        file=np.zeros(n, np.int64),
        row=np.arange(1, n + 1),
        bom_line=np.full(n, -1),
        part_type=of.astype(np.int64),
        files=["a.csv"],
    )


COLUMN = [(0, 1.5 * k, 0, 0) for k in range(4)]
ROW = [(1.5 * k, 0, 0, 0) for k in range(4)]


def test_parts_stacked_along_y_lie_along_x():
    fit = orientation_fit(rows(COLUMN), [body()])
    assert fit.way.tolist() == [0]
    assert fit.impossible[0, 0] == 0
    assert fit.impossible[0, 1] >= 2


def test_parts_side_by_side_along_x_are_taken_to_lie_along_y_and_no_limit_is_judged_by_it():
    """That bodies cannot share a place is what a check looks for: it proves no way in which they do not."""
    placements = rows(ROW)
    (found,), (decision,) = orient_by_fit(placements, [body()])
    assert found == replace(body(), longer_taken_along="y")
    assert decision.topic == "orientation along y"
    assert "this way 0; only the picture" in sentence(decision.evidence)
    before, after = (pairs(body_rectangles(placements, [b]), 1.0) for b in (body(), found))
    assert (before.gap_low.tolist(), before.gap_high.tolist()) == (after.gap_low.tolist(), after.gap_high.tolist())
    assert before.gap_low.min() < 0 < before.gap_high.min()


def test_the_rotation_of_each_part_counts():
    assert orientation_fit(rows([(x, y, 90, t) for x, y, _, t in ROW]), [body()]).way.tolist() == [0]


@pytest.mark.rows(
    "places",
    [
        [(0, 9 * k, 0, 0) for k in range(4)],
        COLUMN[:2],
        [(0, 3 * k, 0, 0) for k in range(3)],  # both pairs have the middle part
        [*COLUMN, *((40 + x, y, r, t) for x, y, r, t in ROW)],
        [(0, 1.5 * k, math.nan, 0) for k in range(4)],
    ],
)
def test_without_clear_evidence_nothing_is_decided(places):
    oriented, decisions = orient_by_fit(rows(places), [body()])
    assert oriented == [body()]
    assert decisions == []


def test_a_square_or_vague_body_has_no_longer_side():
    assert orientation_fit(rows(COLUMN), [body(width=(1.0, 4.1))]).way.tolist() == [-1]


def test_a_stated_orientation_is_kept_and_speaks_for_its_neighbours():
    stated = body(oriented=True)
    places = [(0, 0, 0, 0), (0, 3.0, 0, 1), (40, 0, 0, 0), (40, 3.0, 0, 1), (0, 80, 0, 0), (0, 81.5, 0, 0)]
    long = body(length=(6.0, 6.1))
    taken, _ = orient_by_fit(rows(places), [stated, long])
    assert taken[0] is stated
    assert taken[1].longer_taken_along == "x"


def test_a_bound_of_the_kind_is_no_evidence_of_how_its_neighbours_lie():
    """A connector's place is seldom the middle of its body: what lies within a bound overlaps nothing for certain."""
    bound = {name: Measure(Interval(8.0, 14.0), Basis.BOUND) for name in ("length", "width")}
    places = [(0, 0, 0, 0), (0, 20, 0, 0), (0, 2.5, 0, 1), (0, 22.5, 0, 1)]
    assert orientation_fit(rows(places), [body(), Body(**bound)]).way.tolist() == [-1, -1]
    known = {name: Measure(Interval(3.0, 3.0), Basis.STATED) for name in ("length", "width")}
    assert orientation_fit(rows(places), [body(), Body(**known)]).way.tolist()[0] == 0


def test_types_of_one_footprint_lie_alike():
    places = [(0, 0, 0, 0), (0, 1.5, 0, 1), (40, 0, 0, 2), (40, 1.5, 0, 3)]
    alone = orientation_fit(rows(places), [body()] * 4)
    assert alone.way.tolist() == [-1, -1, -1, -1]  # each has one neighbour only
    together = orientation_fit(rows(places), [body()] * 4, ["SW-4"] * 4)
    assert together.way.tolist() == [0, 0, 0, 0]
    _, decisions = orient_by_fit(rows(places), [body()] * 4, ["SW-4"] * 4)
    assert sentence(decisions[0].evidence).startswith(f"the other way {together.impossible[0, 1]} pairs")


def test_one_part_in_a_wrong_place_turns_nothing_however_many_it_meets():
    """A row of parts 2.8 mm long, 3.6 mm apart along x; one of 2.4 mm between two of them would turn them all."""
    row = [(3.6 * k, 0, 0, 0) for k in range(4)]
    types = [body(length=(2.8, 2.9)), body(length=(2.4, 2.5), oriented=True)]
    assert orientation_fit(rows([*row, (1.8, 0, 0, 1)]), types).way.tolist() == [-1, -1]
    assert orientation_fit(rows([*row, (1.8, 0, 0, 1), (9.0, 0, 0, 1)]), types).way.tolist() == [1, -1]


def test_a_part_without_a_fellow_is_turned_by_two_neighbours():
    """Whatever is wrong with its place, no other part is read by it."""
    places = [(0, 0, 0, 0), (0, 3.0, 0, 1), (0, -3.0, 0, 2)]
    types = [body(length=(6.0, 6.1)), body(oriented=True), body(oriented=True)]
    assert orientation_fit(rows(places), types).way.tolist() == [0, -1, -1]


def test_copies_of_one_circuit_are_no_further_evidence():
    pair = [(0, 0, 0, 0), (0, 1.5, 0, 0)]
    panel = rows([(x + 30 * k, y, r, t) for k in range(6) for x, y, r, t in pair])
    circuit = np.repeat(np.arange(6), 2) == 0
    assert orientation_fit(panel, [body()], evidence=circuit).way.tolist() == [-1]
    column = rows([(x + 30 * k, y, r, t) for k in range(6) for x, y, r, t in COLUMN])
    once = orientation_fit(rows(COLUMN), [body()])
    assert orientation_fit(column, [body()], evidence=np.arange(24) < 4).impossible.tolist() == once.impossible.tolist()


def loose(length=(3.6, 4.2)):
    """A body of 4 × 1 mm nominal that may be 3.6 mm long."""
    return Body(
        length=Measure(Interval(*length)),
        width=Measure(Interval(0.9, 1.2)),
        family="loose part",
        nominal_length=Measure(Interval.exactly(4.0)),
        nominal_width=Measure(Interval.exactly(1.0)),
    )


def spaced(pitch, n=4):
    return [(pitch * k, 0, 0, 0) for k in range(n)]


def test_a_way_that_nominal_sizes_rule_out_is_taken_and_no_distance_hangs_on_it():
    """3.8 mm apart along x, parts of 4 mm overlap and parts of 3.6 mm do not."""
    placements = rows(spaced(3.8))
    (found,), (decision,) = orient_by_fit(placements, [loose()])
    assert found.longer_taken_along == "y"
    assert not found.oriented
    assert found.length == loose().length
    before, after = (body_rectangles(placements, [b]) for b in (loose(), found))
    for name in ("outer", "inner", "either", "angle_deg"):
        assert getattr(before, name).tolist() == getattr(after, name).tolist()
    assert decision.topic == "orientation along y"
    told = "3 pairs of bodies would overlap at nominal size (K0, K1 among them), this way 0"
    assert told in sentence(decision.evidence)


ON_EACH_OTHER = [(40, 9 * k, 0, 0) for k in range(2) for _ in range(2)]


@pytest.mark.parametrize(
    "places",
    [
        spaced(4.0),  # they touch at nominal size
        spaced(3.8, 2),  # the pair would clear itself
        spaced(3.8, 3),  # both pairs have the middle part
        [*spaced(3.8), *ON_EACH_OTHER],  # alternates at one place overlap either way and speak against both
    ],
)
def test_without_evidence_beyond_one_part_no_way_is_taken(places):
    assert orient_by_fit(rows(places), [loose()]) == ([loose()], [])


def test_a_part_alone_is_not_taken_to_lie_by_its_own_neighbours():
    """In a wrong place it would clear itself: 3 mm off a stated part, 4 mm along y overlap and 3 mm do not."""
    stated = body((2.0, 2.0), (2.0, 2.0), oriented=True)
    places = [(0, 0, 0, 0), (0, 2.9, 0, 1), (0, -2.9, 0, 1)]
    assert orient_by_fit(rows(places), [loose(), stated]) == ([loose(), stated], [])


def test_what_a_cover_lies_over_takes_no_part_in_turning_it():
    """A cover of 20 mm over a row of parts overlaps them whichever way they lie; those at its rim one way only."""
    cover = body((20.0, 20.0), (20.0, 20.0), oriented=True)
    over = [(0, 0, 0, 1), *((-6 + 6 * k, 0, 0, 0) for k in range(3)), (11.5, 5, 0, 0), (11.5, -5, 0, 0)]
    assert orientation_fit(rows(over), [loose(), cover], nominal=True).way.tolist() == [-1, -1]
    assert orientation_fit(rows([over[0], *over[-2:]]), [loose(), cover], nominal=True).way.tolist() == [-1, -1]


def test_an_oriented_size_overrides_what_neighbours_leave():
    stated = replace(loose(), oriented=True)
    assert orient_by_fit(rows(spaced(3.8)), [stated]) == ([stated], [])


def test_no_types_and_rows_without_a_type_are_no_trouble():
    assert orient_by_fit(rows([(0, 0, 0, -1)]), []) == ([], [])
