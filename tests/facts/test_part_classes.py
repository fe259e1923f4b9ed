"""What a rule of the shop may ask about the class of a part that is known by its name."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest

from capcheck import check

if TYPE_CHECKING:
    from pathlib import Path

RULE = """
[[rule]]
id = "of-class"
title = "The part is as its class says"
subject = "part"
require = "{require}"
message = "{{part.ref}}"
why = "a"
remedy = "b"
basis = "c"
"""


@pytest.mark.parametrize(
    ("require", "row", "outcome"),
    [
        ("part.part_class == 'key switch'", "SW1,10,10,0,top,v,Keyswitch_1u", "pass"),
        ("part.placed_by != 'hand after reflow'", "SW1,10,10,0,top,v,Keyswitch_1u", "fail"),
        ("part.washable", "SW1,10,10,0,top,v,Keyswitch_1u", "fail"),
        ("part.survives_reflow", "LCD1,10,10,0,top,Display module,OLED_128x64", "fail"),
        ("part.flat_top", "K1,10,10,0,top,RELAY,QX-12", "pass"),
        ("part.washable", "R1,10,10,0,top,10k,PART-1", "undecided"),
    ],
)
def test_a_rule_asks_for_the_class_and_its_flags(
    tmp_path: Path, make_board: Any, require: str, row: str, outcome: str
) -> None:
    (tmp_path / "shop-rules").mkdir()
    (tmp_path / "shop-rules" / "classes.toml").write_text(RULE.format(require=require))
    config = tmp_path / "capcheck.toml"
    config.write_text('rules = ["shop-rules"]\nselect = ["of-class"]\n')
    report = check(make_board([row]), config=config)
    totals = {"pass": report.totals.passed, "fail": report.totals.failed, "undecided": report.totals.undecided}
    assert totals == {"pass": 0, "fail": 0, "undecided": 0} | {outcome: 1}
