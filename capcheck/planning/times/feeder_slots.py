"""How parts reach a machine: tape, tray, stick or bowl, and the feeder slots and tray places that this takes.

Slots come from the machine's own table. A tape width known only within bounds gives slots within bounds.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Final

from msgspec import Struct
from msgspec.structs import replace

from capcheck.machines import WITHOUT_TAPE, BankPlaces, Feeders, MachineProfile, slots_of_tape, tape_widths
from capcheck.model import Said, say
from capcheck.planning.job import PartDemand
from capcheck.values import UNKNOWN_SIZE, Interval, total

_ZERO: Final = Interval.exactly(0.0)


class Places(Struct, frozen=True):
    """Feeder slots and tray places that one part type takes on one machine, and why they are no exact number.

    *mounts* tells whether the machine is proved to have a feeder or tray for the part, however many slots it takes;
    *may_stand* whether it is not proved that a bank does not take it.
    """

    slots: Interval
    trays: Interval
    open_because: Said | str = ""
    mounts: bool = True
    may_stand: bool = True


def places_at(part: PartDemand, machine: MachineProfile, at: BankPlaces) -> Places:
    """Return what one feeder or tray of a part takes at a bank of a machine, or on a machine without banks."""
    need, takes = places(part, at.feeders_of(machine)), at.takes(part.packing)
    if takes is True:
        return need
    why = need.open_because or say("planning.bank not proved", bank=at.name, limits=at.names_stopping(part.packing))
    return replace(need, mounts=False, may_stand=takes is not False, open_because=why)


def places(part: PartDemand, feeders: Feeders) -> Places:
    """Return the slots and tray places of one feeder or tray of a part on a machine.

    A part whose form of supply is unknown takes whatever tape, stick, bowl or tray may take.
    """
    if part.supply == "tray":
        return Places(_ZERO, Interval.exactly(1.0))
    if part.supply in WITHOUT_TAPE:
        taken = feeders.slots_without_tape(part.supply)
        if taken is None:
            return Places(UNKNOWN_SIZE, _ZERO, say("planning.feeder slots not stated", of=part.supply), mounts=False)
        return Places(Interval.exactly(taken), _ZERO)
    tape = slots_of_tape(part.tape_width, feeders)
    if part.supply == "tape":
        return Places(tape.slots, _ZERO, tape.why, tape.mounts)
    slots = tape.slots
    for taken in filter(None, map(feeders.slots_without_tape, WITHOUT_TAPE)):
        slots = slots.hull(Interval.exactly(taken))
    may_be_tray = feeders.tray_places != 0
    if may_be_tray:
        slots = slots.hull(_ZERO)
    trays = Interval(0.0, 1.0 if may_be_tray else 0.0)
    return Places(slots, trays, say("planning.supply unknown"), mounts=False)


def slots_if_wider(part: PartDemand, feeders: Feeders) -> float:
    """Return the slots that a part takes at most, were its tape one width wider where only the usual one is known.

    Packing is a maker's choice: a tape that nobody states may be of the next width that the machine has feeders for.
    """
    high = places(part, feeders).slots.high
    if not part.usual_tape or feeders.slots_used is None:
        return high
    usual = max(tape_widths(part.tape_width), default=0)
    return max(high, next((float(used) for width, used in sorted(feeders.slots_by_mm.items()) if width > usual), high))


class Occupied(Struct, frozen=True):
    """Slots and tray places of a machine or bank: needed within bounds, there in all (None if that is not stated)."""

    machine: str
    slots_needed: Interval
    slots: int | None
    trays_needed: Interval
    trays: int | None
    tray_unit_slots: int = 0
    """Slots that the tray unit takes away; part of *slots_needed* already."""
    without_bound: tuple[str, ...] = ()
    """Part numbers whose slots nothing bounds, so that *slots_needed* has no high end."""
    slots_if_wider: float = 0.0
    """Slots needed at most, were every tape that is only the usual one for its body one width wider."""
    bank: str = ""
    """The feeder bank; empty for the whole machine, where its profile states none."""

    @property
    def where(self) -> str:
        """The machine, with its bank where it has some."""
        return place_name(self.machine, self.bank)

    @property
    def slots_free(self) -> Interval | None:
        """Slots left, negative where some are short; None where the profile states no slots."""
        if self.slots is None:
            return None
        return Interval(self.slots - self.slots_needed.high, self.slots - self.slots_needed.low)

    @property
    def has_spare(self) -> bool:
        """Whether the slots suffice also where the tapes are wider than usual."""
        return self.slots is None or self.slots_if_wider <= self.slots

    @property
    def fits(self) -> bool | None:
        """Whether everything fits: True or False where proved, else None."""
        verdicts = (_within(self.slots_needed, self.slots), _within(self.trays_needed, self.trays))
        if False in verdicts:
            return False
        return None if None in verdicts else True


def _within(needed: Interval, there: int | None) -> bool | None:
    if needed.high == 0:
        return True
    if there is None:
        return None
    if needed.high <= there:
        return True
    return False if needed.low > there else None


def place_name(machine: str, bank: str) -> str:
    """Return how reports name a bank of a machine, or a machine without banks."""
    return f"{machine}, {bank}" if bank else machine


def occupied(machine: str, feeders: Feeders, parts: Iterable[PartDemand], bank: str = "") -> Occupied:
    """Return what a set-up of these parts takes of a machine or bank: the union over sides and boards, each part once.

    *feeders* are those of the bank where it is one.
    """
    listed = list(parts)
    every = [places(part, feeders) for part in listed]
    slots = total(p.slots for p in every)
    trays = total(p.trays for p in every)
    unit = feeders.tray_slots or 0
    if unit and trays.high > 0:
        slots = Interval(slots.low + (unit if trays.low > 0 else 0), slots.high + unit)
    open_parts = tuple(p.name for p, takes in zip(listed, every, strict=True) if math.isinf(takes.slots.high))
    wider = sum(slots_if_wider(part, feeders) for part in listed) + (unit if trays.high > 0 else 0)
    return Occupied(
        machine=machine,
        slots_needed=slots,
        slots=feeders.slots,
        trays_needed=trays,
        trays=feeders.tray_places,
        tray_unit_slots=unit,
        without_bound=open_parts,
        slots_if_wider=wider,
        bank=bank,
    )
