"""Feeders that stay between two set-ups keep their slots, and what moves is counted from the set-up lists.

Figures: invented machines and jobs, sums by hand.
"""

from itertools import pairwise

import numpy as np
import pytest

from capcheck.planning.job import Pass
from capcheck.planning.plan_data import PlanSettings
from capcheck.planning.planner import plan_line
from capcheck.report.plan import plan_json, plan_text
from capcheck.values.interval import Interval

EACH = PlanSettings(set_up="each", time_limit=2.0)


def boards(shop, rows, slots=8, widths=None):
    """Return the plan of boards that place one of each part named in *rows*, each with a set-up of its own."""
    names = sorted({name for row in rows for name in row})
    parts = [
        shop.part(name, *(int(name in row) for row in rows), width=(widths or {}).get(name, 8.0)) for name in names
    ]
    job = shop.job(*parts, passes=[Pass(f"b{k}", marks=2) for k in range(len(rows))])
    line = shop.line(shop.machine("A", slots=slots))
    return plan_line(job, line, shop.takes_all(job, line), settings=EACH)


def slots_of(set_up):
    return {f.part: f.slot for f in set_up.feeders}


def test_a_feeder_that_stays_keeps_its_slot(shop):
    found = boards(shop, ["ABC", "BCD"])
    first, second = map(slots_of, found.set_ups)
    assert {second[name] for name in "BC"} == {first[name] for name in "BC"}
    assert second["D"] == first["A"]  # the slot that comes free
    (change,) = found.changeovers
    assert (change.out, change.into) == ((("A", "A"),), (("A", "D"),))


def test_a_feeder_that_cannot_keep_its_slot_is_moved_and_counted(shop):
    """A and C take one slot each, D two of four: beside both at their ends there would be no two together."""
    for seed, slots in enumerate((3, 4)):
        found = boards(shop, ["ABC", "ACD"] if seed else ["ABC", "BD"], slots=slots, widths={"D": 12.0})
        first, second = map(slots_of, found.set_ups)
        stay = [name for name in second if name in first and first[name] == second[name]]
        (change,) = found.changeovers
        assert len(change.into) == len(second) - len(stay)


def test_set_ups_follow_in_the_order_that_moves_least(shop):
    found = boards(shop, ["AB", "CD", "ABE", "CDE"])
    assert [s.name for s in found.set_ups] == ["b0, top", "b2, top", "b3, top", "b1, top"]
    # E to A and B, C and D to E, none to C and D, A and B again; as given 2 + 3 + 2 + 2.
    assert (found.order.moves, found.order.as_given, found.order.at_least) == (5, 9, 5)
    told = " ".join(plan_text(found).split())
    assert "Round of 4 set-ups, each once and back to the first: 5 feeders put on in the order listed, 9" in told
    order = plan_json(found)["set_up_order"]
    assert (order["feeders_put_on_a_round"], order["in_the_order_given"], order["at_least"]) == (5, 9, 5)


def test_at_random_no_slots_overlap_and_what_moves_is_what_the_lists_say(shop):
    for seed in range(12):
        rng = np.random.default_rng(seed)
        rows = ["".join(rng.choice(list("ABCDEFGH"), size=rng.integers(1, 5), replace=False)) for _ in range(4)]
        widths = {name: float(rng.choice([8, 12, 24])) for name in "ABCDEFGH"}
        found = boards(shop, rows, slots=13, widths=widths)
        for one in found.set_ups:
            spans = sorted((f.slot, f.slot + f.slots.high) for f in one.feeders)
            assert all(end <= begin for (_, end), (begin, _) in pairwise(spans)), seed
            assert spans[0][0] >= 1, seed
            assert spans[-1][1] <= 14, seed
        for change, before, after in zip(found.changeovers, found.set_ups, found.set_ups[1:], strict=False):
            old, new = slots_of(before), slots_of(after)
            assert {p for _, p in change.into} == {p for p, slot in new.items() if old.get(p) != slot}, seed
            assert {p for _, p in change.out} == {p for p, slot in old.items() if new.get(p) != slot}, seed
        last = [(b, a) for b, a in zip(found.set_ups, [*found.set_ups[1:], found.set_ups[0]], strict=True)]
        put_on = sum(len([p for p, s in slots_of(a).items() if slots_of(b).get(p) != s]) for b, a in last)
        assert found.order.at_least <= found.order.moves == put_on, seed


def test_a_slot_that_is_not_known_moves_nothing(shop):
    found = boards(shop, ["AB", "AB"], widths={"A": Interval(8.0, 24.0)})
    (change,) = found.changeovers
    assert (change.out, change.into) == ((), ())


def test_a_feeder_has_one_slot_in_all_set_ups_also_where_one_between_them_lacks_it(shop):
    """A is on in the first and third of three set-ups whose parts fill no more than the machine has."""
    found = boards(shop, ["ABC", "BCDE", "ACE"], slots=8)
    stood = {}
    for one in found.set_ups:
        for name, slot in slots_of(one).items():
            stood.setdefault(name, set()).add(slot)
    assert all(len(slots) == 1 for slots in stood.values())
    assert (found.order.in_other_slots, found.order.moves) == (0, found.order.at_least)
    assert plan_json(found)["set_up_order"]["feeders_in_other_slots"] == 0


# Six tapes of 8 mm for five slots, or of 12 mm, which take two each, for nine: one, and three.
@pytest.mark.rows(("slots", "width", "short"), [(5, 8.0, 1.0), (9, 12.0, 3.0), (6, 8.0, None)])
def test_what_one_set_up_for_all_lacks_is_said(shop, slots, width, short):
    parts = [shop.part(f"P{k}", int(k < 3), int(k >= 3), width=width) for k in range(6)]
    job = shop.job(*parts, passes=[Pass("one", marks=2), Pass("other", marks=2)])
    line = shop.line(shop.machine("A", slots=slots))
    found = plan_line(job, line, shop.takes_all(job, line), settings=PlanSettings(time_limit=2.0))
    lacks = plan_json(found)["one_set_up_lacks"]
    assert lacks == (
        short and {"slots": [{"machine": "A", "slots": short}], "tray_places": [], "order_or_nozzles": False}
    )
    told = f"One set-up for all: {short or 0:g} slots short; it would take {short or 0:g} slots more on A"
    assert (told in plan_text(found)) == bool(short)


def test_the_order_listed_never_moves_more_than_the_one_given_slots_counted_in_both(shop):
    """Between as many feeders the slots decide, and what has to change its slot is put on too."""
    for seed in (11, 36, 89):
        rng = np.random.default_rng(seed)
        rows = ["".join(rng.choice(list("ABCDEFGH"), size=rng.integers(2, 5), replace=False)) for _ in range(5)]
        widths = {name: float(rng.choice([8, 12, 24])) for name in "ABCDEFGH"}
        order = boards(shop, rows, slots=9, widths=widths).order
        assert order.at_least <= order.moves <= order.as_given, seed
