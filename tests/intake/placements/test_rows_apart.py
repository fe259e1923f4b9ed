"""Rows set apart are told by what they are; those that the BOM buys as parts come back."""

import pytest

from capcheck import check
from capcheck.intake.placements import Known, parts_among, read_placement_table
from capcheck.intake.read import read_package
from capcheck.intake.tables import read_tables
from capcheck.intake.tables.columns import recognise
from capcheck.lexicon import sentence
from capcheck.model import BomLine, Kind, Topic
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
        (kept,), notes = parts_among([file], lines)
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
        ("FD1,Fiducial_1mm,", BomLine(("FD1",), "Fiducial_1mm_Mask2mm", "Fiducial")),
        ("MH1,MountingHole_3.2mm,", BomLine(("MH1",), "3", "MountingHole_3.2mm_M3")),
        ("SJ1,SOLDERJUMPER_CLOSEDWIRE,", BomLine(("SJ1",), "", "SOLDERJUMPER_CLOSED", "", "SOLDERJUMPER_CLOSEDWIRE")),
        ("TP1,pad 1.5,TP", BomLine(("TP1",), "", "TP", "", "pad 1.5")),
        ("MH1,SOIC-8,DRV", BomLine(("MH1",), "", "DRV", "", "SOIC-8", None, fitted=False)),
        ("TP1,C1-0,TPC1-0", BomLine(("TP1",), "TPC1-0", "TPC1-0", "", "C1-0")),
        ("TP1,,", BomLine(("TP1",), "TPC1-0", "TPC1-0", "", "C1-0")),
        ("FD1,0603,1A", BomLine(("FD2",), "P-77", "1A", "", "0603")),
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
    ("J5", "receptacle", "USB_C_4holes", "PN-13", ""),
    ("J6", "header", "1x4 through hole", "PN-14", ""),
    ("TP1", "", "", "5019", "test point"),
    ("TP2", "", "test pad", "TP-105-01-00", ""),
    ("U7", "tooling ball sensor", "SOIC-8", "PN-15", ""),
    ("FID1", "", "Fiducial_1mm", "PN-16", ""),
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
    assert [q.refs for q in questions(report) if q.question.startswith("part or not")] == [(ref,)]


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
