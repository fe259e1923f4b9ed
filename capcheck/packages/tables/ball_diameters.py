"""The ball diameters that go with a ball pitch, as intervals: the pitch does not fix the ball."""

from __future__ import annotations

from functools import cache
from typing import Final

from capcheck.model import Basis, Measure
from capcheck.packages.tables.csv_rows import rows_of
from capcheck.values import Interval

_SAME_PITCH_MM: Final = 0.02


@cache
def _table() -> tuple[tuple[float, Interval, str], ...]:
    rows = (
        (float(r["pitch_mm"]), Interval(float(r["low_mm"]), float(r["high_mm"])), r["source"]) for r in rows_of("balls")
    )
    return tuple(sorted(rows, key=lambda row: row[0]))


def ball_diameter(pitch: Interval) -> Measure | None:
    """Return the diameters in mm of balls on *pitch*, as a typical measure; None outside the tabled pitches.

    A pitch between two tabled ones gets the hull of both.
    """
    table = _table()
    near = [row for row in table if pitch.low - _SAME_PITCH_MM <= row[0] <= pitch.high + _SAME_PITCH_MM]
    if not near:
        below = [row for row in table if row[0] < pitch.low]
        above = [row for row in table if row[0] > pitch.high]
        if not below or not above:
            return None
        near = [below[-1], above[0]]
    hull = near[0][1]
    for row in near[1:]:
        hull = hull.hull(row[1])
    return Measure(hull, Basis.TYPICAL, f"balls usual on this pitch: {near[0][2]}")
