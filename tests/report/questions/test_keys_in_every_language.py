"""The key of a part of a question is the same in every language, also where the part is named by a reason in words."""

import pytest

from capcheck.checking import check
from capcheck.lexicon import customers_language
from capcheck.report.questions import questions


@pytest.mark.parametrize("language", ["de", "ja"])
def test_a_row_named_by_a_reason_keeps_its_key(tmp_path, shop, language):
    (tmp_path / "placements.csv").write_text(
        "Ref,X (mm),Y (mm),Rotation,Layer,Value,Footprint\nR1,10,10,0,top,10k,0805\nU1,30,20,90,top,W-7,SOIC-8\n"
    )
    (tmp_path / "bom.csv").write_text("Designator,Qty,Part number,Comment\nR1,1,W-1,hand soldered\nU1,1,W-7,\n")
    report = check(tmp_path, line=shop / "lines" / "full.line.toml")
    english = {q.key: q for q in questions(report)}
    assert english["by-hand"].rows
    with customers_language(language):
        told = {q.key: q for q in questions(report)}
    assert told["by-hand"].rows[0].name != english["by-hand"].rows[0].name
    assert [row.key for row in told["by-hand"].rows] == [row.key for row in english["by-hand"].rows]
    assert [q.asked for q in told.values()] == [q.asked for q in english.values()]
