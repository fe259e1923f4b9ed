"""Two revisions compared, for the desk."""

from __future__ import annotations

from collections.abc import Iterator

from capcheck.lexicon import cautions
from capcheck.report.revisions.causes import (
    Cause,
    Section,
    data_sections,
    finding_sections,
    gap_lines,
    headline_of_difference,
    uncertain_lines,
)
from capcheck.report.styled_lines import ALL, Line, wrapped
from capcheck.revisions import Comparison
from capcheck.values import visible

_MOST_LINES = 12
_MOST_REFS = 8


def styled_difference(comparison: Comparison, *, width: int, full: bool) -> list[Line]:
    """Return the lines: what changed in the data, what that stands on, then the findings. The last line counts them."""
    return [Line(visible(line.text), line.style) for line in _lines(comparison, width, full=full)]


def brief_difference(comparison: Comparison, *, width: int) -> list[Line]:
    """Return how a comparison ended: what fails that is new or worse, and the counts."""
    lines = [
        Line(text, "head") for text in wrapped(f"{comparison.old.name} → {comparison.new.name}", width, "", "    ")
    ]
    for section in finding_sections(comparison, full=False):
        if section.key in {"new", "worse"}:
            failing = tuple(cause for cause in section.causes if cause.outcome == "fail")
            lines += [line for cause in failing for line in _told(cause, width, ALL)]
    lines += [Line(text, "dim") for text in wrapped(cautions(), width)]
    return [Line(visible(line.text), line.style) for line in (*lines, _counts(comparison))]


def _lines(comparison: Comparison, width: int, *, full: bool) -> Iterator[Line]:
    most = ALL if full else _MOST_LINES
    old, new, data = comparison.old, comparison.new, comparison.data
    yield Line(next((r.board.name for r in (new, old) if r.board is not None), "Board"), "head")
    yield from (Line(text) for text in wrapped(f"{old.name} → {new.name}", width, "  ", "    "))
    yield from (Line(text) for text in wrapped(headline_of_difference(comparison), width, "  ", "    "))
    yield Line("")
    for section in [] if data is None else data_sections(data):
        yield from _section(section, width, most)
    for title, lines in (
        ("Stands on inference", [] if data is None else uncertain_lines(data)),
        ("Not compared, or not like with like", gap_lines(comparison)),
    ):
        if lines:
            yield Line(title, "head")
            yield from (Line(text) for line in lines for text in wrapped(line, width, "  ", "    "))
            yield Line("")
    for section in finding_sections(comparison, full=full):
        yield from _section(section, width, most)
    yield from (Line(text, "dim") for text in wrapped(cautions(), width))
    yield _counts(comparison)


def _counts(comparison: Comparison) -> Line:
    found = comparison.findings
    counts = {"new": found.new, "worse": found.worse, "gone": found.gone, "unchanged": found.unchanged}
    return Line(", ".join(f"{len(listed)} {name}" for name, listed in counts.items()))


def _section(section: Section, width: int, most: int) -> Iterator[Line]:
    yield Line(section.title, "head")
    refs = ALL if most == ALL else _MOST_REFS
    for cause in section.causes[:most]:
        yield from _told(cause, width, refs)
    if (left := len(section.causes) - most) > 0:
        yield Line(f"  and {left} more (--full shows all)", "dim")
    yield Line("")


def _told(cause: Cause, width: int, refs: int) -> Iterator[Line]:
    head = f"  {cause.outcome:9}  {cause.rule}  " if cause.outcome else "  "
    yield from (Line(text, cause.outcome) for text in wrapped(cause.told(refs), width, head, "    "))
