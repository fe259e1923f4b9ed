"""Facts about the board as a whole."""

from __future__ import annotations

import numpy as np

from capcheck.facts.catalogue import Catalogue, Session
from capcheck.facts.columns import Numbers, Texts, Truths
from capcheck.facts.part import sure_parts
from capcheck.facts.place import contour_of, doubt, size_of
from capcheck.lexicon import sentence
from capcheck.model import UNKNOWN_MEASURE, Board, Kind, Measure, Side
from capcheck.values import LENGTH, MASS, NUMBER, Place

facts = Catalogue()


def _one(measure: Measure) -> Numbers:
    return Numbers.measured([measure])


def _count(number: int) -> Numbers:
    return Numbers.exactly(np.array([float(number)]))


def longer_and_shorter(board: Board) -> tuple[Measure, Measure]:
    """Return the longer and the shorter side of the board's box, whichever way it lies in its frame."""
    x, y = size_of(board)
    if x.low >= y.high or (x.low >= y.low and x.high >= y.high):
        return x, y
    return y, x


@facts.text("board.name", "name of the board")
def _name(board: Board) -> Texts:
    return Texts.of([board.name])


@facts.number("board.length", LENGTH, "longer side of the board or panel", needs="outline")
def _length(board: Board) -> Numbers:
    return _one(longer_and_shorter(board)[0])


@facts.number("board.width", LENGTH, "shorter side of the board or panel", needs="outline")
def _width(board: Board) -> Numbers:
    return _one(longer_and_shorter(board)[1])


@facts.number("board.thickness", LENGTH, "thickness of the board")
def _thickness(board: Board) -> Numbers:
    return _one(board.size.thickness)


def _mass_of(board: Board) -> Measure:
    """Return the board's mass; unknown where it is worked out from a contour in doubt."""
    if board.manifest.mass is None and board.outline is not None and contour_of(board) is None:
        return UNKNOWN_MEASURE
    return board.size.mass


@facts.number("board.mass", MASS, "mass of the board with what is placed on it")
def _mass(board: Board) -> Numbers:
    return _one(_mass_of(board))


@facts.number("board.mass_least", MASS, "least mass of the board that the data leave possible")
def _mass_least(board: Board) -> Numbers:
    return Numbers.exactly(np.array([_mass_of(board).value.low]))


@facts.number("board.bow_percent", NUMBER, "greatest bow that board.toml states, in percent of a side")
def _bow(board: Board) -> Numbers:
    return Numbers.stated([board.manifest.bow_percent], lambda _row: Place("board.toml", column="bow_percent"))


@facts.number("board.twist_percent", NUMBER, "greatest twist that board.toml states, in percent of the diagonal")
def _twist(board: Board) -> Numbers:
    return Numbers.stated([board.manifest.twist_percent], lambda _row: Place("board.toml", column="twist_percent"))


@facts.number("board.placements", NUMBER, "parts to place on both sides")
def _placements(session: Session) -> Numbers:
    sure = session.shared(sure_parts)
    return Numbers.of_ends([float(sure.sum())], [float(len(sure))])


@facts.number("board.populated_sides", NUMBER, "sides with parts to place")
def _sides(session: Session) -> Numbers:
    of_sides = session.numbers("side.placements")
    return Numbers.of_ends([float((of_sides.low > 0).sum())], [float((of_sides.high > 0).sum())])


@facts.number("board.parts_without_side", NUMBER, "parts whose side is not stated")
def _without_side(board: Board) -> Numbers:
    return _count(int((board.placements.is_part & (board.placements.side == Side.UNKNOWN)).sum()))


@facts.number("board.fiducials", NUMBER, "fiducials in the placement data, on both sides")
def _fiducials(board: Board) -> Numbers:
    return _count(int((board.placements.kind == Kind.FIDUCIAL).sum()))


@facts.flag("board.has_outline", "whether an outline was given, or length and width were stated")
def _has_outline(board: Board) -> Truths:
    return Truths.of([board.outline is not None or board.size.length.value.is_known])


@facts.flag("board.has_bom", "whether a bill of materials was given")
def _has_bom(board: Board) -> Truths:
    return Truths.of([board.bom is not None])


@facts.number("board.open_decisions", NUMBER, "choices that were inferred and of which two readings remain")
def _open(board: Board) -> Numbers:
    return _count(sum(decision.open for decision in board.decisions))


@facts.text("board.open_topics", "what the open choices are about")
def _open_topics(board: Board) -> Texts:
    return Texts.of([", ".join(dict.fromkeys(d.topic for d in board.decisions if d.open)) or "none"])


@facts.flag("board.places_certain", "whether it is certain where the parts lie on the outline", needs="outline")
def _places_certain(board: Board) -> Truths:
    return Truths.of([doubt(board) is None])


@facts.text("board.places_doubt", "why distances to the outline are not judged", needs="outline")
def _places_doubt(board: Board) -> Texts:
    return Texts.of([sentence(doubt(board) or "none")])
