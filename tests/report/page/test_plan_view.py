import numpy as np
import pytest

from capcheck.machines.line import Line, LineFile
from capcheck.machines.profile import MachineProfile
from capcheck.planning.job import Job, PartDemand, Pass
from capcheck.planning.planner import plan_line
from capcheck.report.page.plan_view import plan_view
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


def planned(timing, stations=()):
    machine = MachineProfile.model_validate(
        {
            "name": "A",
            "timing": timing,
            "feeders": {"slots": 20, "slots_used": {"8 mm": 1, "12 mm": 2, "16 mm": 3}},
            "head": [{"name": "H", "nozzles": 2, "nozzle_kinds": 6}],
        }
    )
    file = LineFile.model_validate({"name": "line 1", "machines": ["A"], "station": list(stations)})
    line = Line("line 1", (machine,), file)
    widths = (Interval.exactly(8.0), Interval(12.0, 16.0), Interval.exactly(8.0), Interval.exactly(8.0))
    parts = tuple(PartDemand(f"P{k}", (2,), supply="tape", tape_width=w) for k, w in enumerate(widths))
    job = Job("order", (Pass("board", marks=2),), parts)
    return plan_line(job, line, np.ones((4, 1), dtype=np.int8))


def test_bars_are_as_long_as_the_times_that_the_text_plans_with():
    # Kinds of nozzles are not known: the slow end counts changes that the plan does not.
    plan = planned(TIMING, [{"name": "oven", "cycle": "20 s"}])
    (time,) = plan.set_ups[0].times[0]
    assert time.seconds.high > time.planned
    (view,) = plan_view(plan).passes
    machine, oven = view.bars
    assert machine.share == pytest.approx(time.planned / 20)
    assert machine.text == f"{time.planned:.2f} s ({time.seconds.low:.2f} to {time.seconds.high:.2f})"
    assert (oven.machine, oven.share, oven.slowest) == ("oven", 1.0, True)
    assert "set by oven" in view.cycle


def test_without_seconds_bars_are_by_placements():
    (view,) = plan_view(planned({})).passes
    (bar,) = view.bars
    assert (bar.text, bar.share) == ("8 placements", 1.0)
    assert "not computed" in view.cycle


def test_a_feeder_shows_every_slot_kept_for_it_and_the_tapes_that_it_may_be():
    feeders = {part: (slot, supply) for _, slot, part, supply, _ in plan_view(planned(TIMING)).feeders}
    assert feeders["P1"] == ("2–4", "tape 12 to 16 mm")
    assert feeders["P2"] == ("5", "tape 8 mm")
