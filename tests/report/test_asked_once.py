"""What is asked of the customer is asked once, with the references: not again as a rule's count of them."""

import pytest

from capcheck import check
from capcheck.report.questions import questions


@pytest.mark.parametrize(
    ("placed", "key"),
    [
        ("Ref,X (mm),Y (mm),Rotation\nR1,10,20,0\nR2,30,40,0\n", "side-missing"),
        ("Ref,X (mm),Y (mm),Rotation,Side\nR1,10,20,0,top\nR2,,40,0,top\n", "position-missing"),
    ],
)
def test_a_missing_side_or_place_is_one_question(tmp_path, placed, key):
    (tmp_path / "placements.csv").write_text(placed)
    asked = [q.key for q in questions(check(placements=[tmp_path / "placements.csv"]))]
    assert [other for other in asked if "side" in other or "position" in other] == [key]
