"""The carrier tape a part comes in: width and pitch from makers' packing tables and the limits of EIA-481.

Packing is a maker's choice, so what follows is typical: an interval that holds the tapes usual for such a body.
"""

from __future__ import annotations

import math
from typing import Final

from msgspec import Struct

from capcheck.model import QUAD_FLAT, Basis, Body, LeadStyle, Measure
from capcheck.packages.tables.rows import rows_of
from capcheck.values import Interval

_CLEARANCE_MM: Final = 0.2
"""Least room of a pocket beyond the part; from memory of TI's package materials information, 0.2 to 0.6 mm."""

_BETWEEN_POCKETS_MM: Final = 0.8
"""Least web between two pockets along the tape, sides' draft included; from memory."""

_LEADS_MM: Final = Interval(1.5, 2.9)
"""How far two rows of gull wings reach beyond their body, both sides together; from memory of MO-153 and MS-013."""

_TAPE_STEP_MM: Final = 4.0
"""Pockets follow one another at multiples of the sprocket holes' pitch (EIA-481-D)."""
_LEAST_STEP_MM: Final = 2.0
"""Pitch of the smallest parts on tape of 8 mm (EIA-481-D)."""
_DIODE_PINS: Final = 2


class _Choice(Struct, frozen=True):
    """A packing table's tape for bodies of some lead styles and sides."""

    lead_styles: frozenset[LeadStyle]
    long_mm: Interval
    short_mm: Interval
    tape_mm: Interval
    pitch_mm: Interval
    source: str


class _Tape(Struct, frozen=True):
    """A tape of EIA-481: the greatest part across its pocket, with draft, the pocket's depth, the greatest pitch."""

    width_mm: float
    pocket_across_max_mm: float
    pocket_depth_max_mm: float
    pitch_max_mm: float
    source: str


def over_all(body: Body) -> tuple[Interval, Interval] | None:
    """Return the longer and shorter side of the part with its leads; None where the body is not known."""
    long, short = body.length.value, body.width.value
    if not (math.isfinite(long.high) and math.isfinite(short.high)):
        return None
    span = body.span.value
    if body.span.basis is Basis.UNKNOWN or not math.isfinite(span.high):
        return long, short
    if body.lead_style is LeadStyle.J_LEAD or body.family_key in QUAD_FLAT:
        # A body that is wider than long has its leads beyond both sides alike; its second side is at most the span.
        high = max(short.high, span.high)
        second = Interval(min(high, max(short.low, span.low - (long.low - short.low))), high)
        return Interval(max(long.low, span.low), max(long.high, span.high)), second
    # Two leads stand out at the ends; leads of two rows across the side that the span exceeds least, or else across
    # the long one where they would reach further beyond the short one than leads do.
    ends = span.low >= long.high and span.middle - long.middle < span.middle - short.middle - 0.8 * short.middle
    ends = ends or _LEADS_MM.low <= span.middle - long.middle <= _LEADS_MM.high < span.middle - short.middle
    across = long if ends or body.pins == _DIODE_PINS else short
    other = short if across is long else long
    pair = (Interval(max(span.low, across.low), max(span.high, across.high)), other)
    longer = Interval(max(pair[0].low, pair[1].low), max(pair[0].high, pair[1].high))
    shorter = Interval(min(pair[0].low, pair[1].low), min(pair[0].high, pair[1].high))
    return longer, shorter


def tape_for_body(body: Body) -> tuple[Measure, Measure] | None:
    """Return tape width and pitch in mm for a part, both typical; None where no tape of EIA-481 takes it.

    Packing tables decide where they know such a body; otherwise the narrowest tape that takes the longer side across,
    and the next wider one.
    """
    sides = over_all(body)
    if sides is None:
        return None
    long, short = sides
    found = [
        c
        for c in rows_of("tape_choice", _Choice)
        if body.lead_style in c.lead_styles and c.long_mm.overlaps(_inner(long)) and c.short_mm.overlaps(_inner(short))
    ]
    if found and long.high - long.low < 0.5 * long.high + 0.2:
        width, pitch = found[0].tape_mm, found[0].pitch_mm
        for choice in found[1:]:
            width, pitch = width.hull(choice.tape_mm), pitch.hull(choice.pitch_mm)
        return (
            Measure(width, Basis.TYPICAL, f"tape usual for such a body: {found[0].source}"),
            Measure(pitch, Basis.TYPICAL, f"pitch usual for such a body: {found[0].source}"),
        )
    return _by_standard(long, short, body)


def _inner(side: Interval) -> Interval:
    """Return the middle half of a toleranced side: a tolerance alone must not call up the next class."""
    quarter = (side.high - side.low) / 4 if side.high - side.low < 1 else 0.0
    return Interval(side.low + quarter, side.high - quarter)


def _by_standard(long: Interval, short: Interval, body: Body) -> tuple[Measure, Measure] | None:
    # A bound of the kind is far above most parts: it calls for no deeper tape.
    known = math.isfinite(body.height.high) and body.height.basis is not Basis.BOUND
    depth = body.height.high if known else 0.0
    tapes = sorted(rows_of("tapes", _Tape), key=lambda tape: tape.width_mm)

    def first_with(across: float, depth: float = 0.0) -> int | None:
        fits = (i for i, t in enumerate(tapes) if t.pocket_across_max_mm >= across and t.pocket_depth_max_mm >= depth)
        return next(fits, None)

    least = first_with(long.low + _CLEARANCE_MM)
    fits = first_with(long.high + _CLEARANCE_MM, depth)
    if fits is None or least is None:
        return None
    wider = tapes[min(fits + 1, len(tapes) - 1)]
    along = short.low + _BETWEEN_POCKETS_MM
    pitch_low = _LEAST_STEP_MM if along <= _LEAST_STEP_MM else _TAPE_STEP_MM * math.ceil(along / _TAPE_STEP_MM)
    pitch_high = min(
        _TAPE_STEP_MM * (math.ceil((short.high + _BETWEEN_POCKETS_MM) / _TAPE_STEP_MM) + 1), wider.pitch_max_mm
    )
    why = "EIA-481: the narrowest tape whose pocket takes the longer side across, or the next"
    return (
        Measure(Interval(tapes[least].width_mm, wider.width_mm), Basis.TYPICAL, why),
        Measure(Interval(pitch_low, max(pitch_low, pitch_high)), Basis.TYPICAL, why),
    )
