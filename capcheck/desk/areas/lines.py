"""The verdict for each line of the shop, side by side: what stops it, what is missing, what goes by hand, how fast."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final, Literal

from msgspec import Struct

from capcheck.checking import Report
from capcheck.desk.areas.area import Area, Found, Seen
from capcheck.lexicon import sentence
from capcheck.report import case_in_words, cells_of, count_line, lacking_on
from capcheck.survey import Case, CauseKind, LineResult

Builds = Literal["builds", "builds if", "does not build", "not answered"]
_BUILDS: Final[dict[str, Builds]] = {
    "pass": "builds",
    "warn": "builds if",
    "fail": "does not build",
    "unanswered": "not answered",
}
_MOST: Final = 6


class Reason(Struct, frozen=True):
    """Why a board does not build, or what would have to be known: in words, with the parts it is about."""

    words: str
    refs: tuple[str, ...]
    remedy: str = ""


class OfLine(Struct, frozen=True):
    """A board on one line; counts are of parts, *proved* of those for which nothing is missing."""

    line: str
    builds: Builds
    parts: int
    proved: int
    stopped: int
    undecided: int
    by_hand: int
    slots: str
    cycle: str
    per_hour: str
    panel: str
    stops: tuple[Reason, ...]
    missing: tuple[Reason, ...]
    counts: str
    more: int = 0
    """How many further reasons there are."""


class Lines(Struct, frozen=True):
    """The verdict on every line; *best* is the number of the one that suits the board best."""

    lines: tuple[OfLine, ...]
    best: int


class Shown(Struct, frozen=True):
    """The same, with the number of the line that is looked at."""

    lines: tuple[OfLine, ...]
    best: int
    chosen: int


def made(found: Found) -> Lines:
    """Return the board on each line."""
    each = zip(found.lines, found.results, found.reports, strict=True) if found.lines else ()
    return Lines(tuple(_of_line(line, result, report) for line, result, report in each), found.best)


def _of_line(line: str, result: LineResult, report: Report) -> OfLine:
    stops = [case for case in result.cases if case.cause.kind in {CauseKind.STOPS, CauseKind.UNANSWERED}]
    panel = [case for case in result.cases if case.cause.kind is CauseKind.PANEL]
    asked = (*_reasons(panel), *(Reason(word, refs) for word, refs in lacking_on(report)))
    slots, cycle, per_hour = cells_of(result)[4:]
    return OfLine(
        line,
        _BUILDS[result.verdict],
        result.parts,
        result.proved,
        result.stopped,
        result.undecided,
        result.by_hand,
        slots,
        cycle,
        per_hour,
        "" if result.panel is None else sentence(result.panel),
        _reasons(stops),
        asked[:_MOST],
        count_line(report),
        max(0, len(stops) - _MOST) + max(0, len(asked) - _MOST),
    )


def _reasons(cases: Sequence[Case]) -> tuple[Reason, ...]:
    return tuple(Reason(case_in_words(case), case.refs, case.cause.remedy) for case in cases[:_MOST])


def shown(seen: Seen, data: Lines | None) -> Shown | None:
    """Return the lines with the one that is looked at."""
    if data is None:
        return None
    chosen = data.best if seen.line is None or not 0 <= seen.line < len(data.lines) else seen.line
    return Shown(data.lines, data.best, chosen)


AREA: Final = Area("lines", "Verdict on each line", shown, Lines, made, ("checked", "planned"))
