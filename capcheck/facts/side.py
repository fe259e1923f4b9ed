"""Facts about each side of the board: row 0 is the top, row 1 the bottom."""

from __future__ import annotations

import numpy as np

from capcheck.facts.catalogue import Catalogue
from capcheck.facts.columns import Numbers, Texts, Truths
from capcheck.model import Board, Flags, Side
from capcheck.values import NUMBER

facts = Catalogue()

SIDES = (Side.TOP, Side.BOTTOM)


def _per_side(board: Board, chosen: Flags) -> Numbers:
    return Numbers.exactly(np.array([float((chosen & (board.placements.side == side)).sum()) for side in SIDES]))


@facts.text("side.name", "top or bottom", choices=("top", "bottom"))
def _name() -> Texts:
    return Texts.of([str(side) for side in SIDES])


@facts.number("side.placements", NUMBER, "parts to place on this side")
def _placements(board: Board) -> Numbers:
    return _per_side(board, board.placements.is_part)


@facts.flag("side.populated", "whether surface-mount parts sit on this side")
def _populated(board: Board) -> Truths:
    surface = np.array([body.mounting != "through hole" for body in board.bodies] + [True])
    counts = _per_side(board, board.placements.is_part & surface[board.placements.part_type])
    return Truths.known(counts.low > 0)
