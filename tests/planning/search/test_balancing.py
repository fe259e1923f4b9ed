"""Placements balanced between machines, against published optima.

Figures: published lines are in reference/assignment_optima.json with their sources; the rest is invented,
sums worked by hand.
"""

import itertools
import json
import math
from pathlib import Path

import numpy as np
import pytest
from depth import sample_of
from msgspec.structs import replace

from capcheck.planning.search.balancing import balance, lower_bound
from capcheck.planning.search.stations import Unit
from capcheck.planning.search.without_solver import first_fit

REFERENCE = json.loads((Path(__file__).parents[2] / "reference" / "assignment_optima.json").read_text())
SLOTS = REFERENCE["slots"]


def optimum(stations):
    found = balance(stations, gap=0.0, time_limit=20)
    if found.found:
        assert found.status == "optimal"
        assert found.bound == pytest.approx(found.objective, abs=1e-6)
        assert (found.placed.sum(axis=1) == stations.counts).all()
    return found.objective


@pytest.mark.parametrize("case", REFERENCE["instances"], ids=lambda c: c["name"])
def test_published_lines_reach_their_optimum(plain_machines, case):
    # Source: beside each instance in the reference file.
    assert optimum(plain_machines(case["counts"], case["seconds"], split=case["split"])) == pytest.approx(
        case["optimum"]
    )


@pytest.mark.parametrize("case", REFERENCE["graham"]["cases"], ids=lambda c: c["machines"])
def test_grahams_family_is_solved_better_than_longest_first(plain_machines, case):
    # Source: Graham 1969, see the reference file.
    seconds = [[j] * case["machines"] for j in case["jobs"]]
    found = optimum(plain_machines([1] * len(seconds), seconds, split=False))
    assert found == case["optimum"] < case["longest_first"]


@pytest.mark.parametrize("split", [False, True])
@pytest.mark.parametrize(("stations", "cycle"), REFERENCE["ordered_stations"]["least_cycle"].items())
def test_order_along_the_line_gives_the_published_cycle(plain_machines, stations, cycle, split):
    # Source: Jackson 1956 / Scholl 1993, see the reference file. Without the order 7 stations reach 7.
    instance = REFERENCE["ordered_stations"]
    times = [[t] * int(stations) for t in instance["times"]]
    after = tuple((late - 1, early - 1) for early, late in instance["before"])
    assert optimum(plain_machines([1] * 11, times, split=split, after=after)) == pytest.approx(cycle)


@pytest.mark.parametrize(("cycle", "stations"), REFERENCE["ordered_stations"]["least_stations"].items())
def test_the_least_stations_for_a_cycle_are_the_published_ones(plain_machines, cycle, stations):
    # Source: as above; 10 with 5 stations is Scholl and Klein, EJOR 114 (1999). One station less does not reach it.
    instance = REFERENCE["ordered_stations"]
    after = tuple((late - 1, early - 1) for early, late in instance["before"])

    def least(number):
        times = [[t] * number for t in instance["times"]]
        return optimum(plain_machines([1] * 11, times, split=False, after=after))

    assert least(stations) <= float(cycle) < least(stations - 1)


@pytest.mark.parametrize("case", [c for c in REFERENCE["instances"] if "relaxed" in c], ids=lambda c: c["name"])
def test_the_relaxation_of_a_published_line_is_its_continuous_balance(plain_machines, case):
    # Source: beside the instance. 21.24 s − 21.647 passives × 0.06 s = 19.941 s.
    assert lower_bound(plain_machines(case["counts"], case["seconds"])) == pytest.approx(case["relaxed"])


def test_without_the_order_seven_stations_are_faster(plain_machines):
    times = [[t] * 7 for t in REFERENCE["ordered_stations"]["times"]]
    assert optimum(plain_machines([1] * 11, times, split=False)) == pytest.approx(7)


@pytest.mark.parametrize("kind", ["whole", "split"])
@pytest.mark.parametrize("case", SLOTS["cases"], ids=lambda c: str(c["there"]))
def test_slots_limit_the_line_as_enumeration_says(plain_machines, case, kind):
    stations = plain_machines(
        SLOTS["counts"],
        SLOTS["seconds"],
        fixed=SLOTS["fixed"],
        slots=SLOTS["slots"],
        slots_there=case["there"],
        split=kind == "split",
    )
    expected = math.inf if case[kind] is None else case[kind]
    assert optimum(stations) == pytest.approx(expected)
    if "relaxed" in case and kind == "split":
        assert lower_bound(stations) == pytest.approx(case["relaxed"], abs=5e-5)


def by_search(counts, seconds, fixed, slots, there):
    """The least cycle over all whole assignments."""
    best = math.inf
    for choice in itertools.product(range(len(fixed)), repeat=len(counts)):
        if any(seconds[j][m] is None for j, m in enumerate(choice)):
            continue
        used = [sum(slots[j] for j, m in enumerate(choice) if m == k) for k in range(len(fixed))]
        if all(u <= t for u, t in zip(used, there, strict=True)):
            loads = list(fixed)
            for j, m in enumerate(choice):
                loads[m] += counts[j] * seconds[j][m]
            best = min(best, max(loads))
    return best


def random_instance(seed, types, machines):
    rng = np.random.default_rng(seed)
    counts = [int(n) for n in rng.integers(1, 30, types)]
    seconds = [
        [None if rng.random() < 0.25 else float(rng.integers(5, 40)) / 100 for _ in range(machines)] for _ in counts
    ]
    slots = [int(n) for n in rng.integers(1, 4, types)]
    there = [int(n) for n in rng.integers(sum(slots) // machines, sum(slots) // machines + 5, machines)]
    return counts, seconds, [float(n) for n in rng.integers(0, 3, machines)], slots, there


@pytest.mark.parametrize("seed", sample_of(range(12), 4))
def test_whole_assignments_are_as_good_as_exhaustive_search(plain_machines, seed):
    counts, seconds, fixed, slots, there = random_instance(seed, 6, 3)
    stations = plain_machines(counts, seconds, fixed=fixed, slots=slots, slots_there=there, split=False)
    assert optimum(stations) == pytest.approx(by_search(counts, seconds, fixed, slots, there))


def by_second_solver(counts, seconds, fixed, slots, there):
    from ortools.sat.python import cp_model

    model = cp_model.CpModel()
    cycle = model.new_int_var(0, 10**7, "C")
    loads = [[round(100 * f)] for f in fixed]
    used = [[] for _ in fixed]
    for j, row in enumerate(seconds):
        here = []
        for m, t in enumerate(row):
            if t is not None:
                n, y = model.new_int_var(0, counts[j], ""), model.new_bool_var("")
                model.add(n <= counts[j] * y)
                here.append(n)
                loads[m].append(round(100 * t) * n)
                used[m].append(slots[j] * y)
        model.add(sum(here) == counts[j])
    for m, load in enumerate(loads):
        model.add(sum(load) <= cycle)
        model.add(sum(used[m]) <= there[m])
    model.minimize(cycle)
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    status = solver.solve(model)
    return solver.objective_value / 100 if status == cp_model.OPTIMAL else math.inf


@pytest.mark.parametrize("seed", sample_of(range(20, 28), 3))
def test_split_assignments_agree_with_a_second_solver(plain_machines, seed):
    # OR-tools CP-SAT solves the same integer model by another method.
    instance = random_instance(seed, 7, 3)
    counts, seconds, fixed, slots, there = instance
    stations = plain_machines(counts, seconds, fixed=fixed, slots=slots, slots_there=there)
    assert optimum(stations) == pytest.approx(by_second_solver(*instance))


@pytest.mark.parametrize("seed", [6, 13, 31])
def test_what_a_search_finds_first_is_no_slower_than_each_type_whole_where_it_ends_soonest(plain_machines, seed):
    """With so wide a gap the solver stops at its first plan: of these lines a third and more above the simple one."""
    rng = np.random.default_rng(seed)
    counts, seconds = rng.integers(1, 30, 12), rng.uniform(0.1, 1.0, (12, 3)).tolist()
    stations = plain_machines(counts, seconds, slots=[1.0] * 12, slots_there=[6.0] * 3)
    simple = float(stations.seconds_of(first_fit(stations)).max(axis=0) @ stations.weights)
    found = balance(stations, gap=0.9, time_limit=5)
    assert found.begun_at == pytest.approx(simple)
    assert found.bound <= found.objective <= simple
    assert found.status == "optimal"  # within the gap asked for


def two_gantries(plain_machines, **changes):
    stations = plain_machines([12, 9], [[0.1, 0.1], [0.1, 0.1]])
    units = tuple(Unit(0, g, per_trip=4, trip=0.8, trip_on_board=-0.05) for g in (1, 2))
    return replace(
        stations,
        units=units,
        on_board=np.full((2, 2), 0.08),
        fixed=np.zeros((1, 1)),
        hidden=np.zeros((1, 1)),
        slots=np.zeros((2, 1)),
        slots_there=np.array([np.inf]),
        trays=np.zeros((2, 1)),
        trays_there=np.array([np.inf]),
        tray_unit=np.zeros(1),
        **changes,
    )


def test_trips_are_whole_and_gantries_share_the_board(plain_machines):
    # 21 parts of 4 a trip are 6 trips, 3 for each gantry; 11 and 10 parts or 12 and 9: 3 × 0.8 + 11 × 0.1 = 3.5 s.
    assert optimum(two_gantries(plain_machines)) == pytest.approx(3.5)


def test_nozzles_beyond_the_head_cost_changes(plain_machines):
    stations = replace(plain_machines([10, 10, 10], [[0.1, None]] * 3), kind=np.array([0, 1, 2]))
    changing = replace(stations, units=(Unit(0, change=2.0, on_head=1), Unit(1)))
    assert optimum(changing) == pytest.approx(3.0 + 2 * 2.0)
    assert not balance(replace(stations, units=(Unit(0, held=2), Unit(1)))).found


def test_a_tall_part_keeps_later_machines_that_carry_low_from_placing(plain_machines):
    stations = plain_machines([10, 10], [[0.1, 0.1], [0.1, 0.1]])
    assert optimum(stations) == pytest.approx(1.0)
    one_way = replace(stations, in_the_way=((0, 0, 1),))
    found = balance(one_way, gap=0.0)
    assert found.objective == pytest.approx(1.0)
    assert found.placed[0, 0, 0] == 0
    blocked = replace(stations, seconds=np.array([[0.1, np.nan], [0.1, 0.1]]), in_the_way=((0, 0, 1),))
    assert optimum(blocked) == pytest.approx(2.0)


def test_a_tall_part_is_in_the_way_in_its_own_pass_only(plain_machines):
    # The first board has the tall type, which only the first machine places: 10 × 0.1 s there, the second type behind
    # it: 20 × 0.1 s in all. The other board has none: 10 × 0.1 s each. (2 + 1) / 2 = 1.5 s; were the second machine
    # shut for both boards, (2 + 2) / 2.
    stations = replace(
        plain_machines([10, 10, 20], [[0.1, None], [0.1, 0.1], [0.1, 0.1]]),
        counts=np.array([[10, 0], [10, 0], [0, 20]]),
        weights=np.full(2, 0.5),
        fixed=np.zeros((2, 2)),
        hidden=np.zeros((2, 2)),
        in_the_way=((0, 0, 1),),
    )
    for split in (True, False):
        found = balance(replace(stations, split=split), gap=0.0)
        assert found.objective == pytest.approx(1.5 if split else 2.0)
        assert found.placed[:, 1, 0].sum() == 0
    assert first_fit(stations) is not None


def test_the_bound_holds_when_time_runs_out_and_progress_is_told(plain_machines):
    rng = np.random.default_rng(5)
    seconds = [[float(t) for t in rng.uniform(0.05, 0.4, 4)] for _ in range(60)]
    told = []
    found = balance(
        plain_machines([int(n) for n in rng.integers(1, 50, 60)], seconds, split=False),
        time_limit=1.0,
        gap=0.0,
        progress=lambda *figures: told.append(figures),
    )
    assert found.found
    assert found.bound <= found.objective + 1e-9
    assert told


@pytest.mark.parametrize("split", [False, True])
def test_a_large_line_is_close_to_its_bound_and_respects_its_slots(plain_machines, split):
    rng = np.random.default_rng(8)
    counts = [int(n) for n in np.minimum(np.maximum(1, rng.pareto(1.2, 150) * 3), 60)]
    seconds = [[float(t) for t in rng.uniform(0.05, 0.4, 4)] for _ in counts]
    slots, there = [float(n) for n in rng.integers(1, 4, 150)], [90.0] * 4
    found = balance(
        plain_machines(counts, seconds, slots=slots, slots_there=there, split=split), time_limit=5, gap=0.01
    )
    assert found.gap <= 0.01
    assert (found.placed.sum(axis=1)[:, 0] == counts).all()
    assert ((found.placed[:, :, 0] > 0).T @ slots <= 90).all()
    if not split:
        assert ((found.placed[:, :, 0] > 0).sum(axis=1) == 1).all()


def test_a_very_large_line_has_whole_placements_and_trips_near_its_bound(plain_machines):
    rng = np.random.default_rng(9)
    counts = [int(n) for n in np.minimum(np.maximum(1, rng.pareto(1.2, 260) * 3), 60)]
    seconds = [[float(t) for t in rng.uniform(0.05, 0.4, 4)] for _ in counts]
    stations = replace(
        plain_machines(counts, seconds, slots=[1.0] * 260, slots_there=[120.0] * 4),
        units=tuple(Unit(m, per_trip=5 + m, trip=0.5) for m in range(4)),
    )
    found = balance(stations, time_limit=6, gap=0.01)
    assert (found.placed.sum(axis=1)[:, 0] == counts).all()
    assert ((found.placed[:, :, 0] > 0).sum(axis=0) <= 120).all()
    assert found.objective == pytest.approx(stations.seconds_of(found.placed).max())
    assert found.gap <= 0.02
    assert found.status == ("optimal" if found.gap <= 0.01 else "limit")


@pytest.mark.parametrize("seed", sample_of(range(6), 2))
def test_trips_and_alternating_gantries_agree_with_every_possible_split(plain_machines, seed):
    rng = np.random.default_rng(seed)
    counts = [int(n) for n in rng.integers(2, 9, 2)]
    units = tuple(
        Unit(m, g, per_trip=int(rng.integers(1, 5)), trip=float(rng.uniform(0.2, 1.0)), trip_on_board=-0.05)
        for m, g in ((0, 1), (0, 2), (1, 1))
    )
    each = rng.uniform(0.1, 0.4, (2, 3))
    stations = replace(
        plain_machines(counts, [[0.1, 0.1], [0.1, 0.1]], fixed=[1.0, 0.5]),
        units=units,
        seconds=each,
        on_board=0.8 * each,
        hidden=np.array([[2.0], [0.0]]),
    )
    splits = [[(a, b, n - a - b) for a in range(n + 1) for b in range(n + 1 - a)] for n in counts]
    best = min(
        float(stations.seconds_of(np.array(choice, dtype=np.int64)[:, :, None]).max())
        for choice in itertools.product(*splits)
    )
    assert optimum(stations) == pytest.approx(best)
