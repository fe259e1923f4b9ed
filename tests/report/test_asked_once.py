"""What is asked of the customer is asked once, with the references: not again as a rule's count of them."""

import pytest

from capcheck import check
from capcheck.report.questions import questions


@pytest.mark.parametrize(
    ("placed", "words"),
    [
        ("Ref,X (mm),Y (mm),Rotation\nR1,10,20,0\nR2,30,40,0\n", "on which side"),
        ("Ref,X (mm),Y (mm),Rotation,Side\nR1,10,20,0,top\nR2,,40,0,top\n", "where on the board"),
    ],
)
def test_a_missing_side_or_place_is_one_question(tmp_path, placed, words):
    (tmp_path / "placements.csv").write_text(placed)
    report = check(placements=[tmp_path / "placements.csv"])
    asked = [q.question for q in questions(report)]
    assert sum(words in text for text in asked) == 1
    assert not [text for text in asked if "What would help" in text and ("side" in text or "coordinates" in text)]
