"""Rows set apart are told by what they are; those that the BOM buys as parts come back.

Figures: invented, or the digits of the text.
"""

import pytest

from capcheck import check
from capcheck.intake.placements import Known, parts_among, read_placement_table
from capcheck.intake.read import read_package
from capcheck.intake.tables import read_tables
from capcheck.intake.tables.columns import recognise
from capcheck.lexicon import sentence
from capcheck.model import BomLine, Kind, Topic
from capcheck.packages import names_body
from capcheck.report import read_json
from capcheck.report.questions import questions
from capcheck.values import Problems

P, F = Kind.PART, Kind.FIDUCIAL


def test_rows_set_apart_are_told_by_what_they_are(tmp_path):
    names = ["R1", "FID1", "FID2", "H1", "H2", "TP1", "TP2", "TP3", "MH1"]
    rows = "".join(f"{ref},{'10k' if ref == 'R1' else ''},,{k * 3},{k},0,top\n" for k, ref in enumerate(names))
    (tmp_path / "p.csv").write_text("Ref,Value,Footprint,X (mm),Y (mm),Rotation,Side\n" + rows)
    notes = [n for n in read_package(None, placements=[tmp_path / "p.csv"]).notes if "set apart" in sentence(n.said)]
    assert [(sentence(n.said).split(" (")[0], n.place.row) for n in notes] == [
        ("2 rows are set apart as fiducials: FID1, FID2", 3),
        ("3 rows are set apart as holes: H1, H2, MH1", 5),
        ("3 rows are set apart as test points: TP1–TP3", 7),
    ]


@pytest.fixture
def by_bom(tmp_path):
    def read(placed, *lines, stated=None):
        (tmp_path / "p.csv").write_text(f"Ref,Footprint,Value,X (mm),Y (mm),Rotation,Side\n{placed},5,5,0,top\n")
        (table,) = read_tables(tmp_path / "p.csv")
        columns = recognise(table, "placements", {})
        file = read_placement_table(table, columns, Known(kinds=stated or {}), Problems())
        (kept,), notes = parts_among([file], lines, names_body)
        return Kind(int(kept.kind[0])), dict(kept.apart), [sentence(n.said) for n in notes]

    return read


@pytest.mark.parametrize(
    ("placed", "line"),
    [
        ("FD1,0603,1A", BomLine(("FD1",), "P-77", "1A", "SMD fuse 1A 0603")),
        ("REF1,SOT-23,shunt 2V5", BomLine(("ref1",), "P-78", "shunt 2V5", "voltage reference")),
        ("MH1,SOIC-8,DRV", BomLine(("MH1",), "", "DRV", "", "SOIC-8")),
        ("TP1,,", BomLine(("TP1",), "P-80", "loop")),
    ],
)
def test_what_the_bom_buys_is_a_part_whatever_its_reference_begins_with(by_bom, placed, line):
    kind, reasons, (note,) = by_bom(placed, line)
    assert (kind, reasons) == (P, {})
    assert placed.split(",")[0] in note
    assert "reference begins with" in note


@pytest.mark.parametrize(
    ("placed", "line"),
    [
        ("FD1,ROUND-1,", BomLine(("FD1",), "", "FIDUCIAL", "", "ROUND-1")),
        ("FD1,ROUND-1,", BomLine(("FD1",), "Fiducial", "FIDUCIAL", "fiducial mark for assembly")),
        ("FD1,ROUND-1MM,", BomLine(("FD1",), "FIDUCIAL-1.2MM", "Fiducial")),
        ("MH1,mounting hole 3.4mm,", BomLine(("MH1",), "3", "mounting hole M3 3.4mm")),
        ("SJ1,SOLDERJUMPER_CLOSEDWIRE,", BomLine(("SJ1",), "", "SOLDERJUMPER_CLOSED", "", "SOLDERJUMPER_CLOSEDWIRE")),
        ("TP1,pad 1.5,TP", BomLine(("TP1",), "", "TP", "", "pad 1.5")),
        ("MH1,SOIC-8,DRV", BomLine(("MH1",), "", "DRV", "", "SOIC-8", None, fitted=False)),
        ("TP1,C1-0,TPC1-0", BomLine(("TP1",), "TPC1-0", "TPC1-0", "", "C1-0")),
        ("TP1,,", BomLine(("TP1",), "TPC1-0", "TPC1-0", "", "C1-0")),
    ],
)
def test_what_is_named_or_not_bought_stays_set_apart(by_bom, placed, line):
    kind, reasons, notes = by_bom(placed, line)
    assert kind is not P
    assert reasons
    assert not notes


def test_what_board_toml_states_holds_against_the_bom(by_bom):
    kind, _, _ = by_bom("FD1,0603,1A", BomLine(("FD1",), "P-77", "1A"), stated={"FD1": "fiducial"})
    assert kind is F


BOUGHT = [
    ("DS1", "graphic LCD", "LCD-128x64", "PN-12", "graphic display"),
    ("TP1", "", "", "5019", "test point"),
    ("TP2", "", "test pad", "TP-105-01-00", ""),
    ("U7", "tooling ball sensor", "SOIC-8", "PN-15", ""),
    ("FID1", "", "fiducial 1mm", "PN-16", ""),
    ("K9", "Relais", "Bohrung 3", "PN-17", "Messpunkt"),
    ("LOGO1", "logo PLC", "module", "PN-18", ""),
]


@pytest.mark.parametrize(("ref", "value", "footprint", "number", "description"), BOUGHT)
@pytest.mark.parametrize("by_bom", [True, False])
def test_a_row_that_is_bought_or_has_a_part_number_is_undecided_with_a_question(
    ref, value, footprint, number, description, by_bom, tmp_path
):
    head = "Ref,Value,Footprint,Part number,X (mm),Y (mm),Rotation,Side\nR1,10k,RESC1608X55N,PN-1,5,5,0,top\n"
    own = "" if by_bom else number
    (tmp_path / "placements.csv").write_text(f"{head}{ref},{value},{footprint},{own},30,20,0,top\n")
    if by_bom:
        lines = f"R1,10k,PN-1,,1\n{ref},{value},{number},{description},1\n"
        (tmp_path / "bom.csv").write_text("Reference,Value,Part number,Description,Quantity\n" + lines)
    report = check(tmp_path)
    (part,) = [p for p in read_json(report.board)["parts"] if p["ref"] == ref]
    assert part["kind"] == "part"
    assert [(f.subject.ref, f.undecided) for f in report.findings if f.rule == "part-or-feature"] == [(ref, True)]
    assert [row.refs for q in questions(report) if q.key == "part-or-feature" for row in q.rows] == [(ref,)]


@pytest.mark.parametrize(
    ("value", "footprint", "number"),
    [("receptacle", "USB-TYPE-C-4HOLES", "PN-13"), ("header", "1x4 through hole", "PN-14")],
)
def test_a_connector_with_holes_is_a_part_and_no_question(value, footprint, number, tmp_path):
    (tmp_path / "placements.csv").write_text(
        "Ref,Value,Footprint,Part number,X (mm),Y (mm),Rotation,Side\nR1,10k,RESC1608X55N,PN-1,5,5,0,top\n"
        f"J5,{value},{footprint},{number},30,20,0,top\n"
    )
    package = read_package(tmp_path)
    assert [Kind(k) for k in package.placements.kind] == [P, P]
    assert not [d for d in package.discrepancies if d.topic is Topic.PART_OR_NOT]


def test_a_size_makes_a_row_a_part_whatever_its_words_say(tmp_path):
    text = "Ref,Value,Footprint,Height (mm),X (mm),Y (mm),Rotation,Side\nX1,,graphic,12,5,5,0,top\nFID1,,,0,9,9,0,top\n"
    (tmp_path / "p.csv").write_text(text)
    package = read_package(None, placements=[tmp_path / "p.csv"])
    assert [Kind(k) for k in package.placements.kind] == [P, F]
    assert [d.refs for d in package.discrepancies if d.topic is Topic.PART_OR_NOT] == [("X1",)]


def test_what_board_toml_states_settles_the_question(tmp_path):
    (tmp_path / "placements.csv").write_text(
        "Ref,Value,Part number,X (mm),Y (mm),Rotation,Side\nDS1,graphic LCD,PN-1,5,5,0,top\n"
    )
    (tmp_path / "board.toml").write_text('placements = "placements.csv"\nkinds = { DS1 = "part" }\n')
    assert not [d for d in read_package(tmp_path).discrepancies if d.topic is Topic.PART_OR_NOT]


NAMES_A_BODY = [
    ("REF1", "SOT-23", ""),
    ("NT2", "SOIC-8", ""),
    ("TP2", "1206", ""),
    ("TP3", "", "0402"),
    ("TP4", "RESC1608X55N", ""),
    ("TP5", "SMA", ""),
    ("TP6", "DIP-8", ""),
    ("LOGO1", "D2PAK", ""),
    ("MH4", "C0805", ""),
    ("FID4", "QFN-16", ""),
    ("MIRE1", "SO8", ""),
    ("PASSER1", "BGA-64", ""),
    ("REF2", "TO-92", "2.5 V"),
    ("X7", "QFN-16_3x3", "test pad"),
    ("JP1", "R0603", "solder jumper"),
    ("C5", "CASE-B", "mouse bite"),
    ("R9", "0603", "Passermarke"),
    ("U8", "WLCSP-9", "Messpunkt"),
    ("Q4", "SOT-23", "测试点"),
    ("D7", "SOD-323", "point de test"),
    ("D8", "MELF", "punto de prueba"),
    ("FIDUCIAL1", "SOT-23", ""),
    ("MOUNTING3", "SOIC-8", ""),
    ("TP15", "R0603 test pad", ""),
    ("TP16", "test point SOT-23", ""),
]


@pytest.mark.parametrize(("ref", "footprint", "value"), NAMES_A_BODY)
@pytest.mark.parametrize("bom", ["none", "others", "package alone"])
def test_a_row_that_names_a_body_is_undecided_with_a_question(ref, footprint, value, bom, tmp_path):
    head = "Ref,Value,Footprint,X (mm),Y (mm),Rotation,Side\nR1,10k,RESC1608X55N,5,5,0,top\n"
    own = "" if bom == "package alone" else footprint
    (tmp_path / "placements.csv").write_text(f"{head}{ref},{value},{own},30,20,0,top\n", encoding="utf-8")
    if bom != "none":
        line = f"{ref},,,{footprint},1\n" if bom == "package alone" else ""
        head = "Reference,Value,Part number,Package,Quantity\nR1,10k,PN-1,0603,1\n"
        (tmp_path / "bom.csv").write_text(head + line, encoding="utf-8")
    report = check(tmp_path)
    (part,) = [p for p in read_json(report.board)["parts"] if p["ref"] == ref]
    assert part["kind"] == "part"
    assert [f.subject.ref for f in report.findings if f.rule == "part-or-feature" and f.undecided] == [ref]
    assert [row.refs for q in questions(report) if q.key == "part-or-feature" for row in q.rows] == [(ref,)]


PLAINLY_A_FEATURE = [
    ("FID1", "fiducial 1.2mm clear 2.4mm", "Fiducial"),
    ("FID2", "FIDUCIAL-0603", ""),
    ("FID3", "fiducial 0603", ""),
    ("TP1", "test point dia 1.5mm", ""),
    ("TP2", "drilled test point 1.2x1.2mm hole 0.6mm", ""),
    ("TP3", "TP_40C", "T POINT R"),
    ("TP4", "SMD20-A", ""),
    ("TP5", "test point 1.1x1.1mm", "SMA"),
    ("TP6", "TESTPOINT drilled", ""),
    ("NT1", "net tie pads 0.6mm", ""),
    ("JP1", "solder jumper open 1.2mm pads 1.0x1.5mm", ""),
    ("SJ1", "solder jumper 0603", ""),
    ("H1", "mounting hole M3 3.4mm with pad", ""),
    ("H2", "", ""),
    ("LOGO1", "Logo", ""),
    ("MH1", "MTG450_900", "mounting hole"),
]


@pytest.mark.parametrize(("ref", "footprint", "value"), PLAINLY_A_FEATURE)
def test_a_footprint_that_says_that_it_is_a_feature_raises_no_question(ref, footprint, value, tmp_path):
    text = "Ref,Value,Footprint,X (mm),Y (mm),Rotation,Side\nR1,10k,RESC1608X55N,5,5,0,top\n"
    (tmp_path / "placements.csv").write_text(f"{text}{ref},{value},{footprint},30,20,0,top\n")
    report = check(tmp_path)
    (row,) = [p for p in read_json(report.board)["parts"] if p["ref"] == ref]
    assert row["kind"] != "part"
    assert not [d for d in report.board.discrepancies if d.topic is Topic.PART_OR_NOT]


@pytest.mark.parametrize("kind", ["mechanical", "part", "fiducial"])
def test_board_toml_says_what_a_row_is_that_names_a_body(kind, tmp_path):
    text = "Ref,Value,Footprint,X (mm),Y (mm),Rotation,Side\nR1,10k,RESC1608X55N,5,5,0,top\nTP2,,1206,9,9,0,top\n"
    (tmp_path / "placements.csv").write_text(text)
    (tmp_path / "board.toml").write_text(f'placements = "placements.csv"\nkinds = {{ "TP*" = "{kind}" }}\n')
    report = check(tmp_path)
    assert [p["kind"] for p in read_json(report.board)["parts"] if p["ref"] == "TP2"] == [kind]
    assert not [d for d in report.board.discrepancies if d.topic is Topic.PART_OR_NOT]
