"""The report as Markdown for a pull request: the first screen, then every finding folded away; at most 60 KB."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from msgspec import Struct

from capcheck.checking import Report
from capcheck.lexicon import cautions
from capcheck.report.first_screen import first_screen
from capcheck.report.groups import decided_groups, gaps
from capcheck.report.markdown_text import code, escaped
from capcheck.report.rows_of_gaps import lacking_by_kind
from capcheck.report.sentences import VERDICT_WORDS, accepted, base_name, closest, in_short, noted, size_of
from capcheck.values import cut, shortened

HELP: Final = "a pull request, always under 60 KB"

_MOST_BYTES: Final = 58_000
"""Below the 65,536 characters that forges take for a comment, with room for a frame around it."""
_MOST_CELL: Final = 240
_MOST_REFS: Final = 12
_NEAR: Final = 0.05
"""Share of its limit from which on a margin tells a reader nothing."""


class _Table(Struct, frozen=True):
    """A section: its title, the head of its table and its rows, the gravest first; *words* names what a row is."""

    title: str
    head: tuple[str, ...]
    rows: Sequence[tuple[str, ...]]
    words: str


def render(report: Report) -> str:
    """Return the summary; tables that would make it too long end with the number of lines left out."""
    totals, screen = report.totals, first_screen(report)
    end = f"\n</details>\n\n*{escaped(cautions())}*\n"
    lines = [
        f"## {VERDICT_WORDS[report.verdict]}: {_text(screen.title)}",
        "",
        f"**{escaped(screen.verdict)}**: {escaped(screen.numbers)}.",
        "",
        escaped(" ".join(in_short(report))),
        "",
        "| fail | warn | of them undecided | waiting | pass | waived | parts to place | board |",
        "|---:|---:|---:|---:|---:|---:|---:|---|",
        (
            f"| {totals.failed} | {totals.warned} | {totals.undecided} | {totals.waiting} | {totals.passed} "
            f"| {totals.waived} | {int(report.board.placements.is_part.sum())} | {escaped(size_of(report.board))} |"
        ),
    ]
    if report.line:
        lines += ["", f"Machines: {_text(', '.join(m.name for m in report.line.machines))}"]
    for section in screen.sections:
        lines += ["", f"### {_text(section.title)}", "", *(f"- {escaped(row)}" for row in section.rows)]
    lines += ["", f"Picture of the board: {code('--format svg')}; page with picture and lists: {code('--format html')}"]
    lines += ["", "<details><summary>Every finding, with its rule and margin; notes, remedies, files</summary>"]
    left = _MOST_BYTES - sum(len(line.encode()) + 1 for line in lines) - len(end.encode())
    for table in _tables(report):
        made, left = _fitted(table, left)
        lines += made
    return "\n".join(lines) + "\n" + end


def _fitted(table: _Table, left: int) -> tuple[list[str], int]:
    """Return as many rows of a table as there is room for, and the room that is left."""
    if not table.rows:
        return [], left
    made = ["", f"### {table.title}", "", f"| {' | '.join(table.head)} |", "|" + "---|" * len(table.head)]
    reserve = 120
    used = sum(len(line.encode()) + 1 for line in made) + reserve
    if used > left:
        return [], left
    shown = 0
    for row in table.rows:
        line = f"| {' | '.join(row)} |"
        size = len(line.encode()) + 1
        if used + size > left:
            break
        made.append(line)
        used += size
        shown += 1
    if shown < len(table.rows):
        made += ["", f"{len(table.rows) - shown} more {table.words}: see the full report."]
    return made, left - used + (reserve if shown == len(table.rows) else 0)


def _tables(report: Report) -> Iterator[_Table]:
    live = [f for f in report.findings if not f.waived]
    groups = decided_groups(live, report.line)
    for title, outcome in (("What fails", "fail"), ("What to look at", "warn")):
        rows = [
            (code(g.rule), _refs(g.subjects), _label(g.label, g.text), _text(g.text), g.margin)
            for g in groups
            if g.outcome == outcome
        ]
        yield _Table(title, ("rule", "what", "part", "finding", "margin"), rows, "lines")
    near = [
        (code(c.tightest.rule), _text(str(c.tightest.subject)), escaped(str(c.tightest.margin)), _text(c.values))
        for c in closest(report)
        if c.share <= _NEAR
    ]
    yield _Table("Tightest margins (passing)", ("rule", "what", "margin", "values"), near, "limits")
    open_ = [
        (_text(lack), _refs(refs), ", ".join(map(code, rules))) for lack, refs, rules in lacking_by_kind(gaps(live))
    ]
    yield _Table("Undecided: data missing", ("missing or too wide", "of", "rules"), open_, "gaps")
    waived = [(code(rule), _text(subjects), _text(why)) for rule, subjects, why in accepted(report)]
    yield _Table("Accepted by a waiver", ("rule", "what", "reason, who, until"), waived, "lines")
    remedies = {(g.rule, g.remedy) for g in groups}
    yield _Table("What to do", ("rule", "remedy"), [(code(r), _text(t)) for r, t in sorted(remedies)], "rules")
    notes = [(_text(noted(note)),) for note in report.notes]
    yield _Table("Inferred and noted", ("note",), notes, "notes")
    inputs = [(_text(f.role), _text(base_name(f.path)), code(f.sha256)) for f in report.inputs]
    yield _Table("Inputs", ("role", "file", "SHA-256"), inputs, "files")


def _text(text: str) -> str:
    return escaped(cut(text, _MOST_CELL))


def _label(label: str, text: str) -> str:
    return "" if label in text else _text(label)


def _refs(subjects: Sequence[str]) -> str:
    return _text(shortened(tuple(cut(s, _MOST_CELL // 2) for s in subjects), _MOST_REFS))
