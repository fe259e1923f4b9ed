"""A baseline: what is known already, and when it ends.

Figures: invented.
"""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest
from msgspec.structs import replace

from capcheck import check
from capcheck.checking.report import Report
from capcheck.cli import main
from capcheck.report.formats import json as json_format
from capcheck.report.report_as_text import styled_report
from capcheck.report.sentences import in_short
from capcheck.shop.baseline import compared, difference, identities, read_report
from capcheck.values.errors import InputError, Place

FIXTURES = Path(__file__).parents[2] / "fixtures"
BOARD = FIXTURES / "irrigation-controller"
CHIP, MIXED = (FIXTURES / "lines" / f"{name}.line.toml" for name in ("chip", "mixed"))


@pytest.fixture(scope="module")
def report() -> Report:
    return check(BOARD, line=CHIP)


@pytest.fixture
def saved(report: Report, tmp_path: Path) -> Path:
    path = tmp_path / "old.json"
    path.write_text(json_format.render(report))
    return path


def changed(saved: Path, edit: Any) -> Path:
    data = json.loads(saved.read_text())
    edit(data["findings"])
    saved.write_text(json.dumps(data))
    return saved


def test_a_report_against_itself_is_unchanged(report: Report, saved: Path) -> None:
    marked, gone = compared(report.findings, read_report(saved))
    assert {f.baseline for f in marked} == {"unchanged"}
    assert gone == []


def test_a_finding_is_known_again_by_rule_machine_side_and_reference_not_by_row_or_message(report: Report) -> None:
    moved = [replace(f, place=Place("renamed.csv", 7), template="other") for f in report.findings]
    assert identities(moved) == identities(report.findings)
    assert len(set(identities(moved))) == len(moved)


def test_what_the_earlier_report_lacks_is_new_and_what_it_had_more_is_gone(report: Report, saved: Path) -> None:
    def edit(findings: list[dict[str, Any]]) -> None:
        findings.append({**findings[0], "subject": {"kind": "part", "ref": "R9999"}})
        del findings[0]

    marked, gone = compared(report.findings, read_report(changed(saved, edit)))
    assert [f.baseline for f in marked].count("new") == 1
    assert marked[0].baseline == "new"
    assert [(k.rule, k.subject) for k in gone] == [(report.findings[0].rule, "R9999")]


@pytest.mark.parametrize(
    ("old", "state"),
    [
        ({"undecided": True, "outcome": "warn"}, "worse"),
        ({"outcome": "warn"}, "worse"),
        ({"waived": True}, "worse"),
        ({}, "unchanged"),
    ],
)
def test_a_finding_that_grew_worse_is_not_unchanged(
    report: Report, saved: Path, old: dict[str, Any], state: str
) -> None:
    assert report.findings[0].outcome == "fail"
    marked, _ = compared(report.findings, read_report(changed(saved, lambda f: f[0].update(old))))
    assert marked[0].baseline == state


def test_with_new_only_an_old_design_passes_until_something_new_fails(saved: Path) -> None:
    same = check(BOARD, line=CHIP, baseline=saved, new_only=True)
    assert (same.verdict, int(same.exit_code), same.totals.failed) == ("pass", 0, 0)
    assert same.totals.known == len(same.known) > 0
    assert int(check(BOARD, line=CHIP, baseline=saved).exit_code) == 1

    other = check(BOARD, line=CHIP, baseline=changed(saved, lambda f: f.pop(0)), new_only=True)
    assert (other.totals.failed, int(other.exit_code)) == (1, 1)
    assert [f.baseline for f in other.findings] == ["new"]


def test_the_text_report_marks_what_is_new(saved: Path) -> None:
    def text(old: Path) -> str:
        return "\n".join(
            line.text for line in styled_report(check(BOARD, line=CHIP, baseline=old), width=120, full=False)
        )

    assert "[new]" not in text(saved)
    assert "[worse]" in text(changed(saved, lambda f: [entry.update(undecided=True, outcome="warn") for entry in f]))
    assert "[new]" in text(changed(saved, lambda f: f.clear()))


def test_a_report_of_new_findings_alone_is_a_whole_baseline_again(saved: Path, tmp_path: Path) -> None:
    second = tmp_path / "second.json"
    second.write_text(json_format.render(check(BOARD, line=CHIP, baseline=saved, new_only=True)))
    assert {k.identity for k in read_report(second)} == {k.identity for k in read_report(saved)}


def test_diff_prints_new_worse_gone_and_counts(saved: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    new = tmp_path / "new.json"
    new.write_text(json_format.render(check(BOARD, line=MIXED)))
    assert main(["diff", str(saved), str(saved)]) == 0
    assert capsys.readouterr().out.splitlines()[-1].startswith("0 new, 0 worse, 0 gone, ")
    assert main(["diff", str(new), str(saved)]) == 1
    out = capsys.readouterr().out
    assert "New\n  fail " in out
    assert "Unchanged" not in out
    found = difference(read_report(new), read_report(saved))
    last = f"{len(found.new)} new, {len(found.worse)} worse, {len(found.gone)} gone, {len(found.unchanged)} unchanged"
    assert out.splitlines()[-1] == last
    assert main(["diff", str(new), str(saved), "--format", "json"]) == 1
    told = json.loads(capsys.readouterr().out)
    assert {k: len(told[k]) for k in ("new", "worse", "gone", "unchanged")} == {
        "new": len(found.new),
        "worse": len(found.worse),
        "gone": len(found.gone),
        "unchanged": len(found.unchanged),
    }


def test_new_warnings_fail_a_diff_only_where_it_is_strict(saved: Path, tmp_path: Path) -> None:
    old = tmp_path / "older.json"
    old.write_text(saved.read_text())
    changed(old, lambda findings: findings.pop())  # undecided ones come last
    assert main(["diff", str(old), str(saved)]) == 0
    assert main(["diff", "--strict", str(old), str(saved)]) == 1


@pytest.mark.parametrize(
    "text", ["{", "[]", '{"schema": "other/1"}', '{"schema": "capcheck-report/1", "findings": [{}]}']
)
def test_what_is_no_report_is_refused(tmp_path: Path, text: str) -> None:
    path = tmp_path / "x.json"
    path.write_text(text)
    with pytest.raises(InputError, match=r"x\.json"):
        read_report(path)


def test_new_only_without_a_baseline_is_a_fault_of_use(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", str(BOARD), "--new-only"]) == 2
    assert "--baseline" in capsys.readouterr().err


def test_what_is_known_to_fail_is_never_called_proved(saved: Path) -> None:
    report = check(BOARD, line=CHIP, baseline=saved, new_only=True)
    text = " ".join(in_short(report))
    assert "proved to fit" not in text
    assert re.search(r"findings known from before, [1-9]\d* of them fail", text)


def _height(findings: list[dict[str, Any]]) -> dict[str, Any]:
    return next(f for f in findings if f["margin"] and f["margin"]["value"] < 0 and f.get("part_type"))


@pytest.mark.parametrize(
    ("edit", "state"),
    [
        (lambda f: f["margin"].update(value=f["margin"]["value"] + 1), "worse"),  # the accepted part was lower
        (lambda f: f["margin"].update(value=f["margin"]["value"] - 1), "unchanged"),
        (lambda f: f.update(part_type="another part"), "new"),
        (lambda f: (f.update(part_type="another part"), f["margin"].update(value=0.0)), "worse"),
        (lambda f: f.update(margin=None), "unchanged"),
        (lambda f: f["facts"].pop(next(n for n, v in f["facts"].items() if "unit" in v)), "worse"),
        (lambda f: [f.pop("part_type"), f.pop("margin"), f.pop("facts")], "worse"),  # it proves no distance
    ],
)
def test_a_finding_is_unchanged_only_for_the_same_part_no_farther_beyond_its_limit(
    report: Report, saved: Path, edit: Any, state: str
) -> None:
    at = next(
        i
        for i, f in enumerate(report.findings)
        if f.margin and f.margin.low < 0 and f.part_type and not f.undecided and len(f.facts) > 1
    )
    path = changed(saved, lambda findings: edit(findings[at]))
    marked, _ = compared(report.findings, read_report(path))
    assert marked[at].baseline == state
    found = difference(read_report(path), read_report_of(report, path))
    assert [k.identity for k in getattr(found, state)].count(identities(report.findings)[at]) == 1


def read_report_of(report: Report, beside: Path) -> list[Any]:
    path = beside.with_name("now.json")
    path.write_text(json_format.render(report))
    return read_report(path)


def test_a_taller_part_under_a_waived_reference_counts_again(report: Report, saved: Path) -> None:
    at = next(i for i, f in enumerate(report.findings) if f.margin and f.margin.low < 0 and f.outcome == "fail")
    waived = [replace(f, waived=True) if i == at else f for i, f in enumerate(report.findings)]

    def edit(findings: list[dict[str, Any]]) -> None:
        findings[at]["waived"] = True
        findings[at]["margin"]["value"] += 1

    path = changed(saved, edit)
    marked, _ = compared(waived, read_report(path))
    assert (marked[at].baseline, marked[at].waived) == ("worse", False)
    later = read_report_of(replace(report, findings=waived), path)
    assert difference(read_report(path), later).fails
