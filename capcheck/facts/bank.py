"""Facts about feeder banks: which head reaches one that takes a part, and whether everything finds a place in them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import partial

from msgspec import Struct

from capcheck.facts.catalogue import Catalogue, Session
from capcheck.facts.columns import Numbers, Truths
from capcheck.facts.feeder import able_by_label, bodies_by_label, slots_of
from capcheck.facts.head import heads_of
from capcheck.facts.machine import any_of
from capcheck.facts.part import type_of_part
from capcheck.machines import BankPlaces, Line, MachineProfile, Room, fewest_without_place, packing_of_body, places_of
from capcheck.model import Board, Body, Codes
from capcheck.values import NUMBER, Interval

facts = Catalogue()


def places_of_line(line: Line) -> list[tuple[MachineProfile, BankPlaces, list[int]]]:
    """Return where feeders of the line may stand: machine, bank, and the heads of the line that reach it."""
    found, begun = [], 0
    for machine in line.machines:
        found += [(machine, at, [begun + head for head in at.heads]) for at in places_of(machine)]
        begun += len(machine.head)
    return found


def _told(source: str, _row: int) -> str:
    return source


@facts.flag("line.has_banks", "whether a machine's profile states feeder banks")
def _any(line: Line) -> Truths:
    return Truths.of([any(machine.bank for machine in line.machines)])


@facts.flag("placing.bank_takes", "whether a feeder bank that the head reaches takes the part in its packaging")
def _takes(session: Session, board: Board, line: Line) -> list[Truths]:
    types, packings = session.shared(type_of_part), [packing_of_body(body) for body in (*board.bodies, Body())]
    places = places_of_line(line)
    columns = []
    for head, (machine, own) in enumerate(heads_of(line)):
        reached = [at for _, at, heads in places if head in heads]
        source = f"profile of {line.machines[machine].name}, banks that {own.name} reaches"
        values = [any_of(at.takes(packing) for at in reached) for packing in packings]
        columns.append(Truths.of(values, partial(_told, source)).take(types))
    return columns


@facts.number(
    "line.feeders_without_bank", NUMBER, "part numbers on tape or in tubes (sticks) without slots within reach"
)
def _feeders_left(session: Session, line: Line, able: Codes | None) -> Numbers:
    return Numbers.of([_without_place(session, line, able, trays=False)])


@facts.number("line.types_without_bank", NUMBER, "part numbers without slots or a tray place within reach")
def _types_left(session: Session, line: Line, able: Codes | None) -> Numbers:
    return Numbers.of([_without_place(session, line, able, trays=True)])


class _Standing(Struct, frozen=True):
    """What has to stand in feeder banks: the slots of each feeder by place, at best and as proved; trays by place."""

    better: list[dict[int, float]]
    worse: list[dict[int, float]]
    in_trays: list[frozenset[int]]


def _standing(session: Session, line: Line, able: Codes) -> _Standing:
    places = places_of_line(line)
    found = _Standing([], [], [])
    for (_, body), heads in zip(session.shared(bodies_by_label), able_by_label(session, able), strict=True):
        if (heads < 0).all():
            continue  # no head takes it, which other rules tell
        may, sure = _slots_by_place(body, places, heads)
        if body.supply == "tray":
            found.in_trays.append(frozenset(may))
            continue
        found.worse.append(sure)
        if body.supply is not None:
            found.better.append(may)
    return found


def _without_place(session: Session, line: Line, able: Codes | None, *, trays: bool) -> Interval:
    """Return how many part numbers have no place at best: all that is open taken for the better, and for the worse.

    *able* are the heads' answers by part, None where nobody asked: then nothing is proved.
    """
    if able is None:
        return Interval(0.0, math.inf)
    standing, places = session.shared(_standing), places_of_line(line)
    bounds = [
        fewest_without_place(
            feeders, standing.in_trays if trays else [], [_room(at, proved=proved) for _, at, _ in places]
        )
        for feeders, proved in ((standing.better, False), (standing.worse, True))
    ]
    return Interval(bounds[0].low, max(bounds[0].high, bounds[1].high))


def _slots_by_place(
    body: Body, places: Sequence[tuple[MachineProfile, BankPlaces, list[int]]], heads: Codes
) -> tuple[dict[int, float], dict[int, float]]:
    """Return the slots that a feeder takes at each place where a head may pick from it, and is proved to.

    Of a part of which that is proved nowhere the second are those where it may stand, at their most: that it is open
    is a finding of its own.
    """
    may: dict[int, float] = {}
    most: dict[int, float] = {}
    sure: dict[int, float] = {}
    packing = packing_of_body(body)
    for k, (machine, at, reaching) in enumerate(places):
        takes, state = at.takes(packing), heads[reaching].max(initial=-1)
        if takes is False or state < 0:
            continue
        slots = slots_of(body, at.feeders_of(machine))
        if math.isfinite(slots.low):
            may[k] = slots.low
            most[k] = slots.high if math.isfinite(slots.high) else slots.low
        if takes and state > 0 and math.isfinite(slots.high):
            sure[k] = slots.high
    return may, sure or most


def _room(at: BankPlaces, *, proved: bool) -> Room:
    """Return what a place has; one whose profile is silent has any number, of which none is proved."""
    silent = 0.0 if proved else math.inf
    slots, trays = (silent if n is None else float(n) for n in (at.slots, at.tray_places))
    return Room(slots, trays, float(at.tray_slots))
