"""A plan as text says what the plan holds: rates, cycles and slots as they were reckoned.

Figures: invented machines and times, sums by hand.
"""

import math
import re
from types import SimpleNamespace

import numpy as np
import pytest

from capcheck.engine import Take
from capcheck.engine.findings import Margin
from capcheck.machines.line import Line, LineFile
from capcheck.machines.profile import MachineProfile
from capcheck.planning.job import Job, PartDemand, Pass
from capcheck.planning.line_comparison import CandidateLine, compare_lines
from capcheck.planning.planner import plan_line
from capcheck.planning.times.feeder_slots import Occupied
from capcheck.planning.what_if import what_if
from capcheck.report.json_encoding import json_data
from capcheck.report.plan.comparison_as_text import comparison_text
from capcheck.report.plan.plan_as_json import comparison_json, plan_json
from capcheck.report.plan.plan_as_text import plan_text
from capcheck.report.plan.spans import ends
from capcheck.report.plan.summary import slots, tray_places
from capcheck.values.interval import Interval
from capcheck.values.units import LENGTH


@pytest.fixture(params=["full", "bare"])
def planned(request):
    timing = {
        "pick": "0.08 s",
        "place": "0.1 s",
        "vision": "0.15 s",
        "speed": "2 m/s",
        "acceleration": "20 m/s**2",
        "travel_to_board": "300 mm",
        "travel_between_parts": "50 mm",
        "travel_between_feeders": "20 mm",
        "board_transfer": "4 s",
        "fiducial": "0.5 s",
        "uptime": 0.8,
    }
    machine = MachineProfile.model_validate(
        {
            "name": "A",
            "floor_width": "1200 mm",
            "floor_depth": "1500 mm",
            "rated": "30000 1/hour",
            "timing": timing,
            "feeders": {"slots": 20, "slots_used": {"8 mm": 1}},
            "head": [{"name": "H1", "nozzles": 6}, {"name": "H2", "nozzles": 6, "gantry": 2}],
        }
    )
    if request.param == "bare":
        machine = MachineProfile.model_validate({"name": "A", "head": [{"name": "H1"}, {"name": "H2"}]})
    line = Line("line 1", (machine,), None)
    parts = tuple(PartDemand(f"P{k}", (7 + k,), supply="tape", tape_width=Interval.exactly(8.0)) for k in range(4))
    job = Job("order", (Pass("board", marks=3),), parts)
    can = np.ones((4, 2), dtype=np.int8)
    can[3] = -1
    reasons = {(3, 0): (Take(-1, "part-height", Margin(-1.2, -1.2, LENGTH, "")),)}
    plan = plan_line(job, line, can, reasons)
    return SimpleNamespace(
        plan=plan,
        line=line,
        can=can,
        changes=what_if(plan, line, can),
        whole=request.param == "full",
        comparison=compare_lines(job, [CandidateLine(line, can, reasons)]),
    )


def test_every_product_shown_is_right(planned):
    text = plan_text(planned.plan, planned.changes)
    sums = re.findall(r"([\d.e-]+) × ([\d.e-]+) s = ([\d.]+) s", text)
    assert bool(sums) is planned.whole
    for count, each, total in sums:
        assert float(count) * float(each) == pytest.approx(float(total), rel=1e-3, abs=1e-3)


def test_text_and_json_tell_the_same_verdict_cycle_and_shortage(planned):
    text, data = plan_text(planned.plan), json_data(plan_json(planned.plan))
    assert text.splitlines()[-1] == f"Verdict: {data['verdict']}"
    assert "no machine can place P3 (10 placements)" in text
    assert data["shortage"]["take_off"] == [{"part_number": "P3", "placements": 10}]
    assert "A/H1: no: part-height, −1.2 mm" in text
    low, high = data["set_ups"][0]["figures"][0]["cycle_s"]
    if planned.whole:
        assert f"cycle {low:.2f} s" in text
        assert low == high
    else:
        assert "cycle: not computed" in text
        assert high is None


def test_what_matters_most_stands_first(planned):
    text = plan_text(planned.plan, planned.changes, by_hand=["J1: X1 (1)"])
    head = text.partition("What fails")[0]
    assert head.splitlines()[0] == "FAIL  Plan of order on line 1"
    assert "not placed: 1 part number, 10 placements: P3" in head
    if planned.whole:
        low = json_data(plan_json(planned.plan))["set_ups"][0]["figures"][0]["cycle_s"][0]
        assert f"board, top, 24 placements: cycle {low:.2f} s, set by A" in head
        assert "slots: A 4 of 20" in head
    else:
        assert "board, top, 24 placements: cycle not computed" in head
        assert "slots: A unknown; how many there are is not stated" in head
    order = ["What fails", "Not everything can be placed", "What would change it", "Through-hole, by hand", "Set-up:"]
    assert [text.index(title) for title in order] == sorted(text.index(title) for title in order)
    assert text.splitlines()[-1] == "Verdict: fail"


@pytest.mark.parametrize("width", [60, 120])
def test_lines_are_wrapped_at_the_width_asked_for(planned, width):
    lines = plan_text(planned.plan, planned.changes, width=width).splitlines()
    assert max(map(len, lines)) <= width
    flat = " ".join(" ".join(lines).split())
    assert flat == " ".join(plan_text(planned.plan, planned.changes, width=999).split())


@pytest.mark.rows(
    ("needed", "there", "said"),
    [
        (Interval.exactly(5.0), 20, "5 of 20"),
        (Interval(5.0, 7.0), 20, "5 to 7 of 20"),
        (Interval(5.0, math.inf), 20, "5 and more of 20"),
        (Interval(0.0, math.inf), 20, "unknown, there are 20"),
        (Interval(0.0, math.inf), None, "unknown; how many there are is not stated"),
    ],
)
def test_slots_are_told_as_far_as_they_are_known(needed, there, said):
    assert slots(Occupied("A", needed, there, Interval.exactly(0.0), None)) == said


@pytest.mark.parametrize(
    ("needed", "there", "said"),
    [
        (Interval(0.0, 1.0), None, "at most 1; how many there are is not stated"),
        (Interval(1.0, 2.0), 4, "1 to 2 of 4"),
    ],
)
def test_tray_places_are_told_as_far_as_they_are_known(needed, there, said):
    assert tray_places(Occupied("A", Interval.exactly(1.0), 20, needed, there)) == said


def test_rated_is_kept_apart_from_expected(planned):
    text = plan_text(planned.plan)
    assert ("for comparison only" in text) is planned.whole
    data = json_data(plan_json(planned.plan))
    assert data["rated_per_hour"] == (30000.0 if planned.whole else None)
    if planned.whole:
        rate = data["set_ups"][0]["figures"][0]["placements_per_hour"]
        assert rate[1] < 30000


def test_what_would_change_it_is_told(planned):
    assert "P3 by hand (10 per board): everything has a place" in plan_text(planned.plan, planned.changes)
    told = (
        plan_text(planned.plan, planned.changes).split("What would change it")[1].split("Cycle time, step by step")[0]
    )
    assert ("cycle not computed" in told) is not planned.whole
    assert any(c["solves"] for c in json_data(plan_json(planned.plan, planned.changes))["changes"])


def test_json_holds_no_number_that_json_has_not(planned):
    def numbers(value):
        if isinstance(value, dict):
            return [n for v in value.values() for n in numbers(v)]
        if isinstance(value, list):
            return [n for v in value for n in numbers(v)]
        return [value] if isinstance(value, float) else []

    assert all(math.isfinite(n) for n in numbers(json_data(plan_json(planned.plan))))


def test_a_comparison_names_the_best_or_says_there_is_none(planned):
    assert comparison_text(planned.comparison).endswith(
        "Best by cycle time: none places everything and passes the boards\n"
    )
    assert json_data(comparison_json(planned.comparison))["best"] is None


def test_a_line_is_a_row_where_that_fits_and_a_column_where_it_does_not(planned):
    rows, columns = (comparison_text(planned.comparison, width).splitlines() for width in (200, 80))
    assert rows[0].split()[:2] == ["line", "verdict"]
    assert rows[1].startswith("line 1  fail")
    assert [columns[0].split(), columns[1].split()] == [["line", "line", "1"], ["verdict", "fail"]]
    assert max(map(len, columns)) <= 80


def test_a_rate_without_any_time_is_unknown_and_not_endless():
    assert ends(Interval(math.inf, math.inf)) == "unknown"
    assert ends(Interval(15.89, math.inf)) == "at least 15.89"
    assert ends(Interval(0.0, math.inf)) == "unknown"


def _two_machines(*stations, **more):
    """Return the text of a plan of three part numbers on two machines that share one of them, and stations."""
    feeders = {"slots": 20, "slots_used": {"8 mm": 1}}
    machines = tuple(
        MachineProfile.model_validate({"name": name, "feeders": feeders, "head": [{"name": "H1"}], **more})
        for name in "AB"
    )
    file = LineFile.model_validate({"name": "line 1", "machines": ["a", "b"], "station": list(stations)})
    parts = tuple(PartDemand(f"P{k}", (10,), supply="tape", tape_width=Interval.exactly(8.0)) for k in range(3))
    job = Job("order", (Pass("board", marks=3),), parts)
    return plan_text(plan_line(job, Line("line 1", machines, file), np.ones((3, 2), dtype=np.int8)))


def test_where_no_times_are_stated_feeders_keep_a_number_and_no_cycle():
    text = " ".join(_two_machines({"name": "reflow oven", "cycle": "20 s"}).split())
    assert "feeders and trays: 4; fewer cannot leave the busiest machine 15 placements at most" in text
    assert "keep this cycle" not in text
    assert "fastest" not in text


def test_a_cycle_is_set_by_a_station_only_as_far_as_times_are_stated():
    text = " ".join(_two_machines({"name": "reflow oven", "cycle": "20 s"}, rated="30000 1/hour").split())
    assert "cycle at least 20.00 s, set by reflow oven as far as times are stated" in text
