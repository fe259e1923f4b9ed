"""Facts about each side of the board: row 0 is the top, row 1 the bottom."""

from __future__ import annotations

import numpy as np

from capcheck.facts.catalogue import Catalogue, Session
from capcheck.facts.columns import Numbers, Texts, Truths
from capcheck.facts.part import part_rows, sure_parts, type_of_part
from capcheck.model import Board, Side
from capcheck.values import NUMBER

facts = Catalogue()

SIDES = (Side.TOP, Side.BOTTOM)


def _per_side(session: Session, board: Board) -> Numbers:
    """Return how many parts lie on each side; what may be no part, or whose side is open, may count."""
    sides, sure = board.placements.side[session.shared(part_rows)], session.shared(sure_parts)
    least = [float((sure & (sides == side)).sum()) for side in SIDES]
    most = [float(((sides == side) | (sides == Side.UNKNOWN)).sum()) for side in SIDES]
    return Numbers.of_ends(least, most)


@facts.text("side.name", "top or bottom", choices=("top", "bottom"))
def _name() -> Texts:
    return Texts.of([str(side) for side in SIDES])


@facts.number("side.placements", NUMBER, "parts to place on this side")
def _placements(session: Session) -> Numbers:
    return session.shared(_per_side)


@facts.flag("side.populated", "whether surface-mount parts sit on this side")
def _populated(session: Session, board: Board) -> Truths:
    surface = np.array([body.mounting != "through hole" for body in board.bodies] + [True])
    there, sure = surface[session.shared(type_of_part)], session.shared(sure_parts)
    sides = board.placements.side[session.shared(part_rows)]
    yes, maybe = (np.array([bool((of & (sides == side)).any()) for side in SIDES]) for of in (there & sure, there))
    return Truths(yes, ~maybe)
