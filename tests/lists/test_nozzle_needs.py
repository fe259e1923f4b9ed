"""What a nozzle holds: sides within its own, a plane on top or a grip.

Figures: nozzles and bodies are invented, or the digits of the texts.
"""

import pytest

from capcheck import check
from capcheck.lists import nozzle_list
from capcheck.lists.nozzle_needs import holds, top_of
from capcheck.lists.tables import tops
from capcheck.machines import Nozzle
from capcheck.model import Body, Family, LeadStyle
from capcheck.values import Interval

LARGE = "RESC3216X70"  # IPC-7351B: 3.2 × 1.6 mm, by the digits of the name
CHIP = "RESC1608X55"  # IPC-7351B: 1.6 × 0.8 mm, by the digits of the name

SMALL = Nozzle(name="small", min_side="0.5 mm", max_side="2 mm")
GRIPPER = Nozzle(name="jaws", min_side="0.5 mm", max_side="2 mm", holds="sides")
GROOVE = Nozzle(name="groove", min_side="0.5 mm", max_side="2 mm", holds="round")


@pytest.mark.rows(
    ("length", "width", "top", "answer"),
    [
        ((2, 2), (0.5, 0.5), "flat", True),
        ((3, 3), (0.5, 0.5), "flat", False),
        ((2, 2), (0.4, 0.4), "flat", False),
        ((1, 3), (1, 1), "flat", None),
        ((2, 2), (1, 1), "open", None),
        ((2, 2), (1, 1), "none", False),
        ((2.5, 3), (1, 1), "open", False),
    ],
)
def test_sides_on_the_limit_are_held_and_doubt_stays_doubt(length, width, top, answer):
    assert holds(SMALL, Interval(*length), Interval(*width), top, ()) is answer


def test_what_grips_needs_no_plane_and_a_groove_holds_round_bodies_alone():
    sides = Interval(2, 2), Interval(1, 1)
    assert [holds(GRIPPER, *sides, top, ()) for top in ("none", "open", "flat", "round")] == [True, True, True, False]
    assert [holds(GROOVE, *sides, top, ()) for top in ("round", "flat", "none", "open")] == [True, False, False, None]


def test_a_class_counts_before_a_family_and_that_before_the_form():
    # packages/data/classes.toml has a stand-off without a plane; common practice, no source.
    assert top_of(Body(part_class="stand-off", lead_style=LeadStyle.CHIP)).form == "none"
    assert top_of(Body(family_key=Family.SHIELD, lead_style=LeadStyle.CHIP)).form == "open"
    assert top_of(Body(lead_style=LeadStyle.CHIP)).form == "flat"
    assert top_of(Body(lead_style=LeadStyle.OTHER)).form == "open"
    assert LeadStyle.OTHER not in tops().forms


HEAD = '[[head]]\nname = "one"\nsmallest_chip = "0402M"\nmax_body_length = "50 mm"\nmax_body_width = "50 mm"\n'
HEAD += 'max_part_height = "10 mm"\nmax_part_mass = "20 g"\naccuracy = "0.02 mm"\naccuracy_sigma = 3\n'
HEAD += 'rotation_accuracy = "0.1 degree"\nsupplies = ["tape", "tray", "stick"]\n'


def results(make_board, make_line, nozzles):
    rows = [f"R1,10,10,0,top,x,{CHIP}", f"R2,20,10,0,top,x,{LARGE}"]
    line = make_line(f'name = "M"\n{HEAD}{nozzles}')
    report = check(make_board(rows), line=line)
    listed = nozzle_list(report)
    return {row.refs[0]: row.cells[listed.columns.index("result")] for row in listed.rows}, listed


def test_a_part_is_held_or_not_and_a_profile_without_nozzles_leaves_it_open(make_board, make_line):
    nozzles = 'nozzle = [{ name = "small", min_side = "0.5 mm", max_side = "2 mm" }]\n'
    found, listed = results(make_board, make_line, nozzles)
    assert found == {"R1": "held", "R2": "no nozzle"}
    assert [said.values for said in listed.totals if said.key == "lists.only nozzle"] == [
        {"head": "M / one", "nozzle": "small", "count": 1}
    ]
    found, listed = results(make_board, make_line, "")
    assert found == {"R1": "not known", "R2": "not known"}
    assert any(said.key == "lists.profile without nozzles" for said in listed.notes)
