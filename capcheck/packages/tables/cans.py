"""The square base that an aluminium electrolytic can of a given diameter stands on."""

from __future__ import annotations

from capcheck.packages.tables.csv_rows import rows_of
from capcheck.values import Interval

_SAME_MM = 0.06


def base_of(diameter_mm: float) -> Interval | None:
    """Return the side of the base for a can's diameter; None for a diameter that is not tabled."""
    for row in rows_of("cans"):
        if abs(float(row["diameter_mm"]) - diameter_mm) <= _SAME_MM:
            return Interval.about(float(row["base_mm"]), float(row["base_tolerance_mm"]))
    return None


def diameter_of(base_mm: float) -> float | None:
    """Return the diameter of the can that stands on a base of this side."""
    for row in rows_of("cans"):
        if abs(float(row["base_mm"]) - base_mm) <= _SAME_MM:
            return float(row["diameter_mm"])
    return None
