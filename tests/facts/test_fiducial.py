"""Marks, from files to findings: placement rows, board.toml and circles of the outline; on each limit and past it.

Figures: boards, parts and machines are invented, places worked by hand; limits have their basis in
rules/fiducials.toml.
"""

import pytest

PART = "U1,50,30,0,top,v,s"


def mark(x, y, *, diameter="1 mm", side="top", kind="board", shape=None):
    """Return a mark as board.toml states it."""
    form = f'shape = "{shape}"\n' if shape else ""
    size = f'diameter = "{diameter}"\n' if diameter else ""
    return f'[[fiducials]]\nx = "{x} mm"\ny = "{y} mm"\n{size}side = "{side}"\nkind = "{kind}"\n{form}'


def row(number, x, y, side="top"):
    return f"FID{number},{x},{y},0,{side},,FIDUCIAL"


TWO = (row(1, 10, 10), row(2, 90, 45))


@pytest.mark.parametrize(("marks", "outcomes"), [(TWO, set()), (TWO[:1], {("top", "fail")})])
def test_a_side_with_parts_has_two_marks(answer, marks, outcomes):
    assert answer([PART, *marks], "fiducial-count").outcomes == outcomes


def test_a_side_whose_marks_are_not_listed_is_undecided(answer):
    """No mark in the data may mean that the export leaves them out: never a fail."""
    assert answer([PART], "fiducial-count").outcomes == {("top", "undecided")}


@pytest.mark.parametrize(("x", "outcomes"), [(100, set()), (100.5, {("top", "fail")}), (-50, {("top", "fail")})])
def test_a_mark_beside_the_board_does_not_count(answer, x, outcomes):
    """The board is 100 mm long, and its other marks and parts hold the frame."""
    rows = [PART, "U2,10,10,0,top,v,s", "U3,90,50,0,top,v,s", row(1, 10, 20), row(2, x, 45)]
    assert answer(rows, "fiducial-count").outcomes == outcomes


def test_marks_of_the_other_side_do_not_count(answer):
    rows = [PART, row(1, 10, 10), row(2, 90, 45, "bottom")]
    assert answer(rows, "fiducial-count").outcomes == {("top", "fail")}


def test_stated_marks_count_as_rows_do_and_one_at_the_place_of_a_row_counts_once(answer):
    assert answer([PART, row(1, 10, 10)], "fiducial-count", toml=mark(90, 45)).outcomes == set()
    same = answer([PART, row(1, 10, 10)], "fiducial-count", toml=mark(10.1, 10))
    assert same.outcomes == {("top", "fail")}


@pytest.mark.parametrize(
    ("more", "outcomes"),
    [
        ('rails = { top = "5 mm", bottom = "5 mm" }\n', {("top", "undecided")}),
        ("", {("top", "fail")}),
        (f'rails = {{ top = "5 mm" }}\n{mark(50, 48, kind="panel")}', {("top", "fail")}),
        (f'rails = {{ top = "5 mm" }}\n{mark(5, 48, side="bottom", kind="panel")}', {("top", "fail")}),
    ],
)
def test_rails_of_a_panel_may_carry_marks_that_no_file_lists(answer, more, outcomes):
    """The lists are those of one circuit: what a panel's rails carry they do not say; board.toml does, if anything."""
    toml = f"[panel]\ncolumns = 1\nrows = 1\n{more}"
    assert answer([PART, row(1, 50, 20, "bottom")], "fiducial-count", toml=toml).outcomes == outcomes


def test_a_bare_circle_of_the_outline_may_be_a_mark_and_proves_none(answer):
    def circle(space):
        space.add_circle((90, 45), 0.5, dxfattribs={"layer": "MARKS"})

    assert answer([PART, row(1, 10, 10)], "fiducial-count", draw=circle).outcomes == {("top", "undecided")}


@pytest.mark.parametrize(
    ("diameter", "outcomes"),
    [
        ("0.8 mm", set()),
        ("0.79 mm", {("fiducial 1", "fail")}),
        ("3 mm", set()),
        ("3.01 mm", {("fiducial 1", "fail")}),
        (None, {("fiducial 1", "undecided")}),
    ],
)
def test_the_camera_takes_the_marks_diameter(answer, diameter, outcomes):
    assert answer([PART], "fiducial-diameter", toml=mark(10, 10, diameter=diameter)).outcomes == outcomes


def test_a_circle_at_the_place_of_a_row_gives_the_mark_its_diameter(answer):
    def circle(space):
        space.add_circle((10, 10), 0.35, dxfattribs={"layer": "MARKS"})

    assert answer([PART, row(1, 10, 10)], "fiducial-diameter", draw=circle).outcomes == {("FID1", "fail")}


@pytest.mark.parametrize(
    ("shape", "outcomes"),
    [
        (None, set()),
        ("circle", set()),
        ("cross", {("fiducial 1", "warn")}),
        ("square", {("fiducial 1", "fail"), ("fiducial 1", "warn")}),
    ],
)
def test_shapes_are_known_to_the_camera_and_best_round(answer, shape, outcomes):
    """The machine finds circles and crosses; SMEMA 3.1 prefers the filled circle."""
    found = answer([PART], "fiducial-kind", "fiducial-round", toml=mark(10, 10, shape=shape))
    assert found.outcomes == outcomes


@pytest.mark.parametrize(("x", "outcomes"), [(54.0, set()), (53.99, {("FID", "warn")})])
def test_the_ring_around_a_mark_is_as_wide_as_its_radius(answer, x, outcomes):
    """SMEMA 3.1: a body that ends at 52.5 mm, 0.5 mm of mark, 1 mm of ring for a mark of 1 mm of radius."""
    found = answer([PART], "fiducial-ring", toml=mark(x + 0.5, 30, diameter="2 mm"))
    assert {("FID", outcome) for _, outcome in found.outcomes} == outcomes


def test_a_body_on_the_other_side_leaves_the_ring_free(answer):
    assert answer([PART], "fiducial-ring", toml=mark(50, 30, side="bottom")).outcomes == set()


@pytest.mark.parametrize(("x", "outcomes"), [(5.75, set()), (5.74, {("fiducial 1", "warn")})])
def test_rails_leave_the_mark_and_its_ring_free(answer, x, outcomes):
    """SMEMA 3.1: 4.75 mm and the ring, to the rim: 5.75 mm to the centre of a mark of 1 mm."""
    assert answer([PART], "fiducial-edge", toml=mark(x, 30)).outcomes == outcomes


@pytest.mark.parametrize(
    ("rail", "usual", "outcomes"), [(5, 5, set()), (6, 5, {("fiducial 1", "warn")}), (6, 6, set())]
)
def test_a_mark_on_a_rail_as_the_shop_orders_them_is_not_too_near_the_edge(answer, rail, usual, outcomes):
    """In the middle of a rail of 5 or 6 mm no mark keeps the 5.25 mm of SMEMA 3.1 for a mark of 1 mm."""
    toml = (
        f'[panel_proposal]\nrail = "{usual} mm"\n[panel]\nrails = {{ bottom = "{rail} mm", top = "{rail} mm" }}\n'
        f'[[fiducials]]\nx = "20 mm"\ny = "-{rail / 2} mm"\ndiameter = "1 mm"\nkind = "panel"\n'
    )
    assert answer([PART], "fiducial-edge", toml=toml).outcomes == outcomes


def test_the_edge_of_a_notch_counts_for_marks_too(answer):
    def notched(space):
        space.add_lwpolyline([(0, 0), (100, 0), (100, 60), (60, 60), (60, 45), (40, 45), (40, 60), (0, 60)], close=True)

    assert answer([PART], "fiducial-edge", toml=mark(35, 50), box=notched).outcomes == {("fiducial 1", "warn")}
    assert answer([PART], "fiducial-edge", toml=mark(34, 50), box=notched).outcomes == set()


@pytest.mark.parametrize(("second", "outcomes"), [("1.025 mm", set()), ("1.026 mm", {("top", "warn")})])
def test_marks_of_a_side_are_of_one_size(answer, second, outcomes):
    """SMEMA 3.1: at most 25 µm."""
    toml = mark(10, 10) + mark(90, 45, diameter=second)
    assert answer([PART], "fiducial-sizes-alike", toml=toml).outcomes == outcomes


@pytest.mark.parametrize(("x", "outcomes"), [(59, set()), (58, {("top", "warn")})])
def test_marks_span_half_the_diagonal(answer, x, outcomes):
    """The diagonal of 100 × 60 mm is 116.62 mm; from (10, 10) half of it ends between x = 58 and 59 on y = 42."""
    assert answer([PART, row(1, 10, 10), row(2, x, 42)], "fiducial-apart").outcomes == outcomes


@pytest.mark.parametrize(("y", "outcomes"), [(22, set()), (21.9, {("top", "warn")})])
def test_marks_lie_diagonally(answer, y, outcomes):
    """A fifth of the width of 60 mm is 12 mm."""
    assert answer([PART, row(1, 10, 10), row(2, 90, y)], "fiducial-diagonal").outcomes == outcomes


@pytest.mark.parametrize(("y", "outcomes"), [(45.9, set()), (46, {("top", "warn")}), (50, {("top", "warn")})])
def test_a_board_turned_round_is_noticed_beyond_the_search_window(answer, y, outcomes):
    """(10, 10) turns to (90, 50): 4.1 mm from (90, 45.9), on the window of 4 mm at 46."""
    assert answer([PART, row(1, 10, 10), row(2, 90, y)], "fiducial-half-turn").outcomes == outcomes


# IPC-7351B: leads at 0.40 mm over 16.0 x 16.0 mm.
FINE = "U1,50,30,0,top,v,QFP40P1600X1600X160-120N"
NEAR = ("FID3,41.5,21.5,0,top,,FIDUCIAL", "FID4,58.5,38.5,0,top,,FIDUCIAL")


@pytest.mark.parametrize(
    ("rows", "outcomes"), [((*TWO, *NEAR), set()), ((*TWO, NEAR[0]), {("U1", "warn")}), (TWO, {("U1", "warn")})]
)
def test_parts_of_the_finest_pitch_have_marks_of_their_own(answer, rows, outcomes):
    assert answer([FINE, *rows], "local-marks", sizes={"U1": (14, 14, 1.6)}).outcomes == outcomes


def test_marks_of_one_part_do_not_count_for_the_board(answer):
    found = answer([FINE, *NEAR], "fiducial-count", sizes={"U1": (14, 14, 1.6)})
    assert found.outcomes == {("top", "undecided")}


PANEL = '[panel]\ncolumns = 2\npitch_x = "102 mm"\n'


@pytest.mark.parametrize(("marks", "outcomes"), [(2, set()), (1, {("board", "warn")})])
def test_a_panel_has_marks_of_its_own(answer, marks, outcomes):
    own = [mark(3, 3, kind="panel"), mark(199, 57, kind="panel")][:marks]
    assert answer([PART], "panel-marks", toml=PANEL + "".join(own)).outcomes == outcomes


def test_marks_of_a_circuit_stand_on_every_circuit(answer):
    found = answer([PART], "fiducial-diameter", toml=PANEL + mark(10, 10, diameter="0.5 mm"))
    assert found.outcomes == {("fiducial 1", "fail"), ("fiducial 2", "fail")}
