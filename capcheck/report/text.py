"""The report as text for the desk: the verdict, what stops it, what is close, what is unknown, what was assumed."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from capcheck.engine.finding import Tightest
from capcheck.model import Board, Kind
from capcheck.refs import shortened
from capcheck.report.groups import Gap, Group, decided_groups, gaps
from capcheck.report.model import CAUTION, Report
from capcheck.units import LENGTH, NUMBER, show

WIDTH_WHEN_PIPED: Final = 120
_MOST_LINES: Final = 12
_WORDS: Final = {"fail": "FAIL", "warn": "WARN", "pass": "PASS"}


@dataclass(frozen=True, slots=True)
class Line:
    """One line of the report, with the style it is printed in: a verdict's word, ``head``, ``dim`` or nothing."""

    text: str
    style: str = ""


def render(report: Report, *, width: int = WIDTH_WHEN_PIPED, full: bool = False) -> list[Line]:
    """Return the lines of the report, wrapped at *width*. With *full* no list is cut short."""
    most = 10**9 if full else _MOST_LINES
    lines: list[Line] = [*_head(report)]
    groups = decided_groups([f for f in report.findings if not f.waived])
    lines += _groups("What fails", [g for g in groups if g.outcome == "fail"], width, most)
    lines += _groups("What to look at", [g for g in groups if g.outcome == "warn"], width, most)
    lines += _gaps(report, width, most)
    lines += _closest(report, width, most)
    lines += _left_over(report, width)
    lines += _notes(report, width, most)
    lines += [Line(""), *(Line(text, "dim") for text in wrapped(CAUTION, width))]
    lines += [Line(count_line(report), report.verdict)]
    return lines


def count_line(report: Report) -> str:
    """Return the last line: the verdict and every count."""
    totals = report.totals
    waived = f", {totals.waived} waived" if totals.waived else ""
    return (
        f"{_WORDS[report.verdict]}: {totals.failed} fail, {totals.warned} warn ({totals.undecided} of them undecided), "
        f"{totals.passed} pass{waived}"
    )


def wrapped(text: str, width: int, first: str = "", rest: str = "") -> list[str]:
    """Return *text* in lines of at most *width*, the first and the others indented as given."""
    return textwrap.wrap(
        text,
        width,
        initial_indent=first,
        subsequent_indent=rest or first,
        break_long_words=False,
        break_on_hyphens=False,
    ) or [first.rstrip()]


def size_of(board: Board) -> str:
    """Return the board's size for a reader."""
    size = board.size
    if not size.length.value.is_known or not size.width.value.is_known:
        return "size unknown"
    numbers = [show(m.low, m.high, LENGTH).removesuffix(" mm") for m in (size.length, size.width)]
    thick = f", {show(size.thickness.low, size.thickness.high, LENGTH)} thick" if size.thickness.value.is_known else ""
    return f"{' × '.join(numbers)} mm{thick}"


def _head(report: Report) -> Iterator[Line]:
    board, line = report.board, report.line
    on = f" on {line.name}" if line else ", no line given"
    yield Line(f"{_WORDS[report.verdict]}  {board.name}{on}", report.verdict)
    placements = board.placements
    counts = f"{int(placements.is_part.sum())} parts to place"
    bottom = int((placements.is_part & (placements.side == 1)).sum())
    if bottom:
        counts += f" ({bottom} on the bottom)"
    yield Line(f"      {counts}, board {size_of(board)}")
    if line:
        yield Line(f"      machines: {', '.join(m.name for m in line.machines)}")


def _groups(title: str, groups: list[Group], width: int, most: int) -> Iterator[Line]:
    if not groups:
        return
    yield Line("")
    yield Line(title, "head")
    rules: dict[str, list[Group]] = {}
    for group in groups:
        rules.setdefault(group.rule, []).append(group)
    for rule, same in rules.items():
        yield Line(f"  {rule}: {same[0].title}", same[0].outcome)
        for group in same[:most]:
            label = f" ({group.label})" if group.label and group.label not in group.text else ""
            margin = f" [margin {group.margin}]" if group.margin and group.outcome == "fail" else ""
            lead = "" if group.names_itself else f"{group.refs}{label}: "
            yield from (Line(t) for t in wrapped(f"{lead}{group.text}{margin}", width, "    ", "      "))
        if len(same) > most:
            refs = shortened(tuple(s for g in same[most:] for s in g.subjects), 6)
            yield Line(f"    and {len(same) - most} more of the kind: {refs}")
        yield from (Line(t, "dim") for t in wrapped(f"→ {same[0].remedy}", width, "    ", "      "))


def _gaps(report: Report, width: int, most: int) -> Iterator[Line]:
    found = gaps([f for f in report.findings if not f.waived])
    if not found:
        return
    yield Line("")
    yield Line("Not decided, for want of data", "head")
    for gap in found[:most]:
        yield from _gap(gap, width)
    if len(found) > most:
        refs = shortened(tuple(s for g in found[most:] for s in g.subjects), 6)
        yield Line(f"  and {len(found) - most} more gaps: {refs}")


def _gap(gap: Gap, width: int) -> Iterator[Line]:
    own = [(name, value) for name, value in gap.missing if not name.startswith(("head.", "machine."))] or gap.missing
    unknown = [_plain(name) for name, value in own if value == "unknown"]
    facts = [f"{_plain(name)} is {value}" for name, value in own if value != "unknown"]
    if unknown:
        facts.append(f"not known: {', '.join(unknown)}")
    label = f" ({gap.label})" if gap.label else ""
    yield from (Line(t) for t in wrapped(f"{gap.refs}{label}: {'; '.join(facts)}", width, "  ", "    "))
    yield from (Line(t, "dim") for t in wrapped(f"→ undecided: {', '.join(gap.rules)}", width, "    ", "      "))


def _plain(fact: str) -> str:
    """Return the name of a fact without its scope, in words: ``lead style``."""
    return fact.split(".", 1)[1].replace("_", " ")


def _closest(report: Report, width: int, most: int) -> Iterator[Line]:
    """Yield the tightest margin of each limit that has a dimension; counts and flags have no distance."""
    tight = [t for t in report.answers.tightest if t.margin.dimension is not NUMBER]
    if not tight:
        return
    yield Line("")
    yield Line("Closest to the limits, among what passes", "head")
    best: dict[str, str] = {}
    for item in sorted(tight, key=_relative):
        values = " and ".join(f"{_plain(v.name)} {v}" for v in item.facts[:2])
        best.setdefault(item.rule, f"{item.rule}: {item.subject}, margin {item.margin} ({values})")
    for text in list(best.values())[:most]:
        yield from (Line(t) for t in wrapped(text, width, "  ", "    "))


def _relative(item: Tightest) -> float:
    """Return the margin as a share of the limit's size: how close it is, whatever the unit."""
    sizes = [abs(v.high) for v in item.facts if v.high is not None and abs(v.high) < float("inf")]
    return item.margin.low / max([*sizes, 1e-9])


def _left_over(report: Report, width: int) -> Iterator[Line]:
    board = report.board
    mounting = [body.mounting for body in board.bodies]
    placements = board.placements
    by_hand = [
        placements.ref[row]
        for row in placements.is_part.nonzero()[0].tolist()
        if placements.part_type[row] >= 0 and mounting[int(placements.part_type[row])] == "through hole"
    ]
    empty = [placements.ref[r] for r in ((placements.kind == Kind.PART) & ~placements.fitted).nonzero()[0].tolist()]
    if not by_hand and not empty:
        return
    yield Line("")
    yield Line("Not for the placement heads", "head")
    if by_hand:
        text = f"leads through holes, by hand or odd-form: {shortened(by_hand)} ({len(by_hand)})"
        yield from (Line(t) for t in wrapped(text, width, "  ", "    "))
    if empty:
        text = f"not fitted: {shortened(empty)} ({len(empty)})"
        yield from (Line(t) for t in wrapped(text, width, "  ", "    "))


def _notes(report: Report, width: int, most: int) -> Iterator[Line]:
    if not report.notes:
        return
    yield Line("")
    yield Line("Inferred and noted", "head")
    for note in report.notes[:most]:
        place = "" if note.file is None else f"{base_name(note.file)}{f':{note.row}' if note.row else ''}: "
        yield from (Line(t) for t in wrapped(f"{place}{note.message}", width, "  ", "    "))
    if len(report.notes) > most:
        yield Line(f"  and {len(report.notes) - most} more notes (see: capcheck read)")


def base_name(path: str) -> str:
    """Return the last part of a path: reports are read beside the files."""
    return path.rsplit("/", 1)[-1]
