"""What a page of a plan shows of machines and passes is what the plan says of them.

Figures: invented machines and times, sums by hand.
"""

import numpy as np
import pytest

from capcheck.machines.line import Line, LineFile
from capcheck.machines.profile import MachineProfile
from capcheck.planning.job import Job, PartDemand, Pass
from capcheck.planning.line_comparison import CandidateLine, compare_lines
from capcheck.planning.planner import plan_line
from capcheck.report.papers.comparison_view import line_views
from capcheck.report.papers.plan_view import machine_views, pass_views
from capcheck.values.interval import Interval

TIMING = {
    "pick": "0.1 s",
    "place": "0.1 s",
    "vision": "0.1 s",
    "speed": "2 m/s",
    "acceleration": "20 m/s**2",
    "travel_to_board": "300 mm",
    "travel_between_parts": "50 mm",
    "travel_between_feeders": "20 mm",
    "nozzle_change": "2 s",
    "board_transfer": "4 s",
    "fiducial": "0.5 s",
}
HEAD = [{"name": "H", "nozzles": 2, "nozzle_kinds": 6}]


def planned(timing, stations=()):
    machine = MachineProfile.model_validate(
        {
            "name": "A",
            "timing": timing,
            "feeders": {"slots": 20, "slots_used": {"8 mm": 1, "12 mm": 2, "16 mm": 3}},
            "head": HEAD,
        }
    )
    file = LineFile.model_validate({"name": "line 1", "machines": ["A"], "station": list(stations)})
    line = Line("line 1", (machine,), file)
    widths = (Interval.exactly(8.0), Interval(12.0, 16.0), Interval.exactly(8.0), Interval.exactly(8.0))
    parts = tuple(PartDemand(f"P{k}", (2,), supply="tape", tape_width=w) for k, w in enumerate(widths))
    job = Job("order", (Pass("board", marks=2),), parts)
    return plan_line(job, line, np.ones((4, 1), dtype=np.int8))


def test_bars_are_as_long_as_the_times_planned_and_whiskers_as_what_is_known():
    # Kinds of nozzles are not known: the slow end counts changes that the plan does not.
    plan = planned(TIMING, [{"name": "oven", "cycle": "20 s"}])
    (time,) = plan.set_ups[0].times[0]
    assert time.seconds.high > time.planned
    (view,) = pass_views(plan)
    machine, oven = view.bars
    whole = max(20.0, time.seconds.high)
    for drawn, seconds in ((machine.length, time.planned), (machine.high, time.seconds.high), (oven.length, 20.0)):
        assert drawn / 97 == pytest.approx(seconds / whole, abs=1e-3)
    assert machine.has_whisker
    assert not oven.has_whisker
    assert f"{time.seconds.low:.2f} to {time.seconds.high:.2f} s, planned {time.planned:.2f} s" in machine.text
    assert (oven.name, oven.marked, oven.note) == ("oven", True, "sets the cycle")
    assert "set by oven" in view.cycle


def test_both_sides_of_a_board_have_bars_on_one_scale():
    machine = MachineProfile.model_validate({"name": "A", "timing": TIMING, "head": HEAD, "feeders": {"slots": 20}})
    file = LineFile.model_validate(
        {"name": "line 1", "machines": ["A"], "station": [{"name": "oven", "cycle": "20 s"}]}
    )
    parts = tuple(PartDemand(f"P{k}", counts, supply="tape") for k, counts in enumerate(((150, 0), (0, 4))))
    job = Job("order", (Pass("board", marks=2), Pass("board", side="bottom", marks=2)), parts)
    plan = plan_line(job, Line("line 1", (machine,), file), np.ones((2, 1), dtype=np.int8))
    top, bottom = pass_views(plan)
    ovens = [next(bar for bar in view.bars if bar.name == "oven").length for view in (top, bottom)]
    assert ovens[0] == ovens[1] < 97.0


def test_a_machine_that_only_the_plan_keeps_below_the_slowest_may_set_the_cycle():
    plan = planned(TIMING, [{"name": "oven", "cycle": "20 s"}])
    slow = plan.set_ups[0].times[0][0].seconds
    between = f"{(slow.low + slow.high) / 2} s"
    (view,) = pass_views(planned(TIMING, [{"name": "oven", "cycle": between}]))
    assert [bar.note for bar in view.bars] == ["may set the cycle", "sets the cycle"]


def test_a_time_that_nothing_ends_is_a_whisker_without_an_end():
    timing = {**TIMING}
    del timing["vision"]
    (view,) = pass_views(planned(timing))
    (bar,) = view.bars
    assert bar.open_end
    assert "at least" in bar.text


def test_without_seconds_bars_are_by_placements():
    (view,) = pass_views(planned({}))
    (bar,) = view.bars
    assert (bar.text, bar.length, bar.note) == ("8 placements", 97.0, "most placements")
    assert "not known" in view.cycle


def test_a_feeder_shows_every_slot_kept_for_it_and_the_tapes_that_it_may_be():
    (machine,) = machine_views(planned(TIMING))
    feeders = {f.part: f for f in machine.feeders}
    assert (feeders["P1"].slot, feeders["P1"].supply) == ("2–4", "tape 12 to 16 mm")
    assert (feeders["P2"].slot, feeders["P2"].supply) == ("5", "tape 8 mm")
    slots = [float(f.slot.partition("–")[0]) for f in machine.feeders]
    assert slots == sorted(slots)


@pytest.mark.parametrize(("pieces", "told"), [(1, "least cycle"), (2, "least cycle for each board")])
def test_the_least_cycle_is_said_to_be_that_of_each_board_where_a_line_carries_panels(pieces, told):
    """Lines may carry panels of different numbers of boards, and the longest cycle of one may be the least of each."""
    lines = [
        Line(name, (MachineProfile.model_validate({"name": name, "timing": times, "head": HEAD}),), None)
        for name, times in (("fast", TIMING), ("slow", TIMING | {"board_transfer": "90 s"}))
    ]
    job = Job("order", (Pass("board", marks=2, pieces=pieces),), (PartDemand("P", (4,), supply="tape"),))
    asked = [CandidateLine(line, np.ones((1, 1), dtype=np.int8), {}) for line in lines]
    assert [view.standing for view in line_views(compare_lines(job, asked))] == [told, ""]
