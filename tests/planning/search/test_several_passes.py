"""Boards that share a set-up: the least cycle agrees with a second solver, which is told the same in another form.

Figures: invented at random in round numbers; OR-tools CP-SAT is the outside check.
"""

import importlib.util
import math
from pathlib import Path

import numpy as np
import pytest
from depth import sample_of
from msgspec.structs import replace

from capcheck.planning.search.balance_at_last import evened
from capcheck.planning.search.balancing import balance
from capcheck.planning.search.deadline import Deadline
from capcheck.planning.search.fewest_feeders import Feeders, feeders_of, with_fewest_feeders
from capcheck.planning.search.formulation import Formulation
from capcheck.planning.search.local_search import improved, weighted_cycle
from capcheck.planning.search.stations import Stations, Unit
from capcheck.planning.search.without_solver import first_fit

_SPEC = importlib.util.spec_from_file_location("second_model", Path(__file__).with_name("second_model.py"))
second_model = importlib.util.module_from_spec(_SPEC)
_SPEC.loader.exec_module(second_model)


def hundredths(rng, low, high, size=None):
    return rng.integers(low, high, size) / 100


def random_line(rng):
    """Return stations with two or three machines, some with two gantries or lanes, and two or three boards."""
    types, machines, passes = int(rng.integers(3, 7)), int(rng.integers(2, 4)), int(rng.integers(2, 4))
    units = []
    for m in range(machines):
        for gantry in range(1, 1 + int(rng.integers(1, 3))):
            size = int(rng.choice([0, 2, 4]))
            trip = float(hundredths(rng, 10, 90)) if size else 0.0
            units.append(Unit(m, gantry, per_trip=size, trip=trip, trip_on_board=-0.05 if size else 0.0))
    seconds = hundredths(rng, 5, 40, (types, len(units)))
    seconds[rng.random(seconds.shape) < 0.25] = math.nan
    over_board = np.round(np.nan_to_num(seconds) * rng.choice([0.0, 0.5, 1.0]), 2)
    counts = rng.integers(0, 9, (types, passes)) * (rng.random((types, passes)) < 0.7)
    counts[counts.sum(axis=1) == 0, 0] = 1
    slots = np.repeat(rng.integers(1, 4, (types, 1)), machines, axis=1).astype(float)
    trays = np.zeros((types, machines))
    in_tray = rng.random(types) < 0.2
    trays[in_tray], slots[in_tray] = 1.0, 0.0
    tall = [j for j in range(types) if rng.random() < 0.35]
    low = [m for m in range(1, machines) if rng.random() < 0.6]
    lanes = rng.random(machines) < 0.3
    fixed = hundredths(rng, 0, 300, (machines, passes))
    return Stations(
        counts=counts,
        weights=np.ones(passes),
        units=tuple(units),
        seconds=seconds,
        on_board=over_board,
        fixed=fixed,
        hidden=np.where(lanes[:, None], hundredths(rng, 0, 400, (machines, passes)), 0.0),
        slots=slots,
        slots_there=rng.integers(slots.max(axis=1).sum() // machines, slots.max(axis=1).sum() + 3, machines) * 1.0,
        trays=trays,
        trays_there=rng.integers(0, 3, machines) * 1.0,
        tray_unit=rng.integers(0, 3, machines) * 1.0,
        kind=np.full(types, -1),
        split=bool(rng.random() < 0.6),
        in_the_way=tuple((j, m, later) for j in tall for later in low for m in range(later)),
    )


def keeps_to_the_line(stations, placed):
    """Whether placements use only what is there and leave the way free, in every pass."""
    st = stations
    assert (placed.sum(axis=1) == st.counts).all()
    assert (placed[~st.can()] == 0).all()
    by_machine = np.stack([placed[:, [u.machine == m for u in st.units]].sum(axis=1) for m in range(st.machines)])
    for j, m, later in st.in_the_way:
        assert not ((by_machine[m, j] > 0) & (by_machine[later].sum(axis=0) > 0)).any()
    for m in range(st.machines):
        sites = [{u for u, s in enumerate(st.site_of) if s == k} for k, (at, _) in enumerate(st.sites) if at == m]
        standing = sum((placed[:, sorted(site)].sum(axis=(1, 2)) > 0).astype(int) for site in sites)
        mounted = st.tray_unit[m] if (standing * st.trays[:, m]).any() else 0.0
        assert standing @ st.slots[:, m] + mounted <= st.slots_there[m]
        assert standing @ st.trays[:, m] <= st.trays_there[m]


@pytest.mark.parametrize("seed", sample_of(range(20), 4))
def test_boards_with_a_common_set_up_agree_with_a_second_solver(seed):
    feasible = 0
    for k in range(10):
        stations = random_line(np.random.default_rng([seed, k]))
        found = balance(stations, gap=0.0, time_limit=30)
        expected = second_model.least_cycle(stations, [1] * stations.counts.shape[1])
        assert found.objective == pytest.approx(expected, abs=1e-6), (seed, k)
        if found.found:
            feasible += 1
            assert found.status == "optimal"
            keeps_to_the_line(stations, found.placed)
        simple = first_fit(stations)
        if simple is not None:
            assert found.found
            keeps_to_the_line(stations, simple)
    assert feasible


@pytest.mark.parametrize("seed", sample_of(range(10), 3))
def test_moving_types_keeps_to_the_line_and_makes_nothing_worse(seed):
    better = 0
    for k in range(40):
        stations = random_line(np.random.default_rng([100 + seed, k]))
        first = first_fit(stations)
        if first is None:
            continue
        moved = improved(stations, first, Deadline.after(5.0))
        keeps_to_the_line(stations, moved)
        assert weighted_cycle(stations, moved) <= weighted_cycle(stations, first) + 1e-9
        better += weighted_cycle(stations, moved) < weighted_cycle(stations, first)
    assert better


def two_alike(counts, *, trays, slots=2.0, places=2.0, split=True):
    """Return two machines alike, 0.1 s for each placement, and placements that lie all on the first."""
    counts = np.array(counts)
    in_tray = np.repeat(np.array(trays, dtype=float)[:, None], 2, axis=1)
    stations = Stations(
        counts=counts,
        weights=np.ones(counts.shape[1]),
        units=(Unit(0), Unit(1)),
        seconds=np.full(in_tray.shape, 0.1),
        on_board=np.zeros(in_tray.shape),
        fixed=np.zeros((2, counts.shape[1])),
        hidden=np.zeros((2, counts.shape[1])),
        slots=1.0 - in_tray,
        slots_there=np.array([9.0, slots]),
        trays=in_tray,
        trays_there=np.array([9.0, places]),
        tray_unit=np.array([2.0, 2.0]),
        kind=np.full(len(counts), -1),
        split=split,
    )
    placed = np.zeros((len(counts), 2, counts.shape[1]), dtype=np.int64)
    placed[:, 0] = counts
    return stations, placed


@pytest.mark.rows(
    ("counts", "more", "cycle"),
    [
        # Shared out by board: 10 of 20 and 5 of 10, sums by hand.
        ([[20, 10]], {"trays": [0]}, 1.5),
        ([[20, 10]], {"trays": [0], "split": False}, 3.0),
        ([[20, 10]], {"trays": [0], "slots": 0.0}, 3.0),
        # A tray goes over with the slots of the unit that it needs there, and its places.
        ([[20], [20]], {"trays": [1, 1], "split": False}, 2.0),
        ([[20], [20]], {"trays": [1, 1], "split": False, "slots": 1.0}, 4.0),
        ([[20], [20]], {"trays": [1, 1], "split": False, "places": 0.0}, 4.0),
        # One mounted unit serves all trays.
        ([[20], [5], [15], [40]], {"trays": [1, 1, 1, 1], "split": False, "places": 4.0}, 4.0),
    ],
)
def test_shares_and_trays_move_where_there_are_places_for_them(counts, more, cycle):
    stations, placed = two_alike(counts, **more)
    assert weighted_cycle(stations, improved(stations, placed, Deadline.after(5.0))) == pytest.approx(cycle)


@pytest.mark.parametrize("seed", sample_of(range(10), 3))
def test_a_plan_is_a_solution_of_the_program_with_its_cycle(seed):
    rng = np.random.default_rng([200, seed])
    for k in range(20):
        stations = random_line(np.random.default_rng([200 + seed, k]))
        kinds = replace(
            stations,
            kind=rng.integers(-1, 3, len(stations.counts)),
            units=tuple(replace(u, on_head=1, change=0.5) for u in stations.units),
        )
        for line in (stations, kinds):
            placed = first_fit(line)
            if placed is None:
                continue
            placed = improved(line, placed, Deadline.after(5.0))
            form = Formulation(line)
            values, program = form.start(placed), form.program
            rows = np.repeat(np.arange(len(program.row_upper)), np.diff(program.starts))
            sums = np.bincount(rows, np.array(program.coefficients) * values[program.columns], len(program.row_upper))
            assert (sums <= np.array(program.row_upper) + 1e-9).all()
            assert (sums >= np.array(program.row_lower) - 1e-9).all()
            assert (values <= np.array(program.upper) + 1e-9).all()
            assert values @ program.cost == pytest.approx(weighted_cycle(line, placed))
            assert (form.placed(values) == placed).all()


def test_a_large_family_in_a_short_time_is_better_than_the_simple_way():
    # A search that has to stop early takes the plan of moved types, if it has found none that is better.
    rng = np.random.default_rng(1)
    counts = rng.integers(1, 20, (300, 12)) * (rng.random((300, 12)) < 0.2)
    counts[counts.sum(axis=1) == 0, 0] = 1
    seconds = hundredths(rng, 5, 40, (300, 5))
    stations = Stations(
        counts=counts,
        weights=np.full(12, 1 / 12),
        units=tuple(Unit(m, per_trip=6, trip=0.8) for m in range(5)),
        seconds=seconds,
        on_board=np.zeros_like(seconds),
        fixed=np.full((5, 12), 5.0),
        hidden=np.zeros((5, 12)),
        slots=np.ones((300, 5)),
        slots_there=np.full(5, 70.0),
        trays=np.zeros((300, 5)),
        trays_there=np.zeros(5),
        tray_unit=np.zeros(5),
        kind=np.full(300, -1),
    )
    simple = weighted_cycle(stations, first_fit(stations))
    found = balance(stations, time_limit=1.0, gap=0.0)
    keeps_to_the_line(stations, found.placed)
    assert found.bound <= found.objective < 0.8 * simple


@pytest.mark.parametrize("seed", sample_of(range(5), 1))
def test_feeders_are_the_fewest_that_keep_the_cycle(seed):
    planned = saved = 0
    for k in range(12):
        stations = replace(random_line(np.random.default_rng([300 + seed, k])), split=True)
        found = balance(stations, gap=0.0, time_limit=30)
        if not found.found:
            continue
        planned += 1
        plan, feeders = with_fewest_feeders(stations, found, time_limit=30)
        keeps_to_the_line(stations, plan.placed)
        assert (plan.cycle <= found.cycle + 1e-6).all()
        assert (plan.objective, plan.bound) == (found.objective, found.bound)
        assert feeders.planned == feeders_of(stations, plan.placed) == feeders.least
        fewest = second_model.fewest_feeders(stations, found.cycle)
        assert feeders.planned == fewest, (seed, k)
        # An oven that takes longer than every machine does leaves time for fewer still.
        slow = np.full(len(found.cycle), 1e3)
        with_oven = with_fewest_feeders(stations, found, allowed=slow, time_limit=30)[1].planned
        assert with_oven == second_model.fewest_feeders(stations, slow) <= fewest
        saved += (feeders.before > fewest) + (fewest > with_oven)
    assert planned >= 6
    assert saved >= 4


def test_an_oven_that_takes_longer_saves_the_feeder_of_a_split_type(plain_machines):
    # 30 placements of 0.1 s on two machines: 1.5 s each with one of the three types on both; whole types take 2 s.
    stations = plain_machines([10, 10, 10], [[0.1, 0.1]] * 3)
    found = balance(stations, gap=0.0)
    assert found.objective == pytest.approx(1.5)
    plan, feeders = with_fewest_feeders(stations, found)
    assert (plan.cycle[0], feeders) == (pytest.approx(1.5), Feeders(planned=4, before=4, least=4))
    plan, feeders = with_fewest_feeders(stations, found, allowed=np.array([2.0]))
    assert (plan.cycle[0], feeders) == (pytest.approx(2.0), Feeders(planned=3, before=4, least=3))
    assert plan.objective == pytest.approx(1.5)


@pytest.mark.parametrize("seed", sample_of(range(4), 1))
def test_with_the_fewest_feeders_the_machines_are_balanced_as_a_second_solver_does(seed):
    """An oven of half as long again lets the second step load machines; the third takes what these feeders allow."""
    won = 0
    for k in range(8):
        stations = replace(random_line(np.random.default_rng([700 + seed, k])), split=True)
        stations = replace(stations, weights=np.ones(stations.counts.shape[1]))
        found = balance(stations, gap=0.0, time_limit=30)
        if not found.found:
            continue
        most = np.round(1.5 * found.cycle, 2)
        saved, feeders = with_fewest_feeders(stations, found, allowed=most, time_limit=30)
        even = evened(stations, saved, gap=0.0, time_limit=30)
        keeps_to_the_line(stations, even.placed)
        assert feeders_of(stations, even.placed) <= feeders.planned
        assert (even.cycle <= saved.cycle + 1e-6).all()
        weights = [1] * len(even.cycle)
        least = second_model.least_cycle_with(stations, weights, feeders.planned, saved.cycle)
        assert even.cycle.sum() == pytest.approx(least, abs=1e-6), (seed, k)
        won += even.cycle.sum() < saved.cycle.sum() - 1e-6
    assert won >= 1


def test_what_is_kept_in_reserve_proves_no_number_of_feeders(plain_machines):
    """The oven takes 2 s, and 0.4 s of it are kept for what the machines may take longer: three feeders might do."""
    stations = plain_machines([10, 10, 10], [[0.1, 0.1]] * 3)
    found = balance(stations, gap=0.0)
    told = {"allowed": np.array([1.6]), "kept": np.array([2.0])}
    assert with_fewest_feeders(stations, found, **told)[1] == Feeders(planned=4, before=4, least=3)
    told["kept"] = np.array([1.6])
    assert with_fewest_feeders(stations, found, **told)[1] == Feeders(planned=4, before=4, least=4)


def test_without_time_the_feeders_stay_and_nothing_is_claimed(plain_machines):
    stations = plain_machines([10, 10, 10], [[0.1, 0.1]] * 3)
    found = balance(stations, gap=0.0)
    plan, feeders = with_fewest_feeders(stations, found, allowed=np.array([2.0]), time_limit=0.0)
    assert plan is found
    assert feeders == Feeders(planned=4, before=4, least=3)


def test_moves_go_on_where_several_machines_are_the_slowest(plain_machines):
    """Two machines take 2 s and the third nothing: no single move helps, and two bring the slowest to 1.5 s."""
    stations = plain_machines([10, 10, 10, 10], [[0.1, 0.1, 0.1]] * 4)
    stations = replace(stations, split=False)
    placed = np.zeros((4, 3, 1), dtype=np.int64)
    placed[[0, 1], 0, 0], placed[[2, 3], 1, 0] = 10, 10
    assert weighted_cycle(stations, improved(stations, placed, Deadline.after(5.0))) == pytest.approx(2.0)
    stations = replace(stations, split=True)
    assert weighted_cycle(stations, improved(stations, placed, Deadline.after(5.0))) <= 1.5
