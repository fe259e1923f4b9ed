"""Two revisions compared, as one HTML file: both pictures over one another, and every change beside them."""

from __future__ import annotations

import base64
import hashlib
from typing import Final

from capcheck.lexicon import cautions
from capcheck.report.page import environment_of, template_text
from capcheck.report.picture import OVERLAY_STYLE, PICTURE_STYLE, Drawn, overlay_svg
from capcheck.report.revisions.causes import (
    Cause,
    Section,
    data_sections,
    finding_sections,
    gap_lines,
    headline_of_difference,
    uncertain_lines,
)
from capcheck.revisions import Comparison, in_later_frame
from capcheck.values import shortened
from capcheck.version import __version__

_PACKAGE: Final = "capcheck.report.revisions"
_SCRIPTS: Final = (("picture.js", "capcheck.report.page"), ("difference.js", _PACKAGE))
"""One script: how the picture of a report is turned and zoomed, and what is chosen in this one."""
_MOST_REFS: Final = 60


DIFFERENCE_STYLES: Final = (PICTURE_STYLE, OVERLAY_STYLE)
"""The look of the picture of a difference, for a page that has it in a sheet of its own."""


def difference_svg(comparison: Comparison) -> str:
    """Return both boards over one another, what changed ringed and numbered; nothing where a report holds none."""
    return _picture(comparison, [] if comparison.data is None else data_sections(comparison.data))


def difference_sections(comparison: Comparison) -> list[tuple[str, int, tuple[Cause, ...]]]:
    """Return what changed in the data as heading, number of its first line as the picture has it, and lines.

    After it come the findings that are new, worse or gone, and what was inferred or could not be compared.
    """
    data = comparison.data
    found = [(one.title, first, one.causes) for one, first in _numbered([] if data is None else data_sections(data))]
    found += [(f"Findings: {one.title.lower()}", 1, one.causes) for one in finding_sections(comparison, full=False)]
    told = {
        "Stands on inference": [] if data is None else uncertain_lines(data),
        "Not compared, or not like with like": gap_lines(comparison),
    }
    return found + [(title, 1, tuple(Cause((), line) for line in lines)) for title, lines in told.items() if lines]


def difference_page(comparison: Comparison) -> str:
    """Return the page. Raises :class:`~capcheck.values.InputError` where the template library is not installed."""
    environment = environment_of(_PACKAGE)
    environment.filters.update(shortened=lambda refs: shortened(refs, _MOST_REFS))
    data, found = comparison.data, comparison.findings
    sections = [] if data is None else data_sections(data)
    script = "".join(template_text(name, package) for name, package in _SCRIPTS)
    script = f'"use strict";\n(() => {{\n{script}}})();\n'
    picture = _picture(comparison, sections)
    return environment.get_template("difference.html").render(
        comparison=comparison,
        name=next((r.board.name for r in (comparison.new, comparison.old) if r.board is not None), "Board"),
        headline=headline_of_difference(comparison),
        counts=[("new", found.new), ("worse", found.worse), ("gone", found.gone), ("unchanged", found.unchanged)],
        numbered=_numbered(sections),
        findings=finding_sections(comparison, full=True),
        uncertain=[] if data is None else uncertain_lines(data),
        gaps=gap_lines(comparison),
        picture=picture,
        two_sides='data-side="bottom"' in picture,
        cautions=cautions(),
        version=__version__,
        style=template_text("report.css") + template_text("difference.css", _PACKAGE),
        script=script if picture else "",
        script_hash=base64.b64encode(hashlib.sha256(script.encode()).digest()).decode(),
    )


def _numbered(sections: list[Section]) -> list[tuple[Section, int]]:
    """Return each section with the number of its first line: numbers run through, as the flags of the picture do."""
    found, first = [], 1
    for section in sections:
        found.append((section, first))
        first += len(section.causes)
    return found


def _picture(comparison: Comparison, sections: list[Section]) -> str:
    """Return both boards over one another; nothing where a report holds none."""
    data, old, new = comparison.data, comparison.old.board, comparison.new.board
    if data is None or old is None or new is None:
        return ""
    numbers: dict[int, int] = {}
    for section, first in _numbered(sections):
        for number, cause in enumerate(section.causes, first):
            for change in cause.changes:
                numbers.setdefault(change, number)
    drawn = {
        key: Drawn(
            -1 if change.old is None else change.old.index,
            -1 if change.new is None else change.new.index,
            numbers.get(key, 0),
        )
        for key, change in enumerate(data.parts)
    }
    outlines = {"length", "width", "contour", "cut-outs"}
    changed = any(change.what in outlines for change in data.board)
    return overlay_svg(in_later_frame(old, data.motion), new, drawn, contour_changed=changed)
