"""Rules on edges, marks, gaps and the second side, from files to findings."""

import pytest

from capcheck.checking import Choice, check

MACHINE = """\
name = "M"
[board]
min_length = "10 mm"
max_length = "500 mm"
min_width = "10 mm"
max_width = "400 mm"
edge_clearance_top = "3 mm"
edge_clearance_bottom = "4 mm"
underside_clearance = "10 mm"
[fiducials]
kinds = ["circle"]
min_diameter = "0.8 mm"
max_diameter = "3 mm"
search_window = "4 mm"
[[head]]
name = "h"
"""
BOM = "Refs,Part number,Length [mm],Width [mm],Height [mm]"


@pytest.fixture
def answer(make_board, make_line):
    """Return a function that checks a board of 100 × 60 mm, drawn as DXF, and gives (rule, ref or side, outcome)."""

    def run(rows, select, *, bom=(), toml="", machine=MACHINE):
        import ezdxf

        folder = make_board(
            rows, bom=bom, toml=f'outline = "outline.dxf"\nmounting = {{ "[UJCR]*" = "surface" }}\n{toml}'
        )
        drawing = ezdxf.new(units=4)
        drawing.modelspace().add_lwpolyline([(0, 0), (100, 0), (100, 60), (0, 60)], close=True)
        drawing.saveas(folder / "outline.dxf")
        report = check(folder, line=make_line(machine), choice=Choice(select=select))
        return {(f.rule, f.subject.ref or f.subject.side, f.outcome, f.undecided) for f in report.findings}

    return run


def square(ref, number="P-5"):
    return f"{ref},{number},5,5,1"


@pytest.mark.parametrize(("y", "broken"), [(5.5, False), (5.4, True)])
def test_a_body_keeps_the_strip_of_the_transported_edge(answer, y, broken):
    """A 5 mm body at y = 5.5 mm ends 3.0 mm from the edge, on the machine's limit; one step nearer breaks it."""
    found = answer([f"U1,50,{y},0,top,v,s"], ["edge-clearance"], bom=[BOM, square("U1")])
    assert (("edge-clearance", "U1", "fail", False) in found) == broken


def test_the_other_edges_need_no_strip(answer):
    found = answer(["U1,3,30,0,top,v,s"], ["edge-clearance"], bom=[BOM, square("U1")])
    assert found == set()


@pytest.mark.parametrize(("x", "broken"), [(55.0, False), (54.9, True)])
def test_bodies_that_touch_do_not_overlap_and_nearer_ones_do(answer, x, broken):
    rows = ["U1,50,30,0,top,v,s", f"U2,{x},30,0,top,v,s"]
    found = answer(rows, ["bodies-apart"], bom=[BOM, square("U1"), square("U2", "P-6")])
    assert any(f[0] == "bodies-apart" and f[2] == "fail" and not f[3] for f in found) == broken


def test_bodies_on_different_sides_do_not_meet(answer):
    rows = ["U1,50,30,0,top,v,s", "U2,50,30,0,bottom,v,s"]
    assert answer(rows, ["bodies-apart"], bom=[BOM, square("U1"), square("U2", "P-6")]) == set()


def test_a_body_of_unknown_size_is_not_said_to_overlap(answer):
    found = answer(["U1,50,30,0,top,v,s", "U2,51,30,0,top,v,mystery"], ["bodies-apart"], bom=[BOM, square("U1")])
    assert not any(f[2] == "fail" for f in found)


def test_marks_that_map_onto_themselves_under_a_half_turn_are_noticed(answer):
    parts = ["U1,50,30,0,top,v,s"]
    even = ["FID1,10,10,0,top,,FIDUCIAL", "FID2,90,50,0,top,,FIDUCIAL"]
    odd = ["FID1,10,10,0,top,,FIDUCIAL", "FID2,90,40,0,top,,FIDUCIAL"]
    select, bom = ["fiducial-half-turn"], [BOM, square("U1")]
    assert any(f[0] == "fiducial-half-turn" for f in answer(parts + even, select, bom=bom))
    assert not any(f[0] == "fiducial-half-turn" for f in answer(parts + odd, select, bom=bom))


def test_a_side_whose_marks_are_not_listed_is_undecided(answer):
    """No mark in the data may mean that the export leaves them out: never a fail."""
    found = answer(["U1,50,30,0,top,v,s"], ["fiducial-count"], bom=[BOM, square("U1")])
    assert found == {("fiducial-count", "top", "warn", True)}


def test_a_part_off_the_board_is_named(answer):
    rows = ["U1,120,30,0,top,v,s", "U2,50,30,0,top,v,s", "U3,20,20,0,top,v,s", "U4,80,40,0,top,v,s"]
    bom = [BOM, *(square(f"U{n}", f"P-{n}") for n in range(1, 5))]
    found = answer(
        rows, ["on-board", "body-on-board"], bom=bom, toml='units = "mm"\norigin = { x = "0 mm", y = "0 mm" }\n'
    )
    assert "U1" in {f[1] for f in found}
    assert not {"U2", "U3", "U4"} & {f[1] for f in found}
