"""How parts reach a machine: tape, tray or stick, and the feeder slots and tray places that this takes.

Slots come from the machine's own table. A tape width known only within bounds gives slots within bounds.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

from capcheck.interval import UNKNOWN_SIZE, Interval
from capcheck.machines.profile import Feeders
from capcheck.planning.job import PartDemand

TAPE_WIDTHS_MM: Final = (4, 8, 12, 16, 24, 32, 44, 56, 72, 88, 104, 120, 152, 200)
"""Nominal tape widths: 8 mm to 200 mm by EIA-481, 4 mm by IEC 60286-3."""

_ZERO: Final = Interval.exactly(0.0)
_WIDTH_SLACK_MM: Final = 0.35
"""Tolerance of the tape's width (8.3 mm at most for 8 mm tape, EIA-481)."""


@dataclass(frozen=True, slots=True)
class Places:
    """Feeder slots and tray places that one part type takes on one machine, and why they are no exact number."""

    slots: Interval
    trays: Interval
    open_because: str = ""


def tape_widths(width: Interval) -> tuple[int, ...]:
    """Return the nominal tape widths in mm that an interval of widths leaves possible."""
    return tuple(w for w in TAPE_WIDTHS_MM if width.low - _WIDTH_SLACK_MM <= w <= width.high + _WIDTH_SLACK_MM)


def slots_of_tape(width: Interval, feeders: Feeders) -> tuple[Interval, str]:
    """Return the slots that a tape takes by the machine's table, and what leaves them open (or an empty text)."""
    if feeders.slots_used is None:
        return UNKNOWN_SIZE, "the profile does not state the slots by tape width"
    table = {int(name.split()[0]): used for name, used in feeders.slots_used.items()}
    possible = tape_widths(width)
    if not possible:
        return UNKNOWN_SIZE, f"no nominal tape is {width.low:g} to {width.high:g} mm wide"
    stated = [table[w] for w in possible if w in table]
    missing = [w for w in possible if w not in table]
    unknown_width = not math.isfinite(width.high)
    if not stated:
        return UNKNOWN_SIZE, f"the profile's table has no feeder for {_listed(missing)} mm tape"
    slots = Interval(min(stated), max(stated))
    if unknown_width:
        # The widest feeder of the table bounds what can be mounted at all.
        return slots, "the tape width is unknown" if not slots.is_exact or missing else ""
    if missing:
        return Interval(slots.low, math.inf), f"the profile's table has no feeder for {_listed(missing)} mm tape"
    return slots, "" if slots.is_exact else f"the tape is {possible[0]} to {possible[-1]} mm wide"


def _listed(widths: Iterable[int]) -> str:
    return ", ".join(map(str, widths))


def _slots_of_stick(feeders: Feeders) -> tuple[Interval, str]:
    if feeders.stick_slots is None:
        return UNKNOWN_SIZE, "the profile does not state the slots of a stick feeder"
    return Interval.exactly(feeders.stick_slots), ""


def places(part: PartDemand, feeders: Feeders) -> Places:
    """Return the slots and tray places of one feeder or tray of a part on a machine.

    A part whose form of supply is unknown takes whatever tape, stick or tray may take.
    """
    if part.supply == "tray":
        return Places(_ZERO, Interval.exactly(1.0))
    if part.supply == "stick":
        slots, why = _slots_of_stick(feeders)
        return Places(slots, _ZERO, why)
    slots, why = slots_of_tape(part.tape_width, feeders)
    if part.supply == "tape":
        return Places(slots, _ZERO, why)
    if feeders.stick_slots is not None:
        slots = slots.hull(Interval.exactly(feeders.stick_slots))
    may_be_tray = feeders.tray_places != 0
    if may_be_tray:
        slots = slots.hull(_ZERO)
    return Places(slots, Interval(0.0, 1.0 if may_be_tray else 0.0), "the form of supply is unknown")


@dataclass(frozen=True, slots=True)
class Occupied:
    """Slots and tray places of a machine: needed within bounds, there in all (None if the profile is silent)."""

    machine: str
    slots_needed: Interval
    slots: int | None
    trays_needed: Interval
    trays: int | None
    tray_unit_slots: int = 0
    """Slots that the tray unit takes away; part of *slots_needed* already."""

    @property
    def slots_free(self) -> Interval | None:
        """Slots left, negative where some are short; None where the profile states no slots."""
        return None if self.slots is None else Interval(
            self.slots - self.slots_needed.high, self.slots - self.slots_needed.low
        )  # fmt: skip

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


def occupied(machine: str, feeders: Feeders, parts: Iterable[PartDemand]) -> Occupied:
    """Return what a set-up of these parts takes of a machine: the union over sides and boards, each part once."""
    every = [places(part, feeders) for part in parts]
    slots = Interval(sum(p.slots.low for p in every), sum(p.slots.high for p in every))
    trays = Interval(sum(p.trays.low for p in every), sum(p.trays.high for p in every))
    unit = feeders.tray_slots or 0
    if unit and trays.high > 0:
        slots = Interval(slots.low + (unit if trays.low > 0 else 0), slots.high + unit)
    return Occupied(machine, slots, feeders.slots, trays, feeders.tray_places, unit)


def boards_between_refills(per_container: int, per_board: int) -> float:
    """Return how many boards a reel, tray or stick lasts."""
    return per_container / per_board
