"""The report as text for the desk: the verdict, what stops it, what is close, what is unknown, what was assumed."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from msgspec import Struct

from capcheck.checking import Report
from capcheck.lexicon import cautions, sentence
from capcheck.report.groups import Gap, Group, decided_groups, gaps
from capcheck.report.sentences import (
    VERDICT_WORDS,
    accepted,
    by_hand,
    closest,
    count_line,
    in_short,
    lacking,
    not_fitted,
    noted,
    size_of,
)
from capcheck.report.styled_lines import ALL, Line, wrapped
from capcheck.values import shortened, visible

_MOST_LINES: Final = 12
_MOST_REFS: Final = 10


class _Page(Struct, frozen=True):
    """How wide lines are, and how many lines of a list and references of a line are shown."""

    width: int
    lines: int
    refs: int

    def wrapped(self, text: str, first: str = "  ", rest: str = "    ", style: str = "") -> Iterator[Line]:
        return (Line(t, style) for t in wrapped(text, self.width, first, rest))


def styled_report(report: Report, *, width: int, full: bool) -> list[Line]:
    """Return the lines of the report, wrapped at *width*. With *full* no list is cut short."""
    page = _Page(width, ALL if full else _MOST_LINES, ALL if full else _MOST_REFS)
    groups = decided_groups([f for f in report.findings if not f.waived])
    lines = [
        *_head(report, page),
        *_groups("What fails", [g for g in groups if g.outcome == "fail"], page),
        *_groups("What to look at", [g for g in groups if g.outcome == "warn"], page),
        *_closest(report, page),
        *_gaps(report, page),
        *_accepted(report, page),
        *_left_over(report, page),
        *_notes(report, page),
        Line(""),
        *page.wrapped(cautions(), "", "", "dim"),
        Line(count_line(report), report.verdict),
    ]
    return [Line(visible(line.text), line.style) for line in lines]


def _head(report: Report, page: _Page) -> Iterator[Line]:
    board, line = report.board, report.line
    on = f" on {line.name}" if line else ", no line given"
    yield from page.wrapped(f"{VERDICT_WORDS[report.verdict]}  {board.name}{on}", "", "      ", report.verdict)
    placements = board.placements
    counts = f"{int(placements.is_part.sum())} parts to place"
    bottom = int((placements.is_part & (placements.side == 1)).sum())
    if bottom:
        counts += f" ({bottom} on the bottom)"
    panel = f", judged {sentence(report.in_panel.said)}" if report.in_panel else ""
    yield from page.wrapped(f"{counts}, board {size_of(board)}{panel}", "      ", "      ")
    if line:
        yield from page.wrapped(f"machines: {', '.join(m.name for m in line.machines)}", "      ", "        ")
    yield from page.wrapped(" ".join(in_short(report)), "      ", "      ")


def _groups(title: str, groups: list[Group], page: _Page) -> Iterator[Line]:
    if not groups:
        return
    yield Line("")
    yield Line(title, "head")
    rules: dict[str, list[Group]] = {}
    for group in groups:
        rules.setdefault(group.rule, []).append(group)
    for rule, same in rules.items():
        yield from page.wrapped(f"{rule}: {same[0].title}", style=same[0].outcome)
        for group in same[: page.lines]:
            yield from page.wrapped(_group_text(group, page.refs), "    ", "      ")
        if len(same) > page.lines:
            refs = shortened(tuple(s for g in same[page.lines :] for s in g.subjects), 6)
            yield from page.wrapped(f"and {len(same) - page.lines} more of the kind: {refs}", "    ", "      ")
        yield from page.wrapped(f"→ {same[0].remedy}", "    ", "      ", "dim")


def _group_text(group: Group, refs: int) -> str:
    label = f" ({group.label})" if group.label and group.label not in group.text else ""
    margin = f" [margin {group.margin}]" if group.margin and group.outcome == "fail" else ""
    lead = "" if group.names_itself else f"{group.refs(refs)}{label}: "
    since = f" [{group.since}]" if group.since else ""
    return f"{lead}{group.text}{margin}{since}"


def _closest(report: Report, page: _Page) -> Iterator[Line]:
    found = closest(report)
    if not found:
        return
    yield Line("")
    yield Line("Tightest margins (passing)", "head")
    for item in found[: page.lines]:
        yield from page.wrapped(f"{item.tightest.rule}: {item.text}")
    if len(found) > page.lines:
        yield Line(f"  and {_more(len(found) - page.lines, 'limit')}, with more room")


def _gaps(report: Report, page: _Page) -> Iterator[Line]:
    found = gaps([f for f in report.findings if not f.waived])
    if not found:
        return
    yield Line("")
    yield Line("Undecided: data missing", "head")
    for gap in found[: page.lines]:
        yield from _gap(gap, page)
    if len(found) > page.lines:
        refs = shortened(tuple(s for g in found[page.lines :] for s in g.subjects), 6)
        yield from page.wrapped(f"and {_more(len(found) - page.lines, 'gap')}: {refs}")


def _gap(gap: Gap, page: _Page) -> Iterator[Line]:
    label = f" ({gap.label})" if gap.label else ""
    yield from page.wrapped(f"{gap.refs(page.refs)}{label}: {lacking(gap)}")
    yield from page.wrapped(f"→ undecided: {', '.join(gap.rules)}", "    ", "      ", "dim")


def _accepted(report: Report, page: _Page) -> Iterator[Line]:
    found = accepted(report)
    if found:
        yield Line("")
        yield Line("Accepted by a waiver", "head")
    for rule, subjects, why in found[: page.lines]:
        yield from page.wrapped(f"{rule}: {subjects}: {why}")
    if len(found) > page.lines:
        yield Line(f"  and {_more(len(found) - page.lines, 'waived finding')}")


def _left_over(report: Report, page: _Page) -> Iterator[Line]:
    hand, empty = by_hand(report.board), not_fitted(report.board)
    if not hand and not empty:
        return
    yield Line("")
    yield Line("Not machine-placed", "head")
    for words, refs in (("through-hole, by hand or odd-form", hand), ("not fitted", empty)):
        if refs:
            yield from page.wrapped(f"{words}: {shortened(refs, page.refs)} ({len(refs)})")


def _notes(report: Report, page: _Page) -> Iterator[Line]:
    if not report.notes:
        return
    yield Line("")
    yield Line("Inferred and noted", "head")
    for note in report.notes[: page.lines]:
        yield from page.wrapped(noted(note))
    if len(report.notes) > page.lines:
        yield Line(f"  and {_more(len(report.notes) - page.lines, 'note')} (see: capcheck read)")


def _more(number: int, word: str) -> str:
    return f"{number} more {word}{'' if number == 1 else 's'}"
