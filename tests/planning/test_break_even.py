"""One common set-up against one for each board, and carts: as sums that can be done by hand.

Figures: boards, machines and minutes are invented in round numbers, sums by hand; break-even of two processes is
fixed / variable difference, as in any textbook of operations management.
"""

import itertools
import shutil

import numpy as np
import pytest

from capcheck.checking import prepare
from capcheck.checking.answer import Choice
from capcheck.planning import PlanSettings, plan
from capcheck.planning.set_up_work import work_of
from capcheck.report.papers import plan_page
from capcheck.report.plan import plan_json, plan_text
from capcheck.shop import Settings
from capcheck.shop.costs import Costs
from capcheck.values.interval import Interval

# A placement takes 1 s on A, which has room for two part numbers, and 2 s on B; a board nothing on top.
MACHINE = """\
name = "{name}"
rated = "{rate} 1/hour"
[feeders]
slots_used = {{ "8 mm" = 1 }}
[timing]
derate = [1, 1]
board_transfer = "0 s"
fiducial = "0 s"
uptime = 1
[[head]]
name = "h"
max_part_height = "3 mm"
max_body_length = "50 mm"
max_body_width = "50 mm"
accuracy = "0.01 mm"
accuracy_sigma = 3
rotation_accuracy = "0.01 degree"
[[bank]]
name = "front"
slots = {slots}
cart = {cart}
"""


@pytest.fixture
def family(make_board, make_line, tmp_path):
    """Return the plan of two boards without a part number in common, each of two of them, ten times each."""

    def of(slots=8, cart="false", per_year=(None, None), set_up="auto", tall=False, **costs):
        folders = []
        for name in ("one", "two"):
            shutil.rmtree(tmp_path / name, ignore_errors=True)
            refs = [(f"R{n}{k}", f"PN-{name}{n}") for n in (1, 2) for k in range(10)]
            rows = [f"{ref},{3 + k},10,0,top,{number},OWN LAND" for k, (ref, number) in enumerate(refs)]
            bom = ["Ref,Qty,Part number,Length [mm],Width [mm],Height [mm],Tape width"]
            bom += [f"{ref},1,{number},1.6,0.8,1,8" for ref, number in refs]
            if tall:
                rows.append(f"R99,3,20,0,top,PN-tall-{name},OWN LAND")
                bom.append(f"R99,1,PN-tall-{name},1.6,0.8,9,8")
            made = make_board([*rows, "FID1,2,2,0,top,,"], bom=bom, toml='[mounting]\n"R*" = "surface"\n')
            folders.append(made.rename(tmp_path / name))
        fast, slow = (("A", 3600, 2), ("B", 1800, slots))
        machines = [MACHINE.format(name=n, rate=r, slots=s, cart=cart) for n, r, s in (fast, slow)]
        choice = Choice(select=["part-height", "largest-body"])
        shop = prepare(Settings(choice=choice, costs=Costs.model_validate(costs)), None)
        settings = PlanSettings(set_up=set_up)
        return plan(
            folders, make_line(*machines), per_year=per_year, shop=shop, settings=settings, break_even=True
        ).plan

    return of


# Alone a board has both its numbers on A and one on B too: 13 placements of 1 s, 7 of 2 s, so 14 s. Together A has one
# number of each: 10 placements of 2 s on B. Three feeders are put on for a batch, each two minutes: 360 s / 6 s.
@pytest.mark.rows(
    ("costs", "per_year", "batch"),
    [
        ({"feeder_minutes": 2}, (None, None), Interval.exactly(60.0)),
        ({"feeder_minutes": 2, "board_minutes": 9}, (100, 100), Interval.exactly(60.0)),
        ({"feeder_minutes": 2, "board_minutes": [1, 9]}, (None, None), Interval.exactly(60.0)),
        ({"feeder_minutes": [1, 2]}, (None, None), Interval(30.0, 60.0)),
        ({"feeder_minutes": 2, "set_up_people": 2}, (100, 300), Interval.exactly(30.0)),
        ({"feeder_minutes": 2, "feeders_beside": True}, (None, None), None),
        ({}, (None, None), None),
    ],
)
def test_the_batch_from_which_set_ups_of_their_own_are_quicker(family, costs, per_year, batch):
    found = family(per_year=per_year, **costs)
    assert [(one.common_s, one.own_s) for one in found.break_even.boards] == [(20.0, 14.0)] * 2
    told = found.break_even.batch
    assert (told and Interval(round(told.low, 6), round(told.high, 6))) == batch
    assert plan_json(found)["break_even"]["batch"] == told
    text = " ".join(plan_text(found).split())
    assert ("as quick at batches of" in text) == (batch is not None)
    if batch is not None and batch.is_exact and costs.get("set_up_people", 1) == 1:
        # The sums themselves: common Q × 20, own Q × 14 and three feeders of two minutes, for each board.
        quicker = [q for q in range(1, 200) if q * 14 + 3 * 120 < q * 20]
        assert min(quicker) == batch.high + 1
    assert "against 14.00 s" in plan_page(found)


def test_where_one_set_up_does_not_hold_everything_what_it_lacks_is_said_instead(family):
    found = family(slots=1, feeder_minutes=2)
    assert found.break_even is None
    assert sum(number for _, number in found.common_shortage.slots_short) == 1
    assert "One set-up for all: 1 slots short" in plan_text(found)


@pytest.mark.rows(
    ("slots", "set_up", "is_compared"), [(8, "auto", True), (8, "each", True), (1, "each", False), (1, "common", False)]
)
def test_a_part_that_no_head_takes_is_no_lack_of_one_set_up(family, slots, set_up, is_compared):
    """The tall part is left over in every plan. With a slot less a part more is, and no plan that has all is slower."""
    found = family(slots=slots, set_up=set_up, tall=True, feeder_minutes=2)
    assert (found.break_even is not None) == is_compared
    lacks = found.common_shortage
    assert (lacks and sum(number for _, number in lacks.slots_short)) == (None if is_compared else 1)


# Nine feeders on a cart and one beside it, of 60 s each; the cart takes 300 s.
@pytest.mark.rows(
    ("costs", "stands", "work"),
    [
        ({"feeder_minutes": 1}, 600.0, 600.0),
        ({"feeder_minutes": 1, "cart_minutes": 5}, 360.0, 900.0),
        ({"feeder_minutes": 1, "cart_minutes": 10}, 600.0, 600.0),
        ({"feeder_minutes": 1, "cart_minutes": 5, "set_up_people": 2}, 300.0, 600.0),
        ({"feeder_minutes": 1, "cart_minutes": 5, "feeders_beside": True}, 300.0, 900.0),
        ({"feeder_minutes": 1, "cart_minutes": 5, "board_minutes": 1}, 420.0, 960.0),
        ({"cart_minutes": 5}, 300.0, 300.0),
    ],
)
def test_a_cart_is_exchanged_where_that_is_quicker_than_its_feeders_one_by_one(costs, stands, work):
    """Of two people the nine take 270 s, less than the cart; with the tenth 300 s."""
    moved = {"A, front": 9, "B": 1}
    found = work_of(1, [(moved, moved)], Costs.model_validate(costs), frozenset({"A, front"}))
    assert (found.stands, found.work) == (Interval.exactly(stands), Interval.exactly(work))


def test_a_plan_counts_the_carts_of_its_line(family):
    found = family(cart="true", set_up="each", feeder_minutes=5, cart_minutes=1, machine_hour=60)
    for cost in found.costs:
        assert cost.set_up.carts.high == 2
        assert cost.set_up.stands.high == 120.0
    assert "2 carts × 60.00 s" in " ".join(plan_text(found).split())


def test_carts_are_judged_at_both_ends_of_the_minutes():
    """Nine feeders on a cart and one beside it: at best the cart is quicker, 60 + 60 s; at worst one by one, 600 s."""
    rates = Costs.model_validate({"feeder_minutes": 1, "cart_minutes": [1, 10]})
    moved = {"M, left": 9, "M, right": 1}
    work = work_of(0, [(moved, moved)], rates, frozenset({"M, left"}))
    assert (work.stands, work.at_best, work.at_worst) == (Interval(120.0, 600.0), (1, 1), (0, 10))
    # Not to be exchanged is 600 s of work, to be exchanged one cart of 600 s at most more.
    assert work.work == Interval(600.0, 1200.0)
    sure = Costs.model_validate({"feeder_minutes": 1, "cart_minutes": [1, 2]})
    assert work_of(0, [(moved, moved)], sure, frozenset({"M, left"})).at_worst == (1, 1)


@pytest.mark.parametrize("seed", range(3))
def test_whatever_the_minutes_are_within_their_ends_the_sums_lie_within_the_bounds(seed):
    """Each minute within its ends, each batch after the set-up that moves least or most: as a person would decide."""
    rng = np.random.default_rng(seed)
    for _ in range(30):
        moved = [
            tuple({p: int(rng.integers(0, 9)) for p in "ABC"} for _ in range(2)) for _ in range(rng.integers(1, 3))
        ]
        cart, feeder = (sorted(map(float, rng.integers(1, 12, 2))) for _ in range(2))
        people, beside = int(rng.integers(1, 4)), bool(rng.random() < 0.3)
        rates = {"cart_minutes": cart, "feeder_minutes": feeder, "set_up_people": people, "feeders_beside": beside}
        found = work_of(0, moved, Costs.model_validate(rates), frozenset("AB"))
        all_stands = []
        for c, f in itertools.product(np.linspace(*cart, 3), np.linspace(*feeder, 3)):
            for chosen in itertools.product(*moved):
                numbers = [(place, n) for of in chosen for place, n in of.items() if n]
                whole = [n for place, n in numbers if place in "AB" and (beside or c < n * f / people)]
                every = sum(n for _, n in numbers)
                loose = 0.0 if beside else f * (every - sum(whole)) / people
                all_stands.append(60 * (c * len(whole) + loose))
                work = 60 * (f * every + c * len(whole) * people)
                assert found.work.low - 1e-6 <= work <= found.work.high + 1e-6
                assert found.carts.low <= len(whole) <= found.carts.high
                assert found.one_by_one.low <= every - sum(whole) <= found.one_by_one.high
        assert (found.stands.low, found.stands.high) == pytest.approx((min(all_stands), max(all_stands)))
        for (carts, loose), seconds, end in (
            (found.at_best, found.stands.low, 0),
            (found.at_worst, found.stands.high, 1),
        ):
            assert 60 * (carts * cart[end] + (0 if beside else loose * feeder[end] / people)) == pytest.approx(seconds)
