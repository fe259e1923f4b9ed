"""What an outline file draws, before anything is chosen: strokes by layer, circles, texts and the unit it states.

Strokes keep arcs exact, as the tangent of a quarter of the swept angle (the *bulge* of a DXF polyline), so that
they are flattened once the unit is known: a deviation of 1 µm is another number of points in inch than in mm.
"""

from __future__ import annotations

import cmath
import enum
import math
from collections.abc import Iterable
from itertools import pairwise
from typing import Final

import numpy as np
from msgspec import Struct, field

from capcheck.lexicon import mm_per
from capcheck.model import Floats, HoleUse, Said

MM_PER: Final = {**mm_per(), "ft": 304.8, "microinch": 0.0000254}
"""Millimetres in a unit, with two that drawings alone are in; exact by definition: an inch is 25.4 mm."""

_SAME_ANGLE: Final = 1e-9
_MOST_CHORDS: Final = 20_000
SAGITTA_MM: Final = 0.001
"""Largest distance between an arc and the chords that stand for it."""


class Stroke(Struct, frozen=True):
    """An open or closed line of straight and round pieces, in the drawing's unit.

    *vertices* is n × 2; *bulges* has n − 1 values (positive: the arc runs counter-clockwise), None where all pieces
    are straight. A closed stroke ends on its first vertex.
    """

    vertices: Floats
    layer: str
    bulges: Floats | None = None
    hatched: bool = False
    """The border of a hatched area, not a drawn line."""
    width: float = 0.0
    """How wide the line is drawn."""

    def points(self, factor: float, sagitta_mm: float = SAGITTA_MM) -> Floats:
        """Return the stroke as points in mm, *factor* mm a drawing unit; no chord is farther than *sagitta_mm* off.

        The outermost points of every arc along x and y are among the points, so that boxes are exact.
        """
        corners = self.vertices * factor
        if self.bulges is None or not self.bulges.any():
            return corners
        # Complex numbers: one object a point, and the list becomes an array without a copy a point.
        ends: list[complex] = (corners[:, 0] + 1j * corners[:, 1]).tolist()
        path = ends[:1]
        for start, end, bulge in zip(ends, ends[1:], self.bulges.tolist(), strict=False):
            path += _arc(start, end, bulge, sagitta_mm)
            path.append(end)
        return np.array(path).view(np.float64).reshape(-1, 2)


def _arc(start: complex, end: complex, bulge: float, sagitta: float) -> list[complex]:
    """Return the points (x + iy) of an arc between *start* and *end*, without these two."""
    chord = abs(end - start)
    if bulge == 0.0 or chord == 0.0:
        return []
    # Centre on the chord's bisector, (1 − b²) / 4b chords from its middle; the swept angle is 4 atan b.
    centre = (start + end) / 2.0 + 1j * (end - start) * (1.0 - bulge * bulge) / (4.0 * bulge)
    radius = chord * (1.0 + bulge * bulge) / (4.0 * abs(bulge))
    first = cmath.phase(start - centre)
    inner = arc_angles(first, first + 4.0 * math.atan(bulge), radius, sagitta)[1:-1]
    return [centre + cmath.rect(radius, angle) for angle in inner]


def arc_angles(first: float, last: float, radius: float, sagitta: float) -> list[float]:
    """Return angles (radian) from *first* to *last* whose chords stay within *sagitta* of the arc.

    The quarter points are among them.
    """
    sweep = last - first
    step = 2.0 * math.acos(1.0 - min(sagitta / radius, 0.5)) if radius > 0 else math.pi
    step = max(step, abs(sweep) / _MOST_CHORDS)
    quarter = math.pi / 2.0
    low, high = min(first, last), max(first, last)
    numbers = range(math.ceil(low / quarter + _SAME_ANGLE), math.floor(high / quarter - _SAME_ANGLE) + 1)
    stops = [low, *(k * quarter for k in numbers), high]
    angles: list[float] = []
    for start, end in pairwise(stops):
        count = max(1, math.ceil((end - start) / step - _SAME_ANGLE))
        angles += [start + (end - start) * k / count for k in range(count)]
    angles.append(high)
    return angles if sweep >= 0 else angles[::-1]


class Circle(Struct, frozen=True):
    """A full circle in the drawing's unit."""

    x: float
    y: float
    diameter: float
    layer: str


class DrawnHole(Struct, frozen=True):
    """A hole of a form that tells of each whether it is plated, and may tell what it is for."""

    circle: Circle
    plated: bool
    use: HoleUse = HoleUse.NOT_SAID


class OtherKind(enum.Enum):
    """What an entity is that draws neither a line nor a circle."""

    TEXT = enum.auto()
    """Texts and dimensions."""
    POINT = enum.auto()
    PICTURE = enum.auto()
    """Pictures, frames of views, construction lines without end: no edge of anything."""
    SHAPE = enum.auto()
    """Solids, regions and blocks that cannot be read: their edges may be those of an opening."""


class Other(Struct, frozen=True):
    """An entity that draws neither a line nor a circle: *name* is the file's own, x and y are NaN where unknown."""

    kind: OtherKind
    name: str
    layer: str
    x: float = math.nan
    y: float = math.nan


class Drawing(Struct):
    """All that an outline file draws, in its own unit; nothing that it holds is left out."""

    file: str
    strokes: list[Stroke] = field(default_factory=list)
    circles: list[Circle] = field(default_factory=list)
    others: list[Other] = field(default_factory=list)
    unit: str | None = None
    """The unit the file states, a key of :data:`MM_PER`."""
    metric_hint: bool | None = None
    """What the file says of its measuring system, where it states no unit."""
    hidden_layers: frozenset[str] = frozenset()
    notes: list[Said] = field(default_factory=list)
    texts_written: list[str] = field(default_factory=list)
    """The texts, wherever they stand."""
    thickness: tuple[float, int] | None = None
    """The board's, where the form has a place for it, and the line that states it."""
    holes: list[DrawnHole] = field(default_factory=list)
    """Those of leads and vias are left out."""
    dimensions: list[tuple[str, float]] = field(default_factory=list)
    """Dimensions with a text of their own: what is written, and what they measure in the drawing's unit."""
    repaired: Said | None = None
    """How the file had to be repaired to be read; then what it draws proves nothing."""
    _lines: tuple[float, list[Floats]] | None = None

    def lines(self, factor: float) -> list[Floats]:
        """Return the points of every stroke in mm, *factor* mm a unit; worked out once, and not to be changed."""
        if self._lines is None or self._lines[0] != factor or len(self._lines[1]) != len(self.strokes):
            self._lines = factor, [stroke.points(factor) for stroke in self.strokes]
        return self._lines[1]

    def texts(self) -> Floats:
        """Return the places of texts and dimensions, n × 2."""
        known = [(o.x, o.y) for o in self.others if o.kind is OtherKind.TEXT and math.isfinite(o.x + o.y)]
        return np.array(known, dtype=np.float64).reshape(-1, 2)

    def layers(self) -> list[str]:
        """Return the names of the layers that draw something, in the order of their first stroke."""
        return list(dict.fromkeys([s.layer for s in self.strokes] + [c.layer for c in self.circles]))

    def box(self) -> Floats:
        """Return the lower left and the upper right corner of everything drawn, infinite where nothing is."""
        corners = [s.vertices for s in self.strokes]
        round_ones = np.array([(c.x, c.y, c.diameter / 2) for c in self.circles]).reshape(-1, 3)
        corners += [round_ones[:, :2] - round_ones[:, 2:], round_ones[:, :2] + round_ones[:, 2:]]
        every = np.concatenate(corners)
        if not len(every):
            return np.array([[math.inf, math.inf], [-math.inf, -math.inf]])
        return np.array([every.min(axis=0), every.max(axis=0)])

    def extent(self) -> float:
        """Return the longer side of the box around everything drawn, in drawing units."""
        low, high = self.box()
        sides = high - low
        return float(sides.max()) if np.isfinite(sides).all() else 0.0


def join_bulges(pieces: Iterable[float]) -> Floats | None:
    """Return bulges as an array, None where every piece is straight."""
    values = np.fromiter(pieces, dtype=np.float64)
    return values if values.any() else None
