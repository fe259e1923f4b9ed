"""Outputs name a file as the customer knows it: no temporary folder, and in questions no folder of our own disk.

Figures: invented, or the digits of the text; an inch is 25.4 mm by definition.
"""

import re
import tomllib
import zipfile

import pytest

from capcheck import check
from capcheck.report import format_names, load_format

PLACED = "Ref,X (mm),Y (mm),Rot,Side,Package\nR1,10,20,0,top,0603\nR2,40,abc,0,top,0603\nR3,,,0,top,0805\n"
BOM = (
    "Reference,Qty,Value,Part number,Height,Packaging\nR1,1,10k,PN-1,two mm,bulk\n"
    "R2,1,11k,PN-2,1 mm,\nR3,1,1u,PN-3,1 mm,\n"
)


@pytest.fixture
def packed(tmp_path):
    with zipfile.ZipFile(tmp_path / "kit 1.zip", "w") as archive:
        archive.writestr("data/placements.csv", PLACED)
        archive.writestr("data/bom.csv", BOM)
    return check(tmp_path)


def text_of(report, kind):
    content = load_format(kind).render(report)
    return content if isinstance(content, str) else content.decode("utf-8", errors="replace")


@pytest.mark.parametrize("kind", format_names())
def test_a_file_of_an_archive_is_named_by_archive_and_member(packed, kind):
    text = text_of(packed, kind)
    assert not re.search(r"capcheck-[a-z0-9_]{8}[/\\]", text)


def test_json_names_the_archive_and_the_member(packed, tmp_path):
    text = text_of(packed, "json")
    assert "kit 1.zip/data/bom.csv" in text
    assert str(tmp_path) not in text


@pytest.mark.parametrize("kind", ["questions", "questions-csv"])
@pytest.mark.parametrize("zipped", [True, False])
def test_questions_name_no_folder_of_our_disk(packed, tmp_path, kind, zipped):
    if not zipped:
        (tmp_path / "placements.csv").write_text(PLACED)
        (tmp_path / "bom.csv").write_text(BOM)
    text = text_of(packed if zipped else check(tmp_path), kind)
    assert "placements.csv" in text
    assert str(tmp_path) not in text


def test_a_cell_that_is_no_coordinate_is_named_with_its_place(packed):
    told = [d for d in packed.board.discrepancies if d.refs == ("R2",) and d.topic == "no position"]
    assert [(d.place.row, d.place.column) for d in told] == [(3, "Y (mm)")]
    text = text_of(packed, "text")
    assert 'Y (mm) says "abc"' in text
    assert "R3 (PN-3): no coordinates" in text


def test_questions_of_sizes_and_of_supply_have_rules_of_their_own(packed):
    rules = {f.rule for f in packed.findings if f.subject.ref == "R1"}
    assert {"size-settled", "supply-settled"} <= rules


def test_a_line_that_settles_a_file_can_be_copied_whatever_the_file_is_called(tmp_path):
    name = 'b"o\\m\n\x1b[31m.csv'
    (tmp_path / "placements.csv").write_text(PLACED)
    (tmp_path / name).write_text(BOM)
    settling = [d.settle for d in check(tmp_path).board.decisions if d.topic == "BOM"]
    assert [tomllib.loads(line) for line in settling] == [{"bom": name}]
