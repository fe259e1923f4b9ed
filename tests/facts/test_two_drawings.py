"""What a second drawing of the board states inside the contour never leaves by a note, and is one question.

Figures: boards, parts and machines are invented, places worked by hand; limits have their basis in rules/edges.toml
and rules/data.toml.
"""

import ezdxf
import pytest

from capcheck.checking.answer import Choice, check

RULES = ("cut-out-clearance", "hole-clearance", "edge-clearance", "inferred-settled", "drawing-understood")
BOARD = [(0, 0), (100, 0), (100, 60), (0, 60)]
ROWS = ["Ref,X [mm],Y [mm],Rotation,Side,Value,Footprint,Mounting,Length,Width,Height"]
ROWS += [f"U{i},{x},{y},0,top,v,s,SMD,5 mm,5 mm,1 mm" for i, (x, y) in enumerate([(50, 30), (15, 15), (85, 45)], 1)]


def box(space, corners=BOARD, layer="0", factor=1.0, shift=(0, 0)):
    points = [(x * factor + shift[0], y * factor + shift[1]) for x, y in corners]
    space.add_lwpolyline(points, close=True, dxfattribs={"layer": layer})


def around(x, y, half=4):
    return [(x - half, y - half), (x + half, y - half), (x + half, y + half), (x - half, y + half)]


@pytest.fixture
def board(tmp_path):
    """Return a function that writes drawings by name, with the unit of DXF they state, and checks the folder."""

    def checked(drawings, toml=None):
        (tmp_path / "placements.csv").write_text("\n".join(ROWS))
        if toml:
            (tmp_path / "board.toml").write_text(toml)
        for name, (unit, draw) in drawings.items():
            drawing = ezdxf.new(units=unit)
            draw(drawing.modelspace())
            drawing.saveas(tmp_path / name)
        found = check(tmp_path, choice=Choice(select=list(RULES))).findings
        return {(f.rule, f.subject.ref if f.undecided else "") for f in found}

    return checked


def both(*draws):
    return lambda space: [draw(space) for draw in draws]


# An inch is 25.4 mm by definition.
OPENED = {
    "drill.dxf": (4, lambda s: s.add_circle((50, 30), 1.6, dxfattribs={"layer": "HOLES"})),
    "cutouts.dxf": (4, lambda s: box(s, around(50, 30))),
    "milling.dxf": (4, lambda s: s.add_line((40, 30), (60, 30))),
    "outline_new.dxf": (4, both(box, lambda s: box(s, around(50, 30)))),
    "mechanics in inch.dxf": (
        1,
        both(lambda s: box(s, factor=1 / 25.4), lambda s: box(s, around(50, 30), factor=1 / 25.4)),
    ),
    "mechanics without unit.dxf": (
        0,
        both(lambda s: box(s, factor=1 / 25.4), lambda s: box(s, around(50, 30), factor=1 / 25.4)),
    ),
    "elsewhere.dxf": (4, both(lambda s: box(s, shift=(300, 200)), lambda s: box(s, around(350, 230)))),
    "bohrplan.dxf": (4, lambda s: s.add_circle((51, 31), 1.0, dxfattribs={"layer": "BOHRUNGEN"})),
}


@pytest.mark.parametrize("name", OPENED)
def test_what_only_the_second_drawing_opens_leaves_the_body_over_it_undecided(board, name):
    found = board({"outline.dxf": (4, box), name: OPENED[name]})
    assert ("cut-out-clearance", "U1") in found
    assert ("inferred-settled", "") in found, "which drawing counts is asked"
    assert not {ref for rule, ref in found if rule == "cut-out-clearance"} - {"U1"}
    if "drill" in name or "bohr" in name:
        assert ("hole-clearance", "U1") in found


@pytest.mark.parametrize("name", OPENED)
def test_an_entry_in_board_toml_settles_which_drawing_counts(board, name):
    assert board({"outline.dxf": (4, box), name: OPENED[name]}, 'outline = "outline.dxf"\n') == set()


@pytest.mark.parametrize("corners", [[(0, 0), (110, 0), (110, 60), (0, 60)], [(0, 0), (100, 0), (100, 52), (0, 52)]])
def test_another_edge_in_the_second_drawing_leaves_size_and_edges_open(board, corners):
    found = board({"outline.dxf": (4, box), "outline_alt.dxf": (4, lambda s: box(s, corners))})
    assert ("inferred-settled", "") in found


def test_the_latest_revision_by_its_name_is_read_and_the_older_one_casts_doubt(board):
    older, newer = (4, both(box, lambda s: box(s, around(50, 30)))), (4, box)
    assert ("cut-out-clearance", "U1") in board({"outline_revA.dxf": older, "outline_revB.dxf": newer})


AGREE = {
    "mechanics.dxf": (4, lambda s: box(s, [(0.02, 0), (100, 0), (100, 60.03), (0, 60)])),
    "elsewhere.dxf": (4, lambda s: box(s, shift=(300, 200))),
    # An inch is 25.4 mm by definition.
    "inch.dxf": (1, lambda s: box(s, factor=1 / 25.4)),
    "detail.dxf": (4, lambda s: box(s, factor=0.1)),
    "stencil_top.dxf": (4, both(lambda s: box(s, around(50, 30, 1)), lambda s: box(s, around(15, 15, 1)))),
    "schablone.dxf": (4, lambda s: box(s, around(50, 30, 1))),
    "assembly.dxf": (4, both(box, lambda s: s.add_text("U1").set_placement((50, 30)))),
    "plan.dxf": (4, both(box, lambda s: s.add_text("U1").set_placement((50, 30)))),
    "silk.dxf": (4, both(box, lambda s: box(s, around(50, 30), layer="SILK"))),
    "drill.dxf": (4, lambda s: s.add_circle((5.03, 5), 1.6)),
}


@pytest.mark.parametrize("name", AGREE)
def test_a_drawing_that_agrees_or_shows_something_else_makes_no_question(board, name):
    assert board({"outline.dxf": (4, both(box, lambda s: s.add_circle((5, 5), 1.6))), name: AGREE[name]}) == set()


def nested(corners, layer="0"):
    return {"outline.dxf": (4, both(box, lambda s: box(s, corners, layer)))}


def test_a_contour_that_holds_a_part_is_no_cut_out_for_certain(board):
    found = board(nested(around(50, 30, 10)))
    assert ("cut-out-clearance", "U1") in found
    assert ("drawing-understood", "") in found


def test_a_contour_without_parts_or_named_a_cut_out_is_one(board):
    assert board(nested(around(30, 45, 5))) == set()
    assert ("cut-out-clearance", "") in board(nested(around(50, 30, 10), "CUTOUT")), "it reaches into it for certain"


@pytest.mark.parametrize("inset", [1, 2, 5, 8])
def test_a_contour_around_all_parts_inside_another_may_be_the_board(board, inset):
    corners = [(inset, inset), (100 - inset, inset), (100 - inset, 60 - inset), (inset, 60 - inset)]
    assert ("inferred-settled", "") in board(nested(corners))


def test_a_contour_around_all_parts_is_no_cut_out_whatever_its_layer_is_called(board):
    found = board(nested([(10, 10), (90, 10), (90, 50), (10, 50)], "INNER"))
    assert ("inferred-settled", "") in found


def test_the_edge_of_a_round_board_is_not_drawn_inside_it(board):
    assert board({"outline.dxf": (4, lambda s: s.add_circle((50, 30), 70))}) == set()


def test_an_island_with_a_part_leaves_the_contours_around_it_open(board):
    draw = both(box, lambda s: box(s, around(50, 30, 20)), lambda s: box(s, around(50, 30, 8)))
    assert ("cut-out-clearance", "U1") in board({"outline.dxf": (4, draw)})


@pytest.mark.parametrize(("width", "height"), [(8, 5), (7.5, 4), (9, 6)])
def test_a_drawing_without_unit_that_inch_and_cm_both_fit_is_open(board, width, height):
    corners = [(0, 0), (width, 0), (width, height), (0, height)]
    assert ("inferred-settled", "") in board({"outline.dxf": (0, lambda s: box(s, corners))})
