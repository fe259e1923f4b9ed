"""Two revisions compared: what changed in the data, what became of the findings, and what could not be compared."""

from __future__ import annotations

import enum

from msgspec import Struct

from capcheck.revisions.data_changes import DataChanges, data_changes
from capcheck.revisions.sources import Revision
from capcheck.shop import Difference, difference, renamed


class Gap(enum.StrEnum):
    """What could not be compared, or not like with like."""

    DATA = "data"
    """A report that holds no parts."""
    CONTOUR = "contour"
    """One revision has no drawn outline: a report holds its box alone."""
    PANEL = "panel"
    """A report does not hold how the board is stepped."""
    LINE = "line"
    """The findings are those of two lines, or one of none."""


class Comparison(Struct, frozen=True):
    """Two revisions of a board side by side."""

    old: Revision
    new: Revision
    data: DataChanges | None
    findings: Difference
    gaps: tuple[Gap, ...]


def compare_revisions(old: Revision, new: Revision) -> Comparison:
    """Return what became of a board from one revision to the next."""
    boards = old.board, new.board
    reported = [revision.form == "report" for revision in (old, new)]
    panels = [board is not None and board.manifest.panel is not None for board in boards]
    panels_open = reported[0] != reported[1] and any(panels)
    data = (
        None
        if boards[0] is None or boards[1] is None
        else data_changes(boards[0], boards[1], told_panels=not panels_open)
    )
    drawn = [board is not None and board.outline is not None for board in boards]
    told = {
        Gap.DATA: data is None,
        Gap.CONTOUR: data is not None and (drawn[0] != drawn[1] or all(reported)),
        Gap.PANEL: data is not None and panels_open,
        Gap.LINE: old.line != new.line,
    }
    gaps = tuple(gap for gap, holds in told.items() if holds)
    # What is said of a part that bears another reference now is said of the same part.
    names = {} if data is None else data.renumbered
    return Comparison(old, new, data, difference(renamed(old.findings, names), new.findings), gaps)
