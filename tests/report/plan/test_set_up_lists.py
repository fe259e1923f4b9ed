"""What is set up on a machine is listed once, with its place and count.

Figures: invented machines and times, sums by hand.
"""

import csv
import io

import numpy as np

from capcheck.machines.line import Line
from capcheck.machines.profile import MachineProfile
from capcheck.planning.job import Job, PartDemand, Pass
from capcheck.planning.planner import plan_line
from capcheck.report.plan.set_up_lists import hand_list, set_up_list
from capcheck.values.interval import Interval

MACHINE = {
    "name": "A",
    "feeders": {"slots": 40, "slots_used": {"8 mm": 1, "12 mm": 2, "24 mm": 3}, "tray_places": 2, "tray_slots": 4},
    "head": [{"name": "H", "nozzles": 6}],
}


def part(name, count, *, width=8.0, supply="tape", **more):
    width = width if isinstance(width, Interval) else Interval.exactly(width)
    refs = (tuple(f"{name}.{k}" for k in range(count)),)
    return PartDemand(name, (count,), refs, supply, width, Interval.exactly(4.0), **more)


def planned(*parts, unable=(), pieces=1):
    job = Job("order", (Pass("board", marks=3, pieces=pieces),), parts)
    can = np.array([[-1 if p.name in unable else 1] for p in parts], dtype=np.int8)
    return plan_line(job, Line("line 1", (MachineProfile.model_validate(MACHINE),), None), can)


def a_plan(odd_name="ODD"):
    odd = part(odd_name, 2, hand_seconds=6.5)
    return planned(part("P", 3, width=12.0, per_container=30), part("Q", 2, supply="tray"), odd, unable=[odd_name])


def rows(text):
    return list(csv.DictReader(io.StringIO(text)))


def test_the_set_up_list_names_slot_tape_and_references():
    tape, tray = rows(set_up_list(a_plan()))
    assert (tape["part number"], tape["slot"], tape["tape width mm"], tape["tape pitch mm"]) == ("P", "1–2", "12", "4")
    assert tape["references"] == "P.0 P.1 P.2"
    assert tape["boards per reel"] == "10.0"
    assert (tray["part number"], tray["slot"]) == ("Q", "tray")


def test_references_of_all_passes_come_in_order():
    job = Job("order", (Pass("board", marks=3), Pass("board", "bottom", marks=3)), (two_sided(),))
    line = Line("line 1", (MachineProfile.model_validate(MACHINE),), None)
    (row,) = rows(set_up_list(plan_line(job, line, np.array([[1]], dtype=np.int8))))
    assert row["references"] == "C1 C2 C4 C11"


def two_sided():
    refs = (("C11", "C2"), ("C1", "C4"))
    return PartDemand("P", (2, 2), refs, "tape", Interval.exactly(8.0), Interval.exactly(4.0))


def test_the_slots_kept_for_the_widest_feeder_that_it_may_be_are_shown():
    wide, next_one = rows(set_up_list(planned(part("P", 9, width=Interval(12.0, 24.0)), part("Q", 2))))
    assert (wide["slot"], wide["slots"]) == ("1–3", "2 to 3")
    assert next_one["slot"] == "4"


def test_counts_of_a_panel_are_told_as_of_a_pass():
    (row,) = rows(set_up_list(planned(part("P", 4, per_container=100), pieces=2)))
    assert (row["placements per pass"], row["boards per reel"]) == ("4", "50.0")


def test_the_hand_list_has_what_is_left_over_with_its_seconds():
    (row,) = rows(hand_list(a_plan()))
    assert (row["part number"], row["placements per pass"], row["seconds"]) == ("ODD", "2", "13")
    assert row["references"] == "ODD.0 ODD.1"


def test_a_part_number_cannot_become_a_formula():
    (row,) = rows(hand_list(a_plan("=1+2")))
    assert row["part number"] == "'=1+2"
