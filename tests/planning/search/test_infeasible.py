"""Jobs that no machine or no set of slots can take are named.

Figures: invented machines and jobs, sums worked by hand; a figure of the trade has its source beside it.
"""

import itertools
import json
from pathlib import Path

import numpy as np
import pytest
from msgspec.structs import replace

from capcheck.planning.search.infeasible import smallest_reason

SLOTS = json.loads((Path(__file__).parents[2] / "reference" / "assignment_optima.json").read_text())["slots"]


def stations(plain_machines, there, **more):
    return plain_machines(
        SLOTS["counts"], SLOTS["seconds"], fixed=SLOTS["fixed"], slots=SLOTS["slots"], slots_there=there, **more
    )


def fits(keep, there):
    for choice in itertools.product(range(3), repeat=len(keep)):
        if any(SLOTS["seconds"][j][m] is None for j, m in zip(keep, choice, strict=True)):
            continue
        used = [sum(SLOTS["slots"][j] for j, m in zip(keep, choice, strict=True) if m == k) for k in range(3)]
        if all(u <= t for u, t in zip(used, there, strict=True)):
            return True
    return False


@pytest.mark.parametrize("there", [c["there"] for c in SLOTS["cases"]], ids=str)
def test_fewest_placements_to_take_off_agree_with_exhaustive_search(plain_machines, there):
    types = range(len(SLOTS["counts"]))
    best = min(
        sum(SLOTS["counts"][j] for j in off)
        for size in range(len(SLOTS["counts"]))
        for off in itertools.combinations(types, size)
        if fits([j for j in types if j not in off], there)
    )
    reason = smallest_reason(stations(plain_machines, there))
    assert sum(SLOTS["counts"][j] for j in reason.take_off) == best
    assert reason.proved
    assert fits([j for j in types if j not in reason.take_off], there)


def test_slots_short_are_the_fewest_that_would_do(plain_machines):
    # Machine C must take the connector of 4 slots: with 3 slots one is short.
    reason = smallest_reason(plain_machines([2], [[None, 3.0]], slots=[4.0], slots_there=[9.0, 3.0]))
    assert reason.slots_short == {1: 1.0}
    assert reason.take_off == (0,)


def test_trays_short_are_told_apart_from_slots(plain_machines):
    one = replace(plain_machines([1, 1], [[1.0], [1.0]]), trays=np.ones((2, 1)), trays_there=np.array([1.0]))
    reason = smallest_reason(one)
    assert (reason.slots_short, reason.trays_short) == ({}, {0: 1.0})
    assert len(reason.take_off) == 1


def test_a_part_that_no_machine_takes_is_named_and_the_rest_is_left(plain_machines):
    reason = smallest_reason(plain_machines([5, 7], [[None, None], [0.1, 0.1]]))
    assert reason.nowhere == (0,)
    assert reason.take_off == (0,)
    assert not reason.slots_short


def test_the_order_of_heights_can_be_the_reason(plain_machines):
    blocked = replace(plain_machines([5, 2], [[0.1, None], [None, 0.1]]), in_the_way=((0, 0, 1),))
    reason = smallest_reason(blocked)
    assert reason.order
    assert reason.take_off == (1,)
