"""Machines without banks: a check, a plan and a comparison give one answer about slots, tray units and reach.

Figures: boards and machines are invented in round numbers; EIA-481: tapes of 8 mm and more.
"""

import numpy as np
import pytest

from capcheck.checking import check, prepare
from capcheck.checking.answer import Choice
from capcheck.planning import compare, plan
from capcheck.shop import Settings

ASKED = ("part-height", "largest-body", "feeder-bank", "bank-slots", "bank-trays", "feeder-slots", "tray-places")


def machine(name, slots, height=9, trays=0, covered=0):
    """Return a machine of one head up to a height in mm, with slots, tray places and slots under the tray unit."""
    return f"""\
name = "{name}"
[feeders]
slots = {slots}
slots_used = {{ "8 mm" = 1, "12 mm" = 1 }}
tray_places = {trays}
tray_slots = {covered}
[[head]]
name = "h"
max_part_height = "{height} mm"
max_body_length = "50 mm"
max_body_width = "50 mm"
accuracy = "0.01 mm"
accuracy_sigma = 3
rotation_accuracy = "0.01 degree"
"""


@pytest.fixture
def answers(make_board, make_line, tmp_path):
    """Return the verdicts of a check, a plan and a comparison of chips, parts of 5 mm and parts in trays."""

    def of(machines, chips, tall=0, trays=0, extra=""):
        kinds = [("R", chips, "1.6,0.8,1,8"), ("U", tall, "6,6,5,12"), ("T", trays, "6,6,3,")]
        listed = [(f"{letter}{k}", body) for letter, number, body in kinds for k in range(number)]
        rows = [f"{ref},{5 + 9 * k},10,0,top,{ref},LAND OF OUR OWN" for k, (ref, _) in enumerate(listed)]
        bom = ["Ref,Qty,Part number,Length [mm],Width [mm],Height [mm],Tape width"]
        bom += [f"{ref},1,PN-{ref},{body}" for ref, body in listed]
        folder = make_board(rows, bom=bom, toml='[mounting]\n"*" = "surface"\n')
        table = tmp_path / "packings.csv"
        table.write_text("\n".join(["part number,supply", *(f"PN-T{k},tray" for k in range(max(trays, 1)))]))
        line, choice = make_line(*machines, extra=extra), Choice(select=list(ASKED))
        shop = prepare(Settings(libraries=[table], choice=choice), None)
        report = check(folder, line=line, libraries=[table], choice=choice)
        row = compare([folder], [line], shop=shop).rows[0]
        return [one.verdict for one in (report, plan([folder], line, shop=shop).plan, row)]

    return of


def test_slots_under_a_tray_unit_are_none_for_feeders(answers):
    # Eight feeders and the unit over five slots are thirteen.
    for slots, verdict in ((13, "pass"), (12, "warn"), (8, "warn"), (7, "fail")):
        assert answers([machine("A", slots, trays=4, covered=5)], 8, trays=1) == [verdict] * 3, slots
    # Nothing comes in trays: the unit is not mounted.
    assert answers([machine("A", 8, trays=4, covered=5)], 8) == ["pass"] * 3


def test_slots_of_a_machine_whose_head_refuses_the_part_do_not_help(answers):
    short, suits = [machine("A", 10, height=3), machine("B", 1)], [machine("A", 8, height=3), machine("B", 2)]
    assert answers(short, 8, tall=2) == ["fail"] * 3
    assert answers(suits, 8, tall=2) == ["pass"] * 3


def test_tray_places_of_a_machine_whose_head_refuses_the_part_do_not_help(answers):
    low = [machine("A", 10, height=2, trays=4), machine("B", 10)]
    assert answers(low, 2, trays=1) == ["warn"] * 3
    assert answers([machine("A", 10, height=2), machine("B", 10, trays=4)], 2, trays=1) == ["pass"] * 3


def test_what_is_left_to_hands_takes_no_slot(make_board, make_line):
    """A part that no head takes fails by its height, and asks for no feeder besides."""
    rows = [f"{ref},{5 + 9 * k},10,0,top,{ref},LAND OF OUR OWN" for k, ref in enumerate(["R1", "R2", "U1"])]
    bom = ["Ref,Qty,Part number,Length [mm],Width [mm],Height [mm],Tape width"]
    bom += ["R1,1,PN-1,1.6,0.8,1,8", "R2,1,PN-2,1.6,0.8,1,8", "U1,1,PN-3,6,6,5,12"]
    folder = make_board(rows, bom=bom, toml='[mounting]\n"*" = "surface"\n')
    found = check(folder, line=make_line(machine("A", 2, height=3)), choice=Choice(select=list(ASKED)))
    assert {f.rule for f in found.findings} == {"part-height"}


def test_one_number_on_two_tapes_takes_two_feeders(make_board, make_line):
    rows = [f"R{k},{5 + 9 * k},10,0,top,R{k},LAND OF OUR OWN" for k in range(3)]
    bom = ["Ref,Qty,Part number,Length [mm],Width [mm],Height [mm],Tape width"]
    bom += [f"R{k},1,PN-1,1.6,0.8,1,{tape}" for k, tape in enumerate((8, 12, 8))]
    folder = make_board(rows, bom=bom, toml='[mounting]\n"*" = "surface"\n')
    choice = Choice(select=list(ASKED))
    for slots, verdict in ((2, "pass"), (1, "fail")):
        line = make_line(machine("A", slots))
        report = check(folder, line=line, choice=choice)
        planned = plan([folder], line, shop=prepare(Settings(choice=choice), None)).plan
        assert [report.verdict, planned.verdict] == [verdict] * 2, slots


def test_they_agree_at_random(answers):
    for seed in range(14):
        rng = np.random.default_rng(seed)
        machines = []
        for name in "AB"[: rng.integers(1, 3)]:
            slots, height = int(rng.integers(1, 8)), int(rng.choice([2, 4, 9]))
            trays, covered = int(rng.integers(0, 3)), int(rng.integers(0, 4))
            machines.append(machine(name, slots, height, trays, min(covered, slots)))
        found = answers(machines, *map(int, (rng.integers(1, 8), rng.integers(0, 3), rng.integers(0, 3))))
        assert found == [found[0]] * 3, (seed, found)
