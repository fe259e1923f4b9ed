"""The conservation law of drawings: whatever is drawn inside the contour changes an answer or is named in a finding.

Figures: invented, or the digits of the text; an inch is 25.4 mm by definition.
"""

import math

import ezdxf
import pytest
import shapely
from depth import sample_size
from hypothesis import given, settings, strategies as st

from capcheck.intake.outline.outline_file import OutlineOptions, read_outline
from capcheck.lexicon import sentence

LENGTH, WIDTH = 100.0, 60.0
MIDDLE = (50.0, 30.0)


@pytest.fixture
def read(tmp_path):
    """Return a function that draws a board of 100 × 60 mm and what *draw* adds, and reads it."""

    def drawn(draw, layer="0", version="R2000"):
        drawing = ezdxf.new(version, units=4)
        space = drawing.modelspace()
        space.add_lwpolyline(
            [(0, 0), (LENGTH, 0), (LENGTH, WIDTH), (0, WIDTH)], close=True, dxfattribs={"layer": layer}
        )
        draw(space)
        file = tmp_path / "outline.dxf"
        drawing.saveas(file)
        return read_outline(file, OutlineOptions())

    return drawn


def block(space, *corners, close=False):
    made = space.doc.blocks.new("THING")
    made.add_lwpolyline(corners, close=close)
    return made


def region(space):
    space.add_region().sat = ["400 0 1 0", "16 capcheck 8 ACIS 4.0 24 Thu 1", "1 9.9999999999999995e-007 1e-010"]


def hatch(space):
    space.add_hatch().paths.add_polyline_path([(45, 25), (55, 25), (55, 35), (45, 35)], is_closed=True)


def unseen(space):
    space.add_lwpolyline([(45, 25), (55, 25), (55, 35), (45, 35)], close=True).dxf.invisible = 1


MAY_BE_OPENINGS = {
    "a slot as one line": lambda s: s.add_line((40, 30), (60, 30)),
    "a wide polyline": lambda s: s.add_lwpolyline([(40, 31.5), (60, 31.5)], dxfattribs={"const_width": 4}),
    "a wide segment": lambda s: s.add_lwpolyline([(40, 31.5, 4, 4), (60, 31.5, 4, 4)], format="xyse"),
    "an open spline": lambda s: s.add_spline(fit_points=[(45, 30), (50, 34), (55, 30), (50, 26), (45, 29)]),
    "lines with a gap of 0.3 mm": lambda s: s.add_lwpolyline([(45, 25), (55, 25), (55, 35), (45, 35), (45, 25.3)]),
    "a circle with a gap of 0.3 mm": lambda s: s.add_arc(MIDDLE, 4, 0, 355.7),
    "two arcs of an ellipse": lambda s: [s.add_ellipse(MIDDLE, (5, 0), 0.5, a, a + 2.9) for a in (0.1, 3.3)],
    "two half circles": lambda s: [s.add_arc((45, 30), 2, 90, 270), s.add_arc((55, 30), 2, 270, 90)],
    "the two sides of a slot": lambda s: [s.add_line((40, y), (60, y)) for y in (28.9, 31.1)],
    "a notch as three lines": lambda s: s.add_lwpolyline([(45, 60), (45, 25), (55, 25), (55, 60)]),
    "lines that cross": lambda s: [s.add_line((40, 30), (60, 30)), s.add_line((50, 20), (50, 40))],
    "a line from edge to edge": lambda s: s.add_line((50, -5), (50, 65)),
    "a hatch": hatch,
    "a solid": lambda s: s.add_solid([(48, 28), (52, 28), (48, 32), (52, 32)]),
    "a face": lambda s: s.add_3dface([(48, 28), (52, 28), (52, 32), (48, 32)]),
    "a point": lambda s: s.add_point(MIDDLE),
    "a line of no length": lambda s: s.add_line(MIDDLE, MIDDLE),
    "a circle of no size": lambda s: s.add_circle(MIDDLE, 0),
    "a parallel line": lambda s: s.add_mline([(45, 30), (55, 30)]),
    "a polyline in space": lambda s: s.add_polyline3d([(45, 25, 0), (55, 25, 1), (55, 35, 0)]),
    "a block of open lines": lambda s: (block(s, (-2, 0), (2, 0)), s.add_blockref("THING", MIDDLE)),
    "a circle on another layer": lambda s: s.add_circle(MIDDLE, 4, {"layer": "mechanical 5"}),
    "a contour on another layer": lambda s: s.add_lwpolyline(
        [(45, 25), (55, 25), (55, 35), (45, 35)], close=True, dxfattribs={"layer": "mechanical 5"}
    ),
    "a contour that is switched off": unseen,
}


@pytest.mark.parametrize("what", MAY_BE_OPENINGS)
def test_what_may_be_an_opening_keeps_its_place_and_is_named(read, what):
    reading = read(MAY_BE_OPENINGS[what])
    assert reading.outline.polygon.covers(shapely.Point(MIDDLE)), "it is no opening for certain"
    assert any(doubt.area.intersects(shapely.Point(MIDDLE)) for doubt in reading.outline.doubts)
    (record,) = reading.discrepancies
    assert "it is not certain whether the board is open there" in sentence(record.said)


@pytest.mark.parametrize("draw", [region, lambda s: s.add_blockref("MISSING", MIDDLE)])
def test_what_cannot_be_read_may_be_an_opening_anywhere(read, draw):
    reading = read(draw)
    assert [doubt.area for doubt in reading.outline.doubts] == [None]
    assert "whose form is not known" in sentence(reading.discrepancies[0].said)


@pytest.mark.parametrize(
    ("draw", "words"),
    [
        (lambda s: s.add_text("SLOT").set_placement(MIDDLE), "1 text at (50, 30) mm"),
        (lambda s: s.add_xline(MIDDLE, (1, 0)), "XLINE"),
        (
            lambda s: s.add_line((40, 30), (60, 30), {"layer": "Silkscreen"}),
            '1 line at (50, 30) mm on layer "Silkscreen"',
        ),
        (
            lambda s: s.add_lwpolyline([(45, 25), (55, 25), (55, 35)], close=True, dxfattribs={"layer": "courtyard"}),
            "closed",
        ),
    ],
)
def test_what_is_no_opening_is_named_and_casts_no_doubt_on_bodies(read, draw, words):
    reading = read(draw)
    assert reading.outline.doubts == ()
    (record,) = reading.discrepancies
    assert words in sentence(record.said)
    assert "not taken as openings" in sentence(record.said)


@pytest.mark.parametrize(
    "draw",
    [
        lambda s: s.add_line((0, 0), (100, 0)),
        lambda s: s.add_lwpolyline([(45, 25), (55, 25), (55, 35), (45, 35)], close=True),
        lambda s: [
            s.add_lwpolyline([(45, 25), (55, 25), (55, 35), (45, 35)], close=True),
            s.add_line((45, 25), (55, 35)),
        ],
        lambda s: [s.add_circle(MIDDLE, 1.6), s.add_circle(MIDDLE, 1.6, {"layer": "drills"})],
        lambda s: s.add_line((0, 0), (50, -20)),
        lambda s: s.add_text("rev B").set_placement((120, 30)),
        lambda s: s.add_circle(MIDDLE, 0.5, {"layer": "fiducials"}),
    ],
)
def test_what_is_answered_for_is_not_named_again(read, draw):
    reading = read(draw)
    assert reading.outline.doubts == ()
    assert reading.discrepancies == ()


def test_a_hole_that_reaches_over_the_edge_counts_wherever_its_middle_is(read):
    assert read(lambda s: s.add_circle((50, 61), 3)).outline.holes == ((50, 61, 6),)


def test_a_second_line_along_the_edge_is_named_and_a_body_across_it_is_in_doubt(read):
    reading = read(lambda s: s.add_lwpolyline([(2, 2), (98, 2), (98, 58), (2, 58)], close=True))
    (doubt,) = reading.outline.doubts
    assert doubt.area.intersects(shapely.Point(2, 30))
    assert not doubt.area.intersects(shapely.Point(MIDDLE))


def test_a_thousand_loose_lines_take_no_time(read):
    def scatter(space):
        for k in range(1000):
            space.add_line((2 + k % 90, 2 + k // 90 * 4), (2.5 + k % 90, 3 + k // 90 * 4))

    assert "1000 lines" in sentence(read(scatter).discrepancies[0].said)


KINDS = ("line", "polyline", "wide", "arc", "ellipse", "spline", "circle", "point", "text", "solid", "hatch", "block")


@st.composite
def entities(draw):
    """Draw the kind, the place, the size, the turn and the layer of an entity on the board, away from its edge."""
    kind = draw(st.sampled_from(KINDS))
    size = draw(st.sampled_from((0.4, 1.0, 3.2, 7.0, 12.0)))
    x, y = draw(st.floats(15, 85)), draw(st.floats(15, 45))
    layer = draw(st.sampled_from(("0", "cutouts", "mechanical 1", "silkscreen", "drills", "notes", "layer 7")))
    return kind, x, y, size, draw(st.floats(0, 360)), layer, draw(st.booleans())


def add(space, kind, x, y, size, turn, layer, closed):
    """Draw one entity of this kind around (x, y)."""
    at = {"layer": layer}
    angles = [math.radians(turn + k * 90) for k in range(4)]
    corners = [(x + size * math.cos(a), y + size * math.sin(a)) for a in angles]
    if kind == "line":
        space.add_line(corners[0], corners[2], at)
    elif kind == "polyline":
        space.add_lwpolyline(corners, close=closed, dxfattribs=at)
    elif kind == "wide":
        space.add_lwpolyline(corners[:2], dxfattribs={**at, "const_width": size})
    elif kind == "arc":
        space.add_arc((x, y), size, turn, turn + (350 if closed else 180), dxfattribs=at)
    elif kind == "ellipse":
        space.add_ellipse((x, y), (size, 0), 0.5, 0, math.tau if closed else 3, at)
    elif kind == "spline":
        space.add_spline([*corners, *(corners[:1] if closed else [])], dxfattribs=at)
    elif kind == "circle":
        space.add_circle((x, y), size / 2, at)
    elif kind == "point":
        space.add_point((x, y), at)
    elif kind == "text":
        space.add_text("text", dxfattribs=at).set_placement((x, y))
    elif kind == "solid":
        space.add_solid([corners[k] for k in (0, 1, 3, 2)], at)
    elif kind == "hatch":
        space.add_hatch(dxfattribs=at).paths.add_polyline_path(corners, is_closed=True)
    else:
        space.doc.blocks.new("B").add_lwpolyline([(0, 0), (size, 0), (size, size)], close=closed, dxfattribs=at)
        space.add_blockref("B", (x, y), at)


def openings(outline):
    """Return all that is open in a board for certain, as one shape."""
    discs = [shapely.Point(x, y).buffer(d / 2 + 0.01) for x, y, d in outline.holes]
    return shapely.unary_union([shapely.Polygon(ring) for ring in outline.polygon.interiors] + discs)


@given(entities())
@settings(max_examples=sample_size(150))
def test_whatever_is_drawn_inside_changes_the_board_or_is_named(read, entity):
    reading = read(lambda space: add(space, *entity))
    outline = reading.outline
    assert outline.polygon.exterior.equals(shapely.box(0, 0, LENGTH, WIDTH).exterior)
    assert not openings(outline).is_empty or outline.marks or reading.discrepancies
    assert bool(outline.doubts) <= bool(reading.discrepancies), "what casts doubt is named"
