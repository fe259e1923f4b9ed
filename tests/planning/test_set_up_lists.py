import csv
import io

from capcheck.planning.planner import plan_line
from capcheck.planning.set_up_lists import hand_list, set_up_list


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
    assert tape["boards between refills"] == "10.0"
    assert (tray["part number"], tray["slot"]) == ("Q", "tray")


def test_the_hand_list_has_what_is_left_over_with_its_seconds(shop):
    (row,) = rows(hand_list(a_plan(shop)))
    assert (row["part number"], row["placements per board"], row["seconds"]) == ("ODD", "2", "13")
    assert row["references"] == "ODD.0.0 ODD.0.1"


def test_a_part_number_cannot_become_a_formula(shop):
    (row,) = rows(hand_list(a_plan(shop, "=1+2")))
    assert row["part number"] == "'=1+2"
