"""Without the solver a plan is still made, and says that it may not be the best.

Figures: invented machines and jobs, sums worked by hand; a figure of the trade has its source beside it.
"""

import numpy as np
import pytest
from msgspec.structs import replace

from capcheck.planning.search.balancing import balance
from capcheck.planning.search.stations import Unit
from capcheck.planning.search.without_solver import first_fit, simple_bound


def random_stations(plain_machines, seed):
    rng = np.random.default_rng(seed)
    counts = [int(n) for n in rng.integers(1, 20, 8)]
    seconds = [[None if rng.random() < 0.3 else float(rng.uniform(0.05, 0.4)) for _ in range(3)] for _ in counts]
    seconds = [row if any(t is not None for t in row) else [0.2, None, None] for row in seconds]
    slots = [float(n) for n in rng.integers(1, 4, 8)]
    return plain_machines(
        counts, seconds, fixed=[float(f) for f in rng.integers(0, 3, 3)], slots=slots, slots_there=[9.0, 8.0, 7.0]
    )


@pytest.mark.parametrize("seed", range(12))
def test_the_simple_plan_fits_and_lies_between_the_bound_and_nothing(plain_machines, seed):
    stations = random_stations(plain_machines, seed)
    placed = first_fit(stations)
    best = balance(stations, gap=0.0)
    assert simple_bound(stations) <= best.objective + 1e-9
    assert placed is not None
    assert (placed.sum(axis=1) == stations.counts).all()
    assert not placed[np.isnan(stations.seconds)].any()
    stands = placed.sum(axis=2) > 0
    assert ((stands * stations.slots).sum(axis=0) <= stations.slots_there).all()
    assert stations.seconds_of(placed).max() >= best.objective - 1e-9


def test_what_finds_no_place_is_left_out_where_that_is_allowed(plain_machines):
    stations = plain_machines([5, 3], [[0.1], [0.1]], slots=[2.0, 2.0], slots_there=[3.0])
    assert first_fit(stations) is None
    placed = first_fit(stations, partly=True)
    assert placed[:, 0, 0].tolist() == [5, 0], "the type with more work stands first"


def test_a_nozzle_that_the_head_does_not_hold_and_a_tall_part_in_the_way_are_kept_to(plain_machines):
    stations = replace(plain_machines([5, 3], [[0.1, None], [0.1, None]]), kind=np.array([0, 1]))
    assert first_fit(replace(stations, units=(Unit(0, held=1), Unit(1)))) is None
    both = plain_machines([5, 3], [[0.1, None], [None, 0.1]])
    assert first_fit(both) is not None
    assert first_fit(replace(both, in_the_way=((0, 0, 1),))) is None


def test_without_time_the_simple_plan_is_the_answer_and_its_gap_is_told(plain_machines):
    stations = random_stations(plain_machines, 3)
    found = balance(stations, time_limit=0.01)
    assert found.found
    assert found.status == "limit"
    assert 0 <= found.gap < 1
    assert found.bound == pytest.approx(min(simple_bound(stations), found.objective))
