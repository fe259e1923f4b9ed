"""Heights along a line: a check, a plan and a comparison judge them on the machines that the plan really uses.

Figures: boards and machines are invented in round numbers; EIA-481: tapes of 8 mm and more.
"""

import numpy as np
import pytest

from capcheck.checking import check, prepare
from capcheck.checking.answer import Choice
from capcheck.planning import compare, plan
from capcheck.shop import Settings

CHOICE = Choice(select=["part-height", "largest-body", "height-before", "feeder-slots"])
PLAIN = [("R1", 6, 1), ("R2", 6, 1)]


def machine(name, *, height=20, length=50, clearance=30):
    """Return a machine for bodies up to a height and length in mm, with so much room over the board, in mm."""
    return f"""\
name = "{name}"
[board]
top_clearance = "{clearance} mm"
[feeders]
slots = 20
slots_used = {{ "12 mm" = 1 }}
tray_places = 0
[[head]]
name = "h"
max_part_height = "{height} mm"
max_body_length = "{length} mm"
max_body_width = "50 mm"
accuracy = "0.01 mm"
accuracy_sigma = 3
rotation_accuracy = "0.01 degree"
"""


@pytest.fixture
def answers(make_board, make_line):
    """Return a check, a plan and a row of a comparison of parts with (reference, length, height), by the side."""

    def of(machines, top, bottom=()):
        listed = [(side, *part) for side, parts in (("top", top), ("bottom", bottom)) for part in parts]
        rows = [f"{ref},{9 * k + 5},10,0,{side},{ref},LAND OF OUR OWN" for k, (side, ref, *_) in enumerate(listed)]
        bom = ["Ref,Qty,Part number,Length [mm],Width [mm],Height [mm],Tape width"]
        bom += [f"{ref},1,PN-{ref},{length},3,{height},12" for _, ref, length, height in listed]
        folder = make_board(rows, bom=bom, toml='[mounting]\n"*" = "surface"\n')
        line, shop = make_line(*machines), prepare(Settings(choice=CHOICE), None)
        planned = plan([folder], line, shop=shop).plan
        return check(folder, line=line, choice=CHOICE), planned, compare([folder], [line], shop=shop).rows[0]

    return of


LOW = {"height": 3, "clearance": 8}


@pytest.mark.parametrize(
    ("machines", "top", "bottom", "verdict"),
    [
        # The second machine is not needed: the plan leaves it empty.
        ([{}, LOW], [*PLAIN, ("U1", 4, 15)], (), "pass"),
        # It is: the first takes bodies up to 4 mm long alone, and carries nothing over what is high.
        ([{"length": 4}, LOW], [*PLAIN, ("U1", 4, 15)], (), "fail"),
        ([{"length": 4}, LOW], [*PLAIN, ("U1", 4, 8)], (), "pass"),
        # What is high on the other side lies below the board.
        ([{"length": 4}, LOW], PLAIN, [("U1", 4, 15)], "pass"),
        # A part waits for the last machine, where that takes it, and the others need not.
        ([{}, {"clearance": 8}], [*PLAIN, ("U1", 4, 15)], (), "pass"),
        # The third machine is needed and low, so that the second is of no use for what is high.
        ([{"length": 4}, {"length": 4}, LOW], [*PLAIN, ("U1", 4, 15)], (), "fail"),
        # Without the third, the second places what no other does, after the first has placed what is less high.
        ([{"length": 4}, {"height": 12, "clearance": 10}, LOW], [*PLAIN, ("U1", 4, 9)], (), "pass"),
    ],
)
def test_heights_are_judged_on_the_machines_that_the_plan_uses(answers, machines, top, bottom, verdict):
    named = [machine(f"M{k}", **limits) for k, limits in enumerate(machines)]
    found = answers(named, top, bottom)
    assert [one.verdict for one in found] == [verdict] * 3
    assert (found[1].shortage is None) is (verdict == "pass")


@pytest.mark.parametrize("seed", range(6))
def test_the_three_agree_on_heights_at_random(answers, seed):
    rng = np.random.default_rng(seed)
    machines = [
        machine(
            f"M{k}", height=rng.choice([3, 9, 20]), length=rng.choice([4, 7, 50]), clearance=rng.choice([2, 8, 12, 30])
        )
        for k in range(int(rng.integers(2, 5)))
    ]
    sides = [
        [(f"{letter}{k}", int(rng.choice([4, 6, 9])), int(rng.choice([1, 3, 9, 15]))) for k in range(number)]
        for letter, number in (("R", int(rng.integers(1, 5))), ("C", int(rng.integers(0, 3))))
    ]
    found = answers(machines, *sides)
    assert [one.verdict for one in found] == [found[0].verdict] * 3
    assert found[0].verdict in {"pass", "fail"}
