"""Rows that are no parts are set apart by reference, footprint and value together."""

import pytest

from capcheck.intake.coding import code
from capcheck.intake.kinds import classify as classify_coded
from capcheck.intake.read import read_package
from capcheck.model import Kind


def classify(refs, footprints, values, stated):
    stems = [ref.rstrip("0123456789") for ref in refs]
    return classify_coded(refs, code(stems), code(footprints), code(values), stated)


P, F, M = Kind.PART, Kind.FIDUCIAL, Kind.MECHANICAL


@pytest.mark.parametrize(
    ("ref", "footprint", "value", "kind"),
    [
        ("R1", "R_0603", "10k", P),
        ("FID1", "", "", F),
        ("FD2", "ROUND-1", "", F),
        ("MK1", "Fiducial_1mm", "", F),
        ("MK1", "MIC-6x5", "microphone", P),
        ("X1", "3mmFID", "", F),
        ("MARK1", "", "", F),
        ("H1", "MountingHole_3.2mm", "", M),
        ("H1", "", "", M),
        ("H2", "HDR-2x10", "header", P),
        ("MH4", "M3", "", M),
        ("TP7", "", "", M),
        ("LOGO1", "", "", M),
        ("G***", "logo_large", "LOGO", M),
        ("SJ1", "SOLDERJUMPER_OPEN", "", M),
        ("NT1", "Net-Tie-2", "", M),
        ("U3", "WHOLE-CHIP-8", "", P),
        ("J5", "fidelity-conn", "", P),
    ],
)
def test_what_a_row_stands_for(ref, footprint, value, kind):
    codes, reasons = classify([ref], [footprint], [value], {})
    assert codes[0] == kind
    assert (0 in reasons) == (kind is not P)


def test_board_toml_overrides():
    codes, reasons = classify(["TP1", "TP2", "R1"], ["", "", ""], ["", "", ""], {"TP*": "part", "R1": "mechanical"})
    assert codes.tolist() == [P, P, M]
    assert reasons == {2: "stated in board.toml"}


def test_rows_set_apart_are_told_by_what_they_are(tmp_path):
    names = ["R1", "FID1", "FID2", "H1", "H2", "TP1", "TP2", "TP3", "MH1"]
    rows = "".join(f"{ref},{'10k' if ref == 'R1' else ''},,{k * 3},{k},0,top\n" for k, ref in enumerate(names))
    (tmp_path / "p.csv").write_text("Ref,Value,Footprint,X (mm),Y (mm),Rotation,Side\n" + rows)
    notes = [n for n in read_package(None, placements=[tmp_path / "p.csv"]).notes if "set apart" in n.message]
    assert [(n.message.split(" (")[0], n.row) for n in notes] == [
        ("2 rows are set apart as fiducials: FID1, FID2", 3),
        ("3 rows are set apart as holes: H1, H2, MH1", 5),
        ("3 rows are set apart as test points: TP1–TP3", 7),
    ]
