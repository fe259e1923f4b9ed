"""What the geometry facts share: where the bodies lie, and whether that is certain enough to judge distances by.

Rows are the parts to place, as in every fact of scope ``part``. A part whose unit, place, side or frame is in doubt is
not measured at all: one open question must not become a hundred findings.
"""

from __future__ import annotations

from typing import Final

import numpy as np

from capcheck.facts.catalogue import Session
from capcheck.facts.columns import Truths
from capcheck.facts.part import part_rows, sure_parts, type_of_part
from capcheck.geometry import Bodies, body_rectangles
from capcheck.machines import Line
from capcheck.model import (
    UNKNOWN_MEASURE,
    Board,
    Body,
    Box,
    Flags,
    Floats,
    Measure,
    Mounting,
    Outline,
    Said,
    Side,
    Topic,
    say,
)

SIDES: Final = (Side.TOP, Side.BOTTOM)

_CONTOUR: Final = frozenset({Topic.OUTLINE_UNIT, Topic.OUTLINE_CONTOUR})
_FRAME: Final = frozenset({Topic.ORIGIN, Topic.Y_AXIS})


def bodies_with_leads(session: Session, board: Board) -> Bodies:
    """Return the rectangles of the parts; the greatest bodies cover the leads."""
    return body_rectangles(board.placements, board.bodies).take(session.shared(part_rows))


def open_topics(board: Board) -> set[Topic]:
    """Return what the open decisions are about."""
    return {decision.topic for decision in board.decisions if decision.open}


def contour_of(board: Board) -> Outline | None:
    """Return the board's contour, None without one and where its unit or which contour is meant is open."""
    return None if open_topics(board) & _CONTOUR else board.outline


def box_of(board: Board) -> Box | None:
    """Return the box of the board's contour in mm, None without a contour or with one in doubt."""
    outline = contour_of(board)
    if outline is None:
        return None
    left, bottom, right, top = outline.polygon.bounds
    return float(left), float(bottom), float(right), float(top)


def size_of(board: Board) -> tuple[Measure, Measure]:
    """Return length along x and width along y; unknown where they are those of a contour in doubt."""
    size, manifest = board.size, board.manifest
    if not open_topics(board) & _CONTOUR:
        return size.length, size.width
    return (
        UNKNOWN_MEASURE if manifest.length is None else size.length,
        UNKNOWN_MEASURE if manifest.width is None else size.width,
    )


def frame_certain(board: Board, side: Side) -> bool:
    """Whether places on this side are certain in the frame of the outline."""
    topics = open_topics(board)
    if board.outline is None or not board.unit_settled or topics & (_FRAME | _CONTOUR):
        return False
    return side == Side.TOP or (side == Side.BOTTOM and Topic.BOTTOM_SIDE not in topics)


def in_frame(session: Session, board: Board) -> Flags:
    """Return which parts have a certain place in the frame of the outline."""
    rows = session.shared(part_rows)
    placements = board.placements
    certain = np.zeros(len(rows), dtype=np.bool_)
    for side in (Side.TOP, Side.BOTTOM):
        if frame_certain(board, side):
            certain |= placements.side[rows] == side
    located: Flags = certain & np.isfinite(placements.x_mm[rows]) & np.isfinite(placements.y_mm[rows])
    return located


def of_types(session: Session, values: Floats) -> Floats:
    """Return for each part the value of its type; *values* has one more row, for parts without a type."""
    taken: Floats = values[session.shared(type_of_part)]
    return taken


def surface_mounted(session: Session) -> Flags:
    """Return which parts may be on the board while it travels: all that are not known to come onto it afterwards."""
    may_be: Flags = ~session.shared(on_the_surface).no
    return may_be


def may_be_inserted(line: Line | None, body: Body) -> bool:
    """Whether a head of the line may be proved to put the leads of a part through holes: their length has a bound."""
    if body.mounting is not Mounting.THROUGH_HOLE or line is None or not line.inserts:
        return False
    return body.lead_length.proved.value.is_known


def on_the_surface(session: Session, board: Board, line: Line | None) -> Truths:
    """Return which parts are placed while the board travels through the line, as those mounted on the surface are.

    Undecided where their mounting is open, and of parts that a head of the line may insert.
    """

    def placed(body: Body) -> bool | None:
        if body.mounting is None or may_be_inserted(line, body):
            return None
        return body.mounting is Mounting.SURFACE

    return Truths.of([placed(body) for body in (*board.bodies, Body())]).take(session.shared(type_of_part))


def with_leads_through_holes(session: Session, board: Board) -> Flags:
    """Return which parts are known to have leads through holes."""
    of_types = np.array([body.mounting is Mounting.THROUGH_HOLE for body in (*board.bodies, Body())])
    known: Flags = of_types[session.shared(type_of_part)]
    return known


def soldered_on(session: Session, board: Board) -> list[Truths]:
    """Return for top and bottom which parts are soldered onto that side, by reflow.

    Undecided where side or mounting of a part is open, or whether it is a part at all.
    """
    surface, sure = session.shared(on_the_surface), session.shared(sure_parts)
    sides = board.placements.side[session.shared(part_rows)]
    elsewhere = [(sides != side) & (sides != Side.UNKNOWN) for side in SIDES]
    return [
        Truths(surface.yes & sure & (sides == side), surface.no | away)
        for side, away in zip(SIDES, elsewhere, strict=True)
    ]


def heights(session: Session, board: Board) -> tuple[Floats, Floats]:
    """Return the bounds of each part's height in mm."""
    table = np.array([(b.height.low, b.height.high) for b in (*board.bodies, Body())])
    return of_types(session, table[:, 0]), of_types(session, table[:, 1])


def doubted_by(board: Board) -> frozenset[Topic]:
    """Return the open readings for which distances to the board's edges are not judged."""
    topics = open_topics(board)
    return frozenset(topics & _CONTOUR or topics & _FRAME or topics & {Topic.BOTTOM_SIDE})


def contour_doubted(board: Board) -> bool:
    """Whether it is open which contour is the board's, or its unit: nothing is known of its edges then."""
    return bool(doubted_by(board) & _CONTOUR)


def doubt(board: Board) -> Said | None:
    """Return why distances to the board's edges are not judged; None where they are."""
    topics = doubted_by(board)
    if not board.unit_settled:
        return say("facts.unit not certain")
    if board.outline is None:
        return say("facts.no contour")
    if topics & _CONTOUR:
        return say("facts.contour not certain", topics=sorted(topics))
    if topics & _FRAME:
        return say("facts.frame not certain")
    return say("facts.mirrored or not") if topics else None
