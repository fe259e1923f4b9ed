"""What hangs below and what is carried over, from files to findings: each limit on it and one step past it.

Figures: boards, parts and machines are invented, places worked by hand; limits have their basis in
rules/second_side.toml and rules/height.toml.
"""

import pytest

from capcheck.lexicon import sentence

# The bottom has fewer parts and is the side soldered first.
TOP = ("U1,50,30,0,top,v,s", "U3,20,30,0,top,v,s")


@pytest.mark.parametrize(("height", "outcomes"), [(10, set()), (10.1, {("top", "fail")})])
def test_the_tallest_part_below_clears_the_bed_while_the_other_side_is_up(answer, height, outcomes):
    rows = [*TOP, "U2,50,30,0,bottom,v,s"]
    sizes = {"U1": (5, 5, 15), "U3": (5, 5, 15), "U2": (5, 5, height)}
    assert answer(rows, "underside-clearance", sizes=sizes).outcomes == outcomes


def test_a_height_that_nobody_knows_below_is_undecided(answer):
    rows = [*TOP, "U2,50,30,0,bottom,v,mystery"]
    assert answer(rows, "underside-clearance", sizes={"U2": None}).outcomes == {("top", "undecided")}


def test_nothing_hangs_below_a_board_with_parts_on_one_side(answer):
    assert answer(TOP, "underside-clearance", sizes={"U1": (5, 5, 15)}).outcomes == set()


@pytest.mark.parametrize(
    ("height", "most_length", "outcomes"), [(8, 4, set()), (8.1, 4, {("top", "fail")}), (8.1, 5, set())]
)
def test_parts_are_carried_over_what_an_earlier_machine_placed(answer, machine, height, most_length, outcomes):
    """The second machine takes nothing above 2 mm and carries over 8 mm; U3 needs it where the first takes 4 mm."""
    first = machine.replace('"M"', '"First"', 1).replace('top_clearance = "8 mm"', 'top_clearance = "30 mm"')
    first = first.replace('name = "h"', f'name = "h"\nmax_body_length = "{most_length} mm"\nmax_body_width = "5 mm"')
    second = machine.replace('"M"', '"Second"', 1).replace('max_part_height = "20 mm"', 'max_part_height = "2 mm"')
    second = second.replace('name = "h"', 'name = "h"\nmax_body_length = "9 mm"\nmax_body_width = "9 mm"')
    rules, sizes = ("height-before", "part-height", "largest-body"), {"U1": (4, 4, height), "U3": (5, 5, 1)}
    assert answer(TOP, *rules, sizes=sizes, profiles=[first, second]).outcomes == outcomes


# Invented body.
def test_the_side_with_the_ball_grid_is_soldered_last(answer):
    rows = ["U1,50,30,0,top,v,s", "U2,50,30,0,bottom,v,BGA256", "U3,20,30,0,top,v,s"]
    found = answer(rows, "hanging-mass", sizes={"U2": (17, 17, 2)})
    assert any("solder the top first" in sentence(note.said) for note in found.report.notes)


@pytest.mark.parametrize(("x", "outcomes"), [(55.13, set()), (55.12, {("U1 and U2", "fail")})])
def test_a_part_that_only_a_later_machine_takes_keeps_the_nozzle_gap_to_a_tall_neighbour(answer, machine, x, outcomes):
    """U2 is too tall for the second machine, U1 too long for the first: U1 comes after U2 whatever the order."""
    first = machine.replace('"M"', '"First"', 1).replace('name = "h"', 'name = "h"\nmax_body_length = "4 mm"')
    second = machine.replace('"M"', '"Second"', 1).replace('max_part_height = "20 mm"', 'max_part_height = "3 mm"')
    rows = ["U1,50,30,0,top,v,s", f"U2,{x - 0.6},30,0,top,v,s"]
    sizes = {"U2": (3.8, 3.8, 5)}
    assert answer(rows, "height-order", sizes=sizes, profiles=[first, second]).outcomes == outcomes
    assert answer(rows, "height-order", sizes=sizes, profiles=[second, first]).outcomes == set()
    assert answer(rows, "height-order", sizes=sizes, profiles=[machine]).outcomes == set()


def test_a_side_whose_parts_may_be_drilled_is_neither_bare_nor_soldered(answer):
    """U2 is alone on the bottom: where its mounting is open nobody knows whether anything hangs below at all."""
    rows = [*TOP, "U2,50,30,0,bottom,v,mystery"]
    sizes = {"U1": (5, 5, 15), "U3": (5, 5, 15), "U2": (5, 5, 12)}
    assert answer(rows, "underside-clearance", sizes=sizes, mounting={}).outcomes == {("top", "undecided")}
    surface, drilled = {"*": "surface"}, {"U[13]": "surface", "U2": "through hole"}
    assert answer(rows, "underside-clearance", sizes=sizes, mounting=surface).outcomes == {("top", "fail")}
    assert answer(rows, "underside-clearance", sizes=sizes, mounting=drilled).outcomes == set()


def test_a_part_of_unknown_side_may_hang_below(answer):
    """U2 may lie on either side: alone it may make a second side, beside U4 it may be the tallest that hangs."""
    rows = [*TOP, "U2,50,30,0,,v,s"]
    sizes = {"U1": (5, 5, 15), "U3": (5, 5, 15), "U2": (5, 5, 12)}
    assert ("top", "undecided") in answer(rows, "underside-clearance", sizes=sizes).outcomes
    with_another = [*rows, "U4,20,20,0,bottom,v,s"]
    assert ("top", "undecided") in answer(with_another, "underside-clearance", sizes=sizes).outcomes
    assert ("bottom", "fail") not in answer(with_another, "underside-clearance", sizes=sizes).outcomes
