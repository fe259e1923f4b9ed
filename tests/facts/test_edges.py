"""Bodies and the board's edges, from files to findings: each limit on it and one step past it.

Figures: boards, parts and machines are invented, places worked by hand; limits have their basis in rules/edges.toml.
"""

import pytest


@pytest.mark.parametrize(("y", "outcomes"), [(5.5, set()), (5.4, {("U1", "fail")})])
def test_a_body_keeps_the_strip_of_the_transported_edge(answer, y, outcomes):
    """A 5 mm body at y = 5.5 mm ends 3.0 mm from the edge, on the machine's limit."""
    assert answer([f"U1,50,{y},0,top,v,s"], "edge-clearance").outcomes == outcomes


def test_the_message_names_the_rail_that_cures_all_parts(answer):
    found = answer(["U1,50,5.4,0,top,v,s", "U2,20,4.5,0,top,v,s"], "edge-clearance")
    assert "rails of 1 mm would clear every part" in found.messages[0]


def test_the_long_edges_are_transported_whichever_way_the_board_is_drawn(answer):
    rows = ["U1,30,4,0,top,v,s", "U2,4,50,0,top,v,s"]
    assert answer(rows, "edge-clearance", box=(100, 60)).outcomes == {("U1", "fail")}
    assert answer(rows, "edge-clearance", box=(60, 100)).outcomes == {("U2", "fail")}


@pytest.mark.parametrize(("y", "outcomes"), [(6.5, set()), (6.4, {("U2", "fail")})])
def test_parts_soldered_first_keep_the_strip_of_the_underside_too(answer, y, outcomes):
    """The bottom has fewer parts, is soldered first and then travels below: its parts need 4 mm, not 3."""
    rows = ["U1,50,30,0,top,v,s", "U3,20,30,0,top,v,s", f"U2,50,{y},0,bottom,v,s"]
    assert answer(rows, "edge-clearance").outcomes == outcomes


def test_a_turned_body_is_measured_at_its_corner(answer):
    """A square of 5 mm on its corner reaches 3.536 mm from its centre: 6.54 mm keeps 3 mm free, 6.53 mm does not."""
    assert answer(["U1,50,6.54,45,top,v,s"], "edge-clearance").outcomes == set()
    assert answer(["U1,50,6.53,45,top,v,s"], "edge-clearance").outcomes == {("U1", "fail")}


def test_a_body_of_unknown_size_fails_only_where_its_centre_lies_in_the_strip(answer):
    known, unknown = "U2,50,30,0,top,v,s", {"U1": None}
    assert answer(["U1,50,4,0,top,v,mystery", known], "edge-clearance", sizes=unknown).outcomes == set()
    inside = ["U1,50,2.9,0,top,v,mystery", known]
    assert answer(inside, "edge-clearance", sizes=unknown).outcomes == {("U1", "fail")}


@pytest.mark.parametrize(("x", "outcomes"), [(5.5, set()), (5.4, {("U1", "warn")})])
def test_stop_and_sensor_meet_free_board_at_the_leading_edge(answer, x, outcomes):
    assert answer([f"U1,{x},30,0,top,v,s"], "leading-edge-clearance").outcomes == outcomes


@pytest.mark.parametrize(("x", "outcomes"), [(2.5, set()), (2.4, {("U1", "warn")})])
def test_a_body_ends_at_the_contour_or_reaches_over_it(answer, x, outcomes):
    assert answer([f"U1,{x},30,0,top,v,s"], "body-on-board").outcomes == outcomes


def notched(space):
    space.add_lwpolyline([(0, 0), (100, 0), (100, 60), (60, 60), (60, 50), (40, 50), (40, 60), (0, 60)], close=True)


@pytest.mark.parametrize(("y", "outcomes"), [(47.5, set()), (47.6, {("U1", "warn")})])
def test_a_notch_is_an_edge(answer, y, outcomes):
    assert answer([f"U1,50,{y},0,top,v,s"], "body-on-board", box=notched).outcomes == outcomes


def cut_out(space):
    space.add_lwpolyline([(40, 20), (60, 20), (60, 40), (40, 40)], close=True)


@pytest.mark.parametrize(("x", "outcomes"), [(37.5, set()), (37.6, {("U1", "warn")}), (50, {("U1", "undecided")})])
def test_a_body_stays_out_of_cut_outs(answer, x, outcomes):
    """A contour that holds a part's place is no cut-out for certain."""
    assert answer([f"U1,{x},30,0,top,v,s"], "cut-out-clearance", draw=cut_out).outcomes == outcomes


@pytest.mark.parametrize(("x", "outcomes"), [(102.4, set()), (102.6, {("U1", "fail")})])
def test_a_part_beside_the_board_is_named(answer, x, outcomes):
    rows = [f"U1,{x},30,0,top,v,s", "U2,50,30,0,top,v,s", "U3,20,20,0,top,v,s", "U4,80,40,0,top,v,s"]
    assert answer(rows, "on-board").outcomes == outcomes


def test_an_outline_in_doubt_judges_no_edge_and_says_why(answer, make_board):
    """Placements far from the outline, whose origin nobody states: not a hundred findings, but one."""
    from capcheck.checking.answer import Choice, check

    answer(["U1,50,30,0,top,v,s"], "edge-clearance")  # writes the outline
    rows = ["U1,250,233,0,top,v,s", "U2,271,241,0,top,v,s", "U3,262,252,0,top,v,s"]
    folder = make_board(rows, toml='outline = "outline.dxf"\nunits = "mm"\n')
    report = check(folder, choice=Choice(select=["on-board", "body-on-board", "places-certain"]))
    assert {(f.rule, f.outcome) for f in report.findings} == {("places-certain", "warn")}


OPENINGS = ("cut-out-clearance", "hole-clearance", "drawing-understood")


@pytest.mark.parametrize("reach", [0.01, 0.2, 0.5, 0.7, 1.0, 2.0, 5.0])
@pytest.mark.parametrize("diameter", [1.0, 3.2, 6.6, 8.0, 20.0])
def test_a_circle_that_reaches_into_a_body_never_passes(answer, reach, diameter):
    """From 0.01 mm on: at 0.5 mm a piece cut off by the rim had no corner deeper than the rim itself."""
    found = answer(
        ["U1,50,30,0,top,v,s"], *OPENINGS, draw=lambda s: s.add_circle((52.5 + diameter / 2 - reach, 30), diameter / 2)
    )
    holds_it = diameter > 6.6 and reach > 2.5  # then whether the board is open there is a question
    assert found.outcomes == {("U1", "warn"), *([("U1", "undecided")] if holds_it else [])}


@pytest.mark.parametrize(("away", "outcomes"), [(0.0, set()), (-0.1, {("U1", "warn")})])
def test_a_hole_beside_a_body_is_no_hole_under_it(answer, away, outcomes):
    draw = lambda s: s.add_circle((52.5 + 1.6 + away, 30), 1.6)  # noqa: E731 one line of a drawing
    assert answer(["U1,50,30,0,top,v,s"], "hole-clearance", draw=draw).outcomes == outcomes


def test_a_slot_as_one_line_leaves_the_body_over_it_undecided_and_is_named(answer):
    rows = ["U1,50,30,0,top,v,s", "U2,20,30,0,top,v,s"]
    found = answer(rows, *OPENINGS, draw=lambda s: s.add_line((45, 30), (55, 30)))
    assert found.outcomes == {("U1", "undecided"), ("drawn inside the contour", "warn")}
    assert any(f.rule == "cut-out-clearance" and f.subject.ref == "U1" for f in found.report.findings)


def test_what_has_no_place_is_named_and_no_body_passes_by_it(answer):
    found = answer(["U1,50,30,0,top,v,s"], *OPENINGS, draw=lambda s: s.add_blockref("MISSING", (50, 30)))
    assert found.outcomes == {("drawn inside the contour", "warn")}
