"""Feeder slots that a tape takes on a machine, by the machine's own table.

A tape width known only within bounds gives slots within bounds.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from functools import lru_cache
from typing import Final

from msgspec import Struct

from capcheck.machines.profile import Feeders
from capcheck.values import UNKNOWN_SIZE, Interval

TAPE_WIDTHS_MM: Final = (4, 8, 12, 16, 24, 32, 44, 56, 72, 88, 104, 120, 152, 200)
"""Nominal tape widths: 8 mm to 200 mm by EIA-481, 4 mm by IEC 60286-3."""

WITHOUT_TAPE: Final = ("stick", "bowl")
"""Forms of supply besides tape that stand on a feeder in slots of the bank."""

_WIDTH_SLACK_MM: Final = 0.35
"""Tolerance of the tape's width (8.3 mm at most for 8 mm tape, EIA-481)."""


@lru_cache(maxsize=1024)  # many parts of a board are on the same tapes, and each bank and machine asks
def tape_widths(width: Interval) -> tuple[int, ...]:
    """Return the nominal tape widths in mm that an interval of widths leaves possible."""
    return tuple(w for w in TAPE_WIDTHS_MM if width.low - _WIDTH_SLACK_MM <= w <= width.high + _WIDTH_SLACK_MM)


class TapeSlots(Struct, frozen=True):
    """Slots that a tape takes, *why* they are no exact number or not sure (empty if they are), and *mounts*.

    *mounts* is True where a feeder is stated for every width that the tape may have.
    """

    slots: Interval
    why: str = ""
    mounts: bool = True


def slots_of_tape(width: Interval, feeders: Feeders) -> TapeSlots:
    """Return the slots that a tape takes by the machine's table.

    What the table has a feeder for bounds what can be mounted at all: where a tape may be of several widths and some
    have no feeder, the widest that has one is the high end, and whether the tape mounts stays open.
    """
    if feeders.slots_used is None:
        return TapeSlots(UNKNOWN_SIZE, "the profile does not state the slots by tape width", mounts=False)
    table, possible = feeders.slots_by_mm, tape_widths(width)
    if not possible:
        return TapeSlots(UNKNOWN_SIZE, f"no nominal tape is {width.low:g} to {width.high:g} mm wide", mounts=False)
    stated = {w: table[w] for w in possible if w in table}
    missing = [w for w in possible if w not in table]
    if not stated:
        return TapeSlots(
            UNKNOWN_SIZE, f"the profile's table has no feeder for {_listed(missing)} mm tape", mounts=False
        )
    slots = Interval(min(stated.values()), max(stated.values()))
    if not math.isfinite(width.high):
        widest = f"the tape width is unknown; the widest feeder in the profile's table is for {max(stated)} mm"
        return TapeSlots(slots, widest, mounts=False)
    if missing:
        there = f"the profile's table has feeders for {_listed(stated)} mm alone (ask for such a tape)"
        why = f"the tape is {_listed(possible)} mm wide, and {there}"
        return TapeSlots(slots, why, mounts=False)
    return TapeSlots(slots, "" if slots.is_exact else f"the tape is {_listed(possible)} mm wide")


def has_feeder(width: Interval, feeders: Feeders) -> bool | None:
    """Whether the table has a feeder for the tape, whichever of the widths that are possible it has; None if open."""
    if feeders.slots_used is None:
        return None
    table, possible = feeders.slots_by_mm, tape_widths(width)
    if table.keys().isdisjoint(possible):
        return False if possible and math.isfinite(width.high) else None
    return True if math.isfinite(width.high) and table.keys() >= {*possible} else None


def _listed(widths: Iterable[int]) -> str:
    """Return widths in words: ``8``, ``4 or 8``, ``8, 12 or 16``."""
    *most, last = map(str, widths)
    return f"{', '.join(most)} or {last}" if most else last
