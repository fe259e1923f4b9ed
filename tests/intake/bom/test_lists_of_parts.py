"""A second list of the same parts is one note; a line of it that disagrees stays a question.

Figures: invented, or the digits of the text; an inch is 25.4 mm by definition.
"""

import pytest

from capcheck.intake.read import read_package
from capcheck.lexicon import sentence

PARTS = {"R1": "10k", "R2": "10k", "R3": "4k7", "C1": "1u", "C2": "1u", "C3": "1u"}
SINGLY = "".join(f"{ref},{value},1,PN-{value}\n" for ref, value in PARTS.items())
GROUPED = '"R1, R2",10k,2,PN-10k\nR3,4k7,1,PN-4k7\n"C1,C2,C3",1u,3,PN-1u\n'
HEADER = "References,Value,Quantity,Part number\n"


@pytest.fixture
def read(tmp_path):
    def write(bom):
        rows = "".join(f"{ref},{value},0603,{k * 3},{k},0,top\n" for k, (ref, value) in enumerate(PARTS.items()))
        (tmp_path / "p.csv").write_text("Ref,Value,Footprint,X (mm),Y (mm),Rotation,Side\n" + rows)
        (tmp_path / "b.csv").write_text(HEADER + bom)
        package = read_package(None, placements=[tmp_path / "p.csv"], bom=tmp_path / "b.csv")
        (table,) = [t for t in package.tables if t.role == "bom"]
        aside = {a.place.row for a in package.set_aside if a.place.file == table.file}
        rows = {line.row for line in package.bom} | aside
        assert rows == set(range(1, bom.count("\n") + 2))
        return package

    return write


@pytest.mark.parametrize("bom", [SINGLY + GROUPED, GROUPED + SINGLY])
def test_parts_listed_singly_and_in_groups_are_one_note(read, bom):
    package = read(bom)
    assert package.discrepancies == []
    (note,) = [n for n in package.notes if "listed twice" in sentence(n.said)]
    assert note.place is not None
    assert sorted(ref for line in package.bom for ref in line.refs) == sorted(PARTS)


def test_the_list_with_part_numbers_is_kept(read):
    package = read(SINGLY.replace(",PN-10k", ",").replace(",PN-4k7", ",").replace(",PN-1u", ",") + GROUPED)
    assert [line.part_number for line in package.bom] == ["PN-10k", "PN-4k7", "PN-1u"]


def test_a_line_that_disagrees_stays_a_question(read):
    rows = "".join(f"R{k},22k,1,PN-22k\n" for k in range(10, 30))
    again = '"' + ",".join(f"R{k}" for k in range(10, 30)) + '",22k,20,PN-22k\n'
    package = read(rows + "R1,10k,1,PN-10k\n" + again + "R1,10k,1,PN-OTHER\n")
    (found,) = [d for d in package.discrepancies if d.title == "on two BOM lines"]
    assert found.refs == ("R1",)
    assert any("listed twice" in sentence(n.said) for n in package.notes)


@pytest.mark.parametrize("slips", [1, 3, 40])
def test_a_slip_before_the_second_list_does_not_hide_it(read, slips):
    package = read(SINGLY + "R3,4k7,1,PN-4k7\n" * slips + GROUPED)
    assert any("listed twice" in sentence(n.said) for n in package.notes)
    assert {ref for d in package.discrepancies for ref in d.refs} == {"R3"}


def test_few_references_on_two_lines_are_slips_and_not_a_list(read):
    package = read(SINGLY + "R1,10k,1,PN-10k\n")
    assert [d.refs for d in package.discrepancies if d.title == "on two BOM lines"] == [("R1",)]


def test_lists_of_two_variants_are_not_merged(read):
    package = read(SINGLY + SINGLY.replace("PN", "ALT"))
    assert {d.title for d in package.discrepancies} == {"on two BOM lines"}
