"""Plans of a line: who places what, how long it takes, what stops it.

Figures: invented machines and jobs, sums worked by hand; a figure of the trade has its source beside it.
"""

import math

import numpy as np
import pytest
from depth import sample_of

from capcheck.engine import Take
from capcheck.engine.findings import Margin
from capcheck.lexicon import sentence
from capcheck.model import say
from capcheck.planning.job import Pass
from capcheck.planning.plan_data import PlanSettings
from capcheck.planning.planner import mean_cycle, plan_line
from capcheck.report.plan import plan_json, plan_text
from capcheck.values.errors import InputError
from capcheck.values.interval import UNKNOWN_SIZE, Interval
from capcheck.values.units import LENGTH

EXACT = PlanSettings(gap=0.0)
OPEN = Take(0, "lead-pitch")
TALL = Take(-1, "part-height", Margin(-1.2, -1.2, LENGTH, "part.height <= head.max_part_height"))
# The least Cpk: rules/accuracy.toml.
INACCURATE = Take(1, "accuracy", why=say("planning.Cpk below", most=0.9, usual=1.33))


def small(shop, **more):
    parts = [shop.part(f"P{k}", 5 + 3 * k, refs=True, per_container=1000, **more) for k in range(6)]
    return shop.job(*parts), shop.line(shop.machine("A"), shop.machine("B"))


def test_everything_proved_passes_with_a_bound_and_each_reference_once(shop):
    job, line = small(shop)
    plan = plan_line(job, line, shop.takes_all(job, line), settings=EXACT)
    assert (plan.verdict, plan.why) == ("pass", ())
    (set_up,) = plan.set_ups
    assert set_up.bound == pytest.approx(set_up.seconds)
    placed = [ref for f in set_up.feeders for refs in f.refs for ref in refs]
    assert sorted(placed) == sorted(ref for p in job.parts for ref in p.refs[0])


def test_the_sum_shown_is_the_cycle_that_was_optimised(shop):
    job, line = small(shop)
    plan = plan_line(job, line, shop.takes_all(job, line), settings=EXACT)
    assert mean_cycle(plan) == pytest.approx(plan.set_ups[0].seconds)
    assert max(t.planned for t in plan.set_ups[0].times[0]) == pytest.approx(plan.set_ups[0].seconds)


def test_without_splitting_each_part_has_one_feeder(shop):
    job, line = small(shop)
    plan = plan_line(job, line, shop.takes_all(job, line), settings=PlanSettings(split=False))
    assert sorted(f.part for f in plan.set_ups[0].feeders) == sorted(p.name for p in job.parts)


def test_slots_are_numbered_without_overlap(shop):
    parts = [shop.part(f"P{k}", 4, width=w) for k, w in enumerate((8.0, 12.0, 24.0, 8.0))]
    job, line = shop.job(*parts), shop.line(shop.machine("A"))
    feeders = plan_line(job, line, shop.takes_all(job, line)).set_ups[0].feeders
    taken = [slot for f in feeders for slot in range(int(f.slot), int(f.slot + f.slots.low))]
    assert sorted(taken) == list(range(1, 8))


def test_undecided_heads_are_used_only_in_need_and_then_told(shop):
    job, line = small(shop)
    can = shop.takes_all(job, line)
    can[:, 1] = 0
    assert plan_line(job, line, can).verdict == "pass"
    can[2, 0] = -1
    plan = plan_line(job, line, can, {(2, 1): (OPEN,)})
    assert plan.verdict == "warn"
    assert [f.undecided for f in plan.set_ups[0].feeders if f.part == "P2"] == [(OPEN,)]


def test_a_part_that_no_head_takes_is_named_with_reasons_and_the_rest_planned(shop):
    job, line = small(shop)
    can = shop.takes_all(job, line)
    can[3, :] = -1
    plan = plan_line(job, line, can, {(3, 0): (TALL,)})
    assert plan.verdict == "fail"
    assert [(n.part, n.reasons) for n in plan.shortage.nowhere] == [("P3", (("A/H1", (TALL,)),))]
    assert plan.shortage.take_off == (("P3", 14),)
    assert {f.part for f in plan.set_ups[0].feeders} == {p.name for p in job.parts} - {"P3"}


def test_with_a_hand_station_left_over_parts_warn(shop):
    job, _ = small(shop)
    line = shop.line(shop.machine("A"), hand_placement=True)
    can = shop.takes_all(job, line)
    can[3, :] = -1
    assert plan_line(job, line, can).verdict == "warn"


def test_open_tapes_warn_only_where_slots_matter(shop):
    job, _ = small(shop, width=Interval(8.0, 12.0))
    roomy, tight = shop.line(shop.machine("A", slots=12)), shop.line(shop.machine("A", slots=11))
    assert all(o.fits for o in plan_line(job, roomy, shop.takes_all(job, roomy)).set_ups[0].occupied)
    assert plan_line(job, tight, shop.takes_all(job, tight)).verdict == "warn"


@pytest.mark.parametrize(("slots", "set_ups"), [(6, 1), (5, 2)])
def test_boards_share_a_set_up_if_their_union_fits(shop, slots, set_ups):
    passes = [Pass("board", "top", 1000, marks=3), Pass("board", "bottom", 1000, marks=3)]
    parts = [shop.part(f"T{k}", 4, 0) for k in range(2)] + [shop.part(f"B{k}", 0, 4) for k in range(2)]
    parts += [shop.part(f"C{k}", 2, 2) for k in range(2)]
    job, line = shop.job(*parts, passes=passes), shop.line(shop.machine("A", slots=slots))
    plan = plan_line(job, line, shop.takes_all(job, line))
    assert plan.feasible
    assert len(plan.set_ups) == set_ups
    if set_ups > 1:
        (change,) = plan.changeovers
        assert [p for _, p in change.out] == ["T0", "T1"]
        assert [p for _, p in change.into] == ["B0", "B1"]


def test_a_common_set_up_weighs_boards_by_their_quantity(shop):
    passes = [Pass("x", per_year=3000, marks=3), Pass("y", per_year=1000, marks=3)]
    job = shop.job(*(shop.part(f"P{k}", 4 + k, 9 - k) for k in range(5)), passes=passes)
    line = shop.line(shop.machine("A"), shop.machine("B"))
    plan = plan_line(job, line, shop.takes_all(job, line), settings=EXACT)
    cycles = [f.planned for f in plan.set_ups[0].figures]
    assert plan.set_ups[0].seconds == pytest.approx((3 * cycles[0] + cycles[1]) / 4)


def test_an_uptime_that_is_asked_for_goes_before_that_of_the_line(shop):
    line = shop.line(shop.machine("A", times={**shop.times, "uptime": 0.5}), uptime=0.6)
    job = shop.job(shop.part("P", 6))
    for asked, counts in ((None, 0.6), (0.9, 0.9)):
        plan = plan_line(job, line, shop.takes_all(job, line), settings=PlanSettings(uptime=asked))
        assert plan.uptime == Interval.exactly(counts)


@pytest.mark.parametrize(("hours", "verdict"), [(2000, "pass"), (1, "fail")])
def test_demand_is_set_against_hours_and_uptime(shop, hours, verdict):
    parts = [shop.part(f"P{k}", 5) for k in range(4)]
    job = shop.job(*parts, passes=[Pass("board", per_year=1000, marks=3)])
    line = shop.line(shop.machine("A", times={**shop.times, "uptime": 0.5}))
    plan = plan_line(job, line, shop.takes_all(job, line), settings=PlanSettings(hours_per_year=hours))
    assert plan.verdict == verdict
    assert plan.demand.takt == pytest.approx(hours * 3600 * 0.5 / 1000)


def test_a_profile_without_times_slots_or_rates_says_what_is_missing(shop):
    job, _ = small(shop)
    line = shop.line(shop.machine("A", times={}, slots=None, table=None), shop.machine("B", times={}))
    plan = plan_line(job, line, shop.takes_all(job, line))
    assert plan.verdict == "pass"  # everything has a proved place, and nobody asked for a rate
    assert plan.set_ups[0].by_count
    text = " ".join(map(sentence, plan.not_computed))
    assert "the cycle time is undecided" in text
    assert "seconds" in text
    assert "A: free slots" in text
    assert all(math.isinf(f.cycle.high) for f in plan.set_ups[0].figures)


def test_tall_parts_come_after_machines_that_carry_low(shop):
    tall = shop.part("TALL", 6, height=Interval.exactly(9.0))
    job = shop.job(*(shop.part(f"P{k}", 10, height=Interval.exactly(1.0)) for k in range(3)), tall)
    line = shop.line(shop.machine("A"), shop.machine("B", board={"top_clearance": "8 mm"}))
    plan = plan_line(job, line, shop.takes_all(job, line), settings=EXACT)
    assert {f.machine for f in plan.set_ups[0].feeders if f.part == "TALL"} == {"B"}


def test_the_lowest_head_of_a_machine_decides_what_may_stand_under_it(shop):
    tall = shop.part("TALL", 6, height=Interval.exactly(9.0))
    job = shop.job(*(shop.part(f"P{k}", 10, height=Interval.exactly(1.0)) for k in range(3)), tall)
    for heads, machines in ((["8 mm"], {"B"}), (["9 mm"], {"A", "B"}), (["9 mm", "8 mm"], {"B"})):
        low = [{"name": f"H{k}", "nozzles": 2, "top_clearance": room} for k, room in enumerate(heads)]
        line = shop.line(shop.machine("A"), shop.machine("B", board={"top_clearance": "20 mm"}, head=low))
        plan = plan_line(job, line, shop.takes_all(job, line), settings=EXACT)
        assert {f.machine for f in plan.set_ups[0].feeders if f.part == "TALL"} <= machines


@pytest.mark.parametrize(("height", "verdict"), [(8.0, "pass"), (9.0, "warn"), (12.0, "warn"), (12.1, "fail")])
def test_what_only_the_highest_head_clears_is_marked_and_not_called_infeasible(shop, height, verdict):
    """The second machine has to place Q over TALL, which the first alone takes."""
    tall = shop.part("TALL", 6, height=Interval.exactly(height))
    job = shop.job(tall, shop.part("Q", 6, height=Interval.exactly(1.0)))
    heads = [{"name": f"H{room}", "nozzles": 2, "top_clearance": f"{room} mm"} for room in (8, 12)]
    line = shop.line(shop.machine("A"), shop.machine("B", head=heads))
    can = np.array([[1, -1, -1], [-1, 1, 1]], dtype=np.int8)
    plan = plan_line(job, line, can, settings=EXACT)
    assert plan.verdict == verdict
    if verdict == "warn":
        assert any("8 mm" in sentence(said) for f in plan.set_ups[0].feeders for said in f.undecided)


def test_a_part_that_may_be_too_tall_is_kept_behind_where_that_is_possible_and_else_marked(shop):
    open_height = shop.part("OPEN", 6, height=Interval(7.0, 9.0))
    flat = [shop.part(f"P{k}", 10, height=Interval.exactly(1.0)) for k in range(3)]
    job = shop.job(*flat, open_height)
    line = shop.line(shop.machine("A"), shop.machine("B", board={"top_clearance": "8 mm"}))
    can = shop.takes_all(job, line)
    can[0, :] = 0  # another part is undecided on every head: that loosens nobody's height
    plan = plan_line(job, line, can, settings=EXACT)
    assert {f.machine for f in plan.set_ups[0].feeders if f.part == "OPEN"} == {"B"}
    can[3, 1], can[1, 0] = -1, -1  # now it can only stand before the second machine, which one part needs
    plan = plan_line(job, line, can, settings=EXACT)
    marked = {f.part: " ".join(map(sentence, f.undecided)) for f in plan.set_ups[0].feeders if f.undecided}
    assert "B" in marked["OPEN"]
    assert "8 mm" in marked["OPEN"]
    assert plan.verdict == "warn"


@pytest.mark.parametrize("seed", sample_of(range(4), 2))
def test_more_capable_heads_never_make_a_line_slower(shop, seed):
    rng = np.random.default_rng(seed)
    job, line = small(shop)
    can = np.where(rng.random((6, 2)) < 0.4, -1, 1).astype(np.int8)
    can[(can < 0).all(axis=1), 0] = 1
    before = mean_cycle(plan_line(job, line, can, settings=EXACT))
    assert mean_cycle(plan_line(job, line, np.ones_like(can), settings=EXACT)) <= before + 1e-9


@pytest.mark.parametrize(
    ("change", "text"),
    [
        ({"counts": (0,)}, "counts"),
        ({"counts": (-1,)}, "counts"),
        ({"counts": (1, 2)}, "counts for 1 passes"),
    ],
)
def test_contradicting_counts_are_refused(shop, change, text):
    with pytest.raises(InputError, match=text):
        shop.job(shop.part("P", *change["counts"]))


def test_contradicting_demands_are_refused_all_at_once(shop):
    passes = [Pass("x", "top", 100), Pass("x", "bottom", 200), Pass("y", "top", 0), Pass("y", "top", 5)]
    with pytest.raises(InputError) as error:
        shop.job(shop.part("P", 1, 1, 1, 0), passes=passes)
    text = str(error.value)
    for part in ("different yearly quantities", "yearly quantity of 0", "demanded twice", "no fitted parts"):
        assert part in text


def test_capabilities_of_another_line_are_refused(shop):
    job, line = small(shop)
    with pytest.raises(InputError, match="6 parts and 2 heads"):
        plan_line(job, line, np.ones((6, 3), dtype=np.int8))


def test_unknown_tape_widths_still_give_a_plan(shop):
    job, line = small(shop, width=UNKNOWN_SIZE)
    plan = plan_line(job, line, shop.takes_all(job, line))
    assert plan.feasible
    assert plan.verdict in {"pass", "warn"}


def test_without_the_solver_the_error_says_how_to_get_it(shop, monkeypatch):
    monkeypatch.setitem(__import__("sys").modules, "highspy", None)
    job, line = small(shop)
    with pytest.raises(InputError, match=r'pip install "capcheck\[plan\]"'):
        plan_line(job, line, shop.takes_all(job, line))


def test_a_part_that_is_open_everywhere_goes_to_the_most_able_head_while_such_parts_are_few(shop):
    able = {
        "max_body_length": "50 mm",
        "max_part_height": "20 mm",
        "min_lead_pitch": "0.3 mm",
        "recognises_balls": True,
    }
    small = {"max_body_length": "10 mm", "max_part_height": "5 mm", "min_lead_pitch": "0.4 mm"}
    line = shop.line(
        shop.machine("A", head=[{"name": "H1", "nozzles": 6, **small}]),
        shop.machine("B", head=[{"name": "H1", "nozzles": 1, "recognises_balls": True, **able}]),
    )
    job = shop.job(shop.part("P", 40), shop.part("OPEN", 2))
    can = np.array([[1, 1], [0, 0]], dtype=np.int8)
    plan = plan_line(job, line, can)
    assert {f.machine for f in plan.set_ups[0].feeders if f.part == "OPEN"} == {"B"}
    many = shop.job(shop.part("P", 4), shop.part("OPEN", 40))
    plan = plan_line(many, line, can)
    assert {f.machine for f in plan.set_ups[0].feeders if f.part == "OPEN"} == {"A", "B"}, "one head would be too slow"


def test_feeders_of_open_width_are_given_room_for_the_widest_as_long_as_there_is_room(shop):
    job = shop.job(shop.part("P", 9), shop.part("OPEN", 8, width=Interval(8.0, 12.0)), shop.part("Q", 7))
    for slots, expected in ((4, [1, 2, 4]), (3, [1, 2, None])):
        line = shop.line(shop.machine("A", slots=slots))
        (set_up,) = plan_line(job, line, shop.takes_all(job, line)).set_ups
        assert [f.slot for f in set_up.feeders] == expected


@pytest.mark.parametrize(("slots", "is_told"), [(8, False), (7, True)])
def test_a_set_up_near_its_slots_with_usual_tapes_is_told(shop, slots, is_told):
    job = shop.job(*(shop.part(f"P{k}", 3, usual_tape=True) for k in range(4)))
    line = shop.line(shop.machine("A", slots=slots))
    plan = plan_line(job, line, shop.takes_all(job, line), settings=EXACT)
    assert plan.verdict == "pass", "a check judges by the usual tapes too"
    told = "the slots of A suffice with the tapes usual for the bodies (4 of 7), not if each came one width wider (8)"
    assert any(told in sentence(said) for said in plan.notes) is is_told


def test_slots_that_are_short_with_usual_tapes_say_so(shop):
    job = shop.job(*(shop.part(f"P{k}", 3, usual_tape=True) for k in range(4)))
    line = shop.line(shop.machine("A", slots=3))
    plan = plan_line(job, line, shop.takes_all(job, line), settings=EXACT)
    told = "1 part number not placed: the machines cannot place them with the tapes usual for the bodies"
    assert sentence(plan.failed[0]) == told


def test_a_tray_place_that_is_short_only_warns_since_another_packaging_may_be_asked_for(shop):
    job = shop.job(shop.part("P", 3), *(shop.part(f"T{k}", 2 + k, supply="tray") for k in range(2)))
    for trays, verdict, left in ((2, "pass", []), (1, "warn", [("T0", 2)])):
        line = shop.line(shop.machine("A", trays=trays))
        plan = plan_line(job, line, shop.takes_all(job, line), settings=EXACT)
        assert plan.verdict == verdict
        assert list(plan.shortage.take_off if plan.shortage else ()) == left
    nowhere = shop.takes_all(job, line)
    nowhere[0] = -1
    plan = plan_line(job, line, nowhere, settings=EXACT)
    assert [[part for part, _ in said.values["parts"]] for said in (*plan.failed, *plan.warned)] == [["P"], ["T0"]]
    assert plan.verdict == "fail"


@pytest.mark.parametrize("table", [{"8 mm": 1}, None])
def test_a_part_stands_on_the_head_that_is_proved_before_another_of_its_machine(shop, table):
    # The first machine has a slot for one part alone, so that what is open must be counted as possible; the second
    # machine's first head is open for P and faster, its second is proved.
    job = shop.job(*(shop.part(f"Q{k}", 2) for k in range(2)), shop.part("P", 30))
    first = shop.machine("A", slots=1, table={"8 mm": 1}, nozzles=1)
    second = shop.machine("B", slots=9, table=table, gantries=2)
    line = shop.line(first, second)
    can = np.array([[1, 0, -1], [1, 0, -1], [-1, 0, 1]], dtype=np.int8)
    reasons = {(j, 1): (OPEN,) for j in range(3)}
    plan = plan_line(job, line, can, reasons, settings=EXACT)
    assert {head for f in plan.set_ups[0].feeders if f.part == "P" for head in f.heads} == {"H2"}
    assert any(OPEN in f.undecided for f in plan.set_ups[0].feeders if f.part != "P")


def test_what_a_check_only_warns_of_stands_before_what_it_leaves_open(shop):
    # Proved by the rules though only warned of (its usual supply, its Cpk): proved, and the warning is told.
    job, line = shop.job(shop.part("P", 3)), shop.line(shop.machine("A", gantries=2))
    can = np.array([[0, 1]], dtype=np.int8)
    reasons = {(0, 0): (OPEN,), (0, 1): (INACCURATE,)}
    plan = plan_line(job, line, can, reasons, settings=EXACT)
    (feeder,) = plan.set_ups[0].feeders
    assert (feeder.heads, feeder.undecided) == (("H2",), (INACCURATE,))
    assert plan.verdict == "warn"


def test_the_price_of_each_step_is_told_and_the_times_are_their_sum(shop):
    """An oven of 30 s lets few feeders serve, at the price of the machines' own time; the third step wins some back."""
    won = 0
    for seed in range(6):
        rng = np.random.default_rng(seed)
        job = shop.job(*(shop.part(f"P{k}", int(n)) for k, n in enumerate(rng.integers(3, 25, 7))))
        line = shop.line(shop.machine("A"), shop.machine("B"), station=[{"name": "oven", "cycle": "30 s"}])
        found = plan_line(job, line, shop.takes_all(job, line), settings=PlanSettings(time_limit=3.0))
        (told,) = plan_json(found)["set_ups"]
        slowest = max(machine["planned_s"] for machine in told["times"][0]["machines"])
        steps = told["objective"]["value"] + told["feeders_price_s"] - told["balance_brings_s"]
        assert slowest == pytest.approx(steps, abs=1e-6)
        won += told["balance_brings_s"] > 0.01
        assert ("balanced once more with these feeders" in plan_text(found)) == (told["balance_brings_s"] > 0.0005)
    assert won


def test_what_is_lost_shortens_the_time_to_a_refill(shop):
    """A reel of 1,000 lasts 100 boards of ten; of a thousand 250 more are taken, so 80."""
    for lost, passes, told in ((0, 100.0, "1000 / 10 = 100.0"), (250, 80.0, "1000 / (10 × 1.25) = 80.0")):
        job = shop.job(shop.part("P", 10, per_container=1000, lost_per_thousand=lost))
        line = shop.line(shop.machine("A"))
        found = plan_line(job, line, shop.takes_all(job, line))
        (feeder,) = plan_json(found)["set_ups"][0]["feeders"]
        assert (feeder["boards_between_refills"], feeder["lost_per_thousand"]) == ([passes], lost)
        assert told in plan_text(found)


@pytest.mark.parametrize("height", [Interval(7.0, 9.0), UNKNOWN_SIZE])
def test_a_tape_of_unknown_width_loosens_no_height(shop, height):
    """Four parts fit on 2 × 2 slots if each tape is narrow. 10 + 30 on A would be even with 20 + 20 on B, 8 mm low."""
    counts = {"WIDE": 10, "F1": 20, "F2": 20}
    flat = [
        shop.part(k, n, width=Interval(8.0, 12.0) if k == "WIDE" else 8.0, height=Interval.exactly(1.0))
        for k, n in counts.items()
    ]
    job = shop.job(*flat, shop.part("TALL", 30, height=height))
    line = shop.line(shop.machine("A", slots=2), shop.machine("B", slots=2, board={"top_clearance": "8 mm"}))
    can = shop.takes_all(job, line)
    can[0, 1] = -1
    found = plan_line(job, line, can, settings=EXACT)
    assert found.shortage is None
    by_machine = {f.part: f.machine for f in found.set_ups[0].feeders}
    assert (by_machine["WIDE"], by_machine["TALL"]) == ("A", "B")
    assert not [f for f in found.set_ups[0].feeders if f.undecided]
