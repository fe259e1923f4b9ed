"""A file of IPC-2581, or component layers, may be all that comes: placements, bill of materials, outline, bodies.

Figures: boards, places and parts are invented. The writer is independent of the reader: it nests the elements as the
consortium's test files of revision C do.
"""

import math
import re
import xml.etree.ElementTree as ET

import pytest

from capcheck.checking import check, read_board
from capcheck.intake.exchange.components import read_here
from capcheck.lands import tooling_holes
from capcheck.model import Basis, Side, Topic
from capcheck.values import InputError

PACKAGES = {
    "CHIP16": (1.6, 0.8, 0.5, [(-0.8, 0.0), (0.8, 0.0)]),
    "BOX9": (9.0, 7.0, 3.2, [(-4.0, 0.0), (0.0, 0.0), (4.0, 0.0)]),
}
PLACED = [
    ("R1", "CHIP16", "A-1", 20.0, 10.0, 0.0, "top"),
    ("R2", "CHIP16", "A-1", 20.0, 14.0, 90.0, "top"),
    ("R3", "CHIP16", "A-1", 30.0, 10.0, 0.0, "bottom"),
    ("R4", "CHIP16", "A-1", 30.0, 14.0, 270.0, "bottom"),
    ("R5", "CHIP16", "A-1", 20.0, 18.0, 180.0, "top"),
    ("R6", "CHIP16", "A-1", 30.0, 18.0, 90.0, "bottom"),
    ("U1", "BOX9", "B-7", 45.0, 20.0, 30.0, "bottom"),
    ("U2", "BOX9", "B-7", 45.0, 32.0, 90.0, "top"),
]


def polygon(parent, corners):
    made = ET.SubElement(parent, "Polygon")
    (x, y), *others = corners
    ET.SubElement(made, "PolyBegin", x=f"{x}", y=f"{y}")
    for x, y in [*others, corners[0]]:
        ET.SubElement(made, "PolyStepSegment", x=f"{x}", y=f"{y}")


def written(*, unit="MILLIMETER", pickup=(0.0, 0.0), cut=False, placed=PLACED, omit=()):
    """Return a board of 60 by 40 mm with the parts above, their package's origin *pickup* off their middle."""
    of = {"MILLIMETER": 1.0, "INCH": 25.4, "MICRON": 0.001}[unit]  # an inch is 25.4 mm by definition
    root = ET.Element("IPC-2581", revision="C", xmlns="http://webstds.ipc.org/2581")
    bom = ET.SubElement(root, "Bom", name="list")
    for number in dict.fromkeys(part[2] for part in placed):
        item = ET.SubElement(
            bom,
            "BomItem",
            OEMDesignNumberRef=number,
            quantity=f"{sum(part[2] == number for part in placed)}",
            description=f"part {number}",
        )
        for ref, package, own, *_, side in placed:
            if own == number:
                ET.SubElement(
                    item,
                    "RefDes",
                    name=ref,
                    packageRef=package,
                    populate="false" if ref in omit else "true",
                    layerRef=side.upper(),
                )
    avl = ET.SubElement(root, "Avl", name="makers")
    listed = ET.SubElement(avl, "AvlItem", OEMDesignNumber="B-7")
    for chosen, name in (("false", "MAKER-2"), ("true", "MAKER-1")):
        maker = ET.SubElement(listed, "AvlVmpn", qualified="true", chosen=chosen)
        ET.SubElement(maker, "AvlMpn", name=name)
    ecad = ET.SubElement(root, "Ecad", name="board")
    ET.SubElement(ecad, "CadHeader", units=unit)
    data = ET.SubElement(ecad, "CadData")
    for side in ("TOP", "BOTTOM"):
        ET.SubElement(data, "Layer", name=side, layerFunction="CONDUCTOR", side=side, polarity="POSITIVE")
    step = ET.SubElement(data, "Step", name="board")
    profile = ET.SubElement(step, "Profile")
    polygon(profile, [(x / of, y / of) for x, y in [(0, 0), (60, 0), (60, 40), (0, 40)]])
    if cut:
        polygon(ET.SubElement(profile, "Cutout"), [(x / of, y / of) for x, y in [(5, 25), (15, 25), (15, 35), (5, 35)]])
    px, py = pickup
    for name, (length, width, height, pins) in PACKAGES.items():
        made = ET.SubElement(step, "Package", name=name, type="OTHER", pinOne="1", height=f"{height / of}")
        box = [(px + sx * length / 2, py + sy * width / 2) for sx, sy in [(-1, -1), (1, -1), (1, 1), (-1, 1)]]
        polygon(ET.SubElement(made, "Outline"), [(x / of, y / of) for x, y in box])
        ET.SubElement(made, "PickupPoint", x=f"{px / of}", y=f"{py / of}")
        drawing = ET.SubElement(ET.SubElement(made, "AssemblyDrawing"), "Outline")
        polygon(drawing, [(-50, -50), (50, -50), (50, 50), (-50, 50)])
        for number, (x, y) in enumerate(pins, 1):
            pin = ET.SubElement(made, "Pin", number=f"{number}", type="SURFACE", electricalType="ELECTRICAL")
            ET.SubElement(pin, "Location", x=f"{(x + px) / of}", y=f"{(y + py) / of}")
    for ref, package, number, x, y, turn, side in placed:
        angle = math.radians(turn)
        along, up = px * math.cos(angle) - py * math.sin(angle), px * math.sin(angle) + py * math.cos(angle)
        along = -along if side == "bottom" else along
        made = ET.SubElement(
            step, "Component", refDes=ref, packageRef=package, layerRef=side.upper(), part=number, mountType="SMT"
        )
        ET.SubElement(made, "Xform", rotation=f"{turn}", mirror="true" if side == "bottom" else "false")
        ET.SubElement(made, "Location", x=f"{(x - along) / of:.9f}", y=f"{(y - up) / of:.9f}")
    ET.indent(root)
    return ET.tostring(root, encoding="unicode")


@pytest.fixture
def alone(tmp_path):
    def read(text, name="board.xml"):
        (tmp_path / name).write_text(text)
        return read_board(tmp_path)

    return read


def places(board):
    p = board.placements
    each = zip(p.ref, p.x_mm.round(4), p.y_mm.round(4), p.rotation_deg, p.side, strict=True)
    return {ref: (x, y, turn, str(Side(int(side)))) for ref, x, y, turn, side in each}


def body(board, ref):
    return board.bodies[int(board.placements.part_type[board.placements.ref.index(ref)])]


@pytest.mark.parametrize("unit", ["MILLIMETER", "INCH", "MICRON"])
def test_it_places_the_parts_in_any_unit(alone, unit):
    found = alone(written(unit=unit))
    assert places(found) == {ref: (x, y, turn, side) for ref, _, _, x, y, turn, side in PLACED}
    west, south, east, north = found.outline.polygon.bounds
    assert (round(east - west, 3), round(north - south, 3)) == (60.0, 40.0)


def test_a_part_lies_where_it_is_picked_up_and_not_at_its_origin(alone):
    found = alone(written(pickup=(1.5, -0.7)))
    assert places(found) == {ref: (x, y, turn, side) for ref, _, _, x, y, turn, side in PLACED}


@pytest.mark.parametrize(
    ("own", "told"), [('mirror="true"', ""), ('mirror="true"', 'mirror="false"'), ('mirror="true"', 'mirror="perhaps"')]
)
def test_a_part_of_the_underside_that_is_not_mirrored_may_lie_in_several_ways(alone, own, told):
    """Off its origin its place hangs on that, and its angle but for that of R3, which is turned by 0."""
    found = places(alone(written(pickup=(1.5, -0.7)).replace(own, told)))
    for ref, _, _, x, y, turn, side in PLACED:
        if side == "top":
            assert found[ref] == (x, y, turn, side)
        else:
            assert math.isnan(found[ref][0])
            assert math.isnan(found[ref][2]) == (ref != "R3")


PICKUP = "<PickupPoint [^>]*>"
DRAWN = rf"<Outline>(?:(?!</Outline>).)*</Outline>\s*{PICKUP}"


@pytest.mark.parametrize(
    ("cut", "is_placed"),
    [
        (PICKUP, True),  # in the middle of its outline
        (DRAWN, True),  # in the middle of its pins, which lie evenly
        (DRAWN + '|<Pin number="[23]".*?</Pin>', False),
        ("<Package .*</Package>", False),
    ],
    ids=["outline", "pins", "too few pins", "no package"],
)
def test_a_package_that_does_not_say_where_it_is_picked_up_lies_in_its_middle_or_is_not_placed(alone, cut, is_placed):
    """Its origin may be its pin 1."""
    text = re.sub(cut, "", written(pickup=(1.5, -0.7)), flags=re.DOTALL)
    found = places(alone(text))
    assert found["U2"][:2] == (45.0, 32.0) if is_placed else math.isnan(found["U2"][0])


def test_an_outline_beside_where_its_package_is_picked_up_bounds_the_body_about_that(alone):
    """A body is taken to lie about its place: 1 mm beside its middle, it reaches 2 mm further on one side."""
    text = written().replace("<PickupPoint", '<PickupPoint x="0" y="0" />'.replace('x="0"', 'x="1.0"') + "<Nothing")
    found = body(alone(text), "U1")
    assert (found.length.high, found.width.high) == (11.0, 7.0)


def test_a_quantity_that_is_another_than_the_references_is_asked_about(alone):
    found = alone(written().replace('quantity="2"', 'quantity="3"'))
    assert Topic.QUANTITY in {d.topic for d in found.discrepancies}


HOLES = (
    '<LayerFeature layerRef="DRILL"><Set><Hole name="a" diameter="3.0" platingStatus="NONPLATED" x="4" y="4"/></Set>'
    '<Set padUsage="TOOLING_HOLE"><Hole name="b" diameter="3.0" platingStatus="PLATED" x="50" y="4"/></Set>'
    '<Set><Hole name="c" diameter="3.0" platingStatus="PLATED" x="50" y="36"/></Set></LayerFeature>'
)


def test_holes_without_metal_and_for_tooling_may_hold_the_board(alone):
    found = alone(written().replace('<Step name="board">', f'<Step name="board">{HOLES}'))
    assert found.outline.holes == ((4.0, 4.0, 3.0), (50.0, 4.0, 3.0))
    assert [(hole.x_mm, hole.listed) for hole in tooling_holes(None, found.placements, found.outline)] == [
        (4.0, False),
        (50.0, True),
    ]


STACKUP = '<Stackup name="s" overallThickness="{}" whereMeasured="MASK"/>'


@pytest.mark.parametrize(
    ("stated", "thickness"),
    [(["1.55"], (1.55, 1.55)), (["1.55", "2.4"], (0, math.inf)), (["0.0"], (0, math.inf)), (["thin"], (0, math.inf))],
)
def test_the_board_is_as_thick_as_its_stack_of_layers(alone, stated, thickness):
    stacks = "".join(map(STACKUP.format, stated))
    size = alone(written().replace("<CadData>", f"<CadData>{stacks}")).size
    assert (size.thickness.low, size.thickness.high) == thickness


@pytest.mark.parametrize("more", [("INCH",), ("INCH", "MILLIMETER"), ("furlong", "MILLIMETER")])
def test_a_file_of_two_units_is_in_none(alone, more):
    headers = "".join(f'<CadHeader units="{unit}"/>' for unit in more)
    with pytest.raises(InputError, match="no unit that is known"):
        alone(written().replace("<CadData>", f"{headers}<CadData>"))


def test_its_bill_of_materials_says_what_is_bought_and_fitted(alone):
    found = alone(written(omit=("R2",)))
    told = {ref: line for line in found.bom for ref in line.refs}
    assert told["U1"].part_number == "MAKER-1"
    assert set(told) == {ref for ref, *_ in PLACED}
    assert [ref for ref, fitted in zip(found.placements.ref, found.placements.is_part, strict=True) if not fitted] == [
        "R2"
    ]


def test_the_outline_of_a_package_bounds_its_body_and_no_more(alone):
    found = body(alone(written()), "U1")
    assert (found.length.high, found.width.high) == (9.0, 7.0)
    assert (found.length.low, found.length.basis) == (0.0, Basis.BOUND)
    assert found.height.high == 3.2


def test_an_opening_of_the_profile_is_one(alone):
    assert len(alone(written(cut=True)).outline.polygon.interiors) == 1


def fitted(board):
    each = zip(board.placements.ref, board.placements.is_part.tolist(), strict=True)
    return {ref for ref, is_part in each if is_part}


@pytest.mark.parametrize("yes", ["True", "TRUE", "1", "Yes"])
def test_what_is_populated_is_fitted_however_it_is_written(alone, yes):
    assert fitted(alone(written().replace('populate="true"', f'populate="{yes}"'))) == {ref for ref, *_ in PLACED}


def test_what_is_said_of_fitting_and_cannot_be_read_is_not_taken_for_no(alone):
    assert "R2" in fitted(alone(written(omit=("R2",)).replace('populate="false"', 'populate="perhaps"')))


@pytest.mark.parametrize("turn", ["ninety", "", "nan"])
def test_an_angle_that_cannot_be_read_is_unknown(alone, turn):
    text = written(pickup=(1.5, -0.7)).replace('rotation="30.0"', f'rotation="{turn}"')
    found = alone(text)
    x, _, angle, _ = places(found)["U1"]
    assert math.isnan(angle) or any("U1" in d.refs for d in found.discrepancies)
    # Where it is picked up hangs on the angle.
    assert math.isnan(x)


def test_what_is_moved_in_a_way_that_is_not_known_lies_nobody_knows_where(alone):
    assert math.isnan(places(alone(written().replace('rotation="30.0"', 'rotation="30.0" xOffset="2"')))["U1"][0])


OUTLINE = '<PolyStepSegment x="4.5" y="-3.5" />'


@pytest.mark.parametrize(
    ("torn", "sides"),
    [
        (OUTLINE, (9.0, 7.0)),
        ('<PolyStepSegment x="" y="-3.5" />', None),
        ("", (9.0, 7.0)),
        ('<PolyStepCurve x="4.5" y="-3.5" />', None),
        # A half circle about the middle of a side of 9 mm reaches 4.5 mm below it, 8 mm from where it is picked up.
        ('<PolyStepCurve x="4.5" y="-3.5" centerX="0" centerY="-3.5" clockwise="false" />', (16.0, 9.0)),
    ],
)
def test_the_outline_of_a_package_that_is_torn_bounds_nothing(alone, torn, sides):
    text = written()
    assert OUTLINE in text
    found = body(alone(text.replace(OUTLINE, torn)), "U1")
    assert (found.length.high, found.width.high) == (sides or (math.inf, math.inf))


def test_the_outline_of_a_package_that_does_not_end_where_it_begins_bounds_nothing(alone):
    text = written()
    last = '<PolyStepSegment x="-4.5" y="-3.5" />'
    assert last in text
    assert body(alone(text.replace(last, "")), "U1").length.high == math.inf


def test_without_a_corner_that_cannot_be_read_there_is_no_outline(alone):
    found = alone(written().replace('<PolyStepSegment x="60.0" y="40.0" />', '<PolyStepSegment x="6O.0" y="40.0" />'))
    said = [n.said.values["what"] for n in found.notes if getattr(n.said, "key", "") == "find.outline not usable"]
    assert found.outline is None
    assert [what.startswith("a corner of the outline in line") for what in said] == [True]


def test_a_datum_of_a_board_that_nothing_repeats_does_not_matter(alone):
    found = alone(written().replace('<Step name="board">', '<Step name="board"><Datum x="3O" y="1"/>'))
    assert len(found.placements) == len(PLACED)


def test_a_place_to_pick_up_at_that_is_torn_is_unknown_and_not_the_origin(alone):
    text = written(pickup=(1.5, -0.7)).replace('<PickupPoint x="1.5"', '<PickupPoint x="1.5O"')
    assert {math.isnan(x) for x, *_ in places(alone(text)).values()} == {True}


@pytest.mark.parametrize("torn", ['y="3O" diameter="3"', 'diameter="3"', 'y="30"', 'y="30" diameter="3,2"'])
def test_a_hole_that_is_torn_leaves_no_outline_without_it(alone, torn):
    hole = '<Hole name="a" platingStatus="NONPLATED" x="50" {} /></Step>'
    sound = alone(written().replace("</Step>", hole.format('y="30" diameter="3"')))
    assert len(sound.outline.holes) == 1
    assert alone(written().replace("</Step>", hole.format(torn))).outline is None


@pytest.mark.parametrize("clockwise", ["true", "False", "FALSE"])
def test_an_opening_may_be_a_full_circle(alone, clockwise):
    arc = f'<PolyStepCurve x="15.0" y="30.0" centerX="10.0" centerY="30.0" clockwise="{clockwise}" />'
    text = written(cut=True)
    inside = text[text.index("<Cutout>") : text.index("</Cutout>")]
    polygon = f'<Cutout><Polygon><PolyBegin x="15.0" y="30.0" />{arc}</Polygon>'
    [hole] = alone(text.replace(inside, polygon)).outline.holes
    assert hole == pytest.approx((10.0, 30.0, 10.0), abs=0.01)


def panel(*repeats, profile=(0, 0, 140, 100), about="", datum=(0.0, 0.0)):
    """Return the board above in a panel of its own step, which may have an outline."""
    text = written(cut=True).replace("<Datum", "<Nothing")
    each = "".join(
        f'<StepRepeat stepRef="board" x="{x}" y="{y}" nx="{nx}" ny="{ny}" dx="{dx}" dy="{dy}" angle="{turn}" '
        f'mirror="{mirror}"/>'
        for x, y, nx, ny, dx, dy, turn, mirror in repeats
    )
    own = ET.Element("Step", name="panel")
    if profile:
        left, low, right, high = profile
        polygon(ET.SubElement(own, "Profile"), [(left, low), (right, low), (right, high), (left, high)])
    step = ET.tostring(own, encoding="unicode").replace("</Step>", f"{each}</Step>")
    text = text.replace('<Step name="board">', f'<Step name="board"><Datum x="{datum[0]}" y="{datum[1]}"/>')
    return text.replace("</CadData>", f"{step}</CadData>").replace("<Bom ", f"{about}<Bom ", 1)


def test_a_panel_that_repeats_a_board_is_built_as_a_whole(alone):
    found = alone(panel((5, 5, 2, 2, 65.0, 45.0, 0, "false")))
    placed = zip(found.placements.ref, found.placements.x_mm.tolist(), found.placements.y_mm.tolist(), strict=True)
    want = {(x + 5 + dx, y + 5 + dy) for _, _, _, x, y, *_ in PLACED for dx in (0, 65) for dy in (0, 45)}
    assert {(round(x, 3), round(y, 3)) for _, x, y in placed} == want
    west, south, east, north = found.outline.polygon.bounds
    assert (east - west, north - south, len(found.outline.polygon.interiors)) == (140.0, 100.0, 4)
    assert [d.choice.values["circuits"] for d in found.decisions if d.topic is Topic.PANEL] == [4]


@pytest.mark.parametrize("turn", [90, 180, 270])
def test_a_board_may_be_turned_in_its_panel(alone, turn):
    """Three boards as they are and one that is turned about its datum, which lies at its middle."""
    found = alone(
        panel(
            (70, 25, 1, 3, 0, 45.0, 0, "false"),
            (25, 70, 1, 1, 0, 0, turn, "false"),
            profile=(0, 0, 140, 140),
            datum=(30.0, 20.0),
        )
    )
    angle = math.radians(turn)
    at = {}
    for ref, x, y, r in zip(
        found.placements.ref,
        found.placements.x_mm.tolist(),
        found.placements.y_mm.tolist(),
        found.placements.rotation_deg.tolist(),
        strict=True,
    ):
        at.setdefault(ref.partition("/")[0], []).append((round(x, 3), round(y, 3), round(r, 3) % 360))
    for ref, _, _, x, y, own, side in PLACED:
        u, v = x - 30, y - 20
        seen = (25 + u * math.cos(angle) - v * math.sin(angle), 70 + u * math.sin(angle) + v * math.cos(angle))
        turned = (own + (turn if side == "top" else -turn)) % 360
        assert (round(seen[0], 3), round(seen[1], 3), turned) in at[ref]
        assert len(at[ref]) == 4


MINI = (
    '<Step name="mini"><Datum x="0" y="0"/><Component refDes="R90" packageRef="CHIP16" layerRef="TOP" mountType="SMT">'
    '<Xform rotation="90"/><Location x="10" y="10"/></Component></Step><Step name="panel">'
)


def with_mini(times, ref="R90"):
    """Return a panel of the board, twice, and of another one with a part of its own, turned by a quarter."""
    more = f'<StepRepeat stepRef="mini" x="90" y="10" nx="1" ny="{times}" dx="0" dy="40" angle="90"/></Step></CadData>'
    text = panel((5, 5, 1, 2, 0, 45.0, 0, "false")).replace('<Step name="panel">', MINI.replace("R90", ref))
    return text.replace("</Step></CadData>", more)


def test_a_panel_may_hold_another_board_whose_references_are_its_own(alone):
    found = alone(with_mini(1))
    assert places(found)["R90"][:3] == (80.0, 20.0, 180.0)
    # What it states of one board is no other angle than that in its panel.
    assert not [d for d in found.discrepancies if d.topic is Topic.AGAINST_LANDS]


@pytest.mark.parametrize("text", [with_mini(2), with_mini(1, "R1")], ids=["both repeated", "one reference in both"])
def test_a_panel_of_several_boards_whose_references_cannot_be_told_apart_says_so(alone, text):
    with pytest.raises(InputError, match="panel of several boards: board \\(2\\), mini"):
        alone(text)


OTHER = (
    '<Step name="other"><Component refDes="X1" packageRef="CHIP16" layerRef="TOP" mountType="SMT">'
    '<Location x="1" y="1"/></Component></Step></CadData>'
)


DATUM = '<Datum x="30.0" y="20.0"/>'
PANEL = panel((35, 25, 2, 2, 65.0, 45.0, 0, "false"), datum=(30.0, 20.0))


@pytest.mark.parametrize(
    ("text", "what"),
    [
        (panel((5, 5, 2, 2, 65.0, 45.0, 0, "true")), "turned over"),
        (panel((5, 5, 2, "two", 65.0, 45.0, 0, "false")), "cannot be read"),
        (panel((5, 5, 900, 900, 65.0, 45.0, 0, "false")), "repeats boards"),
        (
            panel((5, 5, 1, 1, 0, 0, 0, "false")).replace(
                '<Step name="board">', '<Step name="board"><StepRepeat stepRef="panel" x="0" y="0"/>'
            ),
            "several|itself|built",
        ),
        (
            written().replace("</CadData>", OTHER),
            "several boards",
        ),
        # A datum that is missing, torn or stated twice is not the origin: taken for it, all parts would lie elsewhere.
        (PANEL.replace(DATUM, ""), 'step "board", which it repeats, has no datum'),
        (PANEL.replace(DATUM, '<Datum x="30.0"/>'), "no datum that can be read"),
        (PANEL.replace(DATUM, '<Datum x="3O.0" y="20.0"/>'), "no datum that can be read"),
        (PANEL.replace(DATUM, DATUM + '<Datum x="0" y="0"/>'), "no datum that can be read"),
        (PANEL.replace('stepRef="board"', 'stepRef="bord"'), 'step "bord", which it does not hold'),
    ],
)
def test_what_is_built_is_not_guessed(alone, text, what):
    with pytest.raises(InputError, match=what):
        alone(text)


def test_the_step_that_the_file_is_about_is_built(alone):
    text = written().replace("</CadData>", OTHER).replace("<Bom ", '<Content><StepRef name="board"/></Content><Bom ', 1)
    assert "X1" not in alone(text).placements.ref


@pytest.mark.parametrize("named", ["board.toml", "argument"])
def test_a_file_that_is_named_is_seen_through_the_board_too(tmp_path, named):
    for side in ("top", "bottom"):
        (tmp_path / f"{side}.gbr").write_text(component_layer(side))
    files = [tmp_path / "top.gbr", tmp_path / "bottom.gbr"]
    if named == "board.toml":
        (tmp_path / "board.toml").write_text('placements = [{ file = "top.gbr" }, { file = "bottom.gbr" }]\n')
        found = read_board(tmp_path)
    else:
        found = read_board(placements=files)
    assert places(found) == {ref: (x, y, turn, side) for ref, _, _, x, y, turn, side in PLACED}
    assert "find.lists itself" in [getattr(n.said, "key", "") for n in found.notes]


def test_a_table_of_placements_goes_before_the_file(tmp_path):
    rows = "".join(f"{ref},{package},{x},{y},{turn},{side}\n" for ref, package, _, x, y, turn, side in PLACED)
    (tmp_path / "placements.csv").write_text(f"Ref,Footprint,X (mm),Y (mm),Rotation,Side\n{rows}")
    (tmp_path / "board.xml").write_text(written())
    found = read_board(tmp_path)
    assert found.placements.files[0].endswith("placements.csv")
    assert body(found, "U1").length.high == 9.0


def test_it_is_checked_like_any_board(tmp_path):
    (tmp_path / "board.xml").write_text(written())
    report = check(tmp_path)
    assert {file.role for file in report.inputs} >= {"placements", "bom", "outline"}
    assert not report.unanswered


@pytest.mark.parametrize(
    ("text", "what"),
    [
        (written()[:-400], "damaged"),
        (written(placed=[]), "no component"),
        ('<!DOCTYPE a [<!ENTITY x "y">]>' + written(), "document type"),
    ],
)
def test_a_file_that_places_nothing_is_an_error_that_says_why(alone, text, what):
    with pytest.raises(InputError, match="placement data") as raised:
        alone(text)
    assert any(what in problem.what for problem in raised.value.problems)


HEAD = (
    "%TF.FileFunction,Component,L1,{side}*%\n%FSLAX46Y46*%\n%MOMM*%\n%TA.AperFunction,ComponentMain*%\n%ADD10C,0.3*%\n"
    "%TD*%\n%TA.AperFunction,ComponentOutline,Body*%\n%ADD11C,0.1*%\n%TD*%\n%TA.AperFunction,ComponentPin*%\n"
    "%ADD12C,0.1*%\n%TD*%\n"
)


def component_layer(side, parts=PLACED):
    """Return a component layer of one side; angles count as seen from the top, the bottom at 0 is mirrored across x."""
    text = HEAD.format(side={"top": "Top", "bottom": "Bot"}[side])
    for ref, package, number, x, y, turn, own in parts:
        if own != side:
            continue
        length, width, height, pins = PACKAGES[package]
        seen = turn if side == "top" else (180.0 - turn) % 360.0
        angle, flip = math.radians(seen), 1 if side == "top" else -1

        def at(a, b, x=x, y=y, angle=angle, flip=flip):
            b *= flip
            u, v = a * math.cos(angle) - b * math.sin(angle), a * math.sin(angle) + b * math.cos(angle)
            return f"X{round((x + u) * 1e6)}Y{round((y + v) * 1e6)}"

        text += f"D10*\n%TO.C,{ref}*%\n%TO.CRot,{seen:g}*%\n%TO.CMnt,SMD*%\n%TO.CHgt,{height}*%\n%TO.CMPN,{number}*%\n"
        text += f"%TO.CFtp,{package}*%\n{at(0, 0)}D03*\nD11*\n"
        corners = [(-1, -1), (1, -1), (1, 1), (-1, 1), (-1, -1)]
        for k, (sx, sy) in enumerate(corners):
            text += f"{at(sx * length / 2, sy * width / 2)}D0{2 if k == 0 else 1}*\n"
        text += "D12*\n" + "".join(f"%TO.P,{ref},{n}*%\n{at(*pin)}D03*\n" for n, pin in enumerate(pins, 1)) + "%TD*%\n"
    return text + "M02*\n"


def test_component_layers_place_the_parts_of_both_sides(tmp_path):
    for side in ("top", "bottom"):
        (tmp_path / f"{side}.gbr").write_text(component_layer(side))
    found = read_board(tmp_path)
    assert places(found) == {ref: (x, y, turn, side) for ref, _, _, x, y, turn, side in PLACED}
    assert {found.types[t].part_number for t in found.placements.part_type} == {"A-1", "B-7"}
    assert (body(found, "U1").length.high, body(found, "U1").height.high, body(found, "U1").pins) == (9.0, 3.2, 3)


def test_a_layer_of_one_side_that_cannot_be_read_leaves_no_board_of_the_other_alone(tmp_path):
    (tmp_path / "bottom.gbr").write_text(component_layer("bottom"))
    (tmp_path / "top.gbr").write_text(component_layer("top").replace("M02*", ""))
    with pytest.raises(InputError, match="breaks off"):
        read_board(tmp_path)


def test_two_packages_of_one_name_that_differ_in_height_state_none(alone):
    other = '<Package name="BOX9" type="OTHER" height="0.3"></Package><Component '
    assert body(alone(written().replace("<Component ", other, 1)), "U1").height.high == math.inf


def test_component_layers_beside_a_table_state_height_and_outline(tmp_path):
    rows = "".join(f"{ref},{package},{x},{y},{turn},{side}\n" for ref, package, _, x, y, turn, side in PLACED)
    (tmp_path / "placements.csv").write_text(f"Ref,Footprint,X (mm),Y (mm),Rotation,Side\n{rows}")
    for side in ("top", "bottom"):
        (tmp_path / f"{side}.gbr").write_text(component_layer(side))
    found = body(read_board(tmp_path), "U2")
    assert (found.length.high, found.width.high, found.height.high) == (9.0, 7.0, 3.2)
    assert found.height.basis is Basis.STATED


@pytest.mark.parametrize("damage", [lambda t: t[: len(t) // 2], lambda t: t.replace("%MOMM*%", ""), lambda _: HEAD])
def test_a_damaged_component_layer_is_noted_and_the_rest_goes_on(tmp_path, damage):
    rows = "".join(f"{ref},{package},{x},{y},{turn},{side}\n" for ref, package, _, x, y, turn, side in PLACED)
    (tmp_path / "placements.csv").write_text(f"Ref,Footprint,X (mm),Y (mm),Rotation,Side\n{rows}")
    (tmp_path / "top.gbr").write_text(damage(component_layer("top")))
    assert len(read_board(tmp_path).placements) == len(PLACED)


def test_a_round_body_is_as_wide_as_its_circle_whose_arcs_are_drawn(tmp_path):
    """A circle of 9 mm, drawn in one arc and in two; an arc whose middle cannot be told states no outline."""
    layer = component_layer("top")
    for ref, x, y, arcs in (
        ("R1", 20.0, 10.0, ["G75*", "G02{far}I4500000J0D01*"]),
        ("R2", 20.0, 14.0, ["G75*", "G03{near}I4500000J0D01*", "G03{far}I-4500000J0D01*"]),
        ("R5", 20.0, 18.0, ["G74*", "G02{near}I4500000J0D01*"]),
    ):
        far, near = (f"X{round((x + dx) * 1e6)}Y{round(y * 1e6)}" for dx in (-4.5, 4.5))
        drawn = "\n".join([f"{far}D02*", *(arc.format(far=far, near=near) for arc in arcs), "G01*"])
        before, after = layer.split(f"%TO.C,{ref}*%", 1)
        body, rest = after.split("D11*\n", 1)
        layer = f"{before}%TO.C,{ref}*%{body}D11*\n{drawn}\nD12*\n{rest.split('D12*', 1)[1]}"
    (tmp_path / "top.gbr").write_text(layer)
    found = read_here(str(tmp_path / "top.gbr"), b"")
    assert [found[ref].outline and pytest.approx(found[ref].outline, abs=1e-3) for ref in ("R1", "R2")] == [(9, 9)] * 2
    assert found["R5"].outline is None
    assert found["U2"].outline == (9.0, 7.0)


@pytest.fixture
def beside_a_list(tmp_path):
    """Read a board whose table and component layers place the parts, with the part numbers of its list of parts."""

    def read(numbers, placed=None):
        own = placed or {}
        rows = "".join(
            f"{ref},{package},{x},{y},{turn},{side}{',' + own[ref] if own else ''}\n"
            for ref, package, _, x, y, turn, side in PLACED
        )
        title = ",Part number" if own else ""
        (tmp_path / "placements.csv").write_text(f"Ref,Footprint,X (mm),Y (mm),Rotation,Side{title}\n{rows}")
        if numbers:
            listed = "".join(f"{ref},1,{numbers.get(ref, '')}\n" for ref, *_ in PLACED)
            (tmp_path / "bom.csv").write_text(f"Reference,Quantity,Part number\n{listed}")
        for side in ("top", "bottom"):
            (tmp_path / f"{side}.gbr").write_text(component_layer(side))
        found = read_board(tmp_path)
        types = [found.types[t].part_number for t in found.placements.part_type]
        asked = [d.refs for d in found.discrepancies if d.topic is Topic.TWO_VALUES]
        noted = [n.said.values["refs"] for n in found.notes if getattr(n.said, "key", "") == "fabrication.numbers used"]
        return dict(zip(found.placements.ref, types, strict=True)), asked, noted

    return read


ALL = {ref: number for ref, _, number, *_ in PLACED}


def test_component_layers_number_the_parts_that_no_list_numbers(beside_a_list):
    numbers, asked, noted = beside_a_list({})
    assert (numbers, asked) == (ALL, [])
    assert [sorted(refs) for refs in noted] == [sorted(ALL)]


def test_a_part_number_of_a_component_layer_that_is_another_is_asked_about(beside_a_list):
    numbers, asked, noted = beside_a_list({**ALL, "U1": "B-8"})
    assert numbers["U1"] == "B-8"
    assert (asked, noted) == ([("U1",)], [])


def test_two_part_numbers_of_a_part_are_asked_about_once(beside_a_list):
    """The placements and the layers state the same one, the list another."""
    _, asked, _ = beside_a_list({**ALL, "U1": "B-8"}, ALL)
    assert asked == [("U1",)]


def test_part_numbers_of_another_kind_number_nothing(beside_a_list):
    stock = {ref: f"STOCK{k:04}" for k, ref in enumerate(ALL) if ref != "U2"}
    numbers, asked, noted = beside_a_list(stock)
    assert numbers["U2"] == ""
    assert (asked, noted) == ([], [])
