import csv
import io

from capcheck.planning.job import Pass
from capcheck.planning.planner import plan_line
from capcheck.planning.set_up_lists import hand_list, set_up_list
from capcheck.values.interval import Interval


def a_plan(shop, odd_name="ODD"):
    parts = [
        shop.part("P", 3, refs=True, width=12.0, per_container=30),
        shop.part("Q", 2, refs=True, supply="tray"),
        shop.part(odd_name, 2, refs=True, hand_seconds=6.5),
    ]
    job, line = shop.job(*parts), shop.line(shop.machine("A", trays=2, tray_slots=4))
    can = shop.takes_all(job, line)
    can[2] = -1
    return plan_line(job, line, can)


def rows(text):
    return list(csv.DictReader(io.StringIO(text)))


def test_the_set_up_list_names_slot_tape_and_references(shop):
    tape, tray = rows(set_up_list(a_plan(shop)))
    assert (tape["part number"], tape["slot"], tape["tape width mm"], tape["tape pitch mm"]) == ("P", "1–2", "12", "4")
    assert tape["references"] == "P.0.0 P.0.1 P.0.2"
    assert tape["passes between refills"] == "10.0"
    assert (tray["part number"], tray["slot"]) == ("Q", "tray")


def test_the_slots_kept_for_the_widest_feeder_that_it_may_be_are_shown(shop):
    parts = [shop.part("P", 9, width=Interval(12.0, 24.0)), shop.part("Q", 2)]
    job, line = shop.job(*parts), shop.line(shop.machine("A"))
    wide, next_one = rows(set_up_list(plan_line(job, line, shop.takes_all(job, line))))
    assert (wide["slot"], wide["slots"]) == ("1–3", "2 to 3")
    assert next_one["slot"] == "4"


def test_counts_of_a_panel_are_told_as_of_a_pass(shop):
    job = shop.job(shop.part("P", 4, per_container=100), passes=[Pass("panel", marks=3, pieces=2)])
    line = shop.line(shop.machine("A"))
    (row,) = rows(set_up_list(plan_line(job, line, shop.takes_all(job, line))))
    assert (row["placements per pass"], row["passes between refills"]) == ("4", "25.0")


def test_the_hand_list_has_what_is_left_over_with_its_seconds(shop):
    (row,) = rows(hand_list(a_plan(shop)))
    assert (row["part number"], row["placements per pass"], row["seconds"]) == ("ODD", "2", "13")
    assert row["references"] == "ODD.0.0 ODD.0.1"


def test_a_part_number_cannot_become_a_formula(shop):
    (row,) = rows(hand_list(a_plan(shop, "=1+2")))
    assert row["part number"] == "'=1+2"
