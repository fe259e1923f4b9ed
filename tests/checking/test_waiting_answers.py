"""What one missing figure leaves undecided is asked once: the other answers wait, and none of them is a pass.

Figures: boards and limits are invented.
"""

from __future__ import annotations

import json
import re
import xml.etree.ElementTree as ET
from pathlib import Path

import pytest

from capcheck import check
from capcheck.checking import Report
from capcheck.cli import main
from capcheck.report import format_names, load_format
from capcheck.shop import Choice, read_report

FIXTURES = Path(__file__).parents[2] / "fixtures"
LINE = FIXTURES / "lines" / "mixed.line.toml"
ASKING = ("body-known", "mounting-known", "thickness-known")
# 0603: reference/size_codes.csv; the rest is invented.
ROWS = """\
Ref,X [mm],Y [mm],Rotation,Side,Footprint,Value
R1,10,10,0,top,RES-0603-1608M,10k
T1,30,30,0,top,ACME_THING,ACME-1
T2,40,50,0,top,ACME_THING,ACME-1
X9,60,30,0,top,ODD_THING_4x4mm,OM-9
"""


@pytest.fixture
def board(tmp_path: Path) -> Path:
    """A board with two parts of which nothing is known, one with sides alone, and an ordinary one."""
    folder = tmp_path / "board"
    folder.mkdir()
    (folder / "placements.csv").write_text(ROWS)
    (folder / "board.toml").write_text('placements = "placements.csv"\nlength = "100 mm"\nwidth = "80 mm"\n')
    return folder


def report_on(board: Path, tmp_path: Path, configuration: str = "", **options: object) -> Report:
    config = tmp_path / "capcheck.toml"
    config.write_text(configuration)
    return check(board, line=LINE, config=config, **options)  # type: ignore[arg-type]  # passed on as they are


def open_answers(report: Report) -> set[tuple[str, str]]:
    return {(f.rule, str(f.subject)) for f in report.findings if f.undecided and f.rule not in ASKING}


def waiver(rule: str) -> str:
    return f'[[waiver]]\nrule = "{rule}"\nreason = "seen"\nwho = "A. Reviewer"\nuntil = 9999-01-01\n'


def test_a_part_of_which_nothing_is_known_is_one_question(board: Path, tmp_path: Path) -> None:
    report = report_on(board, tmp_path)
    mine = [f for f in report.findings if f.subject.ref == "T1" and f.undecided]
    (question,) = [f for f in mine if f.waits_for is None]
    assert question.rule == "body-known"
    waiting = [f for f in mine if f.waits_for is not None]
    assert {"largest-body", "part-height", "smallest-chip", "lead-pitch", "mounting-known"} <= {f.rule for f in waiting}
    assert {f.waits_for.rule for f in waiting if f.waits_for} == {"body-known"}
    assert {name for f in mine for name in f.missing} == set(question.missing)
    assert set(question.missing) <= {value.name for value in question.facts}


def test_where_the_sides_are_known_the_mounting_is_the_question(board: Path, tmp_path: Path) -> None:
    report = report_on(board, tmp_path)
    mine = [
        f
        for f in report.findings
        if f.subject.ref == "X9" and not {"part.mounting", "part.for_heads"}.isdisjoint(f.missing)
    ]
    assert [f.rule for f in mine if f.waits_for is None] == ["mounting-known"]
    assert len(mine) > 2


def test_what_lacks_on_the_whole_board_is_asked_once(board: Path, tmp_path: Path) -> None:
    report = report_on(board, tmp_path)
    thick = [f for f in report.findings if f.undecided and "board.thickness" in f.missing]
    assert [f.rule for f in thick if f.waits_for is None] == ["thickness-known"]
    assert len({f.subject.machine for f in thick if f.rule == "board-thickness"}) == 3
    assert len([f for f in report.findings if f.rule == "stop-on-board" and f.waits_for is None]) == 1


@pytest.mark.parametrize("strict", [False, True])
@pytest.mark.parametrize("ignored", [ASKING, ("body-known",), ("mounting-known",), ("thickness-known",)])
def test_verdict_exit_code_and_open_answers_are_as_without_the_questions(
    board: Path, tmp_path: Path, ignored: tuple[str, ...], strict: bool
) -> None:
    with_them = report_on(board, tmp_path, strict=strict)
    without = report_on(board, tmp_path, f"ignore = {json.dumps(ignored)}", strict=strict)
    assert (with_them.verdict, with_them.exit_code) == (without.verdict, without.exit_code)
    assert open_answers(with_them) == open_answers(without)
    assert [r.outcome for r in with_them.row_results()] == [r.outcome for r in without.row_results()]
    assert [r.taken_by for r in with_them.row_results()] == [r.taken_by for r in without.row_results()]
    assert not any(f.waits_for and f.waits_for.rule in ignored for f in without.findings)


def test_a_rule_asked_for_by_name_waits_for_nothing(board: Path, tmp_path: Path) -> None:
    report = report_on(board, tmp_path, choice=Choice(select=["part-height"]))
    assert {f.subject.ref for f in report.findings if f.undecided} == {"T1", "T2", "X9"}
    assert report.totals.waiting == 0


def test_a_question_accepted_by_a_waiver_lets_the_others_ask_for_themselves(board: Path, tmp_path: Path) -> None:
    report = report_on(board, tmp_path, waiver("*-known"))
    assert not any(f.waits_for and f.waits_for.rule in ASKING for f in report.findings)
    assert report.verdict == "warn"
    assert "part-height" in {f.rule for f in report.findings if not f.waived}


def test_a_question_is_accepted_where_all_that_ask_through_it_are(board: Path, tmp_path: Path) -> None:
    report = report_on(board, tmp_path, f"ignore = {json.dumps(ASKING)}")
    rules = sorted({f.rule for f in report.findings})
    waivers = "".join(waiver(rule) for rule in rules)
    assert report_on(board, tmp_path, f"ignore = {json.dumps(ASKING)}\n{waivers}").verdict == "pass"
    assert report_on(board, tmp_path, waivers, strict=True).verdict == "pass"


def test_nothing_is_gone_or_new_against_a_baseline(board: Path, tmp_path: Path) -> None:
    old, plain = tmp_path / "old.json", tmp_path / "plain.json"
    render = load_format("json").render
    old.write_text(str(render(report_on(board, tmp_path))))
    plain.write_text(str(render(report_on(board, tmp_path, f"ignore = {json.dumps(ASKING)}"))))
    same = report_on(board, tmp_path, baseline=old)
    assert not same.gone
    assert {f.baseline for f in same.findings} == {"unchanged"}
    # A report of before the questions were asked, and one of a shop that asks them no more.
    later = report_on(board, tmp_path, baseline=plain, new_only=True, strict=True)
    assert (later.gone, later.findings, later.exit_code) == ([], [], 0)
    without = report_on(board, tmp_path, f"ignore = {json.dumps(ASKING)}", baseline=old)
    assert {known.rule for known in without.gone} <= set(ASKING)
    assert {f.baseline for f in without.findings} == {"unchanged"}
    assert len(read_report(old)) == len(same.findings)
    assert main(["diff", str(old), str(old)]) == 0


def test_junit_shows_what_waits_as_skipped_with_the_reason(board: Path, tmp_path: Path) -> None:
    for strict in (False, True):
        suite = ET.fromstring(load_format("junit").render(report_on(board, tmp_path, strict=strict)))  # noqa: S314  ours
        case = next(c for c in suite.iter("testcase") if c.attrib["name"].startswith("part-height[T1"))
        skipped = case.find("skipped")
        assert skipped is not None
        assert skipped.attrib["message"].endswith("; waits for body-known")
        assert (case.find("failure"), case.find("error")) == (None, None)


CUSTOMERS = {"mail", "questions", "questions-csv", "questions-xlsx"}
"""Formats for the customer, who is told of no rule."""


def test_json_tells_what_waits_for_which_finding(board: Path, tmp_path: Path) -> None:
    data = json.loads(load_format("json").render(report_on(board, tmp_path)))
    asked = {(f["rule"], f["subject"].get("ref"), f["subject"].get("machine")) for f in data["findings"]}
    assert data["counts"]["waiting"] == len(data["waiting"]) > 10
    for finding in data["waiting"]:
        target = finding["waits_for"]
        assert (target["rule"], target["subject"].get("ref"), target["subject"].get("machine")) in asked


@pytest.mark.parametrize("name", sorted(set(format_names()) - {"csv", "svg", "xlsx"} - CUSTOMERS))
def test_each_rule_that_waits_is_named_in_every_format_that_tells_findings(
    board: Path, tmp_path: Path, name: str
) -> None:
    report = report_on(board, tmp_path)
    told = load_format(name).render(report)
    text = told if isinstance(told, str) else told.decode()
    for rule in {f.rule for f in report.findings if f.waits_for is not None}:
        assert re.search(rf"\b{rule}\b", text), rule


def test_a_rule_that_only_a_rule_file_of_the_shop_asks_for_settles_too(board: Path, tmp_path: Path) -> None:
    rules = tmp_path / "own"
    rules.mkdir()
    (rules / "own.toml").write_text(
        '[[rule]]\nid = "height-agreed"\ntitle = "The height is agreed"\nfinding = "Too high"\nsubject = "part"\n'
        'require = "part.height <= limits.most"\noutcome = "warn"\nmessage = "{part.ref}: {part.height}"\nwhy = "w"\n'
        'remedy = "r"\nbasis = "ours"\nsettles = ["part.height"]\nlimits = { most = "90 mm" }\n'
    )
    configuration = f'rules = ["own"]\nignore = {json.dumps(ASKING)}'
    report = report_on(board, tmp_path, configuration)
    waits = {f.subject.ref: f.waits_for for f in report.findings if f.rule == "part-height" and f.undecided}
    assert {ref: w and (w.rule, w.subject.ref) for ref, w in waits.items()} == {
        ref: ("height-agreed", ref) for ref in ("T1", "T2", "X9")
    }
    (rules / "own.toml").write_text((rules / "own.toml").read_text().replace('"part.height"]', '"part.hight"]'))
    assert main(["check", str(board), "--config", str(tmp_path / "capcheck.toml")]) == 2


def test_a_part_that_passes_however_it_is_mounted_is_not_asked_about(board: Path, tmp_path: Path) -> None:
    select = ["largest-body", "mounting-known"]
    report = report_on(board, tmp_path, choice=Choice(select=select))
    asked = {f.subject.ref for f in report.findings if f.rule == "mounting-known"}
    assert asked == {f.subject.ref for f in report.findings if f.rule == "largest-body"} == {"T1", "T2"}


def test_a_question_that_is_asked_for_by_name_stays_a_question(board: Path, tmp_path: Path) -> None:
    report = report_on(board, tmp_path, choice=Choice(select=["mounting-known"]))
    assert {f.subject.ref for f in report.findings if f.undecided} == {"T1", "T2", "X9"}
    assert report.verdict == "warn"


def test_where_a_rule_raises_every_question_stays(board: Path, tmp_path: Path) -> None:
    rules = tmp_path / "own"
    rules.mkdir()
    (rules / "own.rules.py").write_text(
        "from capcheck.engine import rule\n\n\n"
        '@rule(id="torn", title="t", finding="f", subject="part", message="m", why="w", remedy="r", basis="b")\n'
        "def torn(part_mounting):\n    raise ValueError(1)\n"
    )
    select = 'rules = ["own"]\nselect = ["largest-body", "mounting-known", "torn"]\n'
    report = report_on(board, tmp_path, select)
    assert {f.subject.ref for f in report.findings if f.rule == "mounting-known"} == {"T1", "T2", "X9"}
    assert report.verdict == "unanswered"


def test_a_rule_with_a_demand_of_its_own_stays_undecided_where_no_other_lacks_the_fact(
    board: Path, tmp_path: Path
) -> None:
    rules = tmp_path / "own"
    rules.mkdir()
    (rules / "own.toml").write_text(
        '[[rule]]\nid = "low"\ntitle = "It is low"\nfinding = "Too high"\nsubject = "part"\n'
        'require = "part.height <= limits.most"\noutcome = "warn"\nmessage = "{part.ref}: {part.height}"\nwhy = "w"\n'
        'remedy = "r"\nbasis = "ours"\nsettles = ["part.height"]\nlimits = { most = "0.5 mm" }\n'
    )
    configuration = 'rules = ["own"]\nselect = ["low", "part-height"]\n'
    report = report_on(board, tmp_path, configuration)
    assert "R1" in {f.subject.ref for f in report.findings if f.rule == "low" and f.undecided}
    accepted = report_on(board, tmp_path, configuration + waiver("part-height"))
    assert not any(f.waived for f in accepted.findings if f.rule == "low")
