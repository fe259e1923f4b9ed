"""Feeder banks in a machine profile: faults are named with what to do, and what a tape keeps is three-valued.

Figures: profiles are invented in round numbers. EIA-481: tapes of 8, 12, 16 and 24 mm.
"""

import pytest
from hypothesis import given, strategies as st

from capcheck.machines import Bank, Packing, places_of, read_machine
from capcheck.values.errors import InputError
from capcheck.values.interval import UNKNOWN_SIZE, Interval

TWO_HEADS = '[[head]]\nname = "left"\n[[head]]\nname = "right"\ngantry = 2\n'


def profile(tmp_path, banks, feeders=""):
    file = tmp_path / "m.machine.toml"
    file.write_text(f'name = "M"\n[feeders]\n{feeders}\n{TWO_HEADS}{banks}')
    return file


def bank(**keys):
    return "[[bank]]\n" + "".join(f"{key} = {value}\n" for key, value in keys.items())


FRONT = bank(name='"front"', slots=20)


@pytest.mark.parametrize(
    ("banks", "feeders", "said"),
    [
        (bank(name='"front"', slots=0), "", "bank[1].slots: 0 is less than 1"),
        (bank(name='"front"'), "", 'the key "slots" is missing'),
        (FRONT + bank(name='"rear"', slots=9, first_slot=20), "", '"front" and "rear" overlap in slots 20 to 20'),
        (
            bank(name='"all"', slots=90) + bank(name='"in it"', slots=5, first_slot=40),
            "",
            'banks "all" and "in it" overlap in slots 40 to 44; correct slots or first_slot',
        ),
        (FRONT + FRONT, "", 'two banks are named "front"'),
        (bank(name='"front"', slots=9, heads='["middle"]'), "", 'names a head "middle" that the machine does not have'),
        (bank(name='"front"', slots=9, gantries="[3]"), "", "names a gantry 3 that no head has; gantries: 1, 2"),
        (bank(name='"front"', slots=9, heads='["left"]'), "", 'head "right" reaches no bank'),
        (FRONT, "slots = 30", "the banks have 20 slots together, [feeders] says 30"),
        (FRONT, "tray_slots = 5", "write tray_covers there"),
        (
            bank(name='"front"', slots=9, tray_places=2),
            "tray_places = 2",
            "tray places are stated in [feeders] and in a",
        ),
        (bank(name='"front"', slots=9, tray_covers="[1, 3]"), "", "states what a tray unit covers but no tray places"),
        (
            bank(name='"front"', slots=9, tray_places=1, tray_covers="[8, 10]"),
            "",
            "covers slots 8 to 10, but the bank has slots 1 to 9",
        ),
        (bank(name='"front"', slots=9, tray_places=1, tray_covers="[3, 5]"), "", "parts the bank in two"),
        (bank(name='"front"', slots=9, tray_places=1, tray_covers="[5, 3]"), "", "covers slots 5 to 3"),
        (bank(name='"front"', slots=9, max_tape_width='"12 g"'), "", "a length is expected"),
        ("bank = []\n", "", "bank"),
    ],
)
def test_banks_that_contradict_themselves_are_refused(tmp_path, banks, feeders, said):
    with pytest.raises(InputError) as caught:
        read_machine(profile(tmp_path, banks, feeders))
    assert said in str(caught.value)
    assert "m.machine.toml" in str(caught.value)


def test_all_faults_of_the_banks_are_told_at_once_with_their_line(tmp_path):
    banks = FRONT + bank(name='"front"', slots=5, first_slot=3, gantries="[7]")
    with pytest.raises(InputError) as caught:
        read_machine(profile(tmp_path, banks))
    (problem,) = caught.value.problems
    assert problem.where.row == 9
    assert all(said in str(caught.value) for said in ("two banks are named", "overlap", "gantry 7"))


def test_banks_go_on_numbering_and_state_the_machine_as_a_whole(tmp_path):
    rear = bank(name='"rear"', slots=10, gantries="[2]", tray_places=3, tray_covers="[21, 24]")
    machine = read_machine(profile(tmp_path, FRONT + rear + bank(name='"side"', slots=5, first_slot=101)))
    assert (machine.slots, machine.tray_places) == (35, 3)
    front, rear, side = places_of(machine)
    assert (front.first_slot, rear.first_slot, side.first_slot) == (1, 21, 101)
    assert (front.heads, rear.heads) == ((0, 1), (1,))
    assert (rear.tray_slots, rear.covers_first) == (4, True)


def test_trays_that_no_bank_states_stand_in_a_unit_of_their_own(tmp_path):
    _, unit = places_of(read_machine(profile(tmp_path, FRONT, "tray_places = 4")))
    assert (unit.slots, unit.tray_places, unit.heads, unit.only_trays) == (0, 4, (0, 1), True)
    assert unit.takes(Packing("tray")) is True
    assert unit.takes(Packing("tape", Interval.exactly(8.0))) is False


def test_a_machine_without_banks_is_one_place_that_takes_everything(tmp_path):
    machine = read_machine(profile(tmp_path, "", "slots = 30\ntray_places = 2\ntray_slots = 6"))
    (whole,) = places_of(machine)
    assert (whole.name, whole.slots, whole.tray_places, whole.tray_slots, whole.shared) == ("", 30, 2, 6, False)
    assert whole.takes(Packing(None)) is True


LIMITED = Bank(name="front", slots=9, max_tape_width="12 mm", max_pocket_depth="4 mm", max_reel="330 mm")
FITS = {"tape_width": Interval.exactly(12.0), "pocket": Interval(2.0, 4.0), "reel": Interval.exactly(330.0)}


@pytest.mark.rows(
    ("changed", "takes"),
    [
        ({}, True),
        ({"tape_width": Interval.exactly(16.0)}, False),
        ({"tape_width": Interval(12.0, 16.0)}, None),
        ({"tape_width": UNKNOWN_SIZE}, None),
        # The usual tape may come one width wider.
        ({"usual": True}, None),
        ({"usual": True, "tape_width": Interval.exactly(8.0)}, True),
        ({"pocket": Interval(2.0, 4.1)}, None),
        ({"pocket": Interval(4.1, 5.0)}, False),
        ({"reel": Interval.exactly(331.0)}, False),
        ({"reel": UNKNOWN_SIZE}, None),
    ],
)
def test_a_tape_has_to_keep_every_limit_of_the_bank(changed, takes):
    assert Packing("tape", **{**FITS, **changed}).fits(LIMITED) is takes


@st.composite
def intervals(draw, most):
    ends = draw(st.tuples(st.integers(0, most), st.integers(0, most)))
    return Interval(float(min(ends)), float(max(ends)))


def within(wide, narrow):
    return wide.low <= narrow.low and narrow.high <= wide.high


@given(intervals(30), intervals(8), intervals(400), intervals(30), intervals(8), intervals(400))
def test_less_known_never_turns_an_open_answer_into_a_proof(width, pocket, reel, width_2, pocket_2, reel_2):
    narrow = Packing("tape", width, pocket, reel)
    wide = Packing("tape", width.hull(width_2), pocket.hull(pocket_2), reel.hull(reel_2))
    if wide.fits(LIMITED) is not None and narrow.fits(LIMITED) is not None:
        assert wide.fits(LIMITED) is narrow.fits(LIMITED)
