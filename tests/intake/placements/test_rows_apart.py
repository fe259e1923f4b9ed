"""Rows set apart are told by what they are; those that the BOM buys as parts come back."""

import pytest

from capcheck.intake.placements import Known, parts_by_bom, read_placement_table
from capcheck.intake.read import read_package
from capcheck.intake.tables import read_tables
from capcheck.intake.tables.columns import recognise
from capcheck.lexicon import sentence
from capcheck.model import BomLine, Kind
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
        (kept,), notes = parts_by_bom([file], lines)
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
        ("FD1,ROUND-1,", BomLine(("FD1",), "F-1", "FIDUCIAL")),
        ("FD1,Fiducial_1mm,", BomLine(("FD1",), "P-77", "1A")),
        ("MH1,MountingHole_3.2mm,", BomLine(("MH1",), "P-78", "M3")),
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
