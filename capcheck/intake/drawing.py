"""What an outline file draws, before anything is chosen: strokes by layer, circles, texts and the unit it states.

Strokes keep arcs exact, as the tangent of a quarter of the swept angle (the *bulge* of a DXF polyline), so that
they are flattened once the unit is known: a deviation of 1 µm is another number of points in inch than in mm.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Final

import numpy as np

from capcheck.model import Floats

MM_PER: Final = {
    "mm": 1.0, "inch": 25.4, "mil": 0.0254, "cm": 10.0, "µm": 0.001, "m": 1000.0, "ft": 304.8,
    "microinch": 0.0000254,
}  # fmt: skip
"""Millimetres in a unit, exact by definition (the international inch is 25.4 mm)."""

_UNIT_SPELLINGS: Final = {
    "mm": "mm", "millimetre": "mm", "millimeter": "mm", "cm": "cm", "centimetre": "cm", "centimeter": "cm",
    "inch": "inch", "in": "inch", "inches": "inch", '"': "inch", "mil": "mil", "mils": "mil", "thou": "mil",
    "µm": "µm", "μm": "µm", "um": "µm", "micron": "µm", "m": "m", "metre": "m", "meter": "m",
}  # fmt: skip

_SAME_ANGLE: Final = 1e-9
SAGITTA_MM: Final = 0.001
"""Largest distance between an arc and the chords that stand for it."""


def outline_unit(text: str) -> str | None:
    """Return the unit that *text* spells, as a key of :data:`MM_PER`; None if it is none."""
    return _UNIT_SPELLINGS.get(text.strip().lower())


@dataclass(frozen=True, slots=True)
class Stroke:
    """An open or closed line of straight and round pieces, in the drawing's unit.

    *vertices* is n × 2; *bulges* has n − 1 values (positive: the arc runs counter-clockwise), None where all pieces
    are straight. A closed stroke ends on its first vertex. *where* names the entity for messages.
    """

    vertices: Floats
    layer: str
    bulges: Floats | None = None
    where: str = ""
    filled: bool = False
    """The border of a filled area, not a drawn line."""

    def points(self, factor: float, sagitta_mm: float = SAGITTA_MM) -> Floats:
        """Return the stroke as points in mm, *factor* mm a drawing unit; no chord is farther than *sagitta_mm* off.

        The outermost points of every arc along x and y are among the points, so that boxes are exact.
        """
        corners = self.vertices * factor
        if self.bulges is None or not self.bulges.any():
            return corners
        pieces = [corners[:1]]
        for start, end, bulge in zip(corners[:-1], corners[1:], self.bulges, strict=True):
            pieces.append(_arc(start, end, float(bulge), sagitta_mm))
        return np.concatenate(pieces)


def _arc(start: Floats, end: Floats, bulge: float, sagitta: float) -> Floats:
    """Return the points of an arc after *start*, up to and with *end*."""
    x0, y0, x1, y1 = float(start[0]), float(start[1]), float(end[0]), float(end[1])
    chord = math.hypot(x1 - x0, y1 - y0)
    if bulge == 0.0 or chord == 0.0:
        return end[None, :]
    # Centre on the chord's bisector, (1 − b²) / 4b chords from its middle; the swept angle is 4 atan b.
    lever = (1.0 - bulge * bulge) / (4.0 * bulge)
    cx = (x0 + x1) / 2.0 - lever * (y1 - y0)
    cy = (y0 + y1) / 2.0 + lever * (x1 - x0)
    radius = chord * (1.0 + bulge * bulge) / (4.0 * abs(bulge))
    first = math.atan2(y0 - cy, x0 - cx)
    sweep = 4.0 * math.atan(bulge)
    inner = arc_angles(first, first + sweep, radius, sagitta)[1:-1]
    arc = np.column_stack((cx + radius * np.cos(inner), cy + radius * np.sin(inner)))
    return np.concatenate((arc, end[None, :]))


@lru_cache(maxsize=256)
def arc_angles(first: float, last: float, radius: float, sagitta: float) -> Floats:
    """Return angles (radian) from *first* to *last* whose chords stay within *sagitta* of the arc.

    The quarter points are among them.
    """
    step = 2.0 * math.acos(1.0 - min(sagitta / radius, 0.5)) if radius > 0 else math.pi
    count = min(max(1, math.ceil(abs(last - first) / step)), 20_000)
    quarter = math.pi / 2.0
    low, high = min(first, last), max(first, last)
    quarters = [k * quarter for k in range(math.ceil(low / quarter + 1e-9), math.floor(high / quarter - 1e-9) + 1)]
    angles = np.concatenate((np.linspace(low, high, count + 1), quarters))
    angles.sort()
    # A quarter point beside a regular one would make a piece of no length.
    keep = np.concatenate(([True], np.diff(angles) > _SAME_ANGLE))
    angles = angles[keep]
    angles[-1] = high
    angles = angles if last >= first else angles[::-1]
    angles.flags.writeable = False  # the cache hands it out again
    return angles


@dataclass(frozen=True, slots=True)
class Circle:
    """A full circle in the drawing's unit."""

    x: float
    y: float
    diameter: float
    layer: str
    where: str = ""


@dataclass(slots=True)
class Drawing:
    """All that an outline file draws, in its own unit; *texts* are the places of texts and dimension lines."""

    file: str
    strokes: list[Stroke] = field(default_factory=list)
    circles: list[Circle] = field(default_factory=list)
    texts: list[tuple[float, float]] = field(default_factory=list)
    unit: str | None = None
    """The unit the file states, a key of :data:`MM_PER`."""
    metric_hint: bool | None = None
    """What the file says of its measuring system, where it states no unit."""
    hidden_layers: frozenset[str] = frozenset()
    notes: list[str] = field(default_factory=list)
    form: str = "DXF"

    def layers(self) -> list[str]:
        """Return the names of the layers that draw something, in the order of their first stroke."""
        return list(dict.fromkeys([s.layer for s in self.strokes] + [c.layer for c in self.circles]))

    def extent(self) -> float:
        """Return the longer side of the box around everything drawn, in drawing units."""
        corners = [s.vertices for s in self.strokes]
        corners += [np.array([[c.x - c.diameter / 2, c.y - c.diameter / 2],
                              [c.x + c.diameter / 2, c.y + c.diameter / 2]]) for c in self.circles]  # fmt: skip
        if not corners:
            return 0.0
        every = np.concatenate(corners)
        return float(np.ptp(every, axis=0).max())


def join_bulges(pieces: Iterable[float]) -> Floats | None:
    """Return bulges as an array, None where every piece is straight."""
    values = np.fromiter(pieces, dtype=np.float64)
    return values if values.any() else None
