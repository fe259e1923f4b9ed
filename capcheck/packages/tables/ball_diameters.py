"""The ball diameters that go with a ball pitch, as intervals: the pitch does not fix the ball."""

from __future__ import annotations

from typing import Final

from msgspec import Struct

from capcheck.model import Basis, Measure
from capcheck.packages.tables.rows import rows_of
from capcheck.values import Interval

_SAME_PITCH_MM: Final = 0.02


class _Ball(Struct, frozen=True):
    pitch_mm: float
    diameter_mm: Interval
    source: str


def ball_diameter(pitch: Interval) -> Measure | None:
    """Return the diameters in mm of balls on *pitch*, as a typical measure; None outside the tabled pitches.

    A pitch between two tabled ones gets the hull of both.
    """
    balls = sorted(rows_of("balls", _Ball), key=lambda ball: ball.pitch_mm)
    near = [b for b in balls if pitch.low - _SAME_PITCH_MM <= b.pitch_mm <= pitch.high + _SAME_PITCH_MM]
    if not near:
        below = [b for b in balls if b.pitch_mm < pitch.low]
        above = [b for b in balls if b.pitch_mm > pitch.high]
        if not below or not above:
            return None
        near = [below[-1], above[0]]
    hull = near[0].diameter_mm
    for ball in near[1:]:
        hull = hull.hull(ball.diameter_mm)
    return Measure(hull, Basis.TYPICAL, f"balls usual on this pitch: {near[0].source}")
