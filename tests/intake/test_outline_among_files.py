"""An outline that was only found by content never refuses the board; one that the user names does.

Figures: invented, or the digits of the text.
"""

import ezdxf
import pytest

from capcheck.intake import read_package
from capcheck.lexicon import sentence
from capcheck.model import Topic
from capcheck.values.errors import InputError

ROWS = ["R1,10,10,0,top,1k,R_0603", "R2,90,50,0,top,1k,R_0603", "U1,50,30,0,top,v,SOIC-8"]
BOARD = [(0, 0), (100, 0), (100, 60), (0, 60)]


def rectangle(space, corners=BOARD, layer="0", close=True):
    space.add_lwpolyline(corners, close=close, dxfattribs={"layer": layer})


@pytest.fixture
def folder(tmp_path):
    """Return a folder with placements, to which drawings are added by ``draw(name, function)``."""

    def write(name, draw):
        if isinstance(draw, str | bytes):
            (tmp_path / name).write_bytes(draw.encode() if isinstance(draw, str) else draw)
            return
        drawing = ezdxf.new(units=4)
        draw(drawing.modelspace())
        drawing.saveas(tmp_path / name)

    (tmp_path / "placements.csv").write_text("\n".join(["Ref,X [mm],Y [mm],Rotation,Side,Value,Footprint", *ROWS]))
    write.path = tmp_path
    return write


def crossing(space):
    space.add_line((0, 0), (100, 60))
    space.add_line((100, 60), (100, 0))
    space.add_line((100, 0), (0, 60))
    space.add_line((0, 60), (0, 0))


DAMAGED = "0\nSECTION\n2\nENTITIES\n0\nLINE\n10\nnonsense\n"
UNUSABLE = {
    "no contour": lambda s: s.add_line((0, 0), (100, 0)),
    "only texts": lambda s: s.add_text("see the other file"),
    "a point": lambda s: s.add_point((3, 3)),
    "an open contour": lambda s: rectangle(s, [*BOARD, (0, 5)], close=False),
    "a contour that crosses itself": crossing,
    "a damaged file": DAMAGED,
    "a Gerber file without number format": "%MOMM*%\n%ADD10C,0.1*%\nD10*\nX0Y0D02*\nX100Y0D01*\nM02*\n",
}


@pytest.mark.parametrize("what", UNUSABLE)
def test_a_drawing_found_by_content_that_cannot_be_used_leaves_the_outline_unknown(folder, what):
    folder("board.gko" if "Gerber" in what else "board.dxf", UNUSABLE[what])
    package = read_package(folder.path)
    assert package.outline is None
    assert any("not used as the outline" in sentence(note.said) for note in package.notes)
    assert [d.open for d in package.decisions if d.topic is Topic.OUTLINE] == [True]
    assert not any(file.role == "outline" for file in package.inputs)


@pytest.mark.parametrize("what", UNUSABLE)
def test_a_drawing_that_the_user_names_refuses_the_board(folder, what):
    name = "board.gko" if "Gerber" in what else "board.dxf"
    folder(name, UNUSABLE[what])
    with pytest.raises(InputError):
        read_package(folder.path, outline=folder.path / name)
    (folder.path / "board.toml").write_text(f'placements = "placements.csv"\noutline = "{name}"\n')
    with pytest.raises(InputError):
        read_package(folder.path)


def test_what_needs_an_outline_is_not_passed_without_one(folder, run):
    folder("board.dxf", crossing)
    code, out, _ = run("check", folder.path, "--no-config", "--select", "outline-given,on-board,cut-out-clearance")
    assert "Outcome: pass" not in out
    assert "not used as the outline" in run("read", folder.path)[1]
    assert code != 1, "nothing failed: nothing is known of the board's edge"


def test_another_drawing_is_taken_where_the_first_cannot_be_used(folder):
    folder("a outline.dxf", crossing)
    folder("drawing.dxf", rectangle)
    package = read_package(folder.path)
    assert package.outline.polygon.bounds == (0, 0, 100, 60)
    assert [f.path for f in package.inputs if f.role == "outline"] == [str(folder.path / "drawing.dxf")]
    (decision,) = [d for d in package.decisions if d.topic is Topic.OUTLINE]
    assert decision.open, "its lines across the board may be what is cut out of it"
    assert "a outline.dxf states what it does not" in sentence(decision.evidence)


def test_a_drawing_that_cannot_be_read_is_passed_over_for_another(folder):
    folder("a outline.dxf", "0\nSECTION\n2\nENTITIES\n0\nENDSEC\n0\nEOF\n")
    folder("drawing.dxf", rectangle)
    (decision,) = [d for d in read_package(folder.path).decisions if d.topic is Topic.OUTLINE]
    assert "cannot be used" in sentence(decision.evidence)


def test_a_drawing_that_cannot_hold_the_parts_is_not_preferred_to_one_that_can(folder):
    folder("a outline.dxf", lambda s: rectangle(s, [(0, 0), (20, 0), (20, 10), (0, 10)]))
    folder("drawing.dxf", rectangle)
    package = read_package(folder.path)
    assert package.outline.polygon.bounds == (0, 0, 100, 60)
    (decision,) = [d for d in package.decisions if d.topic is Topic.OUTLINE]
    assert decision.open


@pytest.mark.parametrize("unit", [" [mm]", ""])
def test_a_contour_that_cannot_hold_the_parts_is_not_preferred_though_its_layer_is_named_outline(folder, unit):
    def draw(space):
        rectangle(space, [(2, 2), (20, 2), (20, 10), (2, 10)], "outline")
        rectangle(space)

    rows = [f"R{k},{5 + k % 15 * 6},{5 + k // 15 * 6},0,top,1k,R_0603" for k in range(120)]
    header = f"Ref,X{unit},Y{unit},Rotation,Side,Value,Footprint"
    (folder.path / "placements.csv").write_text("\n".join([header, *rows]))
    folder("drawing.dxf", draw)
    assert read_package(folder.path).outline.polygon.bounds == (0, 0, 100, 60)


def test_where_no_drawing_can_hold_the_parts_the_first_stays(folder):
    folder("a outline.dxf", lambda s: rectangle(s, [(0, 0), (20, 0), (20, 10), (0, 10)]))
    folder("drawing.dxf", lambda s: rectangle(s, [(0, 0), (30, 0), (30, 10), (0, 10)]))
    package = read_package(folder.path)
    assert [f.path for f in package.inputs if f.role == "outline"] == [str(folder.path / "a outline.dxf")]


SLOT = "%FSLAX46Y46*%\n%MOMM*%\n%ADD10C,1.0*%\nD10*\nX30000000Y30000000D02*\nX40000000Y30000000D01*\nM02*\n"


@pytest.mark.parametrize("function", ["Profile,NP", "Other,Milling", "Other,Fräsung", "Other,Slots"])
@pytest.mark.parametrize("name", ["board.gko", "mill.gbr"])
def test_a_slot_in_a_layer_without_a_contour_leaves_bodies_over_it_open(folder, function, name):
    folder("outline.dxf", rectangle)
    folder(name, f"%TF.FileFunction,{function}*%\n{SLOT}")
    package = read_package(folder.path)
    (doubt,) = package.outline.doubts
    assert doubt.area.bounds == pytest.approx((29.5, 29.5, 40.5, 30.5), abs=0.1)
