"""Facts about the accuracy of placing: what turning a part does at its outermost lead."""

from __future__ import annotations

import math

from capcheck.facts.catalogue import Catalogue, Session
from capcheck.facts.columns import Numbers
from capcheck.facts.head import heads_of
from capcheck.facts.part import type_of_part
from capcheck.machines import Line
from capcheck.model import Board
from capcheck.packages import reach_of
from capcheck.values import LENGTH, NUMBER, UNKNOWN_SIZE

facts = Catalogue()


@facts.number("part.reach", LENGTH, "distance of the outermost lead or termination from the part's centre")
def _reach(session: Session, board: Board) -> Numbers:
    # A part without a type would take the last row: it is unknown.
    reaches = Numbers.of([*(reach_of(body) for body in board.bodies), UNKNOWN_SIZE], lambda _: "body and span")
    return reaches.take(session.shared(type_of_part))


@facts.number("head.turn", NUMBER, "sine of the rotation accuracy: error at a lead over its distance from the centre")
def _turn(line: Line) -> Numbers:
    heads = heads_of(line)
    turns = [None if h.rotation_accuracy is None else math.sin(math.radians(h.rotation_accuracy)) for _, h in heads]
    return Numbers.stated(turns, lambda row: f"profile of {line.machines[heads[row][0]].name}, {heads[row][1].name}")
