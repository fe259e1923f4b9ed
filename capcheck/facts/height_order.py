"""Facts about the order of placing: which lower part a line can only place after its taller neighbour."""

from __future__ import annotations

import math
from typing import Final

import numpy as np

from capcheck.facts.catalogue import Catalogue, Session
from capcheck.facts.columns import Truths
from capcheck.facts.pair import neighbours
from capcheck.facts.place import heights, of_types
from capcheck.geometry import placed_after_taller
from capcheck.machines import Head, Line
from capcheck.model import Board, Body, Floats, Mounting
from capcheck.packages import nominal_size

facts = Catalogue()

_BALLS: Final = frozenset({"ball grid", "column grid"})


def _cannot_take(head: Head, body: Body) -> bool:
    """Whether a head is proved not to place a body: by mounting, size, height, pitch, or balls that it does not see."""
    if body.mounting is Mounting.THROUGH_HOLE and not head.inserts:
        return True
    if body.mounting is Mounting.SURFACE and head.takes is not None and "surface" not in head.takes:
        return True
    longer, shorter = sorted((body.length.proved.low, body.width.proved.low), reverse=True)
    too_large = (
        (head.max_part_height, body.height.proved.low),
        (head.max_body_length, longer),
        (head.max_body_width, shorter),
    )
    if any(limit is not None and size > limit for limit, size in too_large):
        return True
    balls = body.lead_style in _BALLS
    least_pitch = head.min_ball_pitch if balls else head.min_lead_pitch
    if least_pitch is not None and body.pitch.value.high < least_pitch:
        return True
    if balls and head.recognises_balls is False:
        return True
    if body.lead_style != "chip" or head.smallest_chip is None:
        return False
    return body.nominal_length.value.high < nominal_size(head.smallest_chip)[0].low


def _span(board: Board, line: Line | None) -> tuple[Floats, Floats]:
    """Return the first and the last machine that may place each type of part, and a row for parts without a type."""
    bodies = (*board.bodies, Body())
    first, last = np.full(len(bodies), -math.inf), np.full(len(bodies), math.inf)
    for row, body in enumerate(bodies):
        may = [
            index
            for index, machine in enumerate(line.machines if line else ())
            if not all(_cannot_take(head, body) for head in machine.head)
        ]
        if may:
            first[row], last[row] = may[0], may[-1]
    return first, last


@facts.flag("pair.placed_after_taller", "whether the lower part is proved to be placed after the taller one")
def _after(session: Session) -> Truths:
    first, last = session.shared(_span)
    after = placed_after_taller(
        session.shared(neighbours), session.shared(heights), of_types(session, first), of_types(session, last)
    )
    return Truths.known(after)
