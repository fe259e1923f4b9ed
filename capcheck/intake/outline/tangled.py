"""Lines that cross each other so often that no outline is among them: told by a sample, before they are joined.

Joining lines takes time for each crossing, and 8,000 lines across a board have seven million.
"""

from __future__ import annotations

from typing import Any, Final

import numpy as np
import shapely

from capcheck.intake.outline.drawing import Drawing
from capcheck.values import InputError

_MOST: Final = 200_000
"""Crossings of a drawing: that many take 10 s, several times what reading a drawing may take."""
_FEW: Final = 600
"""So few lines have no more crossings than that between them, not even if each meets each."""
_SAMPLED: Final = 64


def refuse_tangled(drawing: Drawing, layer: str | None) -> None:
    """Raise :class:`InputError` for a drawing whose lines, those of *layer* where one is named, cross too often."""
    own = [stroke.layer == layer or layer is None for stroke in drawing.strokes]
    lines = [line for line, counts in zip(drawing.lines(1.0), own, strict=True) if counts]
    pieces = [np.stack([line[:-1], line[1:]], axis=1) for line in lines if len(line) > 1]
    if sum(map(len, pieces)) < _FEW:
        return
    every: Any = shapely.linestrings(np.concatenate(pieces))
    some = every[:: max(len(every) // _SAMPLED, 1)]
    crossings = shapely.STRtree(every).query(some, predicate="crosses").shape[1] * len(every) / len(some) / 2
    if crossings > _MOST:
        raise InputError.at(
            drawing.file,
            f"its lines cross each other about {crossings:,.0f} times",
            "no outline is told from so many",
            "export the board's outline alone, or name its layer",
        )
