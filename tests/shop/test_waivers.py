"""Waivers: a reason, a name, an end.

Figures: invented.
"""

from __future__ import annotations

import datetime as dt
import json
from pathlib import Path
from typing import Any

import pytest

from capcheck import FACTS, Report, check_board, read_board, read_configuration, read_line
from capcheck.checking.answer import check
from capcheck.shop.settings import chosen_rules, settle

FIXTURES = Path(__file__).parents[2] / "fixtures"
BOARD = FIXTURES / "irrigation-controller"
LINE = FIXTURES / "lines" / "chip.line.toml"
TODAY = dt.date(2030, 6, 15)
BASE = 'reason = "seen in the sample"\nwho = "A. Reviewer"\n'


@pytest.fixture(scope="module")
def board() -> object:
    return read_board(BOARD)


def report(tmp_path: Path, board: object, waivers: str) -> Report:
    path = tmp_path / "capcheck.toml"
    path.write_text(waivers)
    settings = settle(read_configuration(path), board=BOARD)
    rules = chosen_rules(settings.choice)
    return check_board(board, read_line(LINE), rules, FACTS, settings=settings, today=TODAY)  # type: ignore[arg-type]


def failing(report: Report) -> set[tuple[str, str | None]]:
    return {(f.rule, f.subject.ref) for f in report.findings if f.outcome == "fail" and not f.waived}


def test_a_waiver_takes_its_finding_out_of_the_counts_and_is_counted_itself(tmp_path: Path, board: object) -> None:
    before = report(tmp_path, board, "")
    rule, ref = min(failing(before), key=str)
    after = report(tmp_path, board, f'[[waiver]]\nrule = "{rule}"\npart = "{ref}"\nuntil = 2030-06-15\n{BASE}')
    assert failing(after) == failing(before) - {(rule, ref)}
    assert after.totals.failed == before.totals.failed - 1
    assert after.totals.waived == 1
    (waived,) = [f for f in after.findings if f.waived]
    assert waived.waiver == "seen in the sample (A. Reviewer, until 2030-06-15)"
    assert after.findings[-1].waived  # what counts comes first


def test_wildcards_waive_a_part_number_on_a_machine(tmp_path: Path, board: object) -> None:
    before = report(tmp_path, board, "")
    everything = report(tmp_path, board, f'[[waiver]]\nrule = "*"\npart_number = "W-*"\nuntil = 2031-01-01\n{BASE}')
    assert everything.totals.waived > 1
    numbers = {t.part_number for t in before.board.types}
    assert any(n.startswith("W-") for n in numbers)
    machine = before.line.machines[0].name  # type: ignore[union-attr]
    here = f'[[waiver]]\nrule = "*"\nmachine = "{machine[:3]}*"\nuntil = 2031-01-01\n{BASE}'
    waived = [f for f in report(tmp_path, board, here).findings if f.waived]
    assert waived
    assert {f.subject.machine for f in waived} == {machine}


def test_a_waiver_of_another_board_is_neither_used_nor_told_unused(tmp_path: Path, board: object) -> None:
    text = f'[[waiver]]\nrule = "*"\nboard = "Another *"\nuntil = 2029-01-01\n{BASE}'
    assert report(tmp_path, board, text).findings == report(tmp_path, board, "").findings


def test_a_waiver_that_is_over_waives_nothing_and_warns_at_its_line(tmp_path: Path, board: object) -> None:
    before = report(tmp_path, board, "")
    after = report(tmp_path, board, f'\n[[waiver]]\nrule = "*"\nuntil = 2030-06-14\n{BASE}')
    assert after.totals.waived == 0
    assert after.totals.failed == before.totals.failed
    assert after.totals.warned == before.totals.warned + 1
    (told,) = [f for f in after.findings if f.rule == "waiver-expired"]
    assert told.place is not None
    assert (Path(told.place.file).name, told.place.row) == ("capcheck.toml", 2)
    assert "ended on 2030-06-14" in told.message
    assert f"{len(before.findings)} findings count again" in told.message


def test_a_waiver_that_nothing_needs_warns(tmp_path: Path, board: object) -> None:
    after = report(tmp_path, board, f'[[waiver]]\nrule = "part-*"\npart = "XYZ1"\nuntil = 2031-01-01\n{BASE}')
    (told,) = [f for f in after.findings if f.rule == "waiver-unused"]
    assert told.outcome == "warn"
    assert "part XYZ1" in told.message


def test_a_waiver_of_a_rule_that_is_not_answered_is_not_told_unused(tmp_path: Path, board: object) -> None:
    text = f'select = ["part-height"]\n[[waiver]]\nrule = "smallest-chip"\npart = "X"\nuntil = 2031-01-01\n{BASE}'
    assert all(f.rule != "waiver-unused" for f in report(tmp_path, board, text).findings)


def test_a_waived_part_is_not_marked_failing_in_the_list_of_parts(tmp_path: Path) -> None:
    path = tmp_path / "capcheck.toml"
    path.write_text(f'[[waiver]]\nrule = "*"\nuntil = 9999-12-31\n{BASE}')
    found = check(BOARD, line=LINE, config=path)
    assert found.verdict == "pass"
    assert {part.outcome for part in found.part_results()} == {"pass"}
    from capcheck.report.formats import json as json_format

    data = json.loads(json_format.render(found))
    assert data["counts"]["waived"] == len(data["findings"]) > 0
    assert all(f["waived"] and f["waiver"] for f in data["findings"])


def test_a_waiver_with_a_margin_holds_no_farther_than_it_says(tmp_path: Path, board: object) -> None:
    before = report(tmp_path, board, "")
    finding = next(f for f in before.findings if f.outcome == "fail" and f.margin and f.margin.dimension.unit == "mm")
    assert finding.margin is not None
    low = finding.margin.low
    for margin, accepted in ((low, True), (low - 1, True), (low + 0.1, False)):
        text = f'[[waiver]]\nrule = "{finding.rule}"\npart = "{finding.subject.ref}"\nmargin = "{margin} mm"\n'
        after = report(tmp_path, board, f"{text}until = 2031-01-01\n{BASE}")
        assert (finding.subject.ref not in {ref for rule, ref in failing(after) if rule == finding.rule}) is accepted
    text = f'[[waiver]]\nrule = "{finding.rule}"\npart = "{finding.subject.ref}"\nmargin = "-9 g"\n'
    assert failing(report(tmp_path, board, f"{text}until = 2031-01-01\n{BASE}")) == failing(before)


def test_a_margin_that_is_no_quantity_is_refused(tmp_path: Path, run: Any) -> None:
    path = tmp_path / "capcheck.toml"
    path.write_text(f'[[waiver]]\nrule = "part-height"\nmargin = "two"\nuntil = 2031-01-01\n{BASE}')
    code, _, errors = run("check", BOARD, "--line", LINE, "--config", path)
    assert code == 2
    assert 'the margin "two" is no quantity' in errors
