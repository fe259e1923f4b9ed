"""What a nozzle holds: sides within its own, a plane on top or a grip.

Figures: nozzles and bodies are invented.
"""

import pytest

from capcheck import check
from capcheck.lists import nozzle_list
from capcheck.lists.nozzle_needs import holds, top_of
from capcheck.lists.tables import tops
from capcheck.machines import Nozzle
from capcheck.model import Body, Family, LeadStyle
from capcheck.values import Interval

SMALL = Nozzle(name="small", min_side="0.5 mm", max_side="2 mm")
GRIPPER = Nozzle(name="jaws", min_side="0.5 mm", max_side="2 mm", grips=True)


@pytest.mark.parametrize(
    ("length", "width", "flat", "answer"),
    [
        ((2, 2), (0.5, 0.5), True, True),
        ((2.001, 2.001), (0.5, 0.5), True, False),
        ((2, 2), (0.499, 0.499), True, False),
        ((1.9, 2.1), (1, 1), True, None),
        ((2, 2), (1, 1), None, None),
        ((2, 2), (1, 1), False, False),
        ((2.5, 3), (1, 1), None, False),
    ],
)
def test_sides_on_the_limit_are_held_and_doubt_stays_doubt(length, width, flat, answer):
    assert holds(SMALL, Interval(*length), Interval(*width), flat) is answer


def test_what_grips_needs_no_plane():
    assert holds(GRIPPER, Interval(2, 2), Interval(1, 1), flat=False) is True


def test_a_class_counts_before_a_family_and_that_before_the_form():
    # packages/data/classes.toml has a stand-off without a plane; common practice, no source.
    assert top_of(Body(part_class="stand-off", lead_style=LeadStyle.CHIP)).flat is False
    assert top_of(Body(family_key=Family.SHIELD, lead_style=LeadStyle.CHIP)).flat is None
    assert top_of(Body(lead_style=LeadStyle.CHIP)).flat is True
    assert top_of(Body(lead_style=LeadStyle.OTHER)).flat is None
    assert LeadStyle.OTHER not in tops().forms


HEAD = '[[head]]\nname = "one"\nsmallest_chip = "0402M"\nmax_body_length = "50 mm"\nmax_body_width = "50 mm"\n'
HEAD += 'max_part_height = "10 mm"\nmax_part_mass = "20 g"\naccuracy = "0.02 mm"\naccuracy_sigma = 3\n'
HEAD += 'rotation_accuracy = "0.1 degree"\nsupplies = ["tape", "tray", "stick"]\n'


def results(make_board, make_line, nozzles):
    rows = ["R1,10,10,0,top,x,RESC1608X55", "R2,20,10,0,top,x,RESC6332X70"]
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
