"""The thickness that a drawing states beside that of board.toml."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from capcheck.intake.folder import Sources
from capcheck.model import Discrepancy, Topic, say
from capcheck.values import Place

_SAME_THICKNESS_MM: Final = 0.05


def another_thickness(drawn: Sequence[float], sources: Sources) -> list[Discrepancy]:
    """Return the question which thickness holds, where a text of the drawing states another one than board.toml."""
    stated = sources.manifest.thickness
    others = [value for value in drawn if stated is not None and abs(value - stated) > _SAME_THICKNESS_MM]
    if not others or stated is None:
        return []
    said = say("outline.another thickness", drawn=others[0], stated=stated)
    return [Discrepancy(Topic.STATED_IN_DRAWING, said, place=Place(sources.outline or ""))]
