"""Where in the files a finding lies, for formats that want a file and a row for each."""

from __future__ import annotations

from typing import Final

from capcheck.checking import Report
from capcheck.engine import Finding
from capcheck.values import Place

_ROLES: Final = {
    "line": ("line", "machine"),
    "machine": ("machine", "line"),
    "board": ("board", "outline", "placements"),
    "bom line": ("bom", "placements"),
    "data": ("placements", "bom"),
}
"""The roles of the files that a finding without a row is about, by its subject; else the placement file."""


def place_in_files(report: Report, finding: Finding) -> Place:
    """Return the row of the finding, else of the first fact that has one, else the file that its subject comes from.

    A board is always read from some file, so there is one; its row is left open where no row says anything.
    """
    if finding.place is not None:
        return finding.place
    sources = [value.source for value in finding.facts if isinstance(value.source, Place)]
    if sources:
        return next((place for place in sources if place.row), sources[0])
    for role in (*_ROLES.get(finding.subject.kind.split(" on ")[0], ()), "placements"):
        for file in report.inputs:
            if file.role == role:
                return Place(file.path)
    return Place(report.inputs[0].path)
