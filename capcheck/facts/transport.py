"""Facts about the board on the conveyor of each machine, in the direction chosen for it."""

from __future__ import annotations

from capcheck.facts.catalogue import Catalogue, Session
from capcheck.facts.columns import Numbers, Texts
from capcheck.geometry.transport import TransportLimits, Travel, choose_travel
from capcheck.interval import Interval
from capcheck.machines.line import Line
from capcheck.machines.profile import BoardLimits
from capcheck.model import Board
from capcheck.units import LENGTH

facts = Catalogue()


def _limits(board: BoardLimits) -> TransportLimits:
    def between(low: float | None, high: float | None) -> Interval:
        return Interval(low or 0.0, float("inf") if high is None else high)

    return TransportLimits(between(board.min_length, board.max_length), between(board.min_width, board.max_width))


def travels(board: Board, line: Line) -> list[Travel]:
    """Return how the board travels through each machine."""
    length, width = board.size.length.value, board.size.width.value
    return [choose_travel(length, width, (_limits(m.board),)) for m in line.machines]


@facts.number("transport.length", LENGTH, "board or panel along the conveyor", needs="outline")
def _length(session: Session, board: Board) -> Numbers:
    return Numbers.of([t.along for t in session.shared(travels)], lambda _: board.size.length.source)


@facts.number("transport.width", LENGTH, "board or panel across the conveyor", needs="outline")
def _width(session: Session, board: Board) -> Numbers:
    return Numbers.of([t.across for t in session.shared(travels)], lambda _: board.size.width.source)


@facts.text("transport.direction", "which way the board travels", choices=("long edge", "short edge"), needs="outline")
def _direction(session: Session) -> Texts:
    return Texts.of(["long edge" if t.along.high >= t.across.high else "short edge" for t in session.shared(travels)])
