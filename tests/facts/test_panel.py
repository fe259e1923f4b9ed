"""A panel described in board.toml, from files to findings: each limit on it and one step past it.

Figures: boards, parts and machines are invented, places worked by hand; limits have their basis in rules/panel.toml
and rules/board.toml.
"""

import pytest

# Two circuits of 100 × 60 mm side by side, 2 mm apart; the line of parting runs at x = 101 mm.
PANEL = '[panel]\ncolumns = 2\npitch_x = "102 mm"\n'


def row(x, y=30.0, rotation=0, footprint="s"):
    return f"U1,{x},{y},{rotation},top,v,{footprint}"


@pytest.mark.parametrize(("rail", "outcomes"), [("5 mm", set()), ("4.9 mm", {("board", "warn")})])
def test_rails_are_wide_enough(answer, rail, outcomes):
    toml = PANEL + f'rails = {{ top = "7 mm", bottom = "{rail}" }}\n'
    assert answer([row(50)], "panel-rails", toml=toml).outcomes == outcomes


@pytest.mark.parametrize(("pitch", "outcomes"), [("100 mm", set()), ("99.9 mm", {("board", "fail")})])
def test_circuits_do_not_overlap(answer, pitch, outcomes):
    toml = f'[panel]\ncolumns = 2\npitch_x = "{pitch}"\n'
    assert answer([row(50)], "panel-circuits-apart", toml=toml).outcomes == outcomes


@pytest.mark.parametrize(("x", "outcomes"), [(97.0, set()), (97.1, {("U1", "warn")})])
def test_bodies_stay_away_from_the_line_of_parting(answer, x, outcomes):
    """2.5 mm of body and 1.5 mm end at 101 mm."""
    assert answer([row(x)], "parting-body", toml=PANEL).outcomes == outcomes


def test_the_second_circuit_is_measured_at_its_own_place(answer):
    """A body at x = 5 mm reaches to 2.5 mm: 3.5 mm from the line before its own circuit in the second column."""
    limits = {"parting-body": {"least": "3.6 mm"}}
    found = answer([row(5)], "parting-body", toml=PANEL, limits=limits)
    assert found.outcomes == {("U1/2", "warn")}


def test_rails_are_parted_too(answer):
    toml = PANEL + 'rails = { top = "7 mm", bottom = "7 mm" }\n'
    assert answer([row(50, 4.0)], "parting-body", toml=toml).outcomes == set()
    assert answer([row(50, 3.9)], "parting-body", toml=toml).outcomes == {("U1", "warn"), ("U1/2", "warn")}


@pytest.mark.parametrize(
    ("x", "rotation", "outcomes"),
    [(97.07, 0, set()), (97.3, 0, {("U1", "undecided")}), (98.5, 90, {("U1", "undecided")})],
)
def test_ceramic_chips_across_the_line_stay_farther_away(answer, x, rotation, outcomes):
    """A chip of 1.6 mm across the line at 101 mm needs 3 mm; only its lands would show which way it lies."""
    rows = [row(x, 30, rotation, "C1608M"), "U9,50,20,0,top,v,s"]
    found = answer(rows, "parting-chip", toml=PANEL, sizes={"U1": None}, listed=["U1"])
    assert {o for o in found.outcomes if o[0] == "U1"} == outcomes


@pytest.mark.rows(
    ("x", "rotation", "rows", "outcome", "asked"),
    [
        # A chip of 1.6 × 0.8 mm turned by 45° reaches 0.85 mm towards the line, whichever way it lies.
        (98.0, 45, "columns = 2", "warn", False),
        (96.9, 45, "columns = 2", None, False),
        # In the corner of two lines it lies across one of them: at 101 and 61 mm; its copies, beside one line.
        (99.5, 0, "columns = 2\nrows = 2", "warn", True),
        # Beside one line it may lie along it, and only a drawing or its lands show which way.
        (98.5, 0, "columns = 2", "undecided", True),
    ],
)
def test_a_chip_of_which_the_direction_is_open_is_judged_where_either_gives_the_same(
    answer, x, rotation, rows, outcome, asked
):
    from capcheck.report.questions import questions

    toml = f'[panel]\n{rows}\npitch_x = "102 mm"\npitch_y = "62 mm"\n'
    y = 59.5 if "rows" in rows else 30
    placed = [f"U1,{x},{y},{rotation},top,v,C1608M", "U9,50,20,0,top,v,s"]
    found = answer(placed, "parting-chip", toml=toml, sizes={"U1": None}, listed=["U1"])
    assert {o for name, o in found.outcomes if name == "U1"} == ({outcome} if outcome else set())
    lying = [q.every for q in questions(found.report) if q.type == "lying-at-zero"]
    assert lying == ([("U1",)] if asked else [])


def test_without_a_panel_nothing_is_parted(answer):
    assert answer([row(98)], "parting-body", "parting-chip", "panel-rails", "panel-marks").outcomes == set()


@pytest.mark.parametrize(("most", "outcomes"), [("202 mm", set()), ("201.9 mm", {("M", "fail")})])
def test_the_machines_carry_the_panel_though_the_stated_size_is_one_circuit(answer, most, outcomes):
    profile = (
        f'name = "M"\n[board]\nmin_length = "1 mm"\nmax_length = "{most}"\nmax_width = "90 mm"\n[[head]]\nname = "h"\n'
    )
    stated = 'length = "100 mm"\nwidth = "60 mm"\n'
    assert answer([row(50)], "board-length", toml=stated + PANEL, profiles=[profile]).outcomes == outcomes


def test_a_panel_of_a_stated_size_without_an_outline_is_stepped_too(make_board):
    from capcheck.checking.read import read_board

    toml = 'length = "100 mm"\nwidth = "60 mm"\n' + PANEL + 'rails = { top = "7 mm", bottom = "5 mm" }\n'
    size = read_board(make_board([row(50)], toml=toml)).size
    assert (size.length.value.high, size.width.value.high) == (202, 72)


@pytest.mark.parametrize(("rail", "outcomes"), [("6 mm", set()), ("4.9 mm", {("M", "fail")})])
def test_rails_around_a_single_circuit_make_it_wide_enough(answer, rail, outcomes):
    """40 mm and two rails against the 50 mm that the machine asks for; the outline is the circuit's."""
    toml = f'[panel]\ncolumns = 1\nrows = 1\nrails = {{ top = "{rail}", bottom = "{rail}" }}\n'
    assert answer([row(30, 20)], "board-width", box=(60, 40), toml=toml).outcomes == outcomes


def test_a_part_of_a_railed_circuit_is_measured_to_the_rail_s_edge(answer):
    """A body from y = 0 on with a rail of 6 mm before it keeps the 3 mm free that the machine asks for."""
    toml = '[panel]\nrails = { top = "6 mm", bottom = "6 mm" }\n'
    assert answer([row(50, 2.5)], "edge-clearance", toml=toml).outcomes == set()
    assert answer([row(50, 2.5)], "edge-clearance").outcomes == {("U1", "fail")}


def test_a_panel_of_a_size_that_is_stated_in_half_is_not_known(make_board):
    from capcheck.checking.read import read_board

    size = read_board(make_board([row(50)], toml='length = "100 mm"\n' + PANEL)).size
    assert not size.length.value.is_known


def test_a_long_body_near_the_line_is_seen_though_its_centre_is_far(answer):
    """60 mm long, 30.9 mm from the line: its end stands 0.9 mm before it."""
    found = answer([row(70.1)], "parting-body", toml=PANEL, sizes={"U1": (60, 60, 5)})
    assert {o for o in found.outcomes if o[0] == "U1"} == {("U1", "warn")}


CHIPS = [f"U{n},{20 + 1.2 * n},30,90,top,v,C1608M" for n in range(2, 9)]


@pytest.mark.parametrize(
    ("tabs", "y", "outcomes"),
    [
        ("[]", 10, {("U1", "undecided")}),
        ('[{ x = "100 mm", y = "30 mm" }]', 10, set()),
        ('[{ x = "100 mm", y = "30 mm" }]', 24.2, {("U1", "warn")}),
        ('[{ x = "100 mm", y = "30 mm" }]', 35.8, {("U1", "warn")}),
    ],
)
def test_chips_stay_away_from_stated_tabs_and_of_others_anything_is_possible(answer, tabs, y, outcomes):
    """A chip at x = 97 mm near the line at 101 mm: 3 mm beside and some 5 mm below or above the tab."""
    toml = PANEL + f'parting = "tabs"\ntabs = {tabs}\n'
    rows = [row(97, y, 90, "C1608M"), *CHIPS, "U9,50,20,0,top,v,s"]
    found = answer(rows, "parting-tab", toml=toml, sizes=dict.fromkeys([f"U{n}" for n in range(1, 9)]))
    assert {o for o in found.outcomes if o[0] == "U1"} == outcomes


def test_tabs_do_not_matter_to_a_scored_panel(answer):
    rows = [row(97, 10, 90, "C1608M"), *CHIPS, "U9,50,20,0,top,v,s"]
    toml = PANEL + 'parting = "score"\n'
    assert answer(rows, "parting-tab", toml=toml, sizes=dict.fromkeys([f"U{n}" for n in range(1, 9)])).outcomes == set()


CLOSE = ["R1,20,20,0,top,v,C1608M", "R2,21.2,20,0,top,v,C1608M", "R3,60,40,0,top,v,s", "R4,8,50,0,top,v,t"]
"""Two chips side by side, which would overlap with their longer sides along x; one such pair a circuit."""


@pytest.mark.parametrize(
    ("rows", "toml"),
    [
        (CLOSE, '[panel]\ncolumns = 4\npitch_x = "102 mm"\n'),
        (CLOSE + [f"{ref},{float(x) + 102},{rest}" for ref, x, rest in (r.split(",", 2) for r in CLOSE)], ""),
    ],
    ids=["stepped", "in the data"],
)
def test_the_copies_of_a_panel_are_no_evidence_for_how_parts_lie(make_board, rows, toml):
    from capcheck.checking.read import read_board

    board = read_board(make_board(rows, toml=toml))
    assert len(board.placements) > 4
    assert not [d for d in board.decisions if d.topic.startswith("orientation")]
