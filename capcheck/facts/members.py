"""What may belong to a scope beyond the rows that its facts have: nothing is counted as if the data listed it all."""

from __future__ import annotations

import math

import numpy as np

from capcheck.facts.catalogue import Session
from capcheck.facts.columns import Truths, expected
from capcheck.facts.fiducial import certain_marks, marks_listed, marks_of
from capcheck.facts.pair import crowded, neighbours, not_compared
from capcheck.facts.place import on_the_surface
from capcheck.geometry import Pairs
from capcheck.model import Floats, Side

_IS_PART = "part.is_part"
_SIDES = 2


def sure_members(session: Session, scope: str) -> Truths | None:
    """Return which rows of *scope* are sure to be members; None where all are."""
    if scope not in {"part", "pair"} or _IS_PART not in session.catalogue:
        return None
    sure = expected(session.get(_IS_PART), Truths)
    if scope == "pair":
        surface = session.shared(on_the_surface)  # as both of a pair are
        sure = Truths(sure.yes & surface.yes, sure.no | surface.no)
    if sure.yes.all():
        return None
    return sure if scope == "part" else _both(sure, session.shared(neighbours))


def _both(sure: Truths, found: Pairs) -> Truths:
    """Return which pairs are pairs of such parts."""
    return Truths(sure.yes[found.i] & sure.yes[found.j], sure.no[found.i] | sure.no[found.j])


def members_beyond(session: Session, scope: str) -> Floats:
    """Return how many more members there may be on top and bottom, beside the rows of *scope*."""
    if scope == "pair":
        return session.shared(_pairs_beyond)
    if scope == "fiducial":
        return session.shared(_marks_beyond)
    return np.zeros(_SIDES)


def _pairs_beyond(session: Session) -> Floats:
    """Parts that cannot be compared may be anybody's neighbours; of a crowd not every pair has a row."""
    if session.shared(crowded):
        return np.full(_SIDES, math.inf)
    sides = session.numbers("part.side_index").low[session.shared(not_compared)]
    return np.array([math.inf if ((sides == side) | (sides < 0)).any() else 0.0 for side in (Side.TOP, Side.BOTTOM)])


def _marks_beyond(session: Session) -> Floats:
    """Circles may be marks or not; where the data list no mark at all there may be any number."""
    if not marks_listed(session.board):
        return np.full(_SIDES, math.inf)
    certain = {id(mark) for mark in session.shared(certain_marks)}
    doubtful = [mark.side for mark in session.shared(marks_of) if id(mark) not in certain]
    return np.array([float(sum(s in {side, Side.UNKNOWN} for s in doubtful)) for side in (Side.TOP, Side.BOTTOM)])
