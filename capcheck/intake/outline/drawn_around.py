"""Contours around the board's and beside it: the drawing may show the panel that the board comes in."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from capcheck.intake.outline import contour_choice as choice
from capcheck.intake.outline.contour_choice import Candidate
from capcheck.model import Decision, Said, Topic, say

_ALIKE: Final = 0.4
"""A contour of less than this share of the board's area is no other board."""
_SETTLED: Final = "panel = { columns = 1 }"


def drawn_as_panel(best: Candidate, ranked: Sequence[Candidate], *, one_layer: bool) -> list[Decision]:
    """Return the open question whether the board comes in the panel that contours around or beside it may be.

    None where the name of their layer, or the looks of a drawing's frame, say what else they are. With *one_layer*
    somebody named the layer, and what lies around the board there has been looked at.
    """
    others = [c for c in ranked if c is not best and c.contour is not None and not _is_explained(c)]
    around = [c for c in others if _goes_around(c, best)]
    beside = [
        c for c in others if c.polygon.area > _ALIKE * best.polygon.area and not c.polygon.intersects(best.polygon)
    ]
    if not beside and (one_layer or not around):
        return []
    return [
        Decision(
            Topic.PANEL,
            say("frame.no panel"),
            _said(beside, around),
            say("frame.a panel"),
            _SETTLED,
            open=True,
        )
    ]


def _said(beside: Sequence[Candidate], around: Sequence[Candidate]) -> Said:
    if beside:
        return say("outline.drawn beside", contour=beside[0].described(), count=len(beside))
    return say("outline.drawn around", contour=around[0].described())


def _is_explained(candidate: Candidate) -> bool:
    """Whether the looks of a contour or the name of its layer tell that it is no board and no panel.

    A frame without texts that is no sheet's may be that of a panel.
    """
    if candidate.texts_beside or choice.is_sheet(candidate, 1.0):
        return True
    return choice.names_something_else(candidate.layer) and not choice.names_frame(candidate.layer)


def _goes_around(candidate: Candidate, best: Candidate) -> bool:
    return bool(candidate.polygon.contains(best.polygon)) and not choice.same(candidate, best)
