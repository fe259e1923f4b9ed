"""A total below a bill of materials is compared with what is listed."""

import pytest

from capcheck.intake.read import read_package
from capcheck.model import Topic

PLACED = "Ref,X (mm),Y (mm),Rotation,Side\nR1,5,5,0,top\nR2,9,9,0,top\nR3,13,9,0,top\n"
PARTS = 'Reference,Quantity,Value,Part number\n"R1, R2",2,10k,PN-1\nR3,1,22k,PN-2\n'


@pytest.mark.parametrize(
    ("line", "is_asked"),
    [
        ("Total,3,,\n", False),
        ("Total,2,,\n", False),
        ("Total,5,,\n", True),
        ("Summe: 5,,,\n", True),
        ("Total,12.50,,\n", False),
        ("Total,,,\n", False),
    ],
)
def test_a_total_that_differs_is_a_question(tmp_path, line, is_asked):
    (tmp_path / "p.csv").write_text(PLACED)
    (tmp_path / "bom.csv").write_text(PARTS + line)
    package = read_package(None, placements=[tmp_path / "p.csv"], bom=tmp_path / "bom.csv")
    assert [d.said.key for d in package.discrepancies if d.topic is Topic.QUANTITY] == ["compare.total"] * is_asked
