"""A file of IPC-2581, or component layers, may be all that comes: placements, bill of materials, outline, bodies.

Figures: boards, places and parts are invented. The writer is independent of the reader: it nests the elements as the
consortium's test files of revision C do.
"""

import math
import xml.etree.ElementTree as ET

import pytest

from capcheck.checking import check, read_board
from capcheck.intake.exchange.components import read_here
from capcheck.model import Basis, Side

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
        item = ET.SubElement(bom, "BomItem", OEMDesignNumberRef=number, quantity="1", description=f"part {number}")
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
    from capcheck.values import InputError

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

    def read(numbers):
        rows = "".join(f"{ref},{package},{x},{y},{turn},{side}\n" for ref, package, _, x, y, turn, side in PLACED)
        (tmp_path / "placements.csv").write_text(f"Ref,Footprint,X (mm),Y (mm),Rotation,Side\n{rows}")
        if numbers:
            listed = "".join(f"{ref},1,{numbers.get(ref, '')}\n" for ref, *_ in PLACED)
            (tmp_path / "bom.csv").write_text(f"Reference,Quantity,Part number\n{listed}")
        for side in ("top", "bottom"):
            (tmp_path / f"{side}.gbr").write_text(component_layer(side))
        found = read_board(tmp_path)
        types = [found.types[t].part_number for t in found.placements.part_type]
        asked = [d.refs for d in found.discrepancies if getattr(d.said, "key", "") == "compare.two part numbers"]
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


def test_part_numbers_of_another_kind_number_nothing(beside_a_list):
    stock = {ref: f"STOCK{k:04}" for k, ref in enumerate(ALL) if ref != "U2"}
    numbers, asked, noted = beside_a_list(stock)
    assert numbers["U2"] == ""
    assert (asked, noted) == ([], [])
