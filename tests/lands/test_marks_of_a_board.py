"""Fiducials from copper, mask, paste and drills: what proves one, what only may be one, and what is none.

Figures: boards, places and sizes are invented; the sizes of fiducials are those that SMEMA 3.1 allows (from memory), an
opening twice as wide is common practice, no source.
"""

import re

import pytest

from capcheck.checking import check, read_board
from capcheck.facts import asks_for_marks
from capcheck.shop import Choice

DRILLS = "M48\n; #@! TF.FileFunction,Plated,1,2,PTH\nMETRIC\nT1C0.300\n%\nT1\n{hits}M30\n"
CORNERS = [(2.0, 2.0), (90.0, 25.0), (3.0, 26.0)]
VIAS = [(20.0 + k, 30.0) for k in range(4)]


def listed(number, x, y, side="top"):
    return f"FID{number},,FIDUCIAL,{x},{y},0,{side}\n"


@pytest.fixture
def layers(resistors, layer):
    """Rows of resistors, and their mask, paste, copper and drills, with small lands around the drilled holes."""
    rows, mask = resistors
    paste, copper = layer("Paste,Top"), layer("Copper,L1,Top")
    for line in rows.splitlines():
        x, y = map(float, line.split(",")[3:5])
        paste.pair(x, y)
        copper.pair(x, y)
    for x, y in VIAS:
        mask.disc(x, y, 0.6)
        copper.disc(x, y, 0.5)
    hits = "".join(f"X{x:.3f}Y{y:.3f}\n" for x, y in VIAS)
    return rows, mask, paste, copper, DRILLS.format(hits=hits)


@pytest.fixture
def marks(board, layers):
    """Return the marks found with circles of copper and of the mask at places, and what else is asked for."""

    def find(at=CORNERS, diameter=1.0, opening=2.0, *, more="", pasted=(), drilled=(), tracks=(), leave_out=()):
        rows, mask, paste, copper, drills = layers
        for x, y in at:
            copper.disc(x, y, diameter)
            if opening:
                mask.disc(x, y, opening)
        for x, y in pasted:
            paste.disc(x, y, diameter)
        for x, y in tracks:
            copper.track(x, y, x + 6, y)
        drills = drills.replace("M30", "".join(f"X{x:.3f}Y{y:.3f}\n" for x, y in drilled) + "M30")
        every = {"mask": mask, "paste": paste, "copper": copper}
        kept = [one for name, one in every.items() if name not in leave_out]
        files = {} if "drills" in leave_out else {"holes__drl": drills}
        found = board(rows + more, *kept, **files)
        return found.lands.marks

    return find


def test_circles_that_the_mask_leaves_bare_are_fiducials(marks):
    found = marks()
    assert [(m.x_mm, m.y_mm) for m in found] == CORNERS
    assert {(m.side, m.diameter_mm, m.opening_mm, m.certain, m.listed) for m in found} == {
        ("top", 1.0, 2.0, True, False)
    }
    assert {m.file for m in found} == {"layer2.gbr"}


@pytest.mark.parametrize(("opening", "count"), [(1.5, 3), (1.49, 0), (1.1, 0)])
def test_an_opening_as_of_a_land_makes_no_fiducial(marks, opening, count):
    assert len(marks(opening=opening)) == count


@pytest.mark.parametrize(("diameter", "count"), [(0.5, 3), (0.49, 0), (3.2, 3), (3.21, 0)])
def test_fiducials_have_the_sizes_that_they_have(marks, diameter, count):
    assert len(marks(diameter=diameter, opening=2 * diameter)) == count


def test_one_circle_alone_may_be_one_and_proves_none(marks):
    """A list that names others leaves open whether it is one."""
    (found,) = marks(CORNERS[:1], more=listed(1, 50, 40, "bottom"))
    assert not found.certain


def test_copper_is_not_read_for_what_could_decide_nothing(marks):
    """Nothing is listed, so how many there are is open, and one circle alone proves nothing."""
    assert marks(CORNERS[:1]) == ()


def test_a_single_circle_of_the_size_of_a_listed_one_is_a_fiducial(marks):
    first, second = marks(CORNERS[:2], more=listed(1, *CORNERS[0]))
    assert (first.listed, second.listed) == (True, False)
    assert first.certain
    assert second.certain


@pytest.mark.parametrize("lacking", ["paste", "drills"])
def test_without_paste_or_drills_they_may_be_anything(marks, lacking):
    assert {m.certain for m in marks(leave_out=[lacking], more=listed(1, 50, 40, "bottom"))} == {False}


@pytest.mark.parametrize("lacking", ["copper", "mask"])
def test_without_mask_or_copper_there_are_none(marks, lacking):
    assert marks(leave_out=[lacking]) == ()


def test_what_is_pasted_drilled_or_placed_is_no_fiducial(marks):
    more = f"TP1,,TESTPOINT,{CORNERS[2][0]},{CORNERS[2][1]},0,top\n"
    at = [*CORNERS, (60.0, 40.0), (70.0, 40.0)]
    found = marks(at, pasted=CORNERS[:1], drilled=CORNERS[1:2], more=more)
    assert [(m.x_mm, m.y_mm) for m in found] == at[3:]


@pytest.mark.parametrize(("off", "count"), [(0.0, 2), (0.19, 2), (0.21, 3)])
def test_a_fiducial_beneath_a_part_is_one_where_the_part_is_not_placed_on_its_middle(marks, off, count):
    x, y = CORNERS[0]
    assert len(marks(more=f"SW1,,KEY,{x + off},{y},0,top\n")) == count


def test_what_a_track_leads_to_is_a_test_land_for_all_that_is_known(marks):
    found = marks(tracks=CORNERS[:1])
    assert [m.certain for m in found] == [False, True, True]


def test_a_listed_fiducial_has_the_diameter_of_its_copper(marks):
    """Whatever the mask is like: the list says what it is."""
    found = marks(CORNERS[:1], opening=1.1, more=listed(1, CORNERS[0][0] + 0.1, CORNERS[0][1]))
    assert [(m.diameter_mm, m.listed, m.certain) for m in found] == [(1.0, True, True)]


@pytest.mark.parametrize("opening", [None, 0.8])
def test_what_the_mask_hides_settles_no_diameter(marks, opening):
    assert marks(CORNERS[:1], opening=opening, more=listed(1, *CORNERS[0])) == ()


def test_square_copper_and_copper_beside_the_place_settle_no_diameter(layers, board):
    rows, mask, paste, copper, drills = layers
    mask.disc(2, 2, 2).disc(90, 25, 2)
    copper.land(2, 2, 1, 1).disc(90.21, 25, 1)  # invented: a fifth of a millimetre beside
    found = board(rows + listed(1, 2, 2) + listed(2, 90, 25), mask, paste, copper, holes__drl=drills)
    assert [m for m in found.lands.marks if m.listed] == []


def test_a_circle_that_is_erased_in_its_middle_is_none(layers, board):
    rows, mask, paste, copper, drills = layers
    for x, y in CORNERS:
        mask.disc(x, y, 2)
        copper.disc(x, y, 1)
    copper.body += "%LPC*%\n"
    for x, y in CORNERS:
        copper.disc(x, y, 0.4)
    assert board(rows, mask, paste, copper, holes__drl=drills).lands.marks == ()


def test_copper_that_cannot_be_read_is_noted_and_the_rest_goes_on(layers, board):
    rows, mask, paste, copper, drills = layers
    for x, y in CORNERS:
        mask.disc(x, y, 2)
    copper.text = copper.text.replace("%MOMM*%\n", "")
    found = board(rows, mask, paste, copper, holes__drl=drills)
    assert found.lands.marks == ()
    assert len(found.lands.of) == 12
    assert [n.place.file.rpartition("/")[2] for n in found.notes if getattr(n.said, "key", "") == "lands.not read"] == [
        "layer2.gbr"
    ]


def test_copper_is_read_only_where_fiducials_are_asked_for(layers, board):
    rows, mask, paste, copper, drills = layers
    for x, y in CORNERS:
        mask.disc(x, y, 2)
        copper.disc(x, y, 1)
    folder = board(rows, mask, paste, copper, read=False, holes__drl=drills)
    assert len(read_board(folder).lands.marks) == 3
    assert read_board(folder, marks=False).lands.marks == ()
    assert str(folder / "layer2.gbr") in {file.path for file in read_board(folder).inputs}
    assert str(folder / "layer2.gbr") not in {file.path for file in read_board(folder, marks=False).inputs}
    assert asks_for_marks(["part.length", "fiducial.diameter"])
    assert asks_for_marks(["side.fiducials"])
    assert not asks_for_marks(["part.length", "side.populated"])


def outcomes(folder, rule):
    report = check(folder, choice=Choice(select=(rule,)))
    return {"undecided" if f.undecided else str(f.outcome) for f in report.findings}


def test_fiducials_of_the_layers_decide_how_many_there_are(layers, board):
    rows, mask, paste, copper, drills = layers
    bare = board(rows + listed(1, *CORNERS[0]), mask, paste, copper, read=False, holes__drl=drills)
    assert outcomes(bare, "fiducial-count") == {"fail"}
    for x, y in CORNERS:
        mask.disc(x, y, 2)
        copper.disc(x, y, 1)
    drawn = board(rows + listed(1, *CORNERS[0]), mask, paste, copper, read=False, holes__drl=drills)
    assert outcomes(drawn, "fiducial-count") == set()


@pytest.mark.parametrize(("opening", "ring"), [(2.0, 0.5), (1.6, 0.3)])
def test_the_ring_that_is_free_ends_at_the_mask(marks, opening, ring):
    assert {m.ring for m in marks(opening=opening)} == {(ring, ring)}


def test_the_ring_that_is_free_ends_at_the_nearest_copper(layers, board):
    rows, mask, paste, copper, drills = layers
    for x, y in CORNERS:
        mask.disc(x, y, 4.0)
        copper.disc(x, y, 1.0)
    x, y = CORNERS[0]
    copper.track(x - 3, y + 1.3, x + 3, y + 1.3, width=0.2)
    found = board(rows, mask, paste, copper, holes__drl=drills).lands.marks
    # The far edge of the window is the mask's: 2 mm from the centre.
    assert [m.ring for m in found] == [(0.7, 0.7), (1.5, 1.5), (1.5, 1.5)]


def test_a_listed_fiducial_with_a_track_has_no_ring(marks):
    found = marks(CORNERS[:1], more=listed(1, *CORNERS[0]), tracks=CORNERS[:1])
    assert [(m.listed, m.ring) for m in found] == [(True, (0.0, 0.0))]


def test_copper_that_floods_a_layer_leaves_a_fiducial_its_clearance(layers, board):
    """Areas are drawn and then erased around a fiducial, as plotting programs do; the mark stands free all the same."""
    rows, mask, paste, copper, drills = layers
    flood = "G36*\n" + "".join(
        f"X{round(x * 1e6)}Y{round(y * 1e6)}D0{2 if k == 0 else 1}*\n"
        for k, (x, y) in enumerate([(-5, -5), (120, -5), (120, 60), (-5, 60), (-5, -5)])
    )
    copper.body += flood + "G37*\n%LPC*%\n"
    for x, y in CORNERS:
        mask.disc(x, y, 3)
        copper.disc(x, y, 2.4)
    copper.body += "%LPD*%\n"
    for x, y in CORNERS:
        copper.disc(x, y, 1)
    found = board(rows, mask, paste, copper, holes__drl=drills).lands.marks
    assert [(m.certain, round(m.ring[0], 2)) for m in found] == [(True, 0.7)] * 3


def test_mask_in_the_clear_area_of_a_fiducial_is_told(layers, board):
    rows, mask, paste, copper, drills = layers
    for number, (x, y) in enumerate(CORNERS, 1):
        mask.disc(x, y, 2 if number > 1 else 1.7)
        copper.disc(x, y, 1)
    folder = board(rows, mask, paste, copper, read=False, holes__drl=drills)
    report = check(folder, choice=Choice(select=("fiducial-bare",)))
    assert [(f.subject.ref, f.undecided) for f in report.findings] == [("fiducial at 2.00, 2.00", False)]


def printed(layer, rows):
    """Print of a line on either side of each part, off its lands."""
    legend = layer("Legend,Top")
    for line in rows.splitlines():
        x, y = map(float, line.split(",")[3:5])
        for off in (-1.0, 1.0):
            legend.track(x - 1.2, y + off, x + 1.2, y + off)
    return legend


def test_print_on_one_spot_alone_may_be_in_another_unit_and_proves_no_clear_area(layers, layer, board):
    rows, mask, paste, copper, drills = layers
    for x, y in CORNERS:
        mask.disc(x, y, 2)
        copper.disc(x, y, 1)
    legend = layer("Legend,Top").track(60, 30, 62, 30)
    folder = board(rows, mask, paste, copper, legend, read=False, holes__drl=drills)
    report = check(folder, choice=Choice(select=("fiducial-bare",)))
    assert [f.undecided for f in report.findings] == [True] * 3


@pytest.mark.parametrize(("begins", "told"), [(2.7, True), (3.5, False), (2.0, True)])
def test_print_in_the_clear_area_of_a_fiducial_is_told_and_leaves_it_one(layers, layer, board, begins, told):
    rows, mask, paste, copper, drills = layers
    for x, y in CORNERS:
        mask.disc(x, y, 2)
        copper.disc(x, y, 1)
    legend = printed(layer, rows)
    legend.track(begins, 2, begins + 6, 2)
    folder = board(rows, mask, paste, copper, legend, read=False, holes__drl=drills)
    assert [mark.certain for mark in read_board(folder).lands.marks] == [True] * 3
    report = check(folder, choice=Choice(select=("fiducial-bare",)))
    assert [(f.subject.ref, f.undecided) for f in report.findings] == [("fiducial at 2.00, 2.00", False)] * told


OTHER_PLACES = (
    lambda t: t.replace("%MOMM*%", "%MOIN*%"),
    lambda t: t.replace("%FSLAX46Y46*%", "%FSLAX36Y37*%"),
    lambda t: re.sub(r"X(\d+)Y", lambda found: f"X{int(found[1]) + 60_000_000}Y", t),
)
"""Print in inches, with a point at another place, and beside the board."""


@pytest.mark.parametrize(
    "damage", [lambda t: t.replace("%MOMM*%", ""), lambda t: t.replace("M02*", ""), *OTHER_PLACES, None]
)
def test_print_that_cannot_be_read_or_lies_elsewhere_proves_no_clear_area(layers, layer, board, damage):
    rows, mask, paste, copper, drills = layers
    for x, y in CORNERS:
        mask.disc(x, y, 2)
        copper.disc(x, y, 1)
    text = printed(layer, rows).write()
    folder = board(
        rows, mask, paste, copper, read=False, holes__drl=drills, legend__gbr=damage(text) if damage else text
    )
    report = check(folder, choice=Choice(select=("fiducial-bare",)))
    assert [f.undecided for f in report.findings] == [True] * (3 if damage else 0)


def test_a_mask_that_cannot_be_read_proves_no_clear_area(layers, board):
    rows, mask, paste, copper, drills = layers
    rows += "".join(f"FID{k},,FIDUCIAL,{x},{y},0,top\n" for k, (x, y) in enumerate(CORNERS))
    for x, y in CORNERS:
        mask.disc(x, y, 2)
        copper.disc(x, y, 1)
    torn = mask.write().replace("M02*", "")
    folder = board(rows, paste, copper, read=False, holes__drl=drills, mask__gbr=torn)
    assert {mark.ring[0] for mark in read_board(folder).lands.marks} == {0.0}


EDGE = "%FSLAX46Y46*%\n%MOMM*%\n%TF.FileFunction,Profile,NP*%\n%ADD10C,0.1*%\nD10*\n" + "".join(
    f"X{x}000000Y{y}000000D0{2 if k == 0 else 1}*\n"
    for k, (x, y) in enumerate([(-1, 0), (95, 0), (95, 35), (-1, 35), (-1, 0)])
)


def test_fiducials_on_the_rails_of_a_panel_around_the_board_are_not_certain_to_be_its_own(layers, board):
    rows, mask, paste, copper, drills = layers
    rails = [(-5.0, 5.0), (100.0, 5.0), (100.0, 30.0)]
    for x, y in [*CORNERS, *rails]:
        mask.disc(x, y, 2)
        copper.disc(x, y, 1)
    found = board(rows, mask, paste, copper, holes__drl=drills, edge__gbr=EDGE + "M02*\n")
    assert {(m.x_mm, m.y_mm) for m in found.lands.marks if m.certain} == set(CORNERS)
    assert {(m.x_mm, m.y_mm) for m in found.lands.marks} == {*CORNERS, *rails}


ROW = [(20.0 + 20.0 * k, 45.0) for k in range(4)]
GRID = [(10.0 + 20.0 * k, 40.0 + 3.0 * j) for k in range(4) for j in range(2)]


@pytest.mark.parametrize(
    "at",
    [GRID, [*CORNERS, (10.0, 40.0), (60.0, 43.0)], ROW[:3], ROW, [(60.0, 40.0), (62.0, 41.0), (64.0, 43.0)]],
    ids=["a grid", "more than a side needs", "an even row", "a longer one", "dots of a coupon"],
)
def test_dots_that_are_many_near_each_other_or_in_an_even_row_may_be_something_else(marks, at):
    found = marks(at)
    assert len(found) == len(at)
    assert not any(mark.certain for mark in found)


def test_dots_of_the_size_of_listed_fiducials_are_none_for_that(marks):
    found = marks([*CORNERS, *GRID], more="".join(listed(k, *at) for k, at in enumerate(CORNERS)))
    assert [mark.certain for mark in found] == [True] * len(CORNERS) + [False] * len(GRID)


def test_a_circle_that_shares_its_opening_with_other_copper_is_a_land_for_all_that_is_known(layers, board):
    rows, mask, paste, copper, drills = layers
    for x, y in CORNERS:
        copper.disc(x, y, 1.0)
        mask.disc(x, y, 2.0)
    copper.track(CORNERS[0][0] - 3, CORNERS[0][1] + 0.8, CORNERS[0][0] + 3, CORNERS[0][1] + 0.8)
    found = board(rows, mask, paste, copper, holes__drl=drills).lands.marks
    assert [mark.certain for mark in found] == [False, True, True]


@pytest.mark.parametrize(
    "at",
    [
        [(2.0, 2.0), (98.0, 2.0), (2.0, 40.0)],
        [(2.0, 2.0), (98.0, 2.0), (2.0, 40.0), (98.0, 40.0)],
        [(2.0, 2.0), (98.0, 4.0)],
        [(2.0, 2.0), (40.0, 26.0), (52.0, 2.0), (90.0, 26.0)],
    ],
    ids=["three in an L", "four corners", "two along a strip", "a pair for each of two steps of a panel"],
)
def test_layouts_that_boards_have_are_fiducials(marks, at):
    found = marks(at)
    assert len(found) == len(at)
    assert all(one.certain for one in found)
