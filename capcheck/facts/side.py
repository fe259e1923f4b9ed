"""Facts about each side of the board: row 0 is the top, row 1 the bottom."""

from __future__ import annotations

import numpy as np

from capcheck.facts.catalogue import Catalogue, Session
from capcheck.facts.columns import Numbers, Texts, Truths
from capcheck.facts.part import part_rows, sure_parts
from capcheck.facts.place import SIDES, soldered_on
from capcheck.model import Board, Side
from capcheck.values import NUMBER

facts = Catalogue()


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
def _populated(session: Session) -> Truths:
    there = session.shared(soldered_on)
    return Truths(np.array([on.yes.any() for on in there]), np.array([on.no.all() for on in there]))
