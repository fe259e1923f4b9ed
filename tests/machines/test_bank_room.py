"""How many feeders have no place in the banks at best agrees with a packing that another solver finds.

Figures: invented at random in round numbers; OR-tools CP-SAT is the outside check.
"""

import numpy as np
import pytest
from ortools.sat.python import cp_model

from capcheck.machines import Room, fewest_without_place


def fewest_by_packing(feeders, trays, rooms):
    """Return the least number left out: each thing in one bank at most, slots and tray places kept."""
    model, left = cp_model.CpModel(), 0
    mounted = [model.new_bool_var("") for _ in rooms]
    slots = [int(room.covered) * on for room, on in zip(rooms, mounted, strict=True)]
    places = [0 for _ in rooms]
    for takes in feeders:
        at = {bank: model.new_bool_var("") for bank in takes}
        model.add(sum(at.values()) <= 1)
        left += 1 - sum(at.values())
        for bank, width in takes.items():
            slots[bank] += int(width) * at[bank]
    for may in trays:
        at = {bank: model.new_bool_var("") for bank in may}
        model.add(sum(at.values()) <= 1)
        left += 1 - sum(at.values())
        for bank, there in at.items():
            places[bank] += there
            model.add_implication(there, mounted[bank])
    for bank, room in enumerate(rooms):
        model.add(slots[bank] <= int(room.slots))
        model.add(places[bank] <= int(room.trays))
    model.minimize(left)
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    assert solver.solve(model) == cp_model.OPTIMAL
    return round(solver.objective_value)


def question(rng, feeders, banks, most):
    width = rng.integers(1, 5, feeders)
    may = [{b: float(w) for b in range(banks) if rng.random() < 0.6} for w in width]
    trays = [frozenset(b for b in range(banks) if rng.random() < 0.5) for _ in range(int(rng.integers(0, 4)))]
    rooms = []
    for _ in range(banks):
        slots = int(rng.integers(1, most))
        rooms.append(Room(float(slots), float(rng.integers(0, 3)), float(rng.integers(0, slots + 1))))
    return may, trays, rooms


@pytest.mark.rows("seed", range(60))
def test_a_few_feeders_are_packed_exactly(seed):
    rng = np.random.default_rng(seed)
    for _ in range(5):
        asked = question(rng, int(rng.integers(1, 15)), int(rng.integers(1, 5)), 12)
        found = fewest_without_place(*asked)
        assert found.is_exact
        assert found.low == fewest_by_packing(*asked)


@pytest.mark.parametrize("seed", range(3))
def test_of_many_feeders_the_bounds_hold_the_answer(seed):
    rng = np.random.default_rng([1, seed])
    asked = question(rng, 80, 8, 34)
    found = fewest_without_place(*asked)
    assert found.low <= fewest_by_packing(*asked) <= found.high


def test_nothing_to_place_leaves_nothing():
    assert fewest_without_place([], [], [Room(4.0)]).high == 0
    assert fewest_without_place([{}, {0: 1.0}], [frozenset()], [Room(1.0)]).low == 2


def test_of_more_than_are_searched_the_widest_that_must_stay_out_are_left_at_the_outset():
    """Figures: 300 of 1 slot, 120 of 2 and 20 of 4 need 620 of 600 slots, so five of the widest stay out."""
    anywhere = [{0: 1.0, 1: 1.0, 2: 1.0}] * 300 + [{0: 2.0, 1: 2.0, 2: 2.0}] * 120
    found = fewest_without_place(anywhere + [{1: 4.0, 2: 4.0}] * 20, [], [Room(300.0), Room(150.0), Room(150.0)])
    assert (found.low, found.high) == (5, 5)
