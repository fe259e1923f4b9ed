"""The outline of a board reads the same however it is drawn, and what is wrong with it is said with its place.

Figures: invented, or the digits of the text; an inch is 25.4 mm by definition.
"""

import itertools
import math
import re

import ezdxf
import numpy as np
import pytest
import shapely
from depth import sample_size
from ezdxf import path as dxf_path
from ezdxf.math import bulge_center
from hypothesis import given, settings, strategies as st
from shapely import LineString, Point, Polygon, box

from capcheck.intake.outline.drawing import Drawing
from capcheck.intake.outline.outline_file import OutlineOptions, read_outline
from capcheck.lexicon import sentence
from capcheck.model import Topic
from capcheck.values.errors import InputError

LENGTH, WIDTH, RADIUS = 80.0, 50.0, 4.0
BULGE = math.tan(math.pi / 8)


def rounded_corners(length=LENGTH, width=WIDTH, r=RADIUS):
    """Return (x, y, bulge) of a rectangle with rounded corners, counter-clockwise."""
    return [
        (r, 0, 0),
        (length - r, 0, BULGE),
        (length, r, 0),
        (length, width - r, BULGE),
        (length - r, width, 0),
        (r, width, BULGE),
        (0, width - r, 0),
        (0, r, BULGE),
    ]


def exact_area(length=LENGTH, width=WIDTH, r=RADIUS):
    return length * width - (4 - math.pi) * r * r


def new_drawing(version="R2010", unit=4):
    doc = ezdxf.new(version)
    if version != "R12":
        doc.header["$INSUNITS"] = unit
    return doc, doc.modelspace()


@pytest.fixture
def read(tmp_path):
    def save_and_read(doc, points=None, fmt="asc", **options):
        file = tmp_path / "outline.dxf"
        doc.saveas(file, fmt=fmt)
        return read_outline(file, OutlineOptions(**options), points)

    return save_and_read


def add_lines_and_arcs(space, *, layer="outline", shift=(0.0, 0.0), r=RADIUS, length=LENGTH, width=WIDTH):
    sx, sy = shift
    sides = [
        ((r, 0), (length - r, 0)),
        ((length, r), (length, width - r)),
        ((length - r, width), (r, width)),
        ((0, width - r), (0, r)),
    ]
    for (x0, y0), (x1, y1) in sides:
        space.add_line((x0 + sx, y0 + sy), (x1 + sx, y1 + sy), {"layer": layer})
    corners = [(length - r, r, 270), (length - r, width - r, 0), (r, width - r, 90), (r, r, 180)]
    for x, y, first in corners:
        space.add_arc((x + sx, y + sy), r, first, first + 90, dxfattribs={"layer": layer})


def add_rectangle(space, x0, y0, x1, y1, layer="outline"):
    space.add_lwpolyline([(x0, y0), (x1, y0), (x1, y1), (x0, y1)], close=True, dxfattribs={"layer": layer})


# How the same board can be drawn: each adds it to a new drawing.


def as_lwpolyline(_doc, space):
    space.add_lwpolyline(rounded_corners(), format="xyb", close=True)


def as_wide_polyline(_doc, space):
    space.add_lwpolyline([(x, y, 0.3, 0.3, b) for x, y, b in rounded_corners()], format="xyseb", close=True)


def as_open_polyline_that_returns(_doc, space):
    corners = rounded_corners()
    space.add_lwpolyline([*corners, (*corners[0][:2], 0)], format="xyb")


def as_old_polyline(_doc, space):
    space.add_polyline2d(rounded_corners(), format="xyb", close=True)


def as_lines_and_arcs(_doc, space):
    add_lines_and_arcs(space)


def as_lines_in_any_order_and_direction(_doc, space):
    add_lines_and_arcs(space)
    entities = list(space)
    for line in entities[:4:2]:
        line.dxf.start, line.dxf.end = line.dxf.end, line.dxf.start


def as_lines_drawn_twice(_doc, space):
    add_lines_and_arcs(space)
    add_lines_and_arcs(space)


def as_ellipses(_doc, space):
    add_lines_and_arcs(space)
    for arc in space.query("ARC"):
        first = math.radians(arc.dxf.start_angle)
        space.add_ellipse(arc.dxf.center, (RADIUS, 0), 1.0, first, first + math.pi / 2)
        space.delete_entity(arc)


def as_splines(_doc, space):
    add_lines_and_arcs(space)
    for arc in space.query("ARC"):
        # A rational spline says an arc exactly.
        space.add_spline().apply_construction_tool(
            ezdxf.math.rational_bspline_from_arc(arc.dxf.center, RADIUS, arc.dxf.start_angle, arc.dxf.end_angle)
        )
        space.delete_entity(arc)


def as_seen_from_below(_doc, space):
    """Arcs and polylines with a downward normal have mirrored coordinates of their own."""
    mirrored = [(-x, y, -b) for x, y, b in rounded_corners()]
    space.add_lwpolyline(mirrored, format="xyb", close=True, dxfattribs={"extrusion": (0, 0, -1)})


def as_block(doc, space):
    block = doc.blocks.new("board")
    add_lines_and_arcs(block, layer="0")
    space.add_blockref("board", (0, 0), {"layer": "outline"})


def as_block_in_turned_block(doc, space):
    inner, outer = doc.blocks.new("inner"), doc.blocks.new("outer")
    add_lines_and_arcs(inner, shift=(10.0, -3.0))
    outer.add_blockref("inner", (-10, 3))
    space.add_blockref("outer", (WIDTH, 0), {"rotation": 90})
    for insert in space.query("INSERT"):
        insert.dxf.rotation = 180
        insert.dxf.insert = (LENGTH, WIDTH)


def as_scaled_block(doc, space):
    block = doc.blocks.new("tenth")
    block.add_lwpolyline([(x / 10, y / 10, b) for x, y, b in rounded_corners()], format="xyb", close=True)
    space.add_blockref("tenth", (0, 0), {"xscale": 10, "yscale": 10})


def as_line_edges_with_gaps(_doc, space):
    add_lines_and_arcs(space)
    for line in space.query("LINE"):
        line.dxf.start += (line.dxf.end - line.dxf.start).normalize(5e-5)


def as_hatch(_doc, space):
    space.add_hatch().paths.add_polyline_path(rounded_corners(), is_closed=True)


def as_polygon_with_filling(_doc, space):
    space.add_mpolygon().paths.add_polyline_path(rounded_corners(), is_closed=True)


def as_hatch_of_edges(_doc, space):
    edges = space.add_hatch().paths.add_edge_path()
    corners = rounded_corners()
    for (x0, y0, bulge), (x1, y1, _) in zip(corners, corners[1:] + corners[:1], strict=True):
        if not bulge:
            edges.add_line((x0, y0), (x1, y1))
            continue
        middle = bulge_center((x0, y0), (x1, y1), bulge)
        start = math.degrees(math.atan2(y0 - middle.y, x0 - middle.x))
        edges.add_arc(middle, RADIUS, start, start + 90)


FORMS = [
    as_lwpolyline,
    as_wide_polyline,
    as_open_polyline_that_returns,
    as_old_polyline,
    as_lines_and_arcs,
    as_lines_in_any_order_and_direction,
    as_lines_drawn_twice,
    as_ellipses,
    as_splines,
    as_seen_from_below,
    as_block,
    as_block_in_turned_block,
    as_scaled_block,
    as_line_edges_with_gaps,
    as_hatch,
    as_polygon_with_filling,
    as_hatch_of_edges,
]


def along(line):
    """Return points on a line, none further than 0.05 mm from the next."""
    return shapely.points(line.segmentize(0.05).coords)


@pytest.mark.parametrize("form", FORMS, ids=lambda f: f.__name__)
def test_the_same_board_in_any_entity_form_reads_as_the_same_outline_within_2_um(form, read):
    # Outside check: shapely's own buffer of a rectangle is the reference, with 2,000 chords a quarter; and what is read
    # lies everywhere as far from that rectangle as its corners are round.
    core = box(RADIUS, RADIUS, LENGTH - RADIUS, WIDTH - RADIUS)
    exact = core.buffer(RADIUS, quad_segs=2000)
    doc, space = new_drawing()
    form(doc, space)
    outline = read(doc).outline
    drawn, wanted = outline.polygon.exterior, exact.exterior
    assert np.abs(shapely.distance(along(drawn), core) - RADIUS).max() < 0.002
    assert shapely.distance(along(wanted), drawn).max() < 0.002
    assert outline.polygon.bounds == pytest.approx((0, 0, LENGTH, WIDTH), abs=1e-4)


@pytest.mark.parametrize("version", ["R12", "R2000", "R2004", "R2007", "R2010", "R2013", "R2018"])
@pytest.mark.parametrize("fmt", ["asc", "bin"])
def test_every_version_reads_as_text_and_as_binary(version, fmt, read):
    doc, space = new_drawing(version)
    space.add_polyline2d(rounded_corners(), format="xyb", close=True)
    assert read(doc, fmt=fmt).outline.polygon.area == pytest.approx(exact_area(), rel=1e-5)


# An inch is 25.4 mm by definition.
@settings(max_examples=sample_size(40))
@given(
    length=st.floats(20, 450),
    width=st.floats(20, 450),
    share=st.floats(0.02, 0.45),
    shift=st.tuples(st.floats(-300, 300), st.floats(-300, 300)),
    form=st.sampled_from(["polyline", "loose", "inch"]),
)
def test_random_rounded_rectangles_keep_size_and_area(*, length, width, share, shift, form, read):
    r = share * min(length, width)
    scale = 1 / 25.4 if form == "inch" else 1.0
    doc, space = new_drawing(unit=1 if form == "inch" else 4)
    if form == "loose":
        add_lines_and_arcs(space, shift=shift, length=length, width=width, r=r)
    else:
        corners = [((x + shift[0]) * scale, (y + shift[1]) * scale, b) for x, y, b in rounded_corners(length, width, r)]
        space.add_lwpolyline(corners, format="xyb", close=True)
    polygon = read(doc).outline.polygon
    west, south, east, north = polygon.bounds
    assert (east - west, north - south) == pytest.approx((length, width), abs=0.002)
    # Chords lie inside their arcs by at most 1 µm.
    assert exact_area(length, width, r) - 0.0021 * math.pi * r - 1e-3 <= polygon.area
    assert polygon.area <= exact_area(length, width, r) + 1e-2


def test_arcs_take_no_more_points_than_their_deviation_needs(read):
    doc, space = new_drawing()
    space.add_lwpolyline(rounded_corners(), format="xyb", close=True)
    count = len(read(doc).outline.polygon.exterior.coords)
    # The sagitta of a chord over the angle a is r (1 − cos a/2).
    needed = 2 * math.pi / (2 * math.acos(1 - 0.001 / RADIUS))
    assert count < needed + 12


def test_circles_inside_are_holes_and_inner_loops_are_cut_outs(read):
    doc, space = new_drawing()
    add_lines_and_arcs(space)
    space.add_circle((5, 5), 1.6, {"layer": "outline"})
    space.add_lwpolyline([(74, 45, 1), (76, 45, 1)], format="xyb", close=True, dxfattribs={"layer": "outline"})
    add_rectangle(space, 30, 20, 40, 25)
    outline = read(doc).outline
    assert sorted(outline.holes) == [pytest.approx((5, 5, 3.2)), pytest.approx((75, 45, 2.0), abs=1e-3)]
    assert [Polygon(ring).bounds for ring in outline.polygon.interiors] == [pytest.approx((30, 20, 40, 25))]


def test_circles_on_another_layer_may_be_marks_but_holes_never_are(read):
    doc, space = new_drawing()
    add_lines_and_arcs(space)
    space.add_circle((6, 6), 0.5, {"layer": "copper"})
    space.add_circle((70, 40), 20, {"layer": "copper"})
    space.add_circle((10, 40), 0.5, {"layer": "drills"})
    space.add_circle((20, 40), 0.5, {"layer": "outline"})
    outline = read(doc).outline
    assert outline.marks == (pytest.approx((6, 6, 1.0)),)
    assert sorted(h[:2] for h in outline.holes) == [(10, 40), (20, 40)]


def test_a_drill_that_cuts_the_edge_does_not_bend_the_contour(read):
    doc, space = new_drawing()
    add_rectangle(space, 0, 0, 80, 50)
    space.add_circle((40, 0), 0.5, {"layer": "outline"})
    assert read(doc).outline.polygon.equals(box(0, 0, 80, 50))


def test_a_round_board_is_a_board(read):
    doc, space = new_drawing()
    space.add_circle((0, 0), 30)
    space.add_circle((0, 0), 2)
    outline = read(doc).outline
    assert outline.polygon.area == pytest.approx(math.pi * 900, rel=1e-4)
    assert outline.holes == ((0, 0, 4),)


def test_the_layer_named_like_a_board_edge_wins_over_its_margin_and_the_runner_up_is_named(read):
    doc, space = new_drawing()
    add_rectangle(space, -3, -3, 83, 53, "margin")
    add_rectangle(space, 0, 0, 80, 50, "Umriss")
    reading = read(doc)
    assert reading.outline.polygon.equals(box(0, 0, 80, 50))
    (decision,) = [d for d in reading.decisions if d.topic == "outline contour"]
    assert '"Umriss"' in sentence(decision.choice)
    assert '"margin"' in sentence(decision.runner_up)
    assert 'layer = "margin"' in decision.settle


def test_a_contour_that_is_nearly_as_good_is_the_rival_and_one_that_is_not_is_none(read):
    doc, space = new_drawing()
    add_rectangle(space, -5, -5, 105, 65, "one")
    add_rectangle(space, 0, 0, 100, 60, "two")
    reading = read(doc)
    (decision,) = [d for d in reading.decisions if d.topic is Topic.OUTLINE_CONTOUR]
    assert decision.open
    both = {reading.outline.polygon.bounds, reading.outline.rival.bounds}
    assert both == {(-5, -5, 105, 65), (0, 0, 100, 60)}
    doc, space = new_drawing()
    add_rectangle(space, -3, -3, 83, 53, "margin")
    add_rectangle(space, 0, 0, 80, 50, "Umriss")
    assert read(doc).outline.rival is None


def test_a_stated_layer_overrides_the_evidence(read):
    doc, space = new_drawing()
    add_rectangle(space, -3, -3, 83, 53, "margin")
    add_rectangle(space, 0, 0, 80, 50, "Umriss")
    assert read(doc, layer="MARGIN").outline.polygon.equals(box(-3, -3, 83, 53))


def test_a_drawing_frame_with_title_block_and_dimensions_is_not_the_board(read):
    doc, space = new_drawing()
    # The sheet is A4 (ISO 216: 210 × 297 mm) with a border of 10 mm.
    add_rectangle(space, 0, 0, 297, 210, "0")
    add_rectangle(space, 10, 10, 287, 200, "0")
    add_rectangle(space, 187, 10, 287, 50, "0")
    space.add_line((187, 30), (287, 30))
    space.add_text("carrier plate").set_placement((190, 35))
    space.add_text("sheet 1").set_placement((190, 15))
    add_lines_and_arcs(space, layer="0", shift=(60, 90))
    space.add_linear_dim((60, 80), (60, 90), (140, 90)).render()
    reading = read(doc)
    assert reading.outline.polygon.bounds == pytest.approx((60, 90, 140, 140), abs=1e-3)
    assert any("297" in sentence(d.runner_up) or "277" in sentence(d.runner_up) for d in reading.decisions)


def test_placements_tell_the_board_from_a_carrier_around_it(read):
    doc, space = new_drawing()
    add_rectangle(space, 0, 0, 120, 90)
    add_rectangle(space, 20, 20, 100, 70)
    assert read(doc).outline.polygon.area == pytest.approx(120 * 90 - 80 * 50)
    points = np.random.default_rng(4).uniform((22, 22), (98, 68), (40, 2))
    assert read(doc, points).outline.polygon.bounds == (20, 20, 100, 70)


def test_an_outline_drawn_across_two_layers_is_joined(read):
    doc, space = new_drawing()
    add_lines_and_arcs(space, layer="straight")
    for arc in space.query("ARC"):
        arc.dxf.layer = "round"
    space.add_circle((10, 10), 1, {"layer": "straight"})
    reading = read(doc)
    assert reading.outline.polygon.area == pytest.approx(exact_area(), rel=1e-5)
    assert reading.outline.holes == ((10, 10, 2),)


def test_scored_lines_beyond_the_edges_do_no_harm(read):
    doc, space = new_drawing()
    add_lines_and_arcs(space)
    space.add_line((40, -5), (40, 55), {"layer": "outline"})
    space.add_line((-5, 25), (85, 25), {"layer": "outline"})
    reading = read(doc)
    assert reading.outline.polygon.area == pytest.approx(exact_area(), rel=1e-5)
    assert any("4 fields" in sentence(n.said) for n in reading.notes)


def test_gaps_are_closed_and_the_note_names_their_width_and_the_tolerance(read):
    doc, space = new_drawing()
    space.add_lwpolyline([(0, 0), (80, 0), (80, 50), (0, 50), (0, 0.08)])
    reading = read(doc)
    assert reading.outline.polygon.area == pytest.approx(4000, abs=1e-6)
    assert any("0.08 mm" in sentence(n.said) and "tolerance 0.1 mm" in sentence(n.said) for n in reading.notes)


def test_lines_that_stop_short_of_another_or_run_past_it_still_make_corners(read):
    doc, space = new_drawing()
    for start, end in (((-2, 0), (82, 0)), ((80, 0.05), (80, 51)), ((81, 50), (-1, 50)), ((0, 49.96), (0, -1))):
        space.add_line(start, end)
    assert read(doc).outline.polygon.area == pytest.approx(4000, abs=0.1)


def test_dots_on_the_ends_of_lines_are_not_holes(read):
    doc, space = new_drawing()
    corners = [(0, 0), (80, 0), (80, 50), (0, 50)]
    for a, b in zip(corners, corners[1:] + corners[:1], strict=True):
        space.add_line(a, b)
        space.add_lwpolyline([(a[0] - 0.1, a[1], 1), (a[0] + 0.1, a[1], 1)], format="xyb", close=True)
    outline = read(doc).outline
    assert outline.polygon.bounds == (0, 0, 80, 50)
    assert outline.holes == ()


# Definitions: an inch is 25.4 mm, a mil a thousandth of it.
@pytest.mark.parametrize(
    ("code", "unit", "per_mm"),
    [(1, "inch", 1 / 25.4), (4, "mm", 1), (5, "cm", 0.1), (9, "mil", 1 / 0.0254), (13, "µm", 1000)],
)
def test_the_units_of_the_header_convert_exactly(code, unit, per_mm, read):
    # Outside check: the international inch is 25.4 mm exactly (1959), a mil its thousandth.
    doc, space = new_drawing(unit=code)
    add_rectangle(space, 0, 0, 80 * per_mm, 50 * per_mm)
    reading = read(doc)
    assert reading.unit == unit
    assert reading.outline.polygon.bounds == pytest.approx((0, 0, 80, 50), rel=1e-12)
    assert not reading.decisions


# Definitions: an inch is 25.4 mm, a mil a thousandth of it.
@pytest.mark.parametrize("unit", ["mm", "inch", "mil", "cm"])
def test_without_a_unit_the_placements_decide_it(unit, read):
    per_mm = {"mm": 1, "inch": 1 / 25.4, "mil": 1 / 0.0254, "cm": 0.1}[unit]
    doc, space = new_drawing(unit=0)
    add_rectangle(space, 0, 0, 80 * per_mm, 50 * per_mm)
    points = np.random.default_rng(1).uniform((3, 3), (77, 47), (60, 2)) + 200
    reading = read(doc, points)
    assert reading.unit == unit
    assert reading.outline.polygon.bounds == pytest.approx((0, 0, 80, 50), rel=1e-9)
    (decision,) = [d for d in reading.decisions if d.topic == "outline unit"]
    # A board in inches may have its parts in the middle, so that cm is never certain.
    assert decision.open == (unit == "cm")
    assert sentence(decision.runner_up)


def test_without_unit_and_placements_a_doubtful_unit_stays_open(read):
    doc, space = new_drawing(unit=0)
    add_rectangle(space, 0, 0, 7, 4)
    (decision,) = [d for d in read(doc).decisions if d.topic == "outline unit"]
    assert decision.open
    assert sentence(decision.choice) == "inch"


def test_a_header_unit_that_contradicts_the_size_is_an_open_decision_with_both_sizes(read):
    doc, space = new_drawing(unit=6)
    add_rectangle(space, 0, 0, 80, 50)
    reading = read(doc)
    assert reading.unit == "mm"
    (decision,) = [d for d in reading.decisions if d.topic == "outline unit"]
    assert decision.open
    assert "states m" in sentence(decision.evidence)
    assert "80 × 50 mm" in sentence(decision.evidence)


# The numbers of the units in a header, from memory of the format: 1 inch, 5 cm, 6 m, 13 µm.
@pytest.mark.parametrize("code", [1, 5, 6, 13])
def test_a_header_that_the_placements_overrule_is_asked_about(read, code):
    doc, space = new_drawing(unit=code)
    add_rectangle(space, 0, 0, 80, 50)
    reading = read(doc, np.random.default_rng(1).uniform((3, 3), (77, 47), (60, 2)))
    assert reading.unit == "mm"
    assert [d.open for d in reading.decisions if d.topic == "outline unit"] == [True]


def test_a_stated_unit_is_taken_as_it_is(read):
    doc, space = new_drawing(unit=4)
    add_rectangle(space, 0, 0, 3, 2)
    reading = read(doc, unit="inch")
    assert reading.outline.polygon.bounds == pytest.approx((0, 0, 76.2, 50.8))
    assert not reading.decisions


def test_a_filled_area_is_the_board_where_nothing_else_is_drawn(read):
    doc, space = new_drawing()
    space.add_hatch().paths.add_polyline_path([(0, 0), (80, 0), (80, 50), (0, 50)], is_closed=True)
    assert read(doc).outline.polygon.area == pytest.approx(4000)


# Bad input: the message names the place and what to do.


def refused(read, doc, points=None, **options):
    with pytest.raises(InputError) as caught:
        read(doc, points, **options)
    return str(caught.value)


def test_an_open_outline_names_both_ends_the_gap_and_the_layer(read):
    doc, space = new_drawing()
    space.add_lwpolyline([(0, 0), (80, 0), (80, 50), (0, 50), (0, 3)], dxfattribs={"layer": "edge"})
    text = refused(read, doc)
    assert 'layer "edge"' in text
    assert "open between" in text
    assert "(0.0000, 0.0000)" in text
    assert "(0.0000, 3.0000)" in text
    assert "gap is 3 mm" in text
    assert read(doc, tolerance_mm=3.5).outline.polygon.area == pytest.approx(4000)


def test_closed_holes_do_not_hide_that_the_outline_is_open(read):
    doc, space = new_drawing()
    space.add_lwpolyline([(0, 0), (80, 0), (80, 50), (0, 50), (0, 3)])
    space.add_circle((10, 10), 1.6)
    add_rectangle(space, 30, 20, 40, 25, "0")
    assert "open between" in refused(read, doc)


@pytest.mark.parametrize(
    "corners",
    [
        [(0, 0), (80, 50), (80, 0), (0, 50)],
        [(50 + 40 * math.cos(math.tau * 2 * k / 5), 40 * math.sin(math.tau * 2 * k / 5)) for k in range(5)],
    ],
    ids=["bow tie", "pentagram"],
)
@pytest.mark.parametrize("loose", [False, True])
def test_an_outline_that_crosses_itself_names_the_crossing(corners, loose, read):
    doc, space = new_drawing()
    if loose:
        for a, b in zip(corners, corners[1:] + corners[:1], strict=True):
            space.add_line(a, b)
    else:
        space.add_lwpolyline(corners, close=True)
    text = refused(read, doc)
    assert "crosses itself at" in text
    if len(corners) == 4:
        assert "(40.0000, 25.0000)" in text


def test_two_boards_in_one_file_are_refused_with_both_places(read):
    doc, space = new_drawing()
    add_rectangle(space, 0, 0, 80, 50)
    add_rectangle(space, 100, 0, 180, 50)
    text = refused(read, doc)
    assert "2 contours may be the board" in text
    assert "at (0, 0)" in text
    assert "at (100, 0)" in text


def test_of_two_boards_the_one_that_holds_the_placements_is_taken(read):
    doc, space = new_drawing()
    add_rectangle(space, 0, 0, 80, 50)
    add_rectangle(space, 100, 0, 180, 50)
    points = np.random.default_rng(2).uniform((102, 2), (178, 48), (30, 2))
    assert read(doc, points).outline.polygon.bounds == (100, 0, 180, 50)


def test_an_outline_without_area_is_refused_with_its_place(read):
    doc, space = new_drawing()
    space.add_lwpolyline([(3, 4), (80, 4), (40, 4)], close=True)
    text = refused(read, doc)
    assert "encloses no area" in text
    assert "(3, 4)" in text


def test_a_block_that_contains_itself_is_named(read):
    doc, space = new_drawing()
    first, second = doc.blocks.new("ring"), doc.blocks.new("pin")
    first.add_blockref("pin", (0, 0))
    second.add_blockref("ring", (0, 0))
    space.add_blockref("ring", (0, 0))
    text = refused(read, doc)
    assert "contains itself" in text
    assert "ring" in text
    assert "pin" in text


def test_inserts_that_expand_to_10_to_the_8_are_refused_before_expanding(read):
    doc, space = new_drawing()
    doc.blocks.new("b0").add_line((0, 0), (1, 1))
    for level in range(1, 9):
        block = doc.blocks.new(f"b{level}")
        for k in range(10):
            block.add_blockref(f"b{level - 1}", (k, 0))
    space.add_blockref("b8", (0, 0))
    # Each level holds ten inserts of the one below; an insert counts beside what it inserts.
    assert "211,111,111" in refused(read, doc)


def test_rows_and_columns_of_an_insert_count(read):
    doc, space = new_drawing()
    doc.blocks.new("cell").add_line((0, 0), (1, 1))
    space.add_blockref("cell", (0, 0), {"row_count": 10_000, "column_count": 10_000})
    assert "200,000,000" in refused(read, doc)


@pytest.mark.parametrize(
    "add",
    [
        lambda s: s.add_line((0, 0), (math.nan, 1), {"layer": "edge"}),
        lambda s: s.add_lwpolyline([(0, 0), (1, math.inf)], dxfattribs={"layer": "edge"}),
        lambda s: s.add_circle((math.nan, 0), 1, {"layer": "edge"}),
        lambda s: s.add_arc((0, 0), math.nan, 0, 90, dxfattribs={"layer": "edge"}),
    ],
    ids=["line", "polyline", "circle", "arc"],
)
def test_coordinates_that_are_no_numbers_name_entity_and_layer(add, read):
    doc, space = new_drawing()
    add_rectangle(space, 0, 0, 80, 50)
    add(space)
    text = refused(read, doc)
    assert 'layer "edge"' in text
    assert "not a finite number" in text


@pytest.mark.parametrize("damage", ["record", "CIRCLE", "POLYLINE"])
def test_stray_records_and_missing_numbers_are_no_traceback(damage, tmp_path):
    doc, space = new_drawing("R12")
    space.add_polyline2d(rounded_corners(), format="xyb", close=True)
    space.add_circle((10, 10), 1)
    file = tmp_path / "outline.dxf"
    doc.saveas(file)
    text = file.read_text()
    at = text.index("\nCIRCLE")
    if damage == "record":
        file.write_text(text[:at] + text[at:].replace("CIRCLE", "CIRCLF", 1))
        assert read_outline(file, OutlineOptions()).outline.holes == ()
    else:
        place = "\n 10\n10.0\n 20\n10.0\n 30\n0.0" if damage == "CIRCLE" else "\n 10\n4.0\n 20\n0.0\n 30\n0.0"
        assert text.count(place) == 1
        file.write_text(text.replace(place, ""))
        with pytest.raises(InputError, match=damage):
            read_outline(file, OutlineOptions())


def test_an_unknown_layer_names_the_nearest(read):
    doc, space = new_drawing()
    add_rectangle(space, 0, 0, 80, 50, "outline")
    assert 'did you mean "outline"?' in refused(read, doc, layer="outlin")


def test_a_drawing_without_lines_says_so(read):
    doc, space = new_drawing()
    space.add_text("nothing")
    assert "nothing in it can be a contour" in refused(read, doc)


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"", "empty"),
        (b"hello\nworld\n", "not a DXF file"),
        (b"  0\nSECTION\n  2\nENTITIES\n  0\nLI", "nothing in it"),
        (bytes(range(256)) * 8, "not a DXF file"),
    ],
)
def test_a_file_that_is_no_dxf_says_so(content, said, tmp_path):
    file = tmp_path / "outline.dxf"
    file.write_bytes(content)
    with pytest.raises(InputError, match=said):
        read_outline(file, OutlineOptions())


def test_a_missing_file_says_so(tmp_path):
    with pytest.raises(InputError, match="cannot be opened"):
        read_outline(tmp_path / "none.dxf", OutlineOptions())


def test_an_ellipse_keeps_within_2_um_of_the_curve(read):
    # Outside check: every point of the ring satisfies the ellipse's equation, and midpoints of chords nearly so.
    doc, space = new_drawing()
    space.add_ellipse((0, 0), (50, 0), 0.6)
    ring = read(doc).outline.polygon.exterior
    x, y = np.array(ring.coords).T
    assert np.allclose((x / 50) ** 2 + (y / 30) ** 2, 1, atol=1e-6)
    exact = LineString([(50 * math.cos(t), 30 * math.sin(t)) for t in np.linspace(0, math.tau, 20001)])
    assert shapely.hausdorff_distance(ring, exact) < 0.05
    middles = (np.array(ring.coords)[1:] + np.array(ring.coords)[:-1]) / 2
    assert max(exact.distance(Point(p)) for p in middles[::7]) < 0.002


def test_a_path_drawn_by_ezdxf_as_splines_only_reads_as_the_board(read):
    doc, space = new_drawing()
    source = space.add_lwpolyline(rounded_corners(), format="xyb", close=True)
    border = dxf_path.make_path(source)
    space.delete_entity(source)
    dxf_path.render_splines_and_polylines(space, [border])
    # ezdxf says arcs as cubic pieces here: 2.7e-4 of the radius off at most, 1.1 µm for 4 mm.
    assert read(doc).outline.polygon.area == pytest.approx(exact_area(), abs=0.05)


@pytest.mark.parametrize(("spread", "is_open"), [(None, True), (6400, False), (3.2, True)])
def test_placements_of_an_unknown_unit_rule_out_units_that_none_of_theirs_would_fill(tmp_path, spread, is_open):
    """A contour of 7 × 4.15 may be inch or cm. 6400 fill it as mil where it is inch, and as nothing where it is cm.

    A spread of 3.2 fills it in either, as inch or as cm.
    """
    doc, space = new_drawing(unit=0)
    del doc.header["$MEASUREMENT"]
    add_rectangle(space, 0, 0, 7, 4.15)
    doc.saveas(tmp_path / "o.dxf")
    points = None if spread is None else np.array([(0, 0), (spread, 0), (spread, spread / 2), (0, spread / 2)])
    reading = read_outline(tmp_path / "o.dxf", OutlineOptions(), unscaled_points=points)
    assert reading.unit == "inch"
    assert [d.open for d in reading.decisions if d.topic == "outline unit"] == [is_open]


def test_a_drawing_of_thousands_of_curves_is_measured_in_one_go(read, monkeypatch):
    """The drawing's extent says how finely curves are flattened; working it out for each curve took minutes."""
    doc, space = new_drawing()
    for k in range(60):
        first, last = math.tau * k / 60, math.tau * (k + 1) / 60
        space.add_ellipse((0, 0), (50, 0), 1.0, first, last)
    calls = []
    box_of_drawing = Drawing.box
    monkeypatch.setattr(Drawing, "box", lambda drawing: calls.append(1) or box_of_drawing(drawing))
    reading = read(doc)
    assert reading.outline.polygon.area == pytest.approx(math.pi * 2500, rel=1e-5)
    assert len(calls) < 10


@pytest.mark.parametrize("share", [0.0005, 0.002, 0.01, 0.1, 0.5, 0.9, 0.999])
def test_a_file_that_breaks_off_is_refused_or_read_and_never_crashes(tmp_path, share):
    doc, space = new_drawing()
    as_lines_and_arcs(doc, space)
    file = tmp_path / "outline.dxf"
    doc.saveas(file)
    whole = file.read_bytes()
    file.write_bytes(whole[: int(share * len(whole))])
    problem, reading = "", None
    try:
        reading = read_outline(file, OutlineOptions())
    except InputError as error:
        problem = str(error)
    area = exact_area() if reading is None else reading.outline.polygon.area
    assert "outline.dxf" in problem or reading is not None
    assert area == pytest.approx(exact_area(), abs=0.1)


@pytest.mark.parametrize("damage", [r"^(\s*\d+\n)(-?\d+)\.(\d+)$", r"^( 10\n)(80)\.(0)$"])
def test_a_drawing_that_had_to_be_repaired_proves_nothing(tmp_path, damage):
    """510,9 is read as 510: such a contour is open until somebody exports it again."""
    doc, space = new_drawing("R12")
    corners = [(0, 0), (80.0, 0), (80.0, 50.5), (0, 50.5), (0, 0)]
    for a, b in itertools.pairwise(corners):
        space.add_line(a, b)
    file = tmp_path / "outline.dxf"
    doc.saveas(file)
    text = file.read_text()
    commas = re.sub(damage, r"\1\2,\3", text, flags=re.MULTILINE)
    assert commas != text
    file.write_text(commas)
    reading = read_outline(file, OutlineOptions())
    (decision,) = [d for d in reading.decisions if d.topic is Topic.OUTLINE_CONTOUR]
    assert decision.open
    assert "was repaired" in sentence(decision.evidence)
    file.write_text(text)
    assert not [d for d in read_outline(file, OutlineOptions()).decisions if d.topic is Topic.OUTLINE_CONTOUR]
