"""The least cycle: no plan and no assignment of parts to heads is faster.

Figures: invented machines and jobs, sums by hand.
"""

import re
from pathlib import Path

import numpy as np
import pytest
from depth import sample_size
from hypothesis import HealthCheck, given, settings, strategies as st

from capcheck import check
from capcheck.planning import PlanSettings, least_cycles, plan
from capcheck.planning.job import Pass
from capcheck.planning.least_cycle import least_seconds
from capcheck.planning.times import HeadLoad, head_times, machine_time
from capcheck.report.first_screen import first_screen
from capcheck.values import Interval

FIXTURES = Path(__file__).resolve().parents[2] / "fixtures"
FULL = FIXTURES / "lines" / "full.line.toml"


@pytest.mark.parametrize(
    ("anywhere", "second_alone", "seconds"),
    # 36 trips of a hundred seconds are an hour: 1 s a part. Transfer 4 s and two fiducials of 0.5 s come to 5 s:
    # (100 + 60 + 2 × 5) / 2, and where the second machine has most of it 60 + 5.
    [(100, 60, 85.0), (10, 60, 65.0)],
)
def test_work_is_shared_by_the_machines_that_may_do_it(shop, anywhere, second_alone, seconds):
    rated = {"board_transfer": "4 s", "fiducial": "0.5 s", "derate": [1.0, 1.0]}
    line = shop.line(*(shop.machine(name, times=rated, rated="3600 1/hour") for name in "AB"))
    job = shop.job(shop.part("P", anywhere), shop.part("Q", second_alone), passes=[Pass("board", marks=2)])
    assert least_seconds(job, line, np.array([[1, 1], [-1, 0]], dtype=np.int8)) == pytest.approx((seconds,))


def test_profiles_without_times_say_nothing(shop):
    line = shop.line(shop.machine("A", times={"board_transfer": "4 s"}))
    job = shop.job(shop.part("P", 10))
    assert least_seconds(job, line, shop.takes_all(job, line)) == (0.0,)


def _lists(most, **size):
    return st.lists(st.integers(0, most), **size)


@settings(max_examples=sample_size(200), suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(data=st.data())
def test_no_assignment_is_faster(shop, data):
    """Any share of the parts among heads that may place them: the slowest machine takes at least as long."""
    times = dict(shop.times)
    for name in ("vision", "speed", "travel_to_board", "travel_between_parts"):
        if data.draw(st.booleans()):
            times.pop(name)
    times["gang_pick"] = data.draw(st.booleans())
    machines = []
    for name in data.draw(st.sampled_from(["A", "AB", "ABC"])):
        more = data.draw(st.sampled_from([{}, {"board": {"lanes": 2}}]))
        if data.draw(st.booleans()):
            more = {**more, "rated": "20000 1/hour"}
        gantries, nozzles = data.draw(st.integers(1, 2)), data.draw(st.integers(1, 8))
        machines.append(shop.machine(name, times=times, gantries=gantries, nozzles=nozzles, **more))
    line = shop.line(*machines)
    heads = [(machine, head) for machine in machines for head in machine.head]
    counts = data.draw(_lists(40, min_size=1, max_size=4).filter(any))
    board = Pass("board", marks=3, width=Interval.exactly(100.0))
    job = shop.job(*(shop.part(f"P{k}", n) for k, n in enumerate(counts) if n), passes=[board])
    can, share = [], []
    for part in job.parts:
        may = data.draw(st.lists(st.sampled_from([-1, 0, 1]), min_size=len(heads), max_size=len(heads)))
        may[data.draw(st.integers(0, len(heads) - 1))] = 1
        able = [h for h, state in enumerate(may) if state >= 0]
        to = data.draw(st.lists(st.sampled_from(able), min_size=part.counts[0], max_size=part.counts[0]))
        can.append(may)
        share.append([to.count(h) for h in range(len(heads))])
    placed = np.sum(share, axis=0)
    slowest = 0.0
    for machine in machines:
        loads = []
        for number, (owner, head) in enumerate(heads):
            if owner is machine:
                of = head_times(machine, head)
                parts = int(placed[number])
                loads.append(HeadLoad(of, parts, -(-parts // of.per_trip) if of.per_trip else 0))
        slowest = max(slowest, machine_time(machine, board, loads).seconds.low)
    (least,) = least_seconds(job, line, np.array(can, dtype=np.int8))
    assert least <= slowest + 1e-9


@pytest.mark.parametrize("board", ["irrigation-controller", "flow-sensor"])
def test_the_head_of_a_check_says_no_more_than_the_plan_reaches(board):
    report = check(FIXTURES / board, line=FULL)
    found = least_cycles(report)
    figures = [
        f for s in plan([FIXTURES / board], FULL, settings=PlanSettings(time_limit=1.0)).plan.set_ups for f in s.figures
    ]
    assert len(found) == len(figures)
    for least, figure in zip(found, figures, strict=True):
        # Near enough to be worth saying, and never above.
        assert 0.5 * figure.cycle.low <= least.seconds <= figure.cycle.low
    said = re.search(r"cycle[a-z ]* at least ([\d.]+) s", first_screen(report).numbers)
    assert said is not None
    assert float(said[1]) == pytest.approx(found[0].seconds, abs=0.1)


def test_a_board_without_parts_for_the_heads_has_no_cycle(tmp_path):
    (tmp_path / "places.csv").write_text(
        "Designator,Footprint,X (mm),Y (mm),Rotation,Side,Mount\nJ1,HEADER-2,1,2,0,top,through-hole\n",
        encoding="utf-8",
    )
    report = check(tmp_path, line=FULL)
    assert least_cycles(report) == ()
    assert "cycle" not in first_screen(report).numbers


def test_the_head_of_a_check_says_that_the_least_cycle_leaves_no_part_to_the_hand(tmp_path):
    """An oven takes its time whoever places; machines take less where a hand places something."""
    board = FIXTURES / "irrigation-controller"
    assert "(reflow oven)" in first_screen(check(board, line=FULL)).numbers
    text = FULL.read_text(encoding="utf-8").replace("../machines", str(FIXTURES / "machines"))
    alone = tmp_path / "alone.line.toml"
    alone.write_text(text[: text.index("[[station]]")], encoding="utf-8")
    told = first_screen(check(board, line=alone)).numbers
    assert re.search(r"cycle at least [^(]* \(if no part is placed by hand\)", told)
