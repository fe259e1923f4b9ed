"""Feeder slots that a tape takes on a machine, by the machine's own table.

A tape width known only within bounds gives slots within bounds.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Final

from capcheck.interval import UNKNOWN_SIZE, Interval
from capcheck.machines.profile import Feeders

TAPE_WIDTHS_MM: Final = (4, 8, 12, 16, 24, 32, 44, 56, 72, 88, 104, 120, 152, 200)
"""Nominal tape widths: 8 mm to 200 mm by EIA-481, 4 mm by IEC 60286-3."""

_WIDTH_SLACK_MM: Final = 0.35
"""Tolerance of the tape's width (8.3 mm at most for 8 mm tape, EIA-481)."""


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
