"""DXF entities become strokes, circles and places of texts, in the file's own unit."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from capcheck.intake.outline.drawing import MM_PER, Circle, Drawing, Other, OtherKind, Stroke, join_bulges
from capcheck.intake.outline.forms.dxf.curves import curve_points
from capcheck.model import Floats
from capcheck.values import Place, Problems

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

Entity = Any
"""An entity of the CAD library: their classes have no common typed form."""

_NEEDED: Final = {"LINE": ("start", "end"), "CIRCLE": ("center", "radius"), "ARC": ("center", "radius")}
_TEXTS: Final = frozenset(
    {"TEXT", "MTEXT", "DIMENSION", "LEADER", "MULTILEADER", "ATTRIB", "ATTDEF", "TOLERANCE", "ARC_DIMENSION"}
)
_PICTURES: Final = frozenset(
    {
        "ACAD_TABLE",
        "CAMERA",
        "DGNUNDERLAY",
        "DWFUNDERLAY",
        "IMAGE",
        "LIGHT",
        "OLE2FRAME",
        "PDFUNDERLAY",
        "RAY",
        "SEQEND",
        "SUN",
        "VIEWPORT",
        "WIPEOUT",
        "XLINE",
    }
)
_PLACES: Final = ("text_midpoint", "insert", "location", "defpoint", "start", "center")
"""Attributes that say where an entity lies, best first."""
_LONGEST_TEXT: Final = 500
_UPRIGHT: Final = 1e-9
_FARTHEST: Final = 1e12
"""No coordinate in any unit is larger than this."""
_BOARD_MM: Final = 2000.0
_UNREADABLE: Final = (ArithmeticError, ValueError, IndexError, TypeError, AttributeError, KeyError)
"""What the library raises for an entity whose numbers are missing or make no sense."""
_RELATIVE: Final = 2e-6
"""Flattening of free curves, as a share of the drawing, where its unit is not known yet: under 1 µm on 500 mm."""


class EntityReader:
    """Turns entities into strokes and circles; free curves wait until the size of the drawing is known."""

    def __init__(self, drawing: Drawing, unit: str | None) -> None:
        self.drawing = drawing
        self.unit = unit
        self.problems = Problems()
        self.curves: list[tuple[Entity, str]] = []
        self.readers: dict[str, Callable[[Entity, str], None]] = {
            "LINE": self._line,
            "ARC": self._arc,
            "CIRCLE": self._circle,
            "LWPOLYLINE": self._lwpolyline,
            "POLYLINE": self._polyline,
            "ELLIPSE": self._curve,
            "SPLINE": self._curve,
            "HELIX": self._curve,
            "HATCH": self._filled,
            "MPOLYGON": self._filled,
            "SOLID": self._quadrangle,
            "TRACE": self._quadrangle,
            "3DFACE": self._quadrangle,
        }

    def add(self, entity: Entity, layer: str) -> None:
        """Add one entity; what cannot draw a contour is passed over."""
        kind = entity.dxftype()
        read = self.readers.get(kind)
        if read is not None:
            try:
                for name in _NEEDED.get(kind, ()):
                    if not entity.dxf.hasattr(name):  # the library would take the origin for it
                        raise ValueError(f"its {name} is missing")
                read(entity, layer)
            except _UNREADABLE as error:
                self._unreadable(entity, layer, error)
        elif kind != "SEQEND":
            self._other(entity, layer)

    def draws(self, entity: Entity) -> bool:
        """Whether an entity draws something that may be a line of the board: no text, no picture."""
        return entity.dxftype() not in _TEXTS | _PICTURES

    def _other(self, entity: Entity, layer: str) -> None:
        """Add an entity that draws no line of which the form is known."""
        name = entity.dxftype()
        kind = OtherKind.SHAPE
        if name == "INSERT":
            name = "external reference"
        elif name in _TEXTS:
            kind = OtherKind.TEXT
            self._written(entity, name)
        elif name in _PICTURES:
            kind = OtherKind.PICTURE
        elif name == "POINT":
            kind = OtherKind.POINT
        at = next((entity.dxf.get(a) for a in _PLACES if entity.dxf.is_supported(a) and entity.dxf.hasattr(a)), None)
        x, y = (math.nan, math.nan) if at is None else (float(at.x), float(at.y))
        self.drawing.others.append(Other(kind, name, layer, x, y))

    def _written(self, entity: Entity, name: str) -> None:
        """Keep what a text says, and what a dimension says and measures."""
        if name in {"TEXT", "MTEXT", "ATTRIB"}:
            text = entity.plain_text() if name != "ATTRIB" else entity.dxf.get("text", "")
            self.drawing.texts_written.append(text[:_LONGEST_TEXT])
        elif name == "DIMENSION":
            text = str(entity.dxf.get("text", ""))
            try:
                measured = abs(float(entity.get_measurement()))
            except (*_UNREADABLE, TypeError):
                return
            stored = entity.dxf.get("actual_measurement", None)
            if text.strip() and "<>" not in text:
                self.drawing.dimensions.append((text[:_LONGEST_TEXT], measured))
            elif stored is not None and math.isfinite(stored):
                self.drawing.dimensions.append((f"{abs(stored):g}", measured))

    def _dot(self, entity: Entity, layer: str, x: float, y: float, width: float = 0.0) -> None:
        """Add what has no length: a point, or a disc as wide as its line."""
        if width > 0:
            self.drawing.circles.append(Circle(x, y, width, layer))
        else:
            self.drawing.others.append(Other(OtherKind.POINT, entity.dxftype(), layer, x, y))

    def _unreadable(self, entity: Entity, layer: str, error: Exception) -> None:
        self.problems.add(
            self._where(entity, layer),
            f"this {entity.dxftype()} cannot be read ({error})",
            "its numbers describe no curve",
            "draw it again",
        )

    def _where(self, entity: Entity, layer: str) -> Place:
        handle = entity.dxf.get("handle") or "in a block"
        return Place(self.drawing.file, column=f'layer "{layer}", {entity.dxftype()} {handle}')

    def _stroke(
        self,
        entity: Entity,
        layer: str,
        points: ArrayLike,
        bulges: Floats | None = None,
        *,
        hatched: bool = False,
        width: float = 0.0,
    ) -> None:
        vertices = np.asarray(points, dtype=np.float64).reshape(-1, 2)
        # One comparison for all: it is false for what is no number and for what is infinite.
        usable = np.abs(vertices).max(initial=0.0) <= _FARTHEST
        if not usable or (bulges is not None and not np.isfinite(bulges).all()):
            bad = int(np.argmin(np.isfinite(vertices).all(axis=1) & (np.abs(vertices) < _FARTHEST).all(axis=1)))
            self.problems.add(
                self._where(entity, layer),
                f"point {bad + 1} has the coordinates ({vertices[bad, 0]:g}, {vertices[bad, 1]:g})",
                "a coordinate is not a finite number of sensible size",
                "draw it again",
            )
            return
        width = width if math.isfinite(width) else 0.0
        if len(vertices) > 1 and (vertices != vertices[0]).any():
            self.drawing.strokes.append(Stroke(vertices, layer, bulges, hatched, width))
        elif len(vertices):
            self._dot(entity, layer, float(vertices[0, 0]), float(vertices[0, 1]), width)

    def _line(self, entity: Entity, layer: str) -> None:
        start, end = entity.dxf.start, entity.dxf.end
        self._stroke(entity, layer, ((start.x, start.y), (end.x, end.y)))

    def _mirror(self, entity: Entity) -> float | None:
        """Return 1 for an entity seen from above, −1 for one seen from below, None for a tilted one."""
        normal = entity.dxf.get("extrusion")
        if normal is None:
            return 1.0
        if abs(normal.x) > _UPRIGHT or abs(normal.y) > _UPRIGHT or normal.z == 0:
            return None
        return 1.0 if normal.z > 0 else -1.0

    def _circle(self, entity: Entity, layer: str) -> None:
        mirror = self._mirror(entity)
        if mirror is None:
            self.curves.append((entity, layer))
            return
        centre, radius = entity.dxf.center, abs(entity.dxf.radius)
        if not (math.isfinite(centre.x) and math.isfinite(centre.y) and math.isfinite(radius)):
            self._stroke(entity, layer, ((centre.x, centre.y), (radius, radius)))
        elif radius > 0:
            self.drawing.circles.append(Circle(centre.x * mirror, centre.y, 2 * radius, layer))
        else:
            self._dot(entity, layer, centre.x * mirror, centre.y)

    def _arc(self, entity: Entity, layer: str) -> None:
        mirror = self._mirror(entity)
        if mirror is None:
            self.curves.append((entity, layer))
            return
        dxf = entity.dxf
        centre, radius, first, last = dxf.center, abs(dxf.radius), dxf.start_angle, dxf.end_angle
        sweep = math.radians((last - first) % 360.0) or math.tau
        # Two halves, because a bulge cannot say a full turn and says one close to it badly.
        angles = math.radians(first) + np.array([0.0, sweep / 2.0, sweep])
        points = np.column_stack((mirror * (centre.x + radius * np.cos(angles)), centre.y + radius * np.sin(angles)))
        bulge = math.tan(sweep / 8.0) * mirror
        self._stroke(entity, layer, points, np.array([bulge, bulge]))

    def _lwpolyline(self, entity: Entity, layer: str) -> None:
        corners = entity.get_points("xyb")
        wide = [max(start, end) for start, end in entity.get_points("se")]
        width = max([entity.dxf.get("const_width", 0.0), *wide], default=0.0)
        self._corners(entity, layer, corners, closed=entity.closed, width=width)

    def _polyline(self, entity: Entity, layer: str) -> None:
        if entity.is_2d_polyline:
            # Vertices with flag 16 are the frame of a fitted curve, not points of it.
            corners = [
                (v.dxf.location.x, v.dxf.location.y, v.dxf.get("bulge", 0.0))
                for v in entity.vertices
                if not v.dxf.get("flags", 0) & 16
            ]
            ends = ("default_start_width", "default_end_width")
            wide = [v.dxf.get(end, 0.0) for v in entity.vertices for end in ("start_width", "end_width")]
            width = max([*(entity.dxf.get(end, 0.0) for end in ends), *wide])
            self._corners(entity, layer, corners, closed=entity.is_closed, width=width)
        elif entity.is_3d_polyline:
            corners = [(v.dxf.location.x, v.dxf.location.y, 0.0) for v in entity.vertices]
            self._corners(entity, layer, corners, closed=entity.is_closed, flat=False)
        else:
            self._other(entity, layer)

    def _corners(
        self,
        entity: Entity,
        layer: str,
        corners: list[tuple[float, float, float]],
        *,
        closed: bool,
        flat: bool = True,
        width: float = 0.0,
    ) -> None:
        mirror = self._mirror(entity) if flat else 1.0
        if mirror is None:
            self.curves.append((entity, layer))
            return
        if closed and corners:
            corners = [*corners, corners[0]]
        table = np.array(corners, dtype=np.float64).reshape(-1, 3)
        table[:, 0] *= mirror
        self._stroke(entity, layer, table[:, :2], join_bulges(table[:-1, 2] * mirror), width=width)

    def _curve(self, entity: Entity, layer: str) -> None:
        self.curves.append((entity, layer))

    def _quadrangle(self, entity: Entity, layer: str) -> None:
        self._stroke(entity, layer, [(corner.x, corner.y) for corner in entity.wcs_vertices(close=True)], hatched=True)

    def _filled(self, entity: Entity, layer: str) -> None:
        from ezdxf import path

        for border in path.from_hatch(entity):
            size = max(border.start.distance(p) for p in border.control_vertices())
            points = [(p.x, p.y) for p in border.flattening(max(size * _RELATIVE * 5.0, 1e-9))]
            if points:
                self._stroke(entity, layer, [*points, points[0]], hatched=True)

    def flatten_curves(self) -> None:
        """Turn ellipses, splines and tilted entities into points, now that the extent of the rest is known."""
        if not self.curves:
            return
        box = _Box(self.drawing.box())
        for entity, layer in self.curves:
            try:
                points = curve_points(entity, self._step(entity, box.extent()))
                box.add(points)
            except _UNREADABLE as error:
                self._unreadable(entity, layer, error)
                continue
            self._stroke(entity, layer, points)
        self.problems.raise_if_any()

    def _step(self, entity: Entity, extent: float) -> float:
        if self.unit is not None and 1.0 < extent * MM_PER[self.unit] < _BOARD_MM:
            return 0.001 / MM_PER[self.unit]
        rough = curve_points(entity, math.inf)
        size = max((max(c) - min(c) for c in zip(*rough, strict=True)), default=0.0)
        return _RELATIVE * max(size, extent) or 1e-6


class _Box:
    """The box around what is drawn so far, widened curve by curve: measured anew for each it would take minutes."""

    def __init__(self, corners: Floats) -> None:
        (low_x, low_y), (high_x, high_y) = corners.tolist()
        self.sides = (low_x, low_y, high_x, high_y)

    def extent(self) -> float:
        """Return the longer side, 0 where nothing is drawn."""
        low_x, low_y, high_x, high_y = self.sides
        longer = max(high_x - low_x, high_y - low_y)
        return longer if math.isfinite(longer) else 0.0

    def add(self, points: list[tuple[float, float]]) -> None:
        """Widen the box to finite points."""
        finite = [p for p in points if math.isfinite(p[0]) and math.isfinite(p[1])]
        if finite:
            xs, ys = zip(*finite, strict=True)
            low_x, low_y, high_x, high_y = self.sides
            # Plain numbers: a curve has a dozen points, for which an array takes longer.
            self.sides = (min(low_x, *xs), min(low_y, *ys), max(high_x, *xs), max(high_y, *ys))
