"""Defensible bounds where nothing is stated: the hull of published outlines, and what geometry allows.

A ceramic chip is no higher than it is wide, a small outline no higher than the tallest published one. Inductors,
electrolytics, connectors, crystals, shields and unknown names get no bound.
"""

from __future__ import annotations

import math
import re
from functools import cache
from typing import Final

from capcheck.model import Basis
from capcheck.packages.candidate import Reading, Trust
from capcheck.packages.names import words
from capcheck.packages.tables import rows_of
from capcheck.values import Interval

_CERAMIC: Final = "a ceramic chip is no higher than it is wide (common practice), with the tolerance of thick ones"
_CERAMIC_TOLERANCE: Final = (0.2, 0.3)
"""How much thicker than the greatest usual width the thickest ceramic chips come: mm, and share of the width, whichever
is less. Parts of high capacitance have wider tolerances than the size code's own; the thickest remembered leave room
below it: 0.39 mm for 0603M, 0.70 for 1005M, 1.00 for 1608M, 1.45 for 2012M, 1.90 for 3216M, 2.80 for 3225M."""
_AS_WIDE: Final = {
    "chip resistor": "a flat chip resistor is thinner than it is wide",
    "melf": "a cylinder is as high as its diameter",
}
_AS_LONG: Final = {
    "chip diode": "a chip diode is flatter than it is long (from memory)",
    "chip fuse": "a chip fuse is flatter than it is long (from memory)",
    "chip thermistor": "a chip thermistor is flatter than it is long (from memory)",
    "chip varistor": "a chip varistor is flatter than it is long (from memory)",
}
"""Families without a published greatest height, whose longer side is a limit with room to spare."""
_LAMPS: Final = frozenset(("chip led", "molded led"))
_LAMP_SIDES: Final = 1.5
"""Heights of a lamp in longer sides: the tallest dome known, on a subminiature body, reaches 1.25 (from memory)."""
_BEAD_TOLERANCE_MM: Final = 0.2
_BEAD: Final = "a ferrite chip bead is no thicker than wide, with 0.2 mm tolerance (KOA MCB and NIC NCB tables)"
_CORNERS: Final = {"crystal": (2, 4), "oscillator": (3, 6)}
"""Parts of the shorter side that lie at least between two lands, and the pins up to which that holds: two lands on
one side leave a gap, so their centres are more than half the side apart; six lands of an oscillator are set in."""
_ON_BALLS: Final = frozenset(("bga", "wlcsp"))
_QUAD: Final = frozenset(("qfp", "cqfp", "plcc"))
_DUAL: Final = frozenset(("soic", "sop", "soj", "cfp"))
_LEAST_BALL_PITCH_MM: Final = 0.3
_GREATEST_BALL_PITCH_MM: Final = 1.5


@cache
def _tallest() -> dict[str, tuple[float, str]]:
    """Return each family's tallest height in mm with the words for a report."""
    return {
        r["family_key"]: (float(r["high_mm"]), f"{r['basis_text']} ({r['source']})")
        for r in rows_of("bounds")
        if r["field"] == "height"
    }


def family_bounds(reading: Reading) -> Reading | None:
    """Return what the family alone bounds of *reading*'s body; None where it bounds nothing.

    *reading* names the family by ``family_key`` and may carry the body, pins and span that bounds follow from. The
    result states only upper limits of height, ball pitch, and of a body below its leads' span.
    """
    key = reading.family_key
    if key is None:
        return None
    height, why_height = _height(reading, key)
    pitch, why_pitch = _corner_pitch(reading, key) if key in _CORNERS else _ball_pitch(reading, key)
    length, width, why_body = _body(reading, key)
    reasons = [why for why in (why_height, why_pitch, why_body) if why]
    if not reasons:
        return None
    return Reading(
        source="; ".join(reasons),
        basis=Basis.BOUND,
        trust=Trust.BOUND,
        length=length,
        width=width,
        height=height,
        pitch=pitch,
        family_key=key,
        text=reading.text,
    )


def _height(reading: Reading, key: str) -> tuple[Interval | None, str]:
    """Return the least of the limits that hold: the family's, its height class's, the width of a chip."""
    limits = []
    if key in _tallest():
        limits.append(_tallest()[key])
    letters = re.match(r"[A-Za-z]+", reading.family or "")
    word = words().get(letters[0].upper()) if letters else None
    if word is not None and word.family_key == key and word.height_max_mm is not None:
        limits.append((word.height_max_mm, f"{word.word}: {word.source}"))
    if key in _AS_WIDE and reading.width is not None and math.isfinite(reading.width.high):
        limits.append((reading.width.high, _AS_WIDE[key]))
    if key == "chip capacitor" and reading.width is not None and math.isfinite(reading.width.high):
        most, share = _CERAMIC_TOLERANCE
        limits.append((round(reading.width.high + min(most, share * reading.width.high), 6), _CERAMIC))
    if key in _AS_LONG and reading.length is not None and math.isfinite(reading.length.high):
        limits.append((reading.length.high, _AS_LONG[key]))
    if key in _LAMPS and reading.length is not None and math.isfinite(reading.length.high):
        high = round(_LAMP_SIDES * reading.length.high, 6)
        limits.append((high, "a lamp with a dome is no taller than one and a half of its longer side (from memory)"))
    if key == "chip ferrite bead" and reading.nominal_width is not None:
        limits.append((round(reading.nominal_width.high + _BEAD_TOLERANCE_MM, 6), _BEAD))
    if not limits:
        return None, ""
    high, why = min(limits)
    return Interval.at_most(high), f"height at most {high:g} mm: {why}"


def _corner_pitch(reading: Reading, key: str) -> tuple[Interval | None, str]:
    """Return the pitches of lands at the corners of a body, or three along its longer side."""
    parts, most_pins = _CORNERS[key]
    if reading.pitch is not None or reading.width is None or reading.length is None or not reading.states_size():
        return None, ""
    if reading.lead_style != "no lead" or (reading.pins or 0) > most_pins:
        return None, ""
    low = round(reading.width.low / parts, 3)
    return Interval(low, reading.length.high), f"lands at the corners lie at least {low:g} mm apart"


def _ball_pitch(reading: Reading, key: str) -> tuple[Interval | None, str]:
    """Return the pitches that so many balls under such a body allow, at most the coarsest published."""
    if key not in _ON_BALLS or reading.pitch is not None:
        return None, ""
    high = _GREATEST_BALL_PITCH_MM
    if reading.pins and reading.states_size() and reading.length and reading.width:
        high = min(high, _coarsest(reading.pins, reading.length.high, reading.width.high))
    high = max(high, _LEAST_BALL_PITCH_MM)
    return Interval(
        _LEAST_BALL_PITCH_MM, high
    ), "ball pitch within what is published and fits under the body (from memory)"


def _coarsest(balls: int, length: float, width: float) -> float:
    """Return the greatest pitch p with (length/p + 1)(width/p + 1) balls not less than *balls*."""
    # balls·p² − balls grid: (N − 1)p² − (length + width)p − length·width = 0
    a, b, c = balls - 1, -(length + width), -length * width
    return float(f"{(-b + math.sqrt(b * b - 4 * a * c)) / (2 * a):.4g}") if a > 0 else _GREATEST_BALL_PITCH_MM


def _body(reading: Reading, key: str) -> tuple[Interval | None, Interval | None, str]:
    """Return a body below the span over its leads, where only the span is known."""
    span = reading.span
    if span is None or reading.length is not None or reading.width is not None:
        return None, None, ""
    if key in _QUAD:
        other = reading.span_second or span
        return (
            Interval.at_most(span.high),
            Interval.at_most(other.high),
            "the body is smaller than the span over its leads",
        )
    if key in _DUAL:
        return None, Interval.at_most(span.high), "the shorter side is smaller than the span over the leads"
    return None, None, ""
