"""Two revisions compared, in Markdown for a pull request: never more than 60 KB."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from capcheck.lexicon import cautions
from capcheck.report.markdown_text import code, escaped
from capcheck.report.revisions.causes import (
    Cause,
    Section,
    data_sections,
    finding_sections,
    gap_lines,
    headline_of_difference,
    uncertain_lines,
)
from capcheck.report.styled_lines import ALL
from capcheck.revisions import Comparison
from capcheck.values import cut

_MOST_BYTES: Final = 58_000
"""Below the 65,536 characters that forges take for a comment, with room for a frame around it."""
_MOST_LINES: Final = 20
_MOST_REFS: Final = 12
_MOST_CELL: Final = 400


def difference_markdown(comparison: Comparison, *, full: bool) -> str:
    """Return the comparison; with *full* lists are cut short only where there is no room for them."""
    found = comparison.findings
    data = comparison.data
    counts = f"{len(found.new)} new, {len(found.worse)} worse, {len(found.gone)} gone, {len(found.unchanged)} unchanged"
    lines = [
        f"## {escaped(cut(comparison.old.name, _MOST_CELL))} → {escaped(cut(comparison.new.name, _MOST_CELL))}",
        "",
        f"**{escaped(headline_of_difference(comparison))}**; findings: {counts}.",
    ]
    end = f"\n*{escaped(cautions())}*\n"
    left = _MOST_BYTES - sum(len(line.encode()) + 1 for line in lines) - len(end.encode())
    others = (
        ("Stands on inference", [] if data is None else uncertain_lines(data)),
        ("Not compared, or not like with like", gap_lines(comparison)),
    )
    sections = [*([] if data is None else data_sections(data)), *finding_sections(comparison, full=full)]
    sections += [Section(title, tuple(Cause((), text) for text in told)) for title, told in others if told]
    for section in sections:
        for line in _listed(section, ALL if full else _MOST_LINES):
            left -= len(line.encode()) + 1
            if left < 0:
                return "\n".join([*lines, "", "More than there is room for: see capcheck diff."]) + "\n" + end
            lines.append(line)
    return "\n".join(lines) + "\n" + end


def _listed(section: Section, most: int) -> Iterator[str]:
    yield from ("", f"### {section.title}", "")
    yield from map(_item, section.causes[:most])
    if (left := len(section.causes) - most) > 0:
        yield f"- and {left} more"


def _item(cause: Cause) -> str:
    said = escaped(cut(cause.told(_MOST_REFS), _MOST_CELL))
    return f"- **{cause.outcome}** {code(cause.rule)} {said}" if cause.outcome else f"- {said}"
