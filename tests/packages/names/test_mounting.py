"""Mounting as texts and columns say it in words, alone and against the names of packages.

Figures: sizes are the digits of the name beside them; those of codes and outlines are in
capcheck/packages/data/*.csv with their sources, else from memory.
"""

from math import inf
from pathlib import Path

import pytest

from capcheck import check
from capcheck.model import PartName
from capcheck.packages.bodies.weighing import bodies_of
from capcheck.packages.names.mounting import mountings_said
from capcheck.report import read_json
from capcheck.report.questions import questions
from capcheck.values import Interval

FULL_LINE = Path(__file__).parents[3] / "fixtures" / "lines" / "full.line.toml"


@pytest.mark.rows(
    ("fields", "mounting"),
    [
        ({"footprint": "QK-77 SMD"}, "surface"),
        ({"footprint": "RELAY_QK77_SMT"}, "surface"),
        ({"description": "relay, surface mount"}, "surface"),
        ({"footprint": "RELAY_QK77_THT"}, "through hole"),
        ({"description": "terminal, through-hole"}, "through hole"),
        ({"mountings": (("Thru-hole", "bom.csv:3"),)}, "through hole"),
        ({"mountings": (("Surface Mount, Right Angle", "bom.csv:3"),)}, "surface"),
    ],
)
def test_a_word_settles_the_mounting_of_an_unknown_family(fields, mounting):
    assert [said.mounting for said in mountings_said(PartName(**fields))] == [mounting]
    assert bodies_of([PartName(**fields)])[0].mounting == mounting


@pytest.mark.rows(
    "fields",
    [
        {"footprint": "QK77"},
        {"footprint": "SMDX77"},
        {"footprint": "USB_SMD_THT_PEGS"},
        {"value": ""},
        {"description": "co-axial socket"},
        {"description": "3-axial sensor"},
        {"mountings": (("yes", "bom.csv:3"),)},
    ],
)
def test_nothing_is_said_without_one_clear_word(fields):
    assert not mountings_said(PartName(**fields))


@pytest.mark.rows(
    "said",
    [
        "SMT and through-hole",
        "SMD/THT",
        "THT or SMD",
        "SMD + THT",
        "SMD und bedrahtet",
        "surface mounted & through hole",
    ],
)
@pytest.mark.rows("footprint", ["QK77", "SOIC-8"])
def test_both_in_one_breath_leave_the_mounting_open(said, footprint):
    for texts in ({"description": f"relay, {said}"}, {"mountings": ((said, "bom.csv:3"),)}):
        (body,) = bodies_of([PartName(footprint=footprint, **texts)])
        assert body.mounting is None
        assert body.conflicts


@pytest.mark.parametrize("text", ["SMD connector with through hole pegs", "connector SMT, through-hole pegs"])
def test_pegs_do_not_contradict_a_name(text):
    (body,) = bodies_of([PartName(footprint="SOIC-8", description=text)])
    assert body.mounting == "surface"


def test_two_texts_that_contradict_each_other_leave_the_mounting_open():
    (body,) = bodies_of([PartName(footprint="QK77_SMD", description="through hole")])
    assert body.mounting is None
    assert body.conflicts


@pytest.mark.parametrize("text", ["This is PCB copper", "no component", "sense area, copper only", "not a part"])
def test_words_for_a_feature_of_the_board_place_nothing(text):
    (found,) = bodies_of([PartName(value=text, description="20x20mm sensing footprint", ref_prefix="S")])
    assert found.mounting == "none"
    assert bodies_of([PartName(value="PCBCOPPERX", ref_prefix="S")])[0].mounting is None


IN_HOLES = [
    "THT",
    "THD",
    "PTH",
    "T/H",
    "Through Hole",
    "through-hole",
    "Thru-hole",
    "bedrahtet",
    "bedrahteter Typ",
    "Durchsteckmontage",
    "traversant",
    "orificio pasante",
    "foro passante",
    "插件",
    "挿入実装",
    "radial",
    "axial",
    "sortie radiale",
    "DIP-8",
    "PDIP-8",
    "8-DIP",
    "DIP-8 through hole",
    "TO-220",
    "TO-92",
    "DO-41",
]
ON_THE_SURFACE = [
    "SMD",
    "SMT",
    "surface mount",
    "Surface Mounted Device",
    "CMS",
    "oberflächenmontiert",
    "montaje superficial",
    "montaggio superficiale",
    "贴片",
    "表面実装",
    "SOIC-8",
    "SO-8",
    "SOT-223",
    "0805",
    "TO-252",
    "QFN-16",
]
ORDINARY = [
    "SMD version of TO-220",
    "THT alternative",
    "replaces DIP-8",
    "through hole reflow",
    "TO-252",
    "DPAK (TO-252)",
    "pin in paste",
    "not through hole",
    "co-axial",
    "3-axial sensor",
    "bi-axial",
    "instead of TO-92",
    "ersetzt DIP-8",
    "statt bedrahtet",
    "kein THT",
    "remplace DIP-8",
    "sostituisce DIP-8",
    "替代 DIP-8",
    "DIP-8 gull wing",
    "SMD with THT pegs",
    "SO-8",
]


def conflicts(**fields):
    (body,) = bodies_of([PartName(ref_prefix="U", **fields)])
    return body.mounting, [said for said in body.conflicts if said.values["field"] == "mounting"]


@pytest.mark.rows("place", ["description", "value", "bom_package"])
@pytest.mark.rows("footprint", ["SOIC-8", "SOIC127P600X175-8N"])
@pytest.mark.rows("text", IN_HOLES)
def test_a_text_of_a_drilled_part_on_a_surface_footprint_is_a_conflict(text, footprint, place):
    mounting, found = conflicts(footprint=footprint, **{place: text})
    assert mounting is None
    assert len(found) == 1


@pytest.mark.rows("place", ["description", "value", "bom_package"])
@pytest.mark.rows("footprint", ["DIP-8_ROWS7.62mm", "TO-220-3 upright", "CAP radial D5.2mm P2.4mm"])
@pytest.mark.rows("text", ON_THE_SURFACE)
def test_a_text_of_a_surface_part_on_a_drilled_footprint_is_a_conflict(text, footprint, place):
    mounting, found = conflicts(footprint=footprint, **{place: text})
    assert mounting is None
    assert len(found) == 1


@pytest.mark.rows("place", ["description", "value", "bom_package"])
@pytest.mark.rows("text", ORDINARY)
def test_ordinary_texts_of_surface_parts_raise_no_false_alarm(text, place):
    assert conflicts(footprint="SOIC-8", **{place: text}) == ("surface", [])


@pytest.mark.parametrize("prefer", ["footprint", "bom"])
def test_prefer_settles_the_mounting_too(prefer):
    named = PartName(footprint="SOIC-8", mountings=(("THT", "bom.csv:3"),))
    assert bodies_of([named], prefer=prefer)[0].mounting == {"footprint": "surface", "bom": "through hole"}[prefer]


def board(folder, footprint, cell, *, in_bom, toml=""):
    column, own = (",Mounting", f",{cell}") if not in_bom else ("", "")
    (folder / "placements.csv").write_text(
        f"Ref,Value,Footprint,X (mm),Y (mm),Rotation,Side{column}\nR1,10k,RESC1608X55N,5,5,0,top{own and ',SMD'}\n"
        f"U7,amplifier,{footprint},30,20,0,top{own}\n",
        encoding="utf-8",
    )
    column, own = (",Mounting", f",{cell}") if in_bom else ("", "")
    (folder / "bom.csv").write_text(
        f"Reference,Value,Part number,Quantity{column}\nR1,10k,PN-1,1{own and ',SMD'}\nU7,amplifier,PN-2,1{own}\n",
        encoding="utf-8",
    )
    if toml:
        (folder / "board.toml").write_text(f'placements = "placements.csv"\nbom = "bom.csv"\n{toml}\n')
    return check(folder)


def disputed(report):
    rules = {"sources-agree", "part-fits-its-land"}
    return [f.message for f in report.findings if f.rule in rules and f.subject.ref == "U7"]


@pytest.mark.parametrize("in_bom", [True, False])
@pytest.mark.parametrize(
    ("footprint", "cell"),
    [
        ("SOIC-8", "Through Hole"),
        ("SOIC-8", "THT"),
        ("SOIC-8", "THD"),
        ("SOIC-8", "PTH"),
        ("SOIC-8", "bedrahtet"),
        ("SOIC-8", "traversant"),
        ("SOIC-8", "通孔"),
        ("SOIC-8", "leaded"),
        ("DIP-8_ROWS7.62mm", "SMT"),
        ("DIP-8_ROWS7.62mm", "CMS"),
        ("TO-220-3 upright", "Surface Mount"),
        ("TO-220-3 upright", "superficial"),
    ],
)
def test_a_column_that_contradicts_the_footprint_is_told_with_both_and_decides_nothing(
    footprint, cell, in_bom, tmp_path
):
    report = board(tmp_path, footprint, cell, in_bom=in_bom)
    (told,) = disputed(report)
    assert footprint in told
    assert cell in told
    assert ("bom.csv:3" if in_bom else "placements.csv:3") in told
    assert "U7" in {ref for q in questions(report) for ref in (*q.refs, *(ref for row in q.rows for ref in row.refs))}
    body = report.board.bodies[report.board.placements.part_type[1]]
    assert (body.mounting, body.height.high) == (None, inf)


@pytest.mark.parametrize(("footprint", "cell"), [("SOIC-8", "SMD"), ("DIP-8_ROWS7.62mm", "THT"), ("QK-7", "THT")])
@pytest.mark.parametrize("in_bom", [True, False])
def test_a_column_that_agrees_or_speaks_alone_raises_nothing(footprint, cell, in_bom, tmp_path):
    report = board(tmp_path, footprint, cell, in_bom=in_bom)
    assert not disputed(report)
    body = report.board.bodies[report.board.placements.part_type[1]]
    assert body.mounting == {"SMD": "surface", "THT": "through hole"}[cell]


@pytest.mark.parametrize("stated", ["surface", "through hole"])
def test_board_toml_settles_the_mounting(stated, tmp_path):
    report = board(tmp_path, "SOIC-8", "THT", in_bom=True, toml=f'[mounting]\n"U*" = "{stated}"')
    assert not disputed(report)
    assert report.board.bodies[report.board.placements.part_type[1]].mounting == stated


def test_a_part_of_which_it_is_open_how_it_is_mounted_is_proved_to_fit_no_head(tmp_path):
    board(tmp_path, "SOIC-8", "THT", in_bom=True)
    report = check(tmp_path, line=FULL_LINE)
    (part,) = [p for p in read_json(report.board)["parts"] if p["ref"] == "U7"]
    assert part["lead_style"] is None
    assert {f.rule for f in report.findings if f.subject.ref == "U7" and f.undecided} >= {"part-height", "largest-body"}


# Invented height.
def test_a_stated_height_holds_however_the_part_is_mounted():
    stated = {"height": (Interval.exactly(1.2), "bom.csv:3 height")}
    (body,) = bodies_of([PartName(footprint="SOIC-8", description="DIP-8", dimensions=stated)])
    assert (body.mounting, body.height.high, body.length.high) == (None, 1.2, inf)
