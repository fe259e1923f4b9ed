"""Facts about feeders: what all part numbers of the board take together, and what the line has."""

from __future__ import annotations

import math

import numpy as np

from capcheck.facts.catalogue import Catalogue, Session
from capcheck.facts.columns import Numbers, Truths
from capcheck.facts.head import heads_of
from capcheck.facts.part import part_label, type_of_part
from capcheck.facts.place import may_be_inserted
from capcheck.machines import WITHOUT_TAPE, Feeders, Line, MachineProfile, has_feeder, slots_of_tape
from capcheck.model import NOT_ON_THE_SURFACE, Board, Body, Codes, Mounting
from capcheck.values import NUMBER, UNKNOWN_SIZE, Interval, total

facts = Catalogue()


def bodies_by_label(session: Session, board: Board, line: Line | None) -> list[tuple[tuple[int, ...], Body]]:
    """Return a body for each part number that the heads are to place, on either side, with all types that go by it.

    One number on several bodies needs a feeder for each, as in a plan. Parts that a head of the line may insert into
    holes are among them.
    """
    found: dict[tuple[str, tuple[object, ...]], tuple[list[int], Body]] = {}
    for index in sorted(set(session.shared(type_of_part).tolist())):
        body = board.bodies[index] if index >= 0 else None
        if body is not None and (body.mounting not in NOT_ON_THE_SURFACE or may_be_inserted(line, body)):
            found.setdefault((part_label(board, index), body.figures), ([], body))[0].append(index)
    return [(tuple(indices), body) for indices, body in found.values()]


def able_by_label(session: Session, able: Codes) -> list[Codes]:
    """Return each part number's answer of every head, as :func:`bodies_by_label` lists them.

    It is the worst of all types that go by the number; of parts with leads through holes what is not proved is left to
    hands. *able* are the heads' answers by part.
    """
    types = session.shared(type_of_part)
    labels = session.shared(bodies_by_label)
    label = np.full(int(types.max(initial=-1)) + 2, len(labels))  # its last stands for parts of no type
    for number, (indices, _) in enumerate(labels):
        label[[*indices]] = number
    worst = np.ones((len(labels) + 1, len(able)), dtype=able.dtype)
    np.minimum.at(worst, label[types], able.T)
    holes = np.array([body.mounting is Mounting.THROUGH_HOLE for _, body in labels], dtype=np.bool_)
    worst[:-1][holes] = np.where(worst[:-1][holes] > 0, 1, -1)
    return [*worst[:-1]]


def _fed_bodies(session: Session, able: Codes | None) -> list[Body]:
    """Return a body for each part number that a head may place, on either side; *able* None: nobody asked the heads.

    What no head takes is left to hands, and needs no feeder.
    """
    bodies = [body for _, body in session.shared(bodies_by_label)]
    if able is None or not len(able):
        return [body for body in bodies if body.mounting is not Mounting.THROUGH_HOLE]
    heads = able_by_label(session, able)
    return [body for body, answers in zip(bodies, heads, strict=True) if (answers >= 0).any()]


def slots_of(body: Body, feeders: Feeders) -> Interval:
    """Return the slots that one feeder or tray of a part takes by the machine's table."""
    if body.supply == "tray":
        return Interval.exactly(0.0)
    if body.supply in WITHOUT_TAPE:
        taken = feeders.slots_without_tape(body.supply)
        return Interval(0.0, np.inf) if taken is None else Interval.exactly(taken)
    slots = slots_of_tape(body.tape_width.value, feeders).slots
    return slots if body.supply == "tape" else slots.hull(Interval.exactly(0.0))


def _offers(machine: MachineProfile, body: Body) -> bool:
    """Whether a part may stand on a machine: not where the profile says that no head or feeder takes its supply."""
    if body.supply is not None and all(h.supplies is not None and body.supply not in h.supplies for h in machine.head):
        return False
    if body.supply != "tape" or machine.feeders.slots_used is None:
        return True
    return math.isfinite(slots_of_tape(body.tape_width.value, machine.feeders).slots.high)


def _total(values: list[float | None]) -> Numbers:
    known = [v for v in values if v is not None]
    return Numbers.stated([float(sum(known)) if len(known) == len(values) else None])


@facts.number("line.feeder_slots", NUMBER, "feeder slots of all machines together")
def _there(line: Line) -> Numbers:
    return _total([m.slots for m in line.machines])


@facts.number(
    "line.feeder_slots_needed", NUMBER, "slots that one feeder of every part number takes, on whichever machine"
)
def _needed(session: Session, line: Line, able: Codes | None) -> Numbers:
    bodies = _fed_bodies(session, able)
    # Part numbers of one footprint share their body.
    each = {key: _slots_on_any(body, line) for key, body in {id(body): body for body in bodies}.items()}
    takes = [each[id(body)] for body in bodies]
    return Numbers.of([total(takes)])


def _slots_on_any(body: Body, line: Line) -> Interval:
    """Return the slots that one feeder takes, on whichever machine."""
    takes = [slots_of(body, machine.feeders) for machine in line.machines if _offers(machine, body)]
    return Interval(min((t.low for t in takes), default=0.0), max((t.high for t in takes), default=math.inf))


@facts.flag("placing.has_tape_feeder", "whether the machine has a feeder for every width that the part's tape may have")
def _has_tape_feeder(session: Session, board: Board, line: Line) -> list[Truths]:
    # A part without a type would take the last row: it is open.
    widths = [body.tape_width.value if body.supply == "tape" else UNKNOWN_SIZE for body in board.bodies] + [
        UNKNOWN_SIZE
    ]
    of_type = session.shared(type_of_part)
    machines = [Truths.of(has_feeder(width, m.feeders) for width in widths).take(of_type) for m in line.machines]
    return [machines[index] for index, _ in heads_of(line)]


@facts.number("line.tray_places", NUMBER, "tray places of all machines together")
def _trays_there(line: Line) -> Numbers:
    return _total([m.tray_places for m in line.machines])


@facts.number("line.tray_part_numbers", NUMBER, "part numbers that come in trays, as far as their bodies tell")
def _trays_needed(session: Session, able: Codes | None) -> Numbers:
    bodies = _fed_bodies(session, able)
    sure = sum(body.supply == "tray" for body in bodies)
    return Numbers.of([Interval(sure, sure + sum(body.supply is None for body in bodies))])
