"""Feeder slots that tapes, trays and sticks take.

Figures: invented machines and jobs, sums worked by hand; the slots that a width takes are invented.
"""

import csv
import math
from pathlib import Path

import pytest

from capcheck.lexicon import sentence
from capcheck.machines import slots_of_tape, tape_widths
from capcheck.machines.profile import Feeders
from capcheck.planning.times.feeder_slots import occupied, places
from capcheck.values.interval import UNKNOWN_SIZE, Interval

FEEDERS = Feeders.model_validate(
    {
        "slots": 50,
        "slots_used": {"8 mm": 1, "12 mm": 2, "24 mm": 3},
        "stick_slots": 4,
        "tray_places": 2,
        "tray_slots": 10,
    }
)


# Widths of tape: EIA-481.
def test_slots_of_a_worked_set_up(shop):
    # 40 × 8 mm at 1 slot, 3 × 12 mm at 2, 1 × 24 mm at 3: 40 + 6 + 3 = 49 (worked by hand; the table is from memory).
    widths = [8.0] * 40 + [12.0] * 3 + [24.0]
    parts = [shop.part(f"P{k}", 1, width=w) for k, w in enumerate(widths)]
    taken = occupied("A", FEEDERS, parts)
    assert taken.slots_needed == Interval.exactly(49.0)
    assert taken.slots_free == Interval.exactly(1.0)
    assert taken.fits is True


def test_one_slot_more_than_there_are_does_not_fit(shop):
    parts = [shop.part(f"P{k}", 1) for k in range(51)]
    assert occupied("A", FEEDERS, parts[:50]).fits is True
    assert occupied("A", FEEDERS, parts).fits is False


# Widths of tape: EIA-481.
def test_tape_widths_between_bounds_give_slots_between_bounds(shop):
    assert tape_widths(Interval(8.0, 12.0)) == (8, 12)
    need = places(shop.part("P", 1, width=Interval(8.0, 12.0)), FEEDERS)
    assert need.slots == Interval(1.0, 2.0)
    assert "8 or 12 mm" in sentence(need.open_because)
    assert need.mounts


# Widths of tape: EIA-481.
def test_unproved_slots_matter_only_near_the_limit(shop):
    open_part = shop.part("P", 1, width=Interval(8.0, 12.0))
    few = [open_part, *(shop.part(f"P{k}", 1) for k in range(48))]
    assert occupied("A", FEEDERS, few).fits is True
    assert occupied("A", FEEDERS, [*few, shop.part("Q", 1)]).fits is None


# Widths of tape: EIA-481.
@pytest.mark.parametrize("width", [Interval.exactly(44.0), Interval(24.0, 32.0)])
def test_a_tape_that_the_table_does_not_list_is_undecided(width):
    tape = slots_of_tape(width, FEEDERS)
    assert not tape.mounts
    assert "feeder" in tape.why
    # What has a feeder bounds what can be mounted: 24 mm of 24 or 32 mm; 44 mm has none.
    assert tape.slots == (UNKNOWN_SIZE if width.low == 44 else Interval.exactly(3.0))


# Widths of tape: EIA-481.
def test_a_profile_without_a_table_leaves_slots_open():
    assert slots_of_tape(Interval.exactly(8.0), Feeders.model_validate({})).slots == UNKNOWN_SIZE


# Widths of tape: EIA-481.
def test_an_unknown_tape_takes_at_most_the_widest_feeder_there_is():
    tape = slots_of_tape(UNKNOWN_SIZE, FEEDERS)
    assert tape.slots == Interval(1.0, 3.0)
    assert "widest feeder in the profile's table is for 24 mm" in tape.why
    assert not tape.mounts


# Widths of tape: EIA-481.
def test_slots_without_a_bound_name_their_part_numbers(shop):
    odd = shop.part("ODD", 1, width=44.0)
    taken = occupied("A", FEEDERS, [shop.part("P", 1), odd])
    assert taken.slots_needed == Interval(1.0, math.inf)
    assert taken.without_bound == ("ODD",)


def test_a_tray_takes_a_place_and_mounts_the_unit(shop):
    taken = occupied("A", FEEDERS, [shop.part("P", 1, supply="tray")])
    assert (taken.trays_needed, taken.slots_needed) == (Interval.exactly(1.0), Interval.exactly(10.0))
    three = [shop.part(f"P{k}", 1, supply="tray") for k in range(3)]
    assert occupied("A", FEEDERS, three).fits is False


def test_a_bowl_takes_the_slots_that_the_profile_states_or_any(shop):
    bowl = shop.part("P", 1, supply="bowl")
    assert places(bowl, FEEDERS.model_copy(update={"bowl_slots": 9.0})).slots == Interval.exactly(9.0)
    silent = places(bowl, FEEDERS)
    assert (silent.slots.is_known, silent.mounts) == (False, False)
    assert "bowl feeder" in sentence(silent.open_because)
    unknown = shop.part("Q", 1, supply=None)
    assert places(unknown, FEEDERS.model_copy(update={"bowl_slots": 90.0})).slots.high == 90.0


def test_a_stick_takes_its_own_slots_and_unknown_supply_spans_all(shop):
    assert places(shop.part("P", 1, supply="stick"), FEEDERS).slots == Interval.exactly(4.0)
    assert places(shop.part("P", 1, supply=None), FEEDERS).slots == Interval(0.0, 4.0)


@pytest.mark.parametrize("name", ["packing_tapes.csv", "passive_tapes.csv"])
def test_makers_packing_tables_name_only_nominal_widths(name):
    # Component makers' packing tables, the source in each row: their widths are EIA-481's, and each is read as itself.
    path = Path(__file__).parents[2] / "reference" / name
    with path.open(encoding="utf-8", newline="") as file:
        widths = {float(row["tape_width_mm"]) for row in csv.DictReader(file) if row["tape_width_mm"]}
    assert widths
    assert all(tape_widths(Interval.exactly(w)) == (int(w),) for w in widths)


# Widths of tape: EIA-481.
def test_a_usual_tape_may_come_one_width_wider_and_a_stated_one_may_not(shop):
    usual = [shop.part(f"U{k}", 1, usual_tape=True) for k in range(30)]
    stated = [shop.part("S", 1, width=12.0), shop.part("W", 1, width=24.0, usual_tape=True)]
    taken = occupied("A", FEEDERS, [*usual, *stated])
    # 30 × 1 + 2 + 3 = 35 as usual; 30 × 2 (12 mm) + 2 + 3 (the table has nothing above 24 mm) = 65.
    assert (taken.slots_needed.high, taken.slots_if_wider) == (35.0, 65.0)
    assert taken.fits is True
    assert not taken.has_spare
    assert occupied("A", FEEDERS, [*usual[:22], *stated]).slots_if_wider == 49.0
    assert occupied("A", FEEDERS, [*usual[:22], *stated]).has_spare
