"""The board as it is drawn: outline, parts, marks and findings.

Figures: invented boards and places.
"""

import html
import math
import re
from xml.etree import ElementTree as ET

import numpy as np
import pytest
import shapely
from msgspec.structs import replace

from capcheck.model import Board, BoardSize, Body, Measure, Outline, PartName, Placements
from capcheck.model.stated import Fiducial, Manifest
from capcheck.report.picture.drawing import board_svg
from capcheck.values.interval import Interval

SVG = "{http://www.w3.org/2000/svg}"


def exactly(value):
    return Measure(Interval.exactly(value))


CHIP = Body(length=exactly(6.0), width=exactly(3.0), oriented=True)
VAGUE = Body(length=Measure(Interval(2.0, 9.0)), width=Measure(Interval(1.0, 4.0)), oriented=True)
BODIES = (CHIP, VAGUE, Body())


def board(rows, *, bodies=BODIES, outline=True, name="pump driver"):
    """Return a board of 60 × 40 mm; a row is ref, x, y, rotation, side, kind, type."""
    ref, x, y, rotation, side, kind, of = zip(*rows, strict=True)
    n = len(rows)
    polygon = shapely.Polygon(shapely.box(0, 0, 60, 40).exterior, [shapely.box(40, 10, 50, 20).exterior])
    return Board(
        name=name,
        placements=Placements(
            ref=ref,
            x_mm=np.array(x, float),
            y_mm=np.array(y, float),
            rotation_deg=np.array(rotation, float),
            side=np.array(side, np.int8),
            kind=np.array(kind, np.int8),
            fitted=np.ones(n, bool),
            file=np.zeros(n, np.int64),
            row=np.arange(n),
            bom_line=np.full(n, -1),
            part_type=np.array(of),
            files=["a"],
        ),
        types=[PartName(part_number=f"P{k}") for k in range(len(bodies))],
        bodies=bodies,
        bom=None,
        outline=Outline(polygon, holes=((4, 4, 3.2),), marks=((8, 8, 1.0),)) if outline else None,
        size=BoardSize(exactly(60.0), exactly(40.0)),
        manifest=Manifest(),
    )


def read(svg):
    return ET.fromstring(svg)  # noqa: S314  our own document


def of_class(root, css):
    return [e for e in root.iter() if css in (e.get("class") or "").split()]


def heads(root):
    return [e.text for e in of_class(root, "head")]


def place(element):
    return tuple(float(v) for v in re.search(r"translate\((\S+) (\S+)\)", element.get("transform")).groups())


def test_the_picture_names_and_describes_itself_for_a_reader_who_cannot_see_it():
    root = read(board_svg(board([("C1", 10, 10, 0, 0, 0, 0)]), marked={0: "too near to the edge"}))
    assert root.get("role") == "img"
    assert root.find(f"{SVG}title").text == "Board pump driver"
    assert "60 by 40 mm, 1 part on the top. Objected to: C1: too near to the edge" in root.find(f"{SVG}desc").text
    assert {root.find(f"{SVG}title").get("id"), root.find(f"{SVG}desc").get("id")} == set(
        root.get("aria-labelledby").split()
    )


def test_the_bottom_is_mirrored_from_left_to_right_and_the_top_is_not():
    root = read(board_svg(board([("C1", 10, 30, 0, 0, 0, 0), ("C2", 10, 30, 0, 1, 0, 0)])))
    views = [g for g in root.findall(f"{SVG}g") if of_class(g, "head")]
    assert [h.split(" · ")[0] for h in heads(root)] == ["Top", "Bottom, seen from below"]
    top, bottom = (place(next(g for g in v.iter(f"{SVG}g") if "rotate" in (g.get("transform") or ""))) for v in views)
    contour = [float(v) for v in re.findall(r"[\d.]+", of_class(views[0], "board")[0].get("d"))]
    left, right = min(contour[::2]), max(contour[::2])
    scale = (right - left) / 60
    assert top[0] == pytest.approx(left + 10 * scale, abs=0.02)
    assert bottom[0] == pytest.approx(right - 10 * scale, abs=0.02)
    assert top[1] == bottom[1]


def test_a_board_without_bottom_parts_shows_the_top_alone():
    assert len(heads(read(board_svg(board([("C1", 10, 30, 0, 0, 0, 0)]))))) == 1


def test_bodies_are_to_scale_and_turned_counter_clockwise():
    root = read(board_svg(board([("C1", 20, 20, 30, 0, 0, 0)])))
    body = of_class(root, "body")[0]
    assert float(body.get("width")) / float(body.get("height")) == pytest.approx(2.0, rel=0.01)
    assert "rotate(-30)" in next(g for g in root.iter(f"{SVG}g") if body in list(g)).get("transform")


@pytest.mark.parametrize(
    ("taken", "share", "said"), [(None, 2.0, "no source says"), ("y", 0.5, "leaves neighbours room")]
)
def test_a_body_is_drawn_along_the_axis_that_its_neighbours_leave(taken, share, said):
    chip = replace(CHIP, oriented=False, longer_taken_along=taken)
    root = read(board_svg(board([("C1", 20, 20, 0, 0, 0, 0)], bodies=(chip,)), remarks=["2 pairs may touch"]))
    body = of_class(root, "body")[0]
    assert float(body.get("width")) / float(body.get("height")) == pytest.approx(share, rel=0.01)
    notes = [e.text for e in of_class(root, "small")]
    assert len([note for note in notes if "long side" in note]) == 1
    assert any(said in note for note in notes)
    assert "2 pairs may touch" in notes


@pytest.mark.parametrize(("most_mm", "mounting"), [(30.0, "surface"), (9.0, "through hole")])
def test_a_greatest_body_that_hides_the_board_or_that_no_head_places_is_not_drawn(most_mm, mounting):
    vague = replace(VAGUE, length=Measure(Interval(2.0, most_mm)), mounting=mounting)
    root = read(board_svg(board([("J1", 20, 20, 0, 0, 0, 0)], bodies=(vague,))))
    assert of_class(root, "greatest") == []
    assert "greatest body" not in " ".join(e.text for e in of_class(root, "small"))


def test_an_unknown_size_has_its_own_shape_and_a_vague_one_shows_both_bounds():
    root = read(board_svg(board([("U1", 20, 20, 0, 0, 0, 2), ("U2", 30, 30, 0, 0, 0, 1)])))
    assert [u.get("href") for u in root.iter(f"{SVG}use")] == ["#unknown"]
    greatest = of_class(root, "greatest")
    assert len(greatest) == 1
    least = next(b for b in of_class(root, "body") if b not in greatest and b.tag == f"{SVG}rect")
    assert float(greatest[0].get("width")) / float(least.get("width")) == pytest.approx(4.5, rel=0.01)
    notes = " ".join(e.text for e in of_class(root, "small"))
    assert "dashed diamond: size unknown" in notes
    assert "dashed contour" in notes


def test_an_objection_is_told_by_hatch_number_and_words_and_not_by_colour_alone():
    svg = board_svg(board([("C1", 10, 10, 0, 0, 0, 0), ("C2", 20, 10, 0, 0, 0, 0)]), marked={1: "0.1 mm to C1"})
    root = read(svg)
    assert len(of_class(root, "marked")) == 1
    assert [e.text for e in of_class(root, "flagtext")] == ["1"]
    assert [e.text for e in of_class(root, "note")] == ["1  C2: 0.1 mm to C1"]
    assert ".marked{fill:url(#hatch)" in svg


def test_parts_of_which_the_same_is_said_share_a_number_and_a_line_and_the_gravest_comes_first():
    rows = [(f"C{k}", 5 + 9 * k, 20, 0, 0, 0, 0) for k in range(4)]
    marked = {0: "may turn over", 1: "too near", 2: "too near", 3: "C1 and C3: they overlap"}
    grades = {0: "warn", 1: "fail", 2: "fail", 3: "fail"}
    root = read(board_svg(board(rows), marked=marked, grades=grades, named={3}))
    assert [e.text for e in of_class(root, "note")] == [
        "1  C1, C2: too near",
        "2  C1 and C3: they overlap",
        "3  C0: may turn over",
    ]
    assert sorted(e.text for e in of_class(root, "flagtext")) == ["1", "1", "2", "3"]


def test_a_pair_is_named_once():
    rows = [("C1", 10, 20, 0, 0, 0, 0), ("C2", 12, 20, 0, 0, 0, 0)]
    root = read(board_svg(board(rows), marked=dict.fromkeys((0, 1), "C1 and C2: the bodies overlap"), named={0, 1}))
    assert [e.text for e in of_class(root, "note")] == ["1  C1 and C2: the bodies overlap"]


def test_marks_that_board_toml_states_are_drawn_and_ringed_where_a_rule_objects():
    manifest = Manifest(
        fiducials=[
            Fiducial(x="5 mm", y="5 mm", diameter="1 mm"),
            Fiducial(x="55 mm", y="35 mm", diameter="1 mm", side="bottom"),
        ]
    )
    told = replace(board([("C1", 10, 10, 0, 0, 0, 0), ("C2", 10, 10, 0, 1, 0, 0)]), manifest=manifest)
    root = read(board_svg(told, on_marks={"fiducial 2": "too near to the edge"}))
    marks = [e for e in root.iter(f"{SVG}use") if e.get("href") == "#mark"]
    assert [e.findtext(f"{SVG}title") for e in marks] == [
        "fiducial 1 · stated in board.toml",
        "fiducial 2 · stated in board.toml · too near to the edge",
    ]
    assert len(of_class(root, "ring")) == 1
    assert [e.text for e in of_class(root, "note")] == ["ringed  fiducial 2: too near to the edge"]


def test_many_objections_are_counted_and_not_all_listed():
    rows = [(f"C{k}", 2 + k, 20, 0, 0, 0, 0) for k in range(40)]
    root = read(board_svg(board(rows), marked={k: f"overlaps by {k} µm" for k in range(40)}))
    assert [e.text for e in of_class(root, "note")][-1] == "and 16 more, hatched"
    assert len(of_class(root, "marked")) == 40


def test_texts_from_the_input_are_escaped_and_lose_what_xml_forbids():
    rows = [('C1</svg><script>"&\x00\x1b', 20, 20, 0, 0, 0, 0)]
    svg = board_svg(board(rows, name="<b>&"), marked={0: "]]><x a='"})
    assert "<script>" not in svg
    assert "C1</svg><script>" in ET.tostring(read(svg), encoding="unicode", method="text")


def test_references_are_written_only_where_they_fit():
    small = Body(length=exactly(1.0), width=exactly(0.5), oriented=True)
    root = read(board_svg(board([("U1", 20, 20, 0, 0, 0, 0), ("C99", 30, 20, 0, 0, 0, 1)], bodies=(CHIP, small))))
    assert [e.text for e in of_class(root, "ref")] == ["U1"]


def test_no_reference_is_written_over_another_one():
    rows = [("U1", 20, 20, 0, 0, 0, 0), ("U2", 20.2, 20, 0, 0, 0, 0), ("U3", 32, 20, 0, 0, 0, 0)]
    root = read(board_svg(board(rows, bodies=(CHIP,))))
    assert sorted(e.text for e in of_class(root, "ref")) in (["U1", "U3"], ["U2", "U3"])


def test_edge_strips_lie_along_the_long_edges_unless_the_board_is_turned():
    rows = [("C1", 20, 20, 0, 0, 0, 0)]
    assert of_class(read(board_svg(board(rows))), "strip") == []
    for turned, lengthwise in ((None, True), (False, True), (True, False)):
        strips = of_class(read(board_svg(board(rows), edge_strip_mm=5.0, turned=turned)), "strip")
        assert [float(s.get("width")) > float(s.get("height")) for s in strips] == [lengthwise, lengthwise]


def test_marks_holes_and_cutouts_are_drawn():
    root = read(board_svg(board([("FID1", 5, 5, 0, 0, 1, -1), ("H1", 9, 9, 0, 0, 2, -1)])))
    assert [u.get("href") for u in root.iter(f"{SVG}use")] == ["#mark", "#other"]
    assert len(of_class(root, "hole")) == len(of_class(root, "circle")) == 1
    assert of_class(root, "board")[0].get("d").count("M") == 2


@pytest.mark.parametrize("outline", [True, False])
def test_lost_and_unplaced_parts_are_counted_and_do_not_shrink_the_board(outline):
    rows = [(f"C{k}", 10 + k, 10 + k, 0, 0, 0, 0) for k in range(20)]
    rows += [("C50", 9e6, 10, 0, 0, 0, 0), ("C51", math.nan, 10, math.nan, 0, 0, 0)]
    root = read(board_svg(board(rows, outline=outline)))
    notes = [e.text for e in of_class(root, "small")]
    assert "far outside and not drawn: 1" in notes
    assert "without a place and not drawn: 1" in notes
    assert ("no outline given: the dashed box holds the placements" in notes) is not outline
    assert len(of_class(root, "body")) == 20


def test_parts_of_unknown_side_and_rotation_are_drawn_on_both_views():
    rows = [("C1", 20, 20, math.nan, -1, 0, 0), ("C2", 30, 30, 0, 1, 0, 0)]
    assert len(of_class(read(board_svg(board(rows))), "anyside")) == 2


def test_a_board_without_any_place_still_gives_a_document():
    assert heads(read(board_svg(board([("C1", math.nan, math.nan, 0, 0, 0, 0)], outline=False)))) == ["Top · 1 part"]


def test_two_drawings_of_one_board_are_the_same():
    rows = [(f"C{k}", 3 * k, 2 * k, 45, k % 2, 0, k % 3) for k in range(18)]
    assert board_svg(board(rows), marked={3: "a"}) == board_svg(board(rows), marked={3: "a"})


def marks_of_pin_1(svg):
    return [(e.tag.removeprefix(SVG), e.get("class")) for e in read(svg).iter() if "pin1" in (e.get("class") or "")]


IC = replace(CHIP, pins=8)
LAMP = replace(CHIP, pins=2, polarised=True)
RESISTOR = replace(CHIP, pins=2, polarised=False)


def test_pin_1_is_drawn_open_where_no_file_shows_it_and_filled_where_one_does():
    rows = [("U1", 20, 20, 0, 0, 0, 0), ("D1", 40, 30, 0, 0, 0, 1), ("R1", 10, 30, 0, 0, 0, 2)]
    assumed = board(rows, bodies=(IC, LAMP, RESISTOR))
    assert marks_of_pin_1(board_svg(assumed)) == [("circle", "pin1 assumed"), ("path", "pin1 assumed")]
    assert "open mark: pin 1" in board_svg(assumed)
    at = np.array([[1.0, 1.0], [1.0, 0.0], [np.nan, np.nan]])
    shown = replace(assumed, placements=replace(assumed.placements, pin_1_at=at))
    assert marks_of_pin_1(board_svg(shown)) == [("circle", "pin1"), ("path", "pin1")]
    assert "open mark" not in board_svg(shown)


@pytest.mark.parametrize(("at", "right", "below"), [((1.0, 1.0), True, False), ((-1.0, -1.0), False, True)])
def test_pin_1_lies_in_the_corner_that_the_file_shows(at, right, below):
    shown = board([("U1", 20, 20, 90, 0, 0, 0)], bodies=(IC,))
    shown = replace(shown, placements=replace(shown.placements, pin_1_at=np.array([at])))
    (mark,) = (e for e in read(board_svg(shown)).iter(f"{SVG}circle") if e.get("class") == "pin1")
    # In the body's own frame, before it is turned; y of a drawing points down.
    assert (float(mark.get("cx")) > 0) == right
    assert (float(mark.get("cy")) > 0) == below


def test_an_arrow_shows_the_conveyor_where_a_line_is_known():
    plain = board([("U1", 20, 20, 0, 0, 0, 0)])
    assert "conveyor</text>" in board_svg(plain, edge_strip_mm=3.0)
    assert "conveyor</text>" not in board_svg(plain)


def test_the_other_contour_that_may_be_the_edge_is_drawn_beside_the_first_and_named():
    """Figures: boards and sizes are invented."""
    whole = board([("C1", 10, 10, 0, 0, 0, 0)])
    wider = replace(whole, outline=replace(whole.outline, rival=shapely.box(-5, -5, 65, 45)))
    plain, both = board_svg(whole), board_svg(wider)
    assert "rival" not in plain.split("</style>")[1]
    assert both.count('class="rival"') == 1
    assert "dotted: the other contour that may be the board's edge (70 × 50 mm)" in html.unescape(both)
    (path,) = re.findall(r'class="rival" d="([^"]+)"', both)
    points = [tuple(map(float, p.split())) for p in re.findall(r"-?[\d.]+ -?[\d.]+", path)]
    side = read(both).find(f".//{SVG}g[@class='side']")
    width, height = map(float, side.get("data-size").split())
    assert all(0 <= x <= width and 0 <= y <= height for x, y in points)


@pytest.mark.parametrize("rival", [shapely.box(200, 0, 260, 40), shapely.box(-200, -200, 260, 240)])
def test_a_contour_elsewhere_or_one_that_would_make_the_board_a_dot_is_not_drawn(rival):
    whole = board([("C1", 10, 10, 0, 0, 0, 0)])
    svg = board_svg(replace(whole, outline=replace(whole.outline, rival=rival)))
    assert svg == board_svg(whole)
