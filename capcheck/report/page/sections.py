"""What the HTML page shows, as plain data for its template: findings by rule, gaps, the table of who takes what."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from itertools import count
from typing import Final

from msgspec import Struct, field

from capcheck.checking import Report
from capcheck.engine import FactValue, Finding, TypeTakers
from capcheck.lexicon import plain_fact
from capcheck.model import Board
from capcheck.report.groups import Gap, Group, decided_groups, gaps
from capcheck.report.picture import drawn_places
from capcheck.report.rows_of_findings import RowsOfSubjects
from capcheck.report.sentences import (
    base_name,
    body_in_words,
    is_fact_of_the_shop,
    lacking,
    scope_of,
    why_not,
)
from capcheck.values import cut, number_of, shortened

ALL: Final = 10**9
_MOST_FLAGS: Final = 40
_FLAGS_A_LINE: Final = 6
_MOST_SOURCES: Final = 4
_MOST_GAPS: Final = 40
_GAP: Final = "pair.gap"
_PAIR: Final = 2
_GRADE_ORDER: Final = ("open", "warn", "fail")


class FoundLine(Struct, frozen=True):
    """One line of the findings: its number, what it is about, what is said, and where each value comes from."""

    number: int
    grade: str
    refs: str
    label: str
    text: str
    margin: str
    values: tuple[str, ...]
    rows: tuple[int, ...]
    mark: str
    """How it stands to an earlier report: ``new`` or ``worse``, else empty."""
    undecided: tuple[str, ...] = ()
    gaps: tuple[tuple[int, int, str], ...] = ()
    """Of a finding on pairs: both rows and the gap between their bodies."""


class RuleBlock(Struct, frozen=True):
    """The lines of one rule, with what the rule says for itself."""

    rule: str
    title: str
    grade: str
    why: str
    remedy: str
    basis: str
    lines: tuple[FoundLine, ...]


class Marks(Struct, frozen=True):
    """What the picture shows: for rows of the placements a text, a grade and a number."""

    texts: dict[int, str] = field(default_factory=dict)
    grades: dict[int, str] = field(default_factory=dict)
    flags: dict[int, int] = field(default_factory=dict)


class Findings(Struct, frozen=True):
    """All that is not a pass: *decided* by rule, *open* gaps, *waived* with their reasons."""

    decided: tuple[RuleBlock, ...]
    open: tuple[FoundLine, ...]
    waived: tuple[tuple[Finding, tuple[int, ...]], ...]

    @property
    def lines(self) -> Iterator[FoundLine]:
        """Every numbered line, the gravest first."""
        for block in self.decided:
            yield from block.lines
        yield from self.open


def found(report: Report, rows: RowsOfSubjects) -> Findings:
    """Return the findings for the page, numbered through."""
    live = [f for f in report.findings if not f.waived]
    short = _short_paths(report)
    numbers = count(1)
    by_rule: dict[tuple[str, str], list[Group]] = {}
    for group in decided_groups(live, report.line):
        by_rule.setdefault((group.outcome, group.rule), []).append(group)
    rules = {rule.id: rule for rule in report.answers.rules}
    blocks = []
    for (outcome, rule), same in by_rule.items():
        lines = tuple(_line(group, next(numbers), rows, short) for group in same)
        known = rules.get(rule)
        blocks.append(
            RuleBlock(
                rule=rule,
                title=same[0].title,
                grade=outcome,
                why=known.why if known else "",
                remedy=same[0].remedy,
                basis=known.basis_in_full if known else "",
                lines=lines,
            )
        )
    open_ = tuple(_gap_line(gap, next(numbers), rows, short) for gap in gaps(live))
    waived = tuple((f, rows.of_subject(f.subject)) for f in report.findings if f.waived)
    return Findings(tuple(blocks), open_, waived)


_YES_OR_NO: Final = ("yes", "no")


def _line(group: Group, number: int, rows: RowsOfSubjects, short: Mapping[str, str]) -> FoundLine:
    # A fact that is a sentence is the finding itself, and so is one that is yes or no.
    said = {group.text, *_YES_OR_NO}
    told = [v for v in group.findings[0].facts if scope_of(v.name) != "data" and v.text not in said]
    return FoundLine(
        number=number,
        grade=group.outcome,
        refs=_refs(group.subjects),
        label=group.label if group.label not in group.text else "",
        text=group.text,
        margin=group.margin,
        values=_values(told, len(group.findings), short),
        rows=rows.of_findings(group.findings),
        mark=_mark(group.findings),
        gaps=tuple(_gaps(group.findings[:_MOST_GAPS], rows)),
    )


def _gaps(findings: Sequence[Finding], rows: RowsOfSubjects) -> Iterator[tuple[int, int, str]]:
    for finding in findings:
        between = next((value for value in finding.facts if value.name == _GAP), None)
        pair = rows.of_subject(finding.subject)
        if between is not None and len(pair) == _PAIR:
            yield pair[0], pair[1], str(between)


def _gap_line(gap: Gap, number: int, rows: RowsOfSubjects, short: Mapping[str, str]) -> FoundLine:
    missing = {name for name, _ in gap.missing if not is_fact_of_the_shop(name)}
    first = {v.name: v for f in gap.findings[:50] for v in f.facts if v.name in missing}
    told = [v for v in first.values() if v.source and str(v) != "unknown"]
    return FoundLine(
        number=number,
        grade="open",
        refs=_refs(gap.subjects),
        label=gap.label,
        text=lacking(gap),
        margin="",
        values=_values(told, len(gap.subjects), short),
        rows=rows.of_findings(gap.findings),
        mark=_mark(gap.findings),
        undecided=gap.rules,
    )


def _refs(subjects: Sequence[str]) -> str:
    return shortened(tuple(subjects), ALL)


def _mark(findings: Sequence[Finding]) -> str:
    marks = {f.baseline for f in findings}
    return next((mark for mark in ("worse", "new") if mark in marks), "")


def _short_paths(report: Report) -> dict[str, str]:
    """Return each input's path with its last part, the longest path first."""
    paths = sorted({f.path for f in report.inputs}, key=len, reverse=True)
    return {path: base_name(path) for path in paths if path != base_name(path)}


def _shortened_source(source: str, short: Mapping[str, str]) -> str:
    for path, name in short.items():
        source = source.replace(path, name)
    return source


def _values(values: Sequence[FactValue], alike: int, short: Mapping[str, str]) -> tuple[str, ...]:
    """Return each value with its source, as of the first of the findings that are alike."""
    sources = [f" ← {_shortened_source(str(v.source), short)}" if v.source else "" for v in values]
    told = [f"{plain_fact(v.name)} {v}{source}" for v, source in zip(values, sources, strict=True)]
    if alike > 1 and any(v.source for v in values):
        told.append("sources as of the first; each has its own row")
    return tuple(dict.fromkeys(told))


def marks_of(findings: Findings) -> Marks:
    """Return what the picture marks: each row by the gravest line about it, the first few lines with a flag."""
    marks = Marks()
    for line in findings.lines:
        said = f"{'undecided: ' if line.undecided else ''}{cut(line.text, 160)}"
        for place, row in enumerate(line.rows):
            if row in marks.texts:
                marks.texts[row] = cut(f"{marks.texts[row]}; {said}", 400)
                continue
            marks.texts[row] = said
            marks.grades[row] = line.grade
            if line.grade != "open" and place < _FLAGS_A_LINE and len(marks.flags) < _MOST_FLAGS:
                marks.flags[row] = line.number
    return marks


class TypeLine(Struct, frozen=True):
    """One type of part in the table of who takes what."""

    label: str
    body: str
    body_from: str
    refs: str
    rows: tuple[int, ...]
    state: str
    cells: tuple[tuple[str, str], ...]
    """For each head ``yes``, ``no`` or ``open``, and what stops it."""


_STATES: Final = {1: "yes", 0: "open", -1: "no"}


def type_lines(report: Report, labels: Sequence[str]) -> list[TypeLine]:
    """Return the table part type × head."""
    return [_type_line(report.board, taken, labels) for taken in report.takers]


def _type_line(board: Board, taken: TypeTakers, labels: Sequence[str]) -> TypeLine:
    body = board.bodies[taken.index] if taken.index >= 0 else None
    return TypeLine(
        label=labels[taken.index] if taken.index >= 0 else "no type",
        body=body_in_words(body) if body else "",
        body_from=body.body_from if body else "",
        refs=_refs(sorted((board.placements.ref[r] for r in taken.rows), key=number_of)),
        rows=taken.rows,
        state=_STATES[taken.state] if taken.on_heads else "hand",
        cells=tuple((_STATES[t.state], why_not(t)) for t in taken.takes),
    )


def type_labels(board: Board) -> list[str]:
    """Return what each type of part is called: its number, else value and footprint."""
    return [
        t.part_number or " ".join(piece for piece in (t.value, t.footprint) if piece) or "unnamed" for t in board.types
    ]


def page_data(report: Report, findings: Findings, types: Sequence[TypeLine]) -> dict[str, object]:
    """Return what the page's script works with.

    For each row of the placements its reference, the line of its type and its place in the drawing; for each finding
    its grade, its rows and the gaps that it is about; for each type which machine takes it (by its number, −1 where
    none is proved to, −2 by hand) and its greatest height (mm).
    """
    board = report.board
    of_row = [-1] * len(board.placements)
    for number, line in enumerate(types):
        for row in line.rows:
            of_row[row] = number
    data: dict[str, object] = {
        "refs": list(board.placements.ref),
        "types": of_row,
        "at": drawn_places(board),
        "lines": {line.number: _runs(line.rows) for line in findings.lines},
        "grades": {line.number: line.grade for line in findings.lines},
        "gaps": {line.number: line.gaps for line in findings.lines if line.gaps},
        "heights": [_height(board, taken) for taken in report.takers],
    }
    if report.line is not None:
        heads = [n for n, machine in enumerate(report.line.machines) for _ in machine.head]
        data["machines"] = [machine.name for machine in report.line.machines]
        data["taken"] = [_taken_by(taken, heads) for taken in report.takers]
    return data


def _taken_by(taken: TypeTakers, heads: Sequence[int]) -> int:
    if not taken.on_heads:
        return -2
    return next((heads[n] for n, take in enumerate(taken.takes) if take.state > 0), -1)


def _height(board: Board, taken: TypeTakers) -> float | None:
    if taken.index < 0:
        return None
    high = board.bodies[taken.index].height.value.high
    return round(high, 2) if math.isfinite(high) else None


def _runs(rows: Sequence[int]) -> list[int | list[int]]:
    """Return rising numbers with runs of three and more as [first, last]."""
    runs: list[list[int]] = []
    for row in rows:
        if runs and runs[-1][1] == row - 1:
            runs[-1][1] = row
        else:
            runs.append([row, row])
    short: list[int | list[int]] = []
    for first, last in runs:
        short += [[first, last]] if last > first + 1 else list(range(first, last + 1))
    return short
