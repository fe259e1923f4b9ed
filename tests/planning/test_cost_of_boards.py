"""What a board costs, boards of a shift, refills, feeders to own: as sums that textbooks and their exercises give too.

Figures: boards, machines and rates are invented in round numbers, sums by hand; each published example has its source.
"""

import json
import math

import pytest

from capcheck.checking import prepare
from capcheck.checking.answer import Choice
from capcheck.planning import Supply, compare, feeders_to_own, on_bottleneck, plan, refills_an_hour
from capcheck.report import json_text
from capcheck.report.papers import comparison_page, plan_page
from capcheck.report.plan import comparison_json, comparison_text, plan_json, plan_text
from capcheck.shop import Settings
from capcheck.shop.configuration import read_configuration
from capcheck.shop.costs import Costs
from capcheck.values.errors import InputError
from capcheck.values.interval import Interval

# A placement takes 1 s, a board nothing on top: a board of N chips takes N seconds.
MACHINE = """\
name = "M"
rated = "3600 1/hour"
[feeders]
slots = 40
slots_used = { "8 mm" = 1 }
tray_places = 0
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
"""


def board(make_board, chips=45, kinds=1, through=0):
    """A board of so many chips of some part numbers, and of parts with leads through holes."""
    refs = [(f"R{k}", f"PN-R{k % kinds}") for k in range(chips)] + [(f"J{k}", "PN-J") for k in range(through)]
    rows = [f"{ref},{3 + k},10,0,top,{number},OWN LAND" for k, (ref, number) in enumerate(refs)]
    bom = ["Ref,Qty,Part number,Length [mm],Width [mm],Height [mm],Tape width"]
    for number in dict.fromkeys(number for _, number in refs):
        mine = [ref for ref, other in refs if other == number]
        bom.append(f'"{",".join(mine)}",{len(mine)},{number},1.6,0.8,1,8')
    rows += ["FID1,2,2,0,top,,", "FID2,90,90,0,top,,"]
    return make_board(rows, bom=bom, toml='[mounting]\n"R*" = "surface"\n"J*" = "through hole"\n')


def shop(**costs):
    choice = Choice(select=["part-height", "largest-body"])
    return prepare(Settings(choice=choice, costs=Costs.model_validate(costs)), None)


def planned(folder, line, costs, **more):
    return plan([folder], line, shop=shop(**costs), **more).plan


def cost_of(folder, line, **costs):
    (cost,) = planned(folder, line, costs).costs
    return cost


@pytest.mark.parametrize(("good", "published"), [(1 - 0.0345, 4.29), (1 - 0.0216, 4.23), (0.97, 4.27)])
def test_a_published_unit_cost(make_board, make_line, good, published):
    # mfgcalcs.com, lean-manufacturing-operations/unit-cost, worked examples of high and of low scrap rate: labour
    # 38 $/h, machine 55 $/h, 45 s a part, set-up 240 $ for 500 parts, material 2.5 $ a part, scrap 3.45 %, 2.16 % and
    # 3 %. They give 1.16 $ for labour and machine, 0.48 $ for set-up, and the unit cost with the material.
    costs = {"machine_hour": 55, "operator_hour": 38, "operators": 1, "per_batch": 240, "batch": 500, "good": good}
    found = cost_of(board(make_board), make_line(MACHINE), **costs)
    amounts = {term.kind: term.amount.high for term in found.terms}
    assert round(amounts["machines"] + amounts["operators"], 2) == 1.16
    assert amounts["set-up"] == pytest.approx(0.48)
    assert found.total.is_exact
    assert round(found.total.high + 2.5 / good, 2) == published


@pytest.mark.parametrize(
    ("uptime", "good", "made_of_fastest", "published"),
    [
        # waycalculator.com, tool Overall-Equipment-Effectiveness-OEE-Calculator, example 1: 420 of 480 minutes, 400
        # made at 1 minute at the fastest, 380 good: 0.875 × 0.952 × 0.95 = 79.1 %.
        (420 / 480, 380 / 400, 0.952, 0.791),
        # scribd.com document 436966062, worksheet: 1,820 of 2,780 minutes, 1,626 pieces at 1.041 a minute, 8 rejected:
        # 65.47 % × 85.82 % × 99.50 % = 55.90 %.
        (1820 / 2780, 1618 / 1626, 1626 / 1820 / 1.041, 0.559),
    ],
)
def test_a_published_equipment_effectiveness(make_board, make_line, uptime, good, made_of_fastest, published):
    line = make_line(MACHINE.replace("uptime = 1", f"uptime = {uptime}"))
    found = cost_of(board(make_board), line, good=good, shift_hours=8)
    # Losses of speed are no part of a plan: the examples state them as a factor.
    assert found.good_share.high * made_of_fastest == pytest.approx(published, abs=5e-4)
    assert found.per_shift.high == pytest.approx(8 * 3600 * uptime * good / 45)


def test_the_boards_of_a_shift_hold_the_takt_of_a_published_example(make_board, make_line):
    # leandesignstudio.com, topic calculate-takt-time: 400 minutes of work for 100 units are a takt of 4.00 minutes; a
    # line that takes exactly the takt makes just the demand. Here 40 s and a tenth of the hours for as many.
    found = cost_of(board(make_board, 40), make_line(MACHINE), shift_hours=400 / 60 / 6)
    assert found.per_shift.high == pytest.approx(100)


def test_the_set_up_of_a_batch_by_the_data_of_an_exercise(make_board, make_line):
    # cpanel.uap.edu.pe/profesionales/33100694: set-up 210 minutes, batch 85, cycle 4.1 + 1 + 0.2 + 8 / 30 minutes. By
    # hand: 5.5667 + 210 / 85 = 8.0373 minutes a piece, 7.465 an hour. Here the cycle in seconds, all times / 6.68.
    scale = 50 / (60 * (4.1 + 1 + 0.2 + 8 / 30))
    costs = {"board_minutes": 210 * scale, "batch": 85, "shift_hours": scale}
    found = cost_of(board(make_board, 50), make_line(MACHINE), **costs)
    assert found.per_shift.high == pytest.approx(7.465, abs=5e-4)


def test_every_part_of_the_cost_by_hand(make_board, make_line):
    costs = {
        "machine_hour": 36,
        "operator_hour": 18,
        "operators": 2,
        "batch": 100,
        "board_minutes": 10,
        "feeder_minutes": 2,
        "set_up_people": 2,
        "feeder_hour": 0.36,
        "hand_hour": 36,
        "hand_seconds": 5,
    }
    found = cost_of(board(make_board, 40, kinds=4, through=3), make_line(MACHINE), **costs)
    amounts = {term.kind: term.amount.high for term in found.terms}
    # The line stands 600 s + 4 × 120 s / 2 = 840 s; two people work 1200 s and 480 s on feeders: 1680 s.
    assert (found.set_up.stands.high, found.set_up.work.high) == (840.0, 1680.0)
    assert amounts["machines"] == pytest.approx(0.4)  # 36 × 40 / 3600
    assert amounts["operators"] == pytest.approx(0.4)  # 2 × 18 × 40 / 3600
    assert amounts["set-up"] == pytest.approx((8.4 + 8.4) / 100)  # 36 × 840 / 3600 + 18 × 1680 / 3600
    assert amounts["hand"] == pytest.approx(0.15)  # 36 × 3 × 5 / 3600
    (feeders,) = (t for t in found.terms if t.kind == "feeders")
    # Four feeders for 40 s, and none to all four of them while the line stands, 8.4 s a board.
    assert feeders.amount.low == pytest.approx(0.36 * 160 / 3600)
    assert feeders.amount.high == pytest.approx(0.36 * (160 + 4 * 8.4) / 3600)
    assert found.not_counted == ()


def test_feeders_prepared_beside_the_line_cost_work_and_no_time_of_it(make_board, make_line):
    costs = {"machine_hour": 36, "operator_hour": 18, "operators": 1, "batch": 10, "feeder_minutes": 2}
    found = cost_of(board(make_board, 40, kinds=4), make_line(MACHINE), feeders_beside=True, **costs)
    assert (found.set_up.stands.high, found.set_up.work.high) == (0.0, 480.0)


def test_a_bench_states_its_seconds_and_its_people_share_them(make_board, make_line):
    # Three parts of 5 s are 15 s of work, however many people share it.
    extra = '[[bench]]\nname = "hand"\nseconds = "5 s"\npeople = 3\n'
    found = cost_of(board(make_board, 40, through=3), make_line(MACHINE, extra=extra), hand_hour=36, hand_seconds=99)
    assert (found.total.low, found.total.high) == (pytest.approx(0.15), pytest.approx(0.15))


@pytest.mark.parametrize(
    ("without", "costs", "lacks"),
    [
        ("uptime = 1\n", {"machine_hour": 36}, "uptime"),
        ('rated = "3600 1/hour"\n', {"machine_hour": 36}, "cycle"),
        ("", {"machines": {"other": 3}, "operator_hour": 18}, "operators"),
        ("", {"hand_hour": 36}, "seconds by hand"),
    ],
)
def test_what_is_not_stated_opens_the_upper_end_and_is_named(make_board, make_line, without, costs, lacks):
    found = cost_of(board(make_board, 40, through=1), make_line(MACHINE.replace(without, "")), **costs)
    assert lacks in found.open_because
    assert math.isinf(found.total.high)
    assert math.isfinite(found.total.low)


def test_a_batch_that_nobody_states_may_be_of_one_board_or_of_many(make_board, make_line):
    found = cost_of(board(make_board, 40), make_line(MACHINE), machine_hour=36, board_minutes=10)
    # 0.4 to run; a set-up of 600 s costs 6.
    assert (found.total.low, found.total.high) == (pytest.approx(0.4), pytest.approx(6.4))
    assert found.open_because == ("batch",)


def test_a_machine_without_a_rate_opens_the_cost_and_stations_count_where_they_have_one(make_board, make_line):
    folder = board(make_board, 40)
    line = make_line(MACHINE, extra='[[station]]\nname = "oven"\ncycle = "20 s"\nlength = "1 m"\n')
    by_name = cost_of(folder, line, machines={"M": 36, "oven": 9})
    assert (by_name.total.low, by_name.total.high) == (pytest.approx(0.5), pytest.approx(0.5))
    open_ = cost_of(folder, line, machines={"oven": 9})
    assert (open_.total.low, open_.total.high, open_.open_because) == (
        pytest.approx(0.1),
        math.inf,
        ("rate of a machine",),
    )


def test_ranges_stay_ranges(make_board, make_line):
    line = make_line(MACHINE.replace("derate = [1, 1]", "derate = [0.5, 1]").replace("uptime = 1", "uptime = 0.8"))
    found = cost_of(board(make_board, 40), line, machine_hour=[36, 45], good=[0.9, 1.0])
    # 40 to 80 s / 0.8 are 50 to 100 s: 36 × 50 / 3600 = 0.5 and 45 × 100 / 3600 / 0.9.
    assert found.total.low == pytest.approx(0.5)
    assert found.total.high == pytest.approx(1.25 / 0.9)


def test_what_is_not_proved_of_a_part_may_have_to_be_paid_by_hand(make_board, make_line):
    silent = make_line(MACHINE.replace('max_part_height = "3 mm"\n', ""))
    (term,) = cost_of(board(make_board, 40), silent, hand_hour=36, hand_seconds=5).terms
    assert (term.amount.low, term.amount.high) == (0.0, pytest.approx(2.0))


def test_of_several_boards_a_set_up_moves_no_feeder_to_all_of_the_board(make_board, make_line):
    first = board(make_board, 40, kinds=4)
    first = first.rename(first.with_name("first"))
    second = board(make_board, 40)
    costs = shop(operator_hour=18, operators=1, feeder_minutes=2, batch=10)
    found = plan([first, second], make_line(MACHINE), shop=costs).plan
    assert len(found.set_ups) == 1
    assert [cost.set_up.feeders for cost in found.costs] == [Interval(0.0, 4.0), Interval(0.0, 1.0)]


def test_refills_of_an_hour_and_the_people_whom_they_take(make_board, make_line):
    folder = board(make_board, 40, kinds=2)
    found = planned(
        folder, make_line(MACHINE), {"refill_minutes": [1, 2]}, supply=Supply({"PN-R0": 1000, "PN-R1": 500})
    )
    (one,) = refills_an_hour(found)
    # 90 boards an hour × (20 / 1000 + 20 / 500) are 5.4; at 1 to 2 minutes 0.09 to 0.18 people.
    assert (one.per_hour.low, one.per_hour.high) == (pytest.approx(5.4), pytest.approx(5.4))
    assert (one.people.low, one.people.high) == (pytest.approx(0.09), pytest.approx(0.18))
    (half,) = refills_an_hour(planned(folder, make_line(MACHINE), {}, supply=Supply({"PN-R0": 1000})))
    assert (half.per_hour.low, half.per_hour.high, half.unknown) == (pytest.approx(1.8), math.inf, ("PN-R1",))
    assert half.people is None
    assert "not known how much there is of PN-R1" in plan_text(
        planned(folder, make_line(MACHINE), {}, supply=Supply({"PN-R0": 1000}))
    )


def test_feeders_to_own_by_width(make_board, make_line):
    (owned,) = feeders_to_own(planned(board(make_board, 40, kinds=4), make_line(MACHINE), {}))
    assert (owned.kind, owned.width, owned.at_once, owned.beside) == (
        "tape",
        8,
        Interval.exactly(4.0),
        Interval.exactly(4.0),
    )


def test_the_bottleneck_by_part_number_adds_up_to_its_cycle(make_board, make_line):
    found = planned(board(make_board, 40, kinds=3), make_line(MACHINE), {})
    (one,) = on_bottleneck(found)
    assert (one.machine, one.sets_cycle) == ("M", True)
    assert [(row.part, row.placements) for row in one.parts] == [("PN-R0", 14), ("PN-R1", 13), ("PN-R2", 13)]
    assert sum(row.seconds.high for row in one.parts) == pytest.approx(40.0)


def test_a_comparison_states_the_cost_on_each_line(make_board, make_line):
    two = make_line(MACHINE, MACHINE.replace('"M"', '"N"'))
    two = two.rename(two.with_name("two.line.toml"))
    rows = compare([board(make_board, 40)], [two, make_line(MACHINE)], shop=shop(machine_hour=36)).rows
    # Two machines place 20 each: half of the time at twice the rate.
    assert [row.plan.costs[0].total.high for row in rows] == [pytest.approx(0.4), pytest.approx(0.4)]


def test_the_best_line_by_cost_is_named_only_where_ranges_tell(make_board, make_line):
    two = make_line(MACHINE, MACHINE.replace('"M"', '"N"'))
    two = two.rename(two.with_name("two.line.toml"))
    lines, folder = [two, make_line(MACHINE)], board(make_board, 40)

    def best(**costs):
        found = compare([folder], lines, shop=shop(currency="EUR", **costs), by="cost")
        return found, comparison_text(found)

    # 20 s of two machines of 36 and 72 an hour against 40 s of the one of 36.
    found, text = best(machines={"M": 36, "N": 72})
    assert [row.cost.high for row in found.rows] == [pytest.approx(0.6), pytest.approx(0.4)]
    assert found.best == 1
    assert "Best by cost" in text
    assert "0.600 EUR" in text
    assert "cost of a board" in comparison_page(found)
    assert comparison_json(found)["lines"][0]["cost_of_board"].high == pytest.approx(0.6)
    found, text = best(machines={"M": 36, "N": [30, 72]})
    assert found.rivals == (0,)
    assert "No clear best by cost" in text


def test_without_rates_lines_are_not_compared_by_cost(make_board, make_line):
    with pytest.raises(InputError, match=r"states no rates.*\[costs\]"):
        compare([board(make_board, 40)], [make_line(MACHINE)], shop=shop(batch=10), by="cost")


def test_papers_say_the_same_cost_with_its_sums(make_board, make_line):
    costs = {"currency": "EUR", "machine_hour": 36, "batch": 100, "board_minutes": 10, "shift_hours": 8}
    found = planned(board(make_board, 40), make_line(MACHINE), costs)
    text, page = plan_text(found), plan_page(found)
    # 0.4 + 36 × 600 / 3600 / 100; 28800 / (40 + 6) boards.
    for told in (
        "Cost of board: 0.460 EUR a board",
        "36 an hour × 40.00 s / 3600",
        "(36 × 600.00 s / 3600) / 100 boards",
        "not counted, as no rate is stated: operators, feeders, placing by hand",
        "boards of a shift: 8 h × 3600 / (40.00 s + 600.00 s / 100 boards) = 626.1",
    ):
        assert told in " ".join(text.split())
        assert told in page
    (as_json,) = json.loads(json_text(plan_json(found)))["costs"]
    assert as_json["per_good_board"] == [pytest.approx(0.46), pytest.approx(0.46)]
    assert sum(t["amount"][1] for t in as_json["terms"]) == pytest.approx(0.46)


def test_without_costs_nothing_is_said_of_them(make_board, make_line):
    found = planned(board(make_board, 40), make_line(MACHINE), {})
    assert found.costs == ()
    assert "Cost" not in plan_text(found)


@pytest.mark.parametrize(
    ("costs", "said"),
    [
        ("machine_hour = -1", "costs.machine_hour: -1 is less than 0;"),
        ("machine_hour = [50, 40]", "50 is above 40"),
        ("machine_hour = [40]", "costs.machine_hour[2]: the key"),
        ("machine_hour = [40, -1]", "costs.machine_hour[2]: -1 is less than 0;"),
        ("machine_hour = '40 EUR'", 'costs.machine_hour: "40 EUR" is no number;'),
        ("machine_hour = true", "costs.machine_hour: true is no number;"),
        ("machine_hour = inf", "costs.machine_hour: inf is"),
        ("batch = 0", "costs.batch: 0 is less than 1; batch is: boards of one batch"),
        ("good = 0", "costs.good: 0 is not more than 0;"),
        ("good = 1.2", "costs.good: 1.2 is more than 1;"),
        ("shift_hours = 25", "costs.shift_hours: 25 is more than 24;"),
        ("set_up_people = 0", "costs.set_up_people: 0 is less than 1;"),
        ("machine_huor = 3", "machine_hour"),
        ("machines = { M = [2, 1] }", "2 is above 1"),
    ],
)
def test_costs_that_cannot_be_are_refused_where_they_stand(tmp_path, costs, said):
    file = tmp_path / "capcheck.toml"
    file.write_text(f"[costs]\n{costs}\n", encoding="utf-8")
    with pytest.raises(InputError) as caught:
        read_configuration(file)
    assert said in str(caught.value)
    assert "capcheck.toml:2" in str(caught.value)
    assert "constrained" not in str(caught.value)
    assert len(caught.value.problems) == 1


def test_a_customers_layer_changes_only_what_it_names(tmp_path):
    file = tmp_path / "capcheck.toml"
    file.write_text(
        "[costs]\nmachine_hour = 40\nbatch = 10\nmachines = { a = 1 }\n"
        "[customers.Umbra]\nboards = ['quotes']\n[customers.Umbra.costs]\nbatch = 500\nmachines = { b = 2 }\n",
        encoding="utf-8",
    )
    costs = read_configuration(file).for_board(tmp_path / "quotes" / "x").values.costs
    assert (costs.machine_hour, costs.batch, costs.machines) == (40, 500, {"a": 1, "b": 2})
