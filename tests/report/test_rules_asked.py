"""The table of rules: each is asked, and is applied to something or says why not, the same in every format.

Figures: invented, those of fixtures/ and of what the test writes.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING

from capcheck import check
from capcheck.checking import Report
from capcheck.cli import main
from capcheck.report import html_report
from capcheck.report.formats import json as json_format
from capcheck.report.rules_asked import rules_asked

if TYPE_CHECKING:
    import pytest

FIXTURES = Path(__file__).parents[2] / "fixtures"
RULE = """
[[rule]]
id = "{id}"
title = "a"
subject = "{subject}"
when = "{when}"
require = "{require}"
message = "m"
why = "w"
remedy = "r"
basis = "b"
"""


def report_with(tmp_path: Path, *, line: str | None = "full") -> Report:
    folder = tmp_path / "shop-rules"
    folder.mkdir()
    (folder / "own.toml").write_text(
        RULE.format(
            id="never-such-a-part", subject="part", when="part.lead_style == 'J lead'", require="part.pins < 99"
        )
        + RULE.format(
            id="never-such-a-pair",
            subject="pair",
            when="pair.kinds == 'other and transistor'",
            require="pair.gap > '0 mm'",
        )
    )
    config = tmp_path / "capcheck.toml"
    config.write_text('rules = ["shop-rules"]\n')
    return check(
        FIXTURES / "light-strip", line=FIXTURES / "lines" / f"{line}.line.toml" if line else None, config=config
    )


def test_a_rule_that_applies_to_nothing_says_for_what_it_looked(tmp_path: Path) -> None:
    asked = {item.rule.id: item for item in rules_asked(report_with(tmp_path))}
    part = asked["never-such-a-part"]
    assert part.never.endswith("for which part.lead_style == 'J lead'")
    assert "no part (of " in part.never
    assert asked["never-such-a-pair"].never.startswith("no pair (of ")  # counted as passed all the same
    assert asked["part-height"].never == ""


def test_a_rule_without_its_input_says_which(tmp_path: Path) -> None:
    asked = {item.rule.id: item for item in rules_asked(report_with(tmp_path, line=None))}
    assert asked["part-height"].never == "no line was given"


def test_text_json_and_html_tell_the_same_table(tmp_path: Path) -> None:
    report = report_with(tmp_path)
    asked = rules_asked(report)
    data = json.loads(json_format.render(report))
    assert [row["rule"] for row in data["rules"]] == [item.rule.id for item in asked]
    assert sum(row["pass"] for row in data["rules"]) == data["counts"]["pass"]
    assert {r["rule"]: r["never_applied"] or "" for r in data["rules"]} == {i.rule.id: i.never for i in asked}
    page = html_report(report)
    assert page.count("never applied: ") == sum(bool(item.never) for item in asked)


def test_the_full_text_lists_every_rule_once(capsys: pytest.CaptureFixture[str]) -> None:
    assert (
        main(["check", str(FIXTURES / "light-strip"), "--line", str(FIXTURES / "lines/full.line.toml"), "--full"]) < 2
    )
    *_, table = capsys.readouterr().out.split("\nRules: ")
    asked, applied, never = (int(piece.split()[0]) for piece in table.splitlines()[0].split(", "))
    assert asked == applied + never
    assert never > 0
    assert "never applied, no " in table
