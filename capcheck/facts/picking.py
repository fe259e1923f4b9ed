"""Facts about how a part is picked and pressed on: the nozzle that the shop names for it, and forces."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial

from capcheck.facts.catalogue import Catalogue, Session
from capcheck.facts.columns import Numbers, Texts, Truths
from capcheck.facts.head import heads_of
from capcheck.facts.part import type_of_part
from capcheck.facts.place import may_be_inserted
from capcheck.lexicon import is_named
from capcheck.machines import Head, Line, holding
from capcheck.model import UNKNOWN_MEASURE, Basis, Board, Body, Measure, Mounting
from capcheck.values import FORCE, Interval

facts = Catalogue()


@facts.flag("part.for_heads", "whether heads are asked about the part: on the surface, or one may insert it")
def _for_heads(session: Session, board: Board, line: Line) -> Truths:
    def asked(body: Body) -> bool | None:
        known = None if body.mounting is None else body.mounting is Mounting.SURFACE
        return known or may_be_inserted(line, body) if known is not None else None

    return Truths.of([*map(asked, board.bodies), None]).take(session.shared(type_of_part))


@facts.text("part.nozzle", "the kind of nozzle that picks the part, by the shop's name")
def _nozzle(session: Session, board: Board) -> Texts:
    return Texts.of([*(body.nozzle for body in board.bodies), None]).take(session.shared(type_of_part))


@facts.flag("part.has_nozzle", "whether the shop names the kind of nozzle that picks the part")
def _named(session: Session, board: Board) -> Truths:
    return Truths.of([*(body.nozzle is not None for body in board.bodies), False]).take(session.shared(type_of_part))


@facts.number("part.force_needed", FORCE, "force with which the part has to be pressed in, where it is stated")
def _force_needed(session: Session, board: Board) -> Numbers:
    measures = [*(body.force_needed.proved for body in board.bodies), UNKNOWN_MEASURE]
    return Numbers.measured(measures).take(session.shared(type_of_part))


@facts.number("part.force_allowed", FORCE, "greatest force that the part bears when placed, where it is stated")
def _force_allowed(session: Session, board: Board) -> Numbers:
    measures = [*(body.force_allowed.proved for body in board.bodies), UNKNOWN_MEASURE]
    return Numbers.measured(measures).take(session.shared(type_of_part))


@facts.flag("head.lists_nozzles", "whether the profile lists the nozzles that the shop has for the head")
def _lists(line: Line) -> Truths:
    return Truths.of([head.nozzle is not None for _, head in heads_of(line)])


def _told(source: str, _row: int) -> str:
    return source


@facts.flag("placing.nozzle_for_size", "whether the head has a nozzle for a body of the part's length and width")
def _for_size(session: Session, board: Board, line: Line) -> list[Truths]:
    return _by_type(session, board, line, _has_for_size)


@facts.flag("placing.nozzle_there", "whether the head has the nozzle that the shop names for the part")
def _there(session: Session, board: Board, line: Line) -> list[Truths]:
    return _by_type(session, board, line, _has_named)


_Answer = Callable[[Head, Body, Sequence[str]], bool | None]
"""Whether a head has the nozzle for a body that goes by these names."""


def names_of(board: Board, index: int) -> list[str]:
    """Return what a nozzle may be for in a type of part: its number, empty if not known, value and package's names."""
    kind, body = board.types[index], board.bodies[index]
    number = kind.part_number if is_named(kind.part_number) else ""
    return [number, *filter(is_named, (kind.value, kind.footprint, kind.bom_package, body.family or ""))]


def _by_type(session: Session, board: Board, line: Line, answer: _Answer) -> list[Truths]:
    of_type, columns = session.shared(type_of_part), []
    for machine, head in heads_of(line):
        source = f"profile of {line.machines[machine].name}, nozzles of {head.name}"
        named = [(body, names_of(board, index)) for index, body in enumerate(board.bodies)]
        values = [answer(head, body, names) for body, names in (*named, (Body(), []))]
        columns.append(Truths.of(values, partial(_told, source)).take(of_type))
    return columns


def _has_named(head: Head, body: Body, _names: Sequence[str]) -> bool | None:
    if body.nozzle is None or head.nozzle is None:
        return None
    return body.nozzle.casefold() in {one.name.casefold() for one in head.nozzle}


def _has_for_size(head: Head, body: Body, names: Sequence[str]) -> bool | None:
    """Return whether a nozzle holds the body, whichever of those it is that a name may mean.

    Nozzles are named by the sizes that they are for, so that sizes by code count without tolerance.
    """
    if head.nozzle is None:
        return None
    nozzles, possible = head.nozzle, [_exactly(*one.nominal) for one in body.may_be]
    held = {holding(nozzles, *sides, names) for sides in possible or [_nominal_sides(body)]}
    return held.pop() if len(held) == 1 else None


def _exactly(length: float, width: float) -> tuple[Interval, Interval]:
    return Interval.exactly(length), Interval.exactly(width)


def _nominal_sides(body: Body) -> tuple[Interval, Interval]:
    length, width = _named_or_measured(body)
    return length.value, width.value


def _named_or_measured(body: Body) -> tuple[Measure, Measure]:
    pairs = (body.nominal_length, body.length), (body.nominal_width, body.width)
    length, width = ((own if named.basis is Basis.UNKNOWN else named).proved for named, own in pairs)
    return length, width
