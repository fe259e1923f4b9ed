"""A part number is one part wherever it is stated: rows of one BOM, and boards with a BOM each, share its feeder.

Figures: invented boards and machines, sums by hand.
"""

import shutil

import pytest

from capcheck.checking import prepare
from capcheck.checking.answer import Choice
from capcheck.planning import PlanSettings, plan
from capcheck.shop import Settings

MACHINE = """\
name = "M"
rated = "3600 1/hour"
[feeders]
slots = 4
slots_used = { "8 mm" = 1, "12 mm" = 2 }
tray_places = 0
[timing]
derate = [1, 1]
board_transfer = "0 s"
fiducial = "0 s"
uptime = 1
[[head]]
name = "h"
max_part_height = "3 mm"
max_body_length = "50 mm"
max_body_width = "50 mm"
accuracy = "0.01 mm"
accuracy_sigma = 3
rotation_accuracy = "0.01 degree"
"""


@pytest.fixture
def planned(make_board, make_line, tmp_path):
    """Return the common plan of boards of parts, each as number, height in mm and width of its tape."""

    def of(*boards):
        folders = []
        for name, parts in zip("ab", boards, strict=False):
            rows = [f"R{k},{3 + 5 * k},10,0,top,{number},OWN LAND" for k, (number, *_) in enumerate(parts)]
            bom = ["Ref,Qty,Part number,Length [mm],Width [mm],Height [mm],Tape width"]
            bom += [f"R{k},1,{number},1.6,0.8,{height},{tape}" for k, (number, height, tape) in enumerate(parts)]
            toml = f'name = "{name}"\n[mounting]\n"R*" = "surface"\n'
            made = make_board([*rows, "FID1,2,2,0,top,,"], bom=bom, toml=toml)
            folders.append(shutil.copytree(made, tmp_path / name))
        shop = prepare(Settings(choice=Choice(select=["part-height", "largest-body"])), None)
        return plan(folders, make_line(MACHINE), shop=shop, settings=PlanSettings(set_up="common")).plan

    return of


def test_rows_of_one_number_share_a_feeder(planned):
    found = planned([("P", 1, 8), ("Q", 1, 8), ("P", 1, 8), ("Q", 1, 8), ("P", 1, 8)])
    assert sorted((part.name, part.counts) for part in found.job.parts) == [("P", (3,)), ("Q", (2,))]


def test_boards_share_the_feeders_of_numbers_that_both_state(planned):
    one, other = [("P", 1, 8), ("Q", 1, 8)], [("Q", 1, 8), ("S", 1, 8), ("P", 1, 8), ("T", 1, 8)]
    found = planned(one, other)
    assert sorted(part.name for part in found.job.parts) == ["P", "Q", "S", "T"]
    (set_up,) = found.set_ups
    assert (len(set_up.feeders), set_up.occupied[0].slots_needed.high) == (4, 4.0)
    assert found.verdict == "pass"


def test_each_of_several_bodies_of_one_number_is_a_part_of_its_own(planned):
    found = planned([("P", 1, 8), ("P", 1, 12), ("P", 1, 16), ("P", 1, 12)])
    assert sorted(part.counts for part in found.job.parts) == [(1,), (1,), (2,)]
    assert len({part.name for part in found.job.parts}) == 3
