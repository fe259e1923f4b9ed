"""The board on the conveyor, from files to findings: each limit on it and one step past it.

Figures: boards, parts and machines are invented, places worked by hand; limits have their basis in rules/board.toml
and rules/edges.toml.
"""

import math

import pytest

from capcheck.lexicon import sentence

PART = "U1,25,25,0,top,v,s"


@pytest.mark.parametrize(
    ("box", "outcomes"),
    [
        ((500, 60), set()),
        ((500.1, 60), {("M", "fail")}),
        ((60, 500), set()),
        ((60, 50), set()),
        ((49.9, 49.9), {("M", "fail")}),
        ((400, 400), set()),
        ((450, 450), {("M", "fail")}),
        ((450, 400), set()),
    ],
)
def test_the_board_fits_the_conveyor_one_way_or_the_other(answer, box, outcomes):
    """The machine takes 50 to 500 mm along and 50 to 400 mm across; both ways are tried."""
    assert answer([PART], "board-length", "board-width", box=box).outcomes == outcomes


def test_a_board_that_fits_only_short_edge_first_travels_that_way(answer):
    wide = 'name = "W"\n[board]\nmax_length = "100 mm"\nmax_width = "300 mm"\n[[head]]\nname = "h"\n'
    found = answer([PART], "board-length", "board-width", box=(200, 90), profiles=[wide])
    assert not any(outcome == "fail" for _, outcome in found.outcomes)


@pytest.mark.parametrize(("width", "outcomes"), [(250, set()), (250.1, {("M", "warn")})])
def test_both_lanes_run_up_to_their_width(answer, width, outcomes):
    assert answer([PART], "board-both-lanes", box=(300, width)).outcomes == outcomes


@pytest.mark.parametrize(
    ("thickness", "outcomes"),
    [("0.4 mm", set()), ("0.39 mm", {("M", "fail")}), ("4 mm", set()), ("4.1 mm", {("M", "fail")})],
)
def test_the_clamp_takes_the_thickness(answer, thickness, outcomes):
    assert answer([PART], "board-thickness", toml=f'thickness = "{thickness}"\n').outcomes == outcomes


def test_a_thickness_that_nobody_states_is_undecided(answer):
    assert answer([PART], "board-thickness").outcomes == {("M", "undecided")}


@pytest.mark.parametrize(("mass", "outcomes"), [("3 kg", set()), ("3.01 kg", {("M", "fail")})])
def test_the_conveyor_carries_the_stated_mass(answer, mass, outcomes):
    assert answer([PART], "board-mass", toml=f'mass = "{mass}"\n').outcomes == outcomes


def test_a_mass_from_area_thickness_and_density_is_bounded(answer):
    """250 × 200 × 1.6 mm of aluminium at 2.70 g/cm³ are 216 g (handbook density, from memory)."""
    toml = 'thickness = "1.6 mm"\ndensity = "2.70 g/cm**3"\n'
    light = 'name = "L"\n[board]\nmax_mass = "{}"\n[[head]]\nname = "h"\n'
    found = answer([PART], "board-mass", box=(250, 200), toml=toml, profiles=[light.format("215 g")])
    assert found.outcomes == {("L", "fail")}
    heavy = answer([PART], "board-mass", box=(250, 200), toml=toml, profiles=[light.format("230 g")])
    assert ("L", "fail") not in heavy.outcomes


@pytest.mark.parametrize(("width", "outcomes"), [(50, set()), (49.9, {("board", "warn")})])
def test_a_board_is_at_most_twice_as_long_as_wide(answer, width, outcomes):
    assert answer([PART], "board-aspect", box=(100, width)).outcomes == outcomes


@pytest.mark.parametrize(("width", "outcomes"), [(240, set()), (241, {("M", "warn")})])
def test_a_board_is_at_most_150_times_as_wide_as_thick(answer, width, outcomes):
    """At most 150 is common practice, no source; 240 mm over 1.6 mm is on it."""
    found = answer([PART], "board-sag", box=(300, width), toml='thickness = "1.6 mm"\n')
    assert found.outcomes == outcomes


def with_notch(length, *, side="top"):
    """Return a board of 100 × 60 mm with a notch in its upper or its left edge."""

    def draw(space):
        if side == "top":
            points = [(0, 0), (100, 0), (100, 60), (30 + length, 60), (30 + length, 55), (30, 55), (30, 60), (0, 60)]
        else:
            points = [(0, 0), (100, 0), (100, 60), (0, 60), (0, 20 + length), (5, 20 + length), (5, 20), (0, 20)]
        space.add_lwpolyline(points, close=True)

    return draw


@pytest.mark.parametrize(("points", "outcomes"), [(4, set()), (90, {("M", "fail")})])
def test_a_contour_without_a_conveyor_edge_is_not_carried(answer, points, outcomes):
    """A disc of 100 mm lies on a rail along a chord of 20 mm of the 1 mm beside it; a square along its side."""

    def draw(space):
        turn = 360 / points
        corners = [math.radians(turn / 2 + turn * at) for at in range(points)]
        space.add_lwpolyline([(50 + 50 * math.cos(a), 50 + 50 * math.sin(a)) for a in corners], close=True)

    assert answer([PART], "transported-edge-carried", box=draw).outcomes == outcomes


@pytest.mark.parametrize(
    ("feet", "outcomes"),
    [([(0, 10), (90, 100)], {("M", "undecided")}), ([(45, 60)], {("M", "fail")}), ([(20, 60)], set())],
)
def test_feet_at_both_ends_of_an_edge_may_carry_a_board_and_one_that_is_narrow_does_not(answer, feet, outcomes):
    """Of an edge of 100 mm two feet of 10 mm are a fifth, from end to end all of it."""

    def draw(space):
        along = [(0, 20), *((x, y) for a, b in feet for x, y in ((a, 20), (a, 0), (b, 0), (b, 20))), (100, 20)]
        space.add_lwpolyline([*along, (100, 60), (0, 60)], close=True)

    assert answer([PART], "transported-edge-carried", box=draw).outcomes == outcomes


@pytest.mark.parametrize(("length", "outcomes"), [(10, set()), (10.1, {("M", "warn")})])
def test_a_notch_in_a_transported_edge_is_short(answer, length, outcomes):
    assert answer([PART], "transported-edge-whole", box=with_notch(length)).outcomes == outcomes
    assert answer([PART], "transported-edge-whole", box=with_notch(length, side="left")).outcomes == set()


@pytest.mark.parametrize(("length", "outcomes"), [(30, set()), (30.1, {("M", "warn")})])
def test_half_of_the_leading_edge_is_straight(answer, length, outcomes):
    found = answer([PART], "leading-edge-straight", box=with_notch(length, side="left"))
    assert found.outcomes == outcomes
    assert all(m.startswith("share of the leading or trailing edge") for m in found.messages)


@pytest.mark.parametrize(("radius", "outcomes"), [(1.0, set()), (0.9, {("board", "warn")})])
def test_the_corners_of_a_large_board_are_rounded(answer, radius, outcomes):
    def rounded(space):
        bulge = 0.41421356  # tan(90° / 4): a quarter of a circle
        r, length, width = radius, 250, 150
        space.add_lwpolyline(
            [
                (r, 0, 0),
                (length - r, 0, bulge),
                (length, r, 0),
                (length, width - r, bulge),
                (length - r, width, 0),
                (r, width, bulge),
                (0, width - r, 0),
                (0, r, bulge),
            ],
            format="xyb",
            close=True,
        )

    assert answer([PART], "board-corners", box=rounded).outcomes == outcomes


@pytest.mark.parametrize(
    ("x", "diameter", "outcomes"),
    [(5, 4, set()), (4.9, 4, {("M", "warn")}), (2.9, 1.9, set())],
)
def test_stop_and_sensor_meet_no_hole(answer, x, diameter, outcomes):
    """A hole of 4 mm at x = 5 mm begins 3 mm behind the leading edge; one under 2 mm passes no light beam."""

    def hole(space):
        space.add_circle((x, 30), diameter / 2)

    assert answer([PART], "stop-on-board", draw=hole).outcomes == outcomes


@pytest.mark.parametrize(("y", "outcomes"), [(2.5, set()), (2.4, {("board", "warn")})])
def test_a_web_remains_between_a_hole_and_the_edge(answer, y, outcomes):
    def hole(space):
        space.add_circle((50, y), 2)

    found = answer([PART], "hole-web", draw=hole)
    assert found.outcomes == outcomes
    assert all(m.startswith("the hole of 4 mm at (50, 2.4)") for m in found.messages)


def reach(height):
    return f'name = "M"\n[board]\nmax_warp = "{height} mm"\n[[head]]\nname = "h"\n'


@pytest.mark.parametrize(("height", "outcomes"), [(0.45, set()), (0.44, {("M", "warn")})])
def test_a_stated_bow_rises_across_the_conveyor(answer, height, outcomes):
    """IPC-TM-650 2.4.22C 5.1.2: R = W·B/100; 60 mm at 0.75 % are 0.45 mm."""
    found = answer([PART], "board-bow-stated", "board-bow", toml="bow_percent = 0.75\n", profiles=[reach(height)])
    assert found.outcomes == outcomes


@pytest.mark.parametrize(("height", "outcomes"), [(1.75, set()), (1.74, {("M", "warn")})])
def test_a_stated_twist_lifts_a_corner(answer, height, outcomes):
    """IPC-TM-650 2.4.22C 5.2.2: R = 2·D·T/100; D = 116.619 mm at 0.75 % gives 1.7493 mm."""
    found = answer([PART], "board-twist-stated", toml="twist_percent = 0.75\n", profiles=[reach(height)])
    assert found.outcomes == outcomes


@pytest.mark.parametrize(("width", "outcomes"), [(200, set()), (201, {("M", "warn")})])
def test_where_no_bow_is_stated_the_standard_allows_three_quarters_of_a_percent(answer, width, outcomes):
    """IPC-TM-650 2.4.22C 5.1.2: 200 mm at 0.75 % give 1.500 mm. IPC-6012 3.4.3: 0.75 %."""
    found = answer([PART], "board-bow", "board-bow-stated", box=(250, width), profiles=[reach(1.5)])
    assert found.outcomes == outcomes


@pytest.mark.parametrize(("percent", "outcomes"), [(0.75, set()), (0.76, {("board", "warn")})])
@pytest.mark.parametrize("kind", ["bow", "twist"])
def test_what_is_stated_is_held_against_the_standard(answer, kind, percent, outcomes):
    """IPC-6012 3.4.3: at most 0.75 % for boards with surface-mount parts."""
    assert answer([PART], f"{kind}-allowed", toml=f"{kind}_percent = {percent}\n").outcomes == outcomes


def test_two_machines_with_one_limit_are_one_line_of_the_report(answer, machine):
    from capcheck.report.groups import decided_groups

    found = answer(["U1,50,5.4,0,top,v,s"], "edge-clearance", profiles=[machine, machine.replace('"M"', '"N"', 1)])
    assert found.outcomes == {("U1", "fail")}
    groups = decided_groups(found.report.findings)
    assert len(groups) == 1
    assert "on M and N" in groups[0].text


SMALL = """\
name = "{}"
[board]
min_length = "{}"
min_width = "{}"
max_length = "300 mm"
max_width = "200 mm"
[[head]]
name = "h"
"""


def test_the_panel_that_cures_a_board_too_small_passes_every_machine(answer):
    """40 × 30 mm: A asks for 50 mm each way and B for 80 × 60; two rows and two columns make both, with 2 mm gaps."""
    profiles = [SMALL.format("A", "50 mm", "50 mm"), SMALL.format("B", "80 mm", "60 mm")]
    found = answer([PART], "board-passes-line", box=(40, 30), profiles=profiles)
    assert found.outcomes == {("line", "warn")}
    assert found.messages[0].startswith("cannot pass A, B; ")
    assert "2 × 2 boards on 82 × 72 mm the fewest" in found.messages[0]
    assert "7 × 6 boards on 292 × 200 mm are the most" in found.messages[0]


def test_gap_and_rails_of_a_proposal_are_those_of_the_board_file(answer):
    toml = '[panel_proposal]\ngap = "0 mm"\nrail = "10 mm"\n'
    profiles = [SMALL.format("A", "50 mm", "50 mm")]
    message = answer([PART], "board-passes-line", box=(40, 30), toml=toml, profiles=profiles).messages[0]
    assert "gaps of 0 mm, rails of 10 mm" in message
    assert "7 × 6 boards on 280 × 200 mm are the most" in message


def test_no_panel_is_proposed_where_none_fits_and_the_machine_that_takes_none_is_named(answer):
    profiles = [SMALL.format("A", "50 mm", "50 mm"), SMALL.format("B", "290 mm", "190 mm").replace("300 mm", "291 mm")]
    message = answer([PART], "board-passes-line", box=(40, 350), profiles=profiles).messages[0]
    assert "no panel of this board fits the whole line: A and B take none" in message


ON_BOARD = ("board-length", "board-width", "board-corners", "edge-clearance", "body-on-board", "places-certain")


def test_an_outline_whose_unit_is_open_passes_nothing_that_depends_on_it(answer):
    """4 × 3 without a unit may be inch or cm: 101.6 × 76.2 mm would pass, 40 × 30 mm would not."""
    found = answer(["U1,25,25,0,top,v,s"], *ON_BOARD, box=(4, 3), units=0)
    assert found.outcomes == {("M", "undecided"), ("board", "undecided"), ("board", "warn")}
    assert any(message.startswith("the outline unit is not certain") for message in found.messages)
    assert found.report.answers.counts["board-length"].passed == 0


def test_a_size_that_is_stated_decides_though_the_outline_does_not(answer):
    toml = 'length = "101.6 mm"\nwidth = "76.2 mm"\n'
    assert (
        answer(["U1,25,25,0,top,v,s"], "board-length", "board-width", box=(4, 3), units=0, toml=toml).outcomes == set()
    )


def test_a_board_that_passes_alone_hears_of_the_largest_panel_in_a_note(answer):
    """M takes 500 × 400 mm: 4 of 100 mm and 3 gaps of 2 mm along, 6 of 60 mm, 5 gaps and two rails of 5 mm across."""
    found = answer(["U1,50,30,0,top,v,s"], "board-passes-line")
    assert found.outcomes == set()
    (note,) = [sentence(n.said) for n in found.report.notes if sentence(n.said).startswith("panel: ")]
    assert note == (
        "panel: 4 × 6 boards on 406 × 380 mm are the most that every machine takes as a panel"
        " (gaps of 2 mm, rails of 5 mm)"
    )


@pytest.mark.parametrize(("apart", "outcomes"), [(500, set()), (500.1, {("M", "fail")})])
def test_without_an_outline_the_spread_of_the_parts_is_the_least_size_of_the_board(
    make_board, make_line, machine, apart, outcomes
):
    """500 mm is the longest board; 410 mm across would be too wide for the other way of travel."""
    from capcheck.checking.answer import Choice, check

    folder = make_board([PART, f"U2,{25 + apart},25,0,top,v,s"], toml='units = "mm"\n')
    report = check(folder, line=make_line(machine), choice=Choice(select=["placements-on-conveyor"]))
    assert {(f.subject.machine, f.outcome) for f in report.findings} == outcomes
    assert report.board.size.length.value.low == apart


RAILS = '[panel]\nrows = 2\npitch_y = "41 mm"\nrails = { top = "6.5 mm", bottom = "6.5 mm" }\n'
"""60 × 94 mm: two circuits of 60 × 40 mm, 1 mm apart, with rails below and above."""
AT_THE_SIDE = ["U1,2.5,20,0,top,v,s"]
"""A body that begins on the left edge, far from both rails."""


def told(found):
    return [sentence(note.said) for note in found.report.notes if sentence(note.said).startswith("travel: ")]


def test_a_panel_travels_on_its_rails_though_they_are_the_shorter_edges(answer):
    found = answer(AT_THE_SIDE, "edge-clearance", box=(60, 40), toml=RAILS)
    assert found.outcomes == set()
    (note,) = told(found)
    assert "carried on its lower and upper edges by M (" in note
    assert 'to override, set travel = "along y"' in note


@pytest.mark.parametrize(("travel", "outcomes"), [("along x", set()), ("along y", {("U1", "fail"), ("U1/2", "fail")})])
def test_a_stated_way_of_travel_overrides_the_rails(answer, travel, outcomes):
    found = answer(AT_THE_SIDE, "edge-clearance", box=(60, 40), toml=f'travel = "{travel}"\n' + RAILS)
    assert found.outcomes == outcomes
    (note,) = told(found)
    assert "as stated" in note
    assert "override" not in note


def limited(machine, name, most_along, most_across):
    text = machine.replace('name = "M"', f'name = "{name}"').replace('"500 mm"', f'"{most_along} mm"')
    return text.replace('"400 mm"', f'"{most_across} mm"').replace('"250 mm"', f'"{most_across} mm"')


def test_a_board_travels_one_way_through_all_machines_where_one_way_fits_all(answer, machine):
    """N takes no width of 94 mm, so that the panel travels with its rails ahead and behind through M too."""
    found = answer(
        AT_THE_SIDE, "edge-clearance", box=(60, 40), toml=RAILS, profiles=(machine, limited(machine, "N", 500, 90))
    )
    (note,) = told(found)
    assert note.startswith("travel: carried on its left and right edges by every machine (long edge along the conveyor")
    assert "the way in which all machines take it" in note
    assert {outcome for _, outcome in found.outcomes} == {"fail"}


def test_a_board_that_must_be_turned_between_machines_is_told_so(answer, machine):
    profiles = (limited(machine, "A", 90, 400), limited(machine, "B", 500, 90))
    notes = told(answer(AT_THE_SIDE, "edge-clearance", box=(60, 40), toml=RAILS, profiles=profiles))
    assert [note.split(" (")[0] for note in notes] == [
        "travel: carried on its lower and upper edges by A",
        "travel: carried on its left and right edges by B",
        "travel: no one way fits all machines: the board has to be turned between them",
    ]


def test_a_board_of_unknown_size_has_no_way_of_travel_to_tell(make_board, make_line, machine):
    from capcheck.checking.answer import check

    report = check(make_board(AT_THE_SIDE), line=make_line(machine))
    assert not [note for note in report.notes if sentence(note.said).startswith("travel: ")]


def test_a_board_that_no_way_fits_is_not_said_to_be_carried(answer, machine):
    small = machine.replace('max_length = "500 mm"', 'max_length = "59 mm"')
    (note,) = told(answer(AT_THE_SIDE, "edge-clearance", box=(80, 60), profiles=(small,)))
    assert note.startswith("travel: judged as carried on its lower and upper edges by M (fits neither way")
    assert "override" not in note


def takes(name, most_along, most_across):
    board = f'[board]\nmax_length = "{most_along} mm"\nmax_width = "{most_across} mm"\n'
    return f'name = "{name}"\n{board}[[head]]\nname = "h"\n'


LONG, SHORT = takes("Long", 300, 100), takes("Short", 100, 300)


@pytest.mark.parametrize(
    ("box", "profiles", "outcomes"),
    [
        ((90, 200), (LONG, SHORT), {("line", "fail")}),
        ((200, 90), (SHORT, LONG), {("line", "fail")}),
        ((200, 90), (SHORT, LONG, takes("Third", 100, 300)), {("line", "fail")}),
        ((100, 100), (LONG, SHORT), set()),
        ((100.1, 100), (LONG, SHORT), {("line", "fail")}),
        ((200, 90), (LONG, takes("Third", 300, 100)), set()),
        ((200, 90), (LONG,), set()),
        ((200, 200), (LONG, SHORT), set()),  # neither takes it either way: that is another rule's
    ],
)
def test_machines_that_take_the_board_only_turned_against_each_other_are_a_finding(answer, box, profiles, outcomes):
    assert answer([PART], "board-not-turned", box=box, profiles=profiles).outcomes == outcomes


def test_where_the_sizes_leave_open_whether_one_way_suits_all_it_is_undecided(answer):
    two_sizes = 'length = "200 mm"\nwidth = "110 mm"\n'
    found = answer([PART], "board-not-turned", box=(200, 90), toml=two_sizes, profiles=(LONG, takes("B", 300, 100)))
    assert found.outcomes == {("line", "undecided")}


def test_the_finding_names_which_machine_takes_the_board_which_way(answer):
    (message,) = answer([PART], "board-not-turned", box=(90, 200), profiles=(LONG, SHORT)).messages
    assert "Long along y, Short along x" in message
