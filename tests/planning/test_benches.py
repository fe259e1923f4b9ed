"""Benches where people place parts: their seconds as sums, set against the line and the demand.

Figures: boards, machines and times are invented in round numbers, sums by hand.
"""

import shutil

import pytest

from capcheck.checking import check, prepare
from capcheck.checking.answer import Choice
from capcheck.lexicon import sentence
from capcheck.machines.line import read_line
from capcheck.planning import PlanSettings, compare, plan
from capcheck.planning.job import Pass
from capcheck.planning.planner import plan_line
from capcheck.report.papers import plan_page
from capcheck.report.plan import plan_json, plan_text
from capcheck.shop import Settings
from capcheck.values.errors import InputError
from capcheck.values.interval import Interval

# A placement takes 1 s at the derate of 1, a board 2 s on top.
MACHINE = """\
name = "M"
rated = "3600 1/hour"
[feeders]
slots = 40
slots_used = { "8 mm" = 1 }
tray_places = 0
[timing]
derate = [1, 1]
board_transfer = "2 s"
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


def bench(name="hand", **keys):
    told = {"seconds": '"5 s"', **keys}
    return f'[[bench]]\nname = "{name}"\n' + "".join(f"{k} = {v}\n" for k, v in told.items() if v != "")


def board(make_board, chips=10, through=2, tall=0):
    kinds = [("R", chips, 1), ("J", through, 9), ("K", tall, 9)]
    refs = [(f"{letter}{k}", letter, height) for letter, number, height in kinds for k in range(number)]
    rows = [f"{ref},{4 * k},10,0,top,{letter},OWN LAND" for k, (ref, letter, _) in enumerate(refs)]
    rows += ["FID1,2,2,0,top,,", "FID2,90,90,0,top,,"]
    listed = [f"{letter}{k},1,PN-{letter},1.6,0.8,{height},8" for letter, n, height in kinds for k in range(n)]
    bom = ["Ref,Qty,Part number,Length [mm],Width [mm],Height [mm],Tape width", *listed]
    toml = '[mounting]\n"R*" = "surface"\n"K*" = "surface"\n"J*" = "through hole"\n'
    return make_board(rows, bom=bom, toml=toml)


def planned(folder, line, **more):
    shop = prepare(Settings(choice=Choice(select=["part-height", "largest-body"])), None)
    return plan([folder], line, shop=shop, **more).plan


def test_a_bench_takes_what_has_leads_through_holes_and_what_is_left_over(make_board, make_line):
    line = make_line(MACHINE, extra=bench(people=2))
    (time,) = planned(board(make_board, 20, 2, 1), line).benches
    # 2 through-hole parts and one that is too tall: 3 × 5 s / 2 people.
    assert (time.placements, time.seconds) == (Interval.exactly(3.0), Interval.exactly(7.5))


@pytest.mark.parametrize(
    ("seconds", "slower", "verdict"), [('"5 s"', False, "pass"), ('"6.1 s"', True, "warn"), ("", None, "pass")]
)
def test_a_bench_that_is_slower_than_the_line_is_said(make_board, make_line, seconds, slower, verdict):
    # The line takes 10 × 1 s + 2 s; two parts by hand at 6 s each as long.
    found = planned(board(make_board), make_line(MACHINE, extra=bench(seconds=seconds)))
    (time,) = found.benches
    assert (time.line, time.is_slower) == (Interval.exactly(12.0), slower)
    assert found.verdict == verdict
    told = " ".join(sentence(said) for said in (*found.why, *found.not_computed))
    assert ("longer than the line" in told) is (slower is True)
    assert ("states no seconds" in told) is (slower is None)


def test_of_several_benches_the_first_that_takes_such_parts_does(make_board, make_line):
    extra = bench("odd-form", takes='["surface"]', seconds='"3 s"') + bench("hand", seconds='"4 s"')
    found = planned(board(make_board, 20, 2, 1), make_line(MACHINE, extra=extra))
    assert [(t.bench, t.seconds.high) for t in found.benches] == [("odd-form", 3.0), ("hand", 8.0)]


@pytest.mark.parametrize(("hours", "verdict"), [(20, "pass"), (16, "fail")])
def test_a_bench_keeps_up_with_the_demand_or_fails_the_plan(make_board, make_line, hours, verdict):
    # 6000 boards a year × 10 s by hand: 16.67 hours; with two boards' time of the line, 12 s: 20 hours.
    line = make_line(MACHINE.replace('"2 s"', '"0 s"').replace("3600", "360000"), extra=bench())
    settings = PlanSettings(hours_per_year=hours)
    found = planned(board(make_board), line, per_year=[6000], settings=settings)
    assert ("fail" if found.failed else "pass") == verdict
    assert any("hours for a year" in sentence(said) for said in found.failed) is (verdict == "fail")


def test_without_seconds_a_demand_stays_open(make_board, make_line):
    settings = PlanSettings(hours_per_year=1000)
    found = planned(board(make_board), make_line(MACHINE, extra=bench(seconds="")), per_year=[100], settings=settings)
    assert any("keeps up with the demand" in sentence(said) for said in found.warned)


def test_a_demand_without_a_quantity_stays_open_or_fails_by_what_is_known(make_board, make_line, tmp_path):
    """Two boards of one bench, each with two parts of 5 s by hand: 6000 of them are 16.67 hours."""
    line = make_line(MACHINE.replace('"2 s"', '"0 s"').replace("3600", "360000"), extra=bench())
    one, shop = board(make_board), prepare(Settings(choice=Choice(select=["part-height", "largest-body"])), None)
    other = tmp_path / "other"
    shutil.copytree(one, other)
    for quantities, hours, key in [
        ((6000, None), 17, "bench demand open"),
        ((6000, None), 16, "bench too slow"),
        ((None, None), 9999, "bench demand open"),
        ((6000, 120), 17, None),
    ]:
        settings = PlanSettings(hours_per_year=hours)
        found = plan([one, other], line, shop=shop, per_year=quantities, settings=settings).plan
        told = [
            said.key
            for said in (*found.failed, *found.warned)
            if said.key.startswith("planning.bench ") and said.key != "planning.bench slower"
        ]
        assert told == ([] if key is None else [f"planning.{key}"]), (quantities, hours)
        # What nobody can sum up is not met either.
        assert any(said.key == "planning.demand open" for said in found.warned) is (None in quantities)


def test_a_board_that_people_place_alone_asks_for_hours_of_the_bench(make_board, make_line):
    """Ten parts of 5 s for each of 1000 boards: 13.9 hours, and no pass through the machine."""
    line, folder = make_line(MACHINE, extra=bench()), board(make_board, 0, 10)
    for quantity, hours, verdict in ((1000, 14, "pass"), (1000, 13, "fail"), (None, 14, "warn")):
        found = planned(folder, line, per_year=[quantity], settings=PlanSettings(hours_per_year=hours))
        assert not found.job.passes
        told = "fail" if found.failed else "warn" if found.warned else "pass"
        assert told == verdict, (quantity, hours)


def test_boards_of_known_quantity_alone_may_fail_the_demand(shop):
    """Each pass of 100 chips takes over 20 s: 3600 of them are more than 20 hours, whatever comes on top."""
    line = shop.line(shop.machine("A"))
    for hours, key in ((20, "demand not met"), (2000, "demand open")):
        passes = [Pass("one", per_year=3600.0, marks=3), Pass("other", marks=3)]
        job = shop.job(shop.part("P", 100, 100), passes=passes)
        found = plan_line(job, line, shop.takes_all(job, line), settings=PlanSettings(hours_per_year=hours))
        assert [said.key for said in found.why if "demand" in said.key] == [f"planning.{key}"]


def test_what_is_not_proved_on_a_machine_may_come_to_the_bench(make_board, make_line):
    silent = MACHINE.replace('max_part_height = "3 mm"\n', "")
    (time,) = planned(board(make_board), make_line(silent, extra=bench())).benches
    assert time.placements == Interval(2.0, 12.0)


def test_a_bench_is_a_place_for_parts_through_holes_and_compares(make_board, make_line):
    line = make_line(MACHINE, extra=bench(seconds='"6.1 s"'))
    folder = board(make_board)
    report = check(folder, line=line)
    assert not [f for f in report.findings if "through" in f.rule and f.subject.kind == "line"]
    shop = prepare(Settings(choice=Choice(select=["part-height", "largest-body"])), None)
    (row,) = compare([folder], [line], shop=shop).rows
    assert (row.verdict, row.plan.benches[0].is_slower) == ("warn", True)


@pytest.mark.parametrize(
    ("extra", "said"),
    [
        (bench(seconds='"0 s"'), "more than 0"),
        (bench(seconds='"-1 s"'), "bench[1].seconds"),
        (bench(people=0), "people: 0 is less than 1"),
        ('[[station]]\nname = "oven"\ncycle = "0 s"\n', 'cycle: "0 s" is out of range; a time here is more than 0'),
        (bench(takes='["everything"]'), "none of: through-hole, surface"),
        (bench(takes="[]"), "takes"),
        (bench() + bench(), 'two benches or stations are named "hand"'),
        ("hand_placement = false\n" + bench(), "hand_placement is false, but there is the bench"),
    ],
)
def test_benches_that_contradict_themselves_are_refused(make_line, extra, said):
    with pytest.raises(InputError) as caught:
        read_line(make_line(MACHINE, extra=extra))
    assert said in str(caught.value)


def test_papers_show_the_sum_of_a_bench(make_board, make_line):
    found = planned(board(make_board), make_line(MACHINE, extra=bench(people=2)))
    told = "Bench hand, board: 2 placements × 5 s / 2 people = 5.00 s; no slower than the line (12.00 s)"
    assert told in plan_text(found)
    assert told in plan_page(found)
    (as_json,) = plan_json(found)["benches"]
    assert (as_json["seconds"], as_json["slower_than_line"]) == (Interval.exactly(5.0), False)
