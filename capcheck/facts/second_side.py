"""Facts about a board with parts on both sides: which side is soldered first, and what hangs below afterwards."""

from __future__ import annotations

import numpy as np

from capcheck.facts.catalogue import Catalogue, Session
from capcheck.facts.columns import Numbers, Texts, Truths
from capcheck.facts.part import part_label, part_rows, type_of_part
from capcheck.facts.place import SIDES, heights, of_types, soldered_on
from capcheck.geometry import FirstSide, SideLoad, hanging_load, propose_first, side_loads, tallest
from capcheck.lexicon import sentence
from capcheck.machines import Line
from capcheck.model import Board, Body
from capcheck.values import AREAL_MASS, LENGTH, NUMBER

facts = Catalogue()


def loads(board: Board) -> list[SideLoad]:
    """Return what matters of the top and the bottom for the order of soldering."""
    return side_loads(board.placements, board.bodies)


def first_side(session: Session) -> FirstSide:
    """Return the side proposed to be soldered first, from the surface-mounted parts."""
    return propose_first(session.shared(loads))


def _hanging(session: Session) -> list[Truths]:
    """Return for top and bottom which parts hang below while that side faces up to be placed and soldered.

    Nothing hangs below a board that has parts to solder on one side only. Where it is open whether the other has any,
    nothing is proved to hang; where no part is sure enough to propose an order of the sides, either may be the first.
    """
    top, bottom = session.shared(soldered_on)
    none = np.zeros(len(top), dtype=np.bool_)
    one_side_stays_bare = top.no.all() or bottom.no.all()
    both_are_soldered = top.yes.any() and bottom.yes.any()
    first = session.shared(first_side).side if all(side.parts for side in session.shared(loads)) else None
    found = []
    for under, beneath in ((SIDES[1], bottom), (SIDES[0], top)):
        if one_side_stays_bare or first not in {None, under}:
            found.append(Truths(none, ~none))
        else:
            found.append(beneath if both_are_soldered and first is not None else Truths(none, beneath.no))
    return found


def soldered_first(session: Session) -> Truths:
    """Return which parts hang below while the other side is placed and soldered."""
    one, other = session.shared(_hanging)
    return Truths(one.yes | other.yes, one.no & other.no)


@facts.text("board.first_side", "side proposed to be soldered first", choices=("top", "bottom"))
def _first(session: Session) -> Texts:
    return Texts.of([str(session.shared(first_side).side)])


@facts.text("board.first_side_because", "why that side is proposed to be soldered first")
def _because(session: Session) -> Texts:
    return Texts.of(["; ".join(map(sentence, session.shared(first_side).reasons))])


@facts.flag("part.soldered_first", "whether the part hangs below while the other side is soldered")
def _soldered_first(session: Session) -> Truths:
    below: Truths = session.shared(soldered_first)
    return below


@facts.number("part.hanging_load", AREAL_MASS, "mass over the area of the joints, both as far as bounded")
def _load(session: Session, board: Board) -> Numbers:
    low, high = hanging_load((*board.bodies, Body()))
    return Numbers(of_types(session, low), of_types(session, high))


def _on_passages(line: Line, column: Numbers | Truths | Texts) -> list[Numbers | Truths | Texts]:
    return [column] * len(line.machines)


def _below(session: Session) -> list[tuple[float, float, int]]:
    """Return for each side facing up the tallest part below: low, high, and the part that sets the high end."""
    height, found = session.shared(heights), []
    for below in session.shared(_hanging):
        certain, _ = tallest(height, below.yes)
        possible, row = tallest(height, ~below.no)
        found.append((certain.low, possible.high, row))
    return found


@facts.number("passage.tallest_below", LENGTH, "tallest part that hangs below the board meanwhile")
def _tallest_below(session: Session, line: Line) -> list[Numbers | Truths | Texts]:
    ends = np.array([(low, high) for low, high, _ in session.shared(_below)])
    return _on_passages(line, Numbers(ends[:, 0], ends[:, 1]))


@facts.text("passage.tallest_below_part", "reference and type of that part")
def _tallest_part(session: Session, board: Board, line: Line) -> list[Numbers | Truths | Texts]:
    rows, types = session.shared(part_rows), session.shared(type_of_part)

    def name(part: int) -> str:
        if part < 0:
            return "none"
        return f"{board.placements.ref[int(rows[part])]} ({part_label(board, int(types[part]))})"

    return _on_passages(line, Texts.of([name(row) for _, _, row in session.shared(_below)]))


@facts.number("passage.parts_below", NUMBER, "parts that hang below the board meanwhile")
def _parts_below(session: Session, line: Line) -> list[Numbers | Truths | Texts]:
    hanging = session.shared(_hanging)
    least, most = [float(b.yes.sum()) for b in hanging], [float((~b.no).sum()) for b in hanging]
    return _on_passages(line, Numbers.of_ends(least, most))
