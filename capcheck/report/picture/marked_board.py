"""The picture of a board with what the rules object to: bodies and marks numbered, the widest edge strip hatched."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from capcheck.checking import Report
from capcheck.engine import Finding
from capcheck.facts import certain_marks, travels
from capcheck.model import Kind, Side
from capcheck.report.picture.drawing import board_svg
from capcheck.report.rows_of_findings import RowsOfSubjects
from capcheck.report.sentences import VERDICT_WORDS, pairs_that_may_touch, unanswered

_ORDER: Final = {"warn": 0, "fail": 1}
_ON_MARKS: Final = frozenset(
    {
        "side.fiducials",
        "side.fiducial_share",
        "side.fiducial_across",
        "side.fiducial_spread",
        "side.fiducial_names",
        "side.half_turn_miss",
    }
)
"""Facts about the marks of a side: a finding with one of them objects to those marks."""
_SIDES: Final = {"top": Side.TOP, "bottom": Side.BOTTOM}


def report_svg(report: Report, *, live: bool = False) -> str:
    """Return the board as SVG with its decided findings marked; open questions are left to the list of the report.

    *live* is for a page around it, as of :func:`board_svg`.
    """
    findings = [f for f in report.findings if not f.waived and not f.undecided and f.subject.kind != "data"]
    marked, grades, named = _marks(report, findings)
    strip, turned = _widest_strip(report)
    return board_svg(
        report.board,
        marked=marked,
        grades=grades,
        edge_strip_mm=strip,
        turned=turned,
        on_marks=_stated_marks(report, findings),
        named=named,
        remarks=list(filter(None, [pairs_that_may_touch(report)])),
        live=live,
        stacked=True if live else None,
        heading=f"{VERDICT_WORDS[report.verdict]}: {unanswered(report)}" if report.unanswered else "",
    )


def _marks(report: Report, findings: Iterable[Finding]) -> tuple[dict[int, str], dict[int, str], set[int]]:
    """Return what is said of each row of the placements, the gravest of it, and the rows whose text begins with a pair.

    Each rule speaks once. A pair's text names both parts, so that each shows its neighbour.
    """
    rows = RowsOfSubjects(report.board)
    said: dict[int, dict[str, str]] = {}
    grades: dict[int, str] = {}
    named: set[int] = set()
    for finding in findings:
        pair = finding.subject.kind == "pair"
        for row in rows.of_subject(finding.subject) or _marks_of_side(report, finding):
            if pair and row not in said:
                named.add(row)
            said.setdefault(row, {}).setdefault(finding.rule, finding.message if pair else finding.text)
            grades[row] = max(grades.get(row, "warn"), finding.outcome, key=_ORDER.__getitem__)
    return {row: "; ".join(texts.values()) for row, texts in said.items()}, grades, named


def _stated_marks(report: Report, findings: Iterable[Finding]) -> dict[str, str]:
    """Return what is said of the marks that board.toml states and no row does, by name."""
    marks = [m for m in report.session.shared(certain_marks) if m.row < 0]
    said: dict[str, dict[str, str]] = {}
    for finding in findings:
        subject = finding.subject
        of_side = subject.ref is None and any(fact.name in _ON_MARKS for fact in finding.facts)
        for mark in marks:
            if mark.name == subject.ref or (of_side and str(mark.side) == subject.side):
                said.setdefault(mark.name, {}).setdefault(finding.rule, finding.text)
    return {name: "; ".join(texts.values()) for name, texts in said.items()}


def _marks_of_side(report: Report, finding: Finding) -> list[int]:
    """Return the marks of the side that a rule on its marks objects to."""
    if not any(fact.name in _ON_MARKS for fact in finding.facts):
        return []
    placements = report.board.placements
    marks = (placements.kind == Kind.FIDUCIAL) & (placements.side == _SIDES.get(finding.subject.side or "", -1))
    return list(map(int, marks.nonzero()[0]))


def _widest_strip(report: Report) -> tuple[float | None, bool | None]:
    """Return the widest strip that a machine keeps for its conveyor, and how the board travels through that machine."""
    if report.line is None or report.board.outline is None:
        return None, None
    strips = [
        (strip, index)
        for index, machine in enumerate(report.line.machines)
        for strip in (machine.board.edge_clearance_top, machine.board.edge_clearance_bottom)
        if strip is not None
    ]
    if not strips:
        return None, None
    strip, index = max(strips, key=lambda s: (s[0], -s[1]))
    return strip, report.session.shared(travels)[index].turned
