"""Defensible bounds where nothing is stated: the hull of published outlines, and what geometry allows.

A ceramic chip is no higher than it is wide, a small outline no higher than the tallest published one. Inductors,
electrolytics, connectors, crystals, shields and unknown names get no bound.
"""

from __future__ import annotations

import math
import re
from functools import reduce
from typing import Final

from capcheck.model import NOTHING, Basis, LeadStyle, Said, say
from capcheck.packages.candidate import Candidate, Trust
from capcheck.packages.names import words
from capcheck.packages.tables import Family, family_table
from capcheck.values import Interval

_CERAMIC_TOLERANCE: Final = (0.2, 0.3)
"""How much thicker than the greatest usual width the thickest ceramic chips come: mm, and share of the width, whichever
is less. Parts of high capacitance have wider tolerances than the size code's own; the thickest remembered leave room
below it: 0.39 mm for 0603M, 0.70 for 1005M, 1.00 for 1608M, 1.45 for 2012M, 1.90 for 3216M, 2.80 for 3225M."""
_AS_WIDE: Final = frozenset((Family.CHIP_RESISTOR, Family.MELF))
_AS_LONG: Final = frozenset((Family.CHIP_DIODE, Family.CHIP_THERMISTOR, Family.CHIP_VARISTOR))
"""Families without a published greatest height, whose longer side is a limit with room to spare."""
_LAMPS: Final = frozenset((Family.CHIP_LED, Family.MOLDED_LED))
_BY_THE_LONGER_SIDE: Final = frozenset(
    (
        Family.CHIP,
        Family.CHIP_INDUCTOR,
        Family.CHIP_FERRITE_BEAD,
        Family.CHIP_POLARISED_CAPACITOR,
        Family.CHIP_ARRAY,
        Family.MOLDED_INDUCTOR,
        Family.CRYSTAL,
        Family.OSCILLATOR,
    )
)
_LONGER_SIDES: Final = 1.5
"""Heights of a coded part in longer sides: the tallest known, a lamp's dome on a subminiature body, reaches 1.25, a
wound coil 1.0 (from memory)."""
_BEAD_TOLERANCE_MM: Final = 0.2
_LEAST_PITCH_MM: Final = {
    Family.QFN: 0.3,
    Family.SON: 0.3,
    Family.DFN: 0.3,
    Family.SOP: 0.4,
    Family.TSOP: 0.4,
    Family.SOT: 0.35,
}
"""The finest pitch that packages of a family are sold with, from memory."""
_COARSEST_MM: Final = 2.6
"""Coarser than the pitch of 2.54 mm that leads in rows have at most, with room; from memory."""
_CORNERS: Final = {Family.CRYSTAL: (2, 4), Family.OSCILLATOR: (3, 6)}
"""Parts of the shorter side that lie at least between two lands, and the pins up to which that holds: two lands on
one side leave a gap, so their centres are more than half the side apart; six lands of an oscillator are set in."""
_ON_BALLS: Final = frozenset((Family.BGA, Family.WLCSP))
_LEAST_BALL_PITCH_MM: Final = 0.3
_GREATEST_BALL_PITCH_MM: Final = 1.5
"""The finest and the coarsest pitch of balls that are sold, 0.3 and 1.5 mm; from memory."""


_RESETTABLE_ROOM_MM: Final = 0.4
"""Resettable fuses of 0805 are 1.2 mm wide and up to 1.5 mm high, and a name may not say that one is; from memory."""


def family_bounds(known: Candidate) -> Candidate | None:
    """Return what the family alone bounds of a body; None where it bounds nothing.

    *known* names the family by ``family_key`` and may carry the body, pins and span that bounds follow from. The
    result states only upper limits of height, ball pitch, and of a body below its leads' span.
    """
    family = known.family_key
    if family is None:
        return None
    height, why_height = _height(known, family)
    pitch, why_pitch = _pitch(known, family)
    length, width, why_body = _body(known, family)
    reasons = [why for why in (why_height, why_pitch, why_body) if why.key]
    if not reasons:
        return None
    return Candidate(
        Basis.BOUND,
        Trust.BOUND,
        scheme=reduce(lambda one, other: say("packages.both", one=one, other=other), reasons),
        length=length,
        width=width,
        height=height,
        pitch=pitch,
        family_key=family,
    )


def _height(known: Candidate, family: Family) -> tuple[Interval | None, Said]:
    """Return the least of the limits that hold: the family's, its height class's, the width of a chip."""
    limits: list[tuple[float, Said]] = []
    if (tallest := family_table(family).tallest) is not None:
        reason = say("packages.tallest of the family", reason=tallest.reason, table=tallest.source)
        limits.append((tallest.height_mm, reason))
    letters = re.match(r"[A-Za-z]+", known.family or "")
    word = words().get(letters[0].upper()) if letters else None
    if word is not None and word.family is family and word.height_max_mm is not None:
        limits.append((word.height_max_mm, say("packages.height class", word=word.word, table=word.source)))
    width = known.width.high if known.width is not None else math.inf
    length = known.length.high if known.length is not None else math.inf
    if family in _AS_WIDE and math.isfinite(width):
        limits.append((width, say(f"packages.as wide: {family}")))
    if family is Family.CHIP_CAPACITOR and math.isfinite(width):
        most, share = _CERAMIC_TOLERANCE
        limits.append((round(width + min(most, share * width), 6), say("packages.as wide: chip capacitor")))
    if family in _AS_LONG and math.isfinite(length):
        limits.append((length, say("packages.as long", family=family)))
    if family is Family.CHIP_FUSE and math.isfinite(width):
        fuse = round(width + _RESETTABLE_ROOM_MM, 6)
        limits.append((fuse, say("packages.shorter side: chip fuse", room=_RESETTABLE_ROOM_MM)))
    if family in _BY_THE_LONGER_SIDE and math.isfinite(length):
        limits.append((round(_LONGER_SIDES * length, 6), say("packages.longer side")))
    if family in _LAMPS and math.isfinite(length):
        limits.append((round(_LONGER_SIDES * length, 6), say("packages.as long: lamp")))
    if family is Family.CHIP_FERRITE_BEAD and known.nominal_width is not None:
        bead = round(known.nominal_width.high + _BEAD_TOLERANCE_MM, 6)
        limits.append((bead, say("packages.as wide: chip ferrite bead")))
    if not limits:
        return None, NOTHING
    # Of equal limits the more particular one counts, which comes later.
    high, why = min(reversed(limits), key=lambda limit: limit[0])
    return Interval.at_most(high), say("packages.at most", high=high, reason=why)


def _pitch(known: Candidate, family: Family) -> tuple[Interval | None, Said]:
    if family in _CORNERS:
        return _corner_pitch(known, family)
    if family in _LEAST_PITCH_MM and known.pitch is None:
        low = _LEAST_PITCH_MM[family]
        return Interval(low, _COARSEST_MM), say("packages.finest pitch", low=low)
    return _ball_pitch(known, family)


def _corner_pitch(known: Candidate, family: Family) -> tuple[Interval | None, Said]:
    """Return the pitches of lands at the corners of a body, or three along its longer side."""
    parts, most_pins = _CORNERS[family]
    if known.pitch is not None or known.width is None or known.length is None or not known.states_size:
        return None, NOTHING
    if known.lead_style is not LeadStyle.NO_LEAD or (known.pins or 0) > most_pins:
        return None, NOTHING
    low = round(known.width.low / parts, 3)
    return Interval(low, known.length.high), say("packages.lands at the corners", low=low)


def _ball_pitch(known: Candidate, family: Family) -> tuple[Interval | None, Said]:
    """Return the pitches that so many balls under such a body allow, at most the coarsest published."""
    if family not in _ON_BALLS or known.pitch is not None:
        return None, NOTHING
    high = _GREATEST_BALL_PITCH_MM
    if known.pins and known.states_size and known.length and known.width:
        high = min(high, _coarsest(known.pins, known.length.high, known.width.high))
    high = max(high, _LEAST_BALL_PITCH_MM)
    return Interval(_LEAST_BALL_PITCH_MM, high), say("packages.balls that fit")


def _coarsest(balls: int, length: float, width: float) -> float:
    """Return the greatest pitch p with (length/p + 1)(width/p + 1) balls not less than *balls*."""
    # balls·p² − balls grid: (N − 1)p² − (length + width)p − length·width = 0
    a, b, c = balls - 1, -(length + width), -length * width
    return float(f"{(-b + math.sqrt(b * b - 4 * a * c)) / (2 * a):.4g}") if a > 0 else _GREATEST_BALL_PITCH_MM


def _body(known: Candidate, family: Family) -> tuple[Interval | None, Interval | None, Said]:
    """Return a body below the span over its leads, where only the span is known."""
    span = known.span
    if span is None or known.length is not None or known.width is not None:
        return None, None, NOTHING
    sides = family_table(family).sides_with_leads
    if sides == 4:
        other = known.span_second or span
        return Interval.at_most(span.high), Interval.at_most(other.high), say("packages.within the span")
    if sides == 2:
        return None, Interval.at_most(span.high), say("packages.shorter side within the span")
    return None, None, NOTHING
