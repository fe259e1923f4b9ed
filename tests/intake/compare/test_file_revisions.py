"""Files of two revisions are one question; one revision in several spellings, or in one file only, is none.

Figures: invented, or the digits of the text.
"""

import pytest

from capcheck.intake.read import read_package
from capcheck.lexicon import sentence

ROWS = "Ref,Value,Footprint,X (mm),Y (mm),Rotation,Side\nR1,10k,0603,1,2,0,top\nR2,10k,0603,4,2,0,top\n"
BOM = "References,Value,Quantity,Part number\nR1,10k,1,PN-1\nR2,10k,1,PN-1\n"


@pytest.fixture
def read(tmp_path):
    def write(placements, bom, above="", above_bom=""):
        (tmp_path / placements).write_text(above + ROWS, encoding="utf-8")
        (tmp_path / bom).write_text(above_bom + BOM, encoding="utf-8")
        return read_package(None, placements=[tmp_path / placements], bom=tmp_path / bom)

    return write


def revisions(package):
    return [d for d in package.discrepancies if d.title == "revision"]


@pytest.mark.parametrize(
    ("placements", "bom", "above"),
    [
        ("lamp_revA.csv", "lamp_bom_revB.csv", ""),
        ("lamp-rev-01.csv", "lamp_bom Rev 2.csv", ""),
        ("lamp_v1.csv", "lamp_bom_v1_2.csv", ""),
        ("lamp.csv", "lamp_bom_issue_2.csv", "# ISSUE C\n"),
        ("lamp.csv", "lamp_bom_Issue B2.csv", "# issue: 1\n"),
        ("lamp.csv", "lamp_bom_RevC.csv", "# Board Lamp, Revision: B\n"),
    ],
)
def test_revisions_that_differ_are_one_question(read, placements, bom, above):
    (found,) = revisions(read(placements, bom, above))
    assert "different" in sentence(found.said)
    assert bom in sentence(found.said)


@pytest.mark.parametrize(
    ("placements", "bom", "above", "above_bom"),
    [
        ("lamp_revA.csv", "lamp_bom_rev-a.csv", "", ""),
        ("lamp_v1.0.csv", "lamp_bom_V1.csv", "", ""),
        ("lamp_rev01.csv", "lamp_bom_REV_1.csv", "", ""),
        ("lamp_revA.csv", "bom.csv", "", ""),
        ("review.csv", "bom_reverse.csv", "", ""),
        ("lamp_v3.csv", "lamp_bom_revB.csv", "", ""),
        # What a program calls its own version says nothing of the board.
        ("lamp.csv", "bom.csv", "# written by Layout Tool version 7.1\n", "# Lister v2\n"),
        # A word after "issue" is no revision.
        ("lamp.csv", "bom_revB.csv", "# report an issue a week before\n", ""),
        ("lamp.csv", "bom_revB.csv", "# in each issue, a part may change\n", ""),
        ("lamp.csv", "bom_issue_2.csv", "# Issue: 02\n", ""),
        ("lamp_revB.csv", "bom_revB.csv", "# Revision: A of this form\n", "# Revision: A of this form\n"),
    ],
)
def test_one_revision_is_no_question(read, placements, bom, above, above_bom):
    assert revisions(read(placements, bom, above, above_bom)) == []


def test_dates_more_than_a_month_apart_are_a_note(read):
    def dated(one, two):
        return [n for n in read("p.csv", f"b_{two}.csv", f"# Date: {one}\n").notes if "dated" in sentence(n.said)]

    (note,) = dated("2025-03-01", "20250611")
    assert "p.csv 2025-03-01, b_20250611.csv 2025-06-11" in sentence(note.said)
    assert dated("2025-03-01", "20250330") == []


@pytest.mark.parametrize(
    ("above", "above_bom"),
    [
        ("Board: PUMP-1 Rev A\n", "Board: FAN-7 Rev A\n"),
        ("# Project: lamp\n", "Project name = heater\n"),
        ("Projekt: Lampe\n", "Projekt: Heizung\n"),
        ("製品名：ポンプ\n", "製品名：送風機\n"),
    ],
)
def test_files_that_name_two_boards_are_one_question(read, above, above_bom):
    (found,) = revisions(read("places.csv", "list.csv", above, above_bom))
    assert "different boards" in sentence(found.said)


@pytest.mark.parametrize(
    ("above", "above_bom"),
    [
        ("Board: PUMP-1 Rev A\n", "Board: Pump 1\n"),
        ("Project: lamp\n", "Project: lamp.prj\n"),
        ("Project: lamp\n", "Author: heater\n"),
        ("Project: lamp\n", ""),
        ("Board: 100 x 80 mm\n", "Board: lamp\n"),
    ],
)
def test_one_board_in_two_spellings_is_no_question(read, above, above_bom):
    assert revisions(read("places.csv", "list.csv", above, above_bom)) == []


def test_two_revisions_of_one_board_are_not_two_boards(read):
    (found,) = revisions(read("places.csv", "list.csv", "Board: PUMPA Rev A\n", "Board: PUMPA Rev B\n"))
    assert "different revisions" in sentence(found.said)
