"""Rows that are no parts are set apart by reference, footprint and value together.

Figures: invented, or the digits of the text; an inch is 25.4 mm by definition.
"""

import pytest

from capcheck.intake.placements.row_kinds import Feature, classify as classify_coded
from capcheck.intake.tables.grouping import code
from capcheck.model import Kind


def classify(refs, footprints, values, stated):
    stems = [ref.rstrip("0123456789") for ref in refs]
    return classify_coded(refs, code(stems), code(footprints), code(values), stated)


P, F, M = Kind.PART, Kind.FIDUCIAL, Kind.MECHANICAL


@pytest.mark.rows(
    ("ref", "footprint", "value", "kind"),
    [
        ("R1", "R_0603", "10k", P),
        ("FID1", "", "", F),
        ("FD2", "ROUND-1", "", F),
        ("MK1", "fiducial 1mm", "", F),
        ("MK1", "MIC-6x5", "microphone", P),
        ("X1", "3mmFID", "", F),
        ("MARK1", "", "", F),
        ("H1", "mounting hole 3.4mm", "", M),
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
        ("J6", "USB mini B with mounting holes", "", P),
        ("SW2", "Slide-Switch_mounting_holes", "", P),
        ("J7", "mounting hole 3.4mm", "", M),
    ],
)
def test_what_a_row_stands_for(ref, footprint, value, kind):
    codes, apart = classify([ref], [footprint], [value], {})
    assert codes[0] == kind
    assert (0 in apart) == (kind is not P)


def test_board_toml_overrides():
    codes, apart = classify(["TP1", "TP2", "R1"], ["", "", ""], ["", "", ""], {"TP*": "part", "R1": "mechanical"})
    assert codes.tolist() == [P, P, M]
    assert [(i, told.feature, told.stated) for i, told in apart.items()] == [(2, Feature.UNNAMED, True)]
