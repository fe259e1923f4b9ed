"""A DXF file becomes a drawing: every entity that can draw a contour, blocks expanded, in the file's own unit.

ezdxf reads R12 to R2018, text and binary. What blocks would expand to is counted over their definitions first: a
file of a few kilobytes can stand for 10⁸ entities, and a block that contains itself for endlessly many.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from capcheck.intake.outline.drawing import MM_PER, Circle, Drawing, Stroke, join_bulges
from capcheck.model import Floats
from capcheck.values import InputError, Place, Problems

if TYPE_CHECKING:
    from ezdxf.document import Drawing as Document
    from ezdxf.entities.dxfgfx import DXFGraphic
    from ezdxf.entities.insert import Insert
    from numpy.typing import ArrayLike

_Entity = Any
"""An entity of the CAD library: their classes have no common typed form."""
_Entities = Any

MAX_ENTITIES: Final = 60_000
"""More than this after expanding blocks is refused. An outline with its drawing frame has tens to thousands."""

_HEADER_UNITS: Final = {1: "inch", 2: "ft", 4: "mm", 5: "cm", 6: "m", 8: "microinch", 9: "mil", 13: "µm"}
"""Values of the header variable INSUNITS that can be a board's unit (DXF reference, header section)."""

_NEEDED: Final = {"LINE": ("start", "end"), "CIRCLE": ("center", "radius"), "ARC": ("center", "radius")}
_TEXTS: Final = frozenset(
    {"TEXT", "MTEXT", "DIMENSION", "LEADER", "MULTILEADER", "ATTRIB", "TOLERANCE", "ARC_DIMENSION"}
)
_DEEPEST: Final = 60
_UPRIGHT: Final = 1e-9
_FARTHEST: Final = 1e12
"""No coordinate in any unit is larger than this."""
_BOARD_MM: Final = 2000.0
_UNREADABLE: Final = (ArithmeticError, ValueError, IndexError, TypeError, AttributeError, KeyError)
"""What the library raises for an entity whose numbers are missing or make no sense."""
_RELATIVE: Final = 2e-6
"""Flattening of free curves, as a share of the drawing, where its unit is not known yet: under 1 µm on 500 mm."""


def read_dxf(path: Path, known_unit: str | None = None) -> Drawing:
    """Read all contour-like entities of the DXF file at *path*.

    *known_unit* is the unit where the user states it. Raises :class:`InputError` with the layer and entity: not a
    DXF, blocks within themselves, too many entities, coordinates that are not finite.
    """
    document, notes = _open(path)
    _check_blocks(document, str(path))
    header = document.header
    drawing = Drawing(str(path), notes=notes)
    drawing.unit = _HEADER_UNITS.get(int(header.get("$INSUNITS", 0) or 0))
    if "$MEASUREMENT" in header:
        drawing.metric_hint = bool(header["$MEASUREMENT"])
    drawing.hidden_layers = frozenset(
        layer.dxf.name for layer in document.layers if layer.is_off() or layer.is_frozen()
    )
    reader = _EntityReader(drawing, known_unit or drawing.unit)
    for entity, layer in _expanded(document.modelspace(), None):
        reader.add(entity, layer)
    reader.problems.raise_if_any()
    reader.flatten_curves()
    return drawing


def _open(path: Path) -> tuple[Document, list[str]]:
    """Open the file; one with errors is repaired as far as possible, which is noted."""
    from ezdxf import filemanagement, recover
    from ezdxf.lldxf.const import DXFError

    unusable: tuple[type[Exception], ...] = (
        DXFError,
        OSError,
        ValueError,
        IndexError,
        KeyError,
        TypeError,
        AttributeError,
        OverflowError,
        StopIteration,
        RuntimeError,
        AssertionError,
    )
    if not path.is_file():
        raise InputError.at(str(path), "there is no such file", remedy="check the path of the outline")
    if path.stat().st_size == 0:
        raise InputError.at(str(path), "the file is empty", remedy="export the outline again")
    try:
        return filemanagement.readfile(path), []
    except unusable as error:
        first = error
    try:
        document, auditor = recover.readfile(path)
    except unusable as error:
        detail = " ".join(str(first).replace(str(path), path.name).split())[:160]
        raise InputError.at(
            str(path), "this is not a DXF file that can be read", detail, "export the outline as DXF again"
        ) from error
    note = f"the DXF file has errors and was repaired ({' '.join(str(first).split())[:120]})"
    if auditor.has_errors or auditor.has_fixes:
        note += f"; {len(auditor.errors)} errors left, {len(auditor.fixes)} mended"
    return document, [note]


def _check_blocks(document: Document, file: str) -> None:
    """Refuse blocks that contain themselves and files that expand beyond :data:`MAX_ENTITIES`, before expanding."""
    counts: dict[str, int] = {}
    open_blocks: list[str] = []

    def count(name: str, entities: _Entities) -> int:
        if name in counts:
            return counts[name]
        if name in open_blocks or len(open_blocks) > _DEEPEST:
            chain = " > ".join([*open_blocks[open_blocks.index(name) if name in open_blocks else -3 :], name])
            raise InputError.at(
                file,
                f'the block "{name}" contains itself ({chain})'
                if name in open_blocks
                else f"blocks are nested more than {_DEEPEST} deep ({chain})",
                "it stands for endlessly many entities",
                "explode or purge the block and export again",
            )
        open_blocks.append(name)
        total = 0
        for entity in entities:
            if entity.dxftype() == "INSERT":
                inner: _Entities = document.blocks.get(entity.dxf.name)
                times = max(1, entity.dxf.get("row_count", 1)) * max(1, entity.dxf.get("column_count", 1))
                # An insert that draws nothing still costs its expansion.
                total += times * (1 + (count(entity.dxf.name.lower(), inner) if inner is not None else 0))
            else:
                total += 1
        open_blocks.pop()
        counts[name] = total
        return total

    total = count("the drawing itself", document.modelspace())
    if total > MAX_ENTITIES:
        raise InputError.at(
            file,
            f"its blocks expand to {total:,} entities, at most {MAX_ENTITIES:,} are read",
            "an outline has hundreds; this is a whole drawing or a damaged file",
            "export the board's outline alone",
        )


def _expanded(entities: _Entities, outer_layer: str | None) -> Iterator[tuple[DXFGraphic, str]]:
    """Yield the entities with their layers, inserts replaced by what they insert.

    What lies on layer 0 in a block takes the layer of the insert, by the rule of the format.
    """
    for entity in entities:
        if not entity.dxf.is_supported("layer"):
            continue  # a damaged file's stray records are no graphics
        layer = entity.dxf.get("layer", "0")
        if outer_layer is not None and layer == "0":
            layer = outer_layer
        if entity.dxf.is_supported("invisible") and entity.dxf.get("invisible", 0):
            continue
        if entity.dxftype() == "INSERT":
            insert: Insert = entity
            for single in insert.multi_insert() if insert.mcount > 1 else (insert,):
                yield from _expanded(single.virtual_entities(), layer)
        else:
            yield entity, layer


_FEWEST_PIECES: Final = 8
_MOST_PIECES: Final = 1024
"""Chords that a span of a spline is divided into; even numbers, so that every second point is a chord's middle."""


class _EntityReader:
    """Turns entities into strokes and circles; free curves wait until the size of the drawing is known."""

    def __init__(self, drawing: Drawing, unit: str | None) -> None:
        self.drawing = drawing
        self.unit = unit
        self.problems = Problems()
        self.curves: list[tuple[Any, str]] = []
        self.skipped: dict[str, int] = {}
        self.forms: dict[str, Callable[[_Entity, str], None]] = {
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
        }

    def add(self, entity: DXFGraphic, layer: str) -> None:
        """Add one entity; what cannot draw a contour is passed over."""
        kind = entity.dxftype()
        form = self.forms.get(kind)
        if form is not None:
            try:
                for name in _NEEDED.get(kind, ()):
                    if not entity.dxf.hasattr(name):  # the library would take the origin for it
                        raise ValueError(f"its {name} is missing")
                form(entity, layer)
            except _UNREADABLE as error:
                self.problems.add(
                    self._where(entity, layer),
                    f"this {kind} cannot be read ({error})",
                    "its numbers describe no curve",
                    "draw it again",
                )
        elif kind in _TEXTS:
            names = [n for n in ("text_midpoint", "insert", "defpoint") if entity.dxf.hasattr(n)]
            if names:
                place = entity.dxf.get(names[0])
                if math.isfinite(place.x) and math.isfinite(place.y):
                    self.drawing.texts.append((place.x, place.y))

    def _where(self, entity: _Entity, layer: str) -> Place:
        handle = entity.dxf.get("handle") or "in a block"
        return Place(self.drawing.file, column=f'layer "{layer}", {entity.dxftype()} {handle}')

    def _stroke(
        self, entity: _Entity, layer: str, points: ArrayLike, bulges: Floats | None = None, *, filled: bool = False
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
        if len(vertices) > 1:
            where = f'layer "{layer}", {entity.dxftype()} {entity.dxf.get("handle") or "in a block"}'
            self.drawing.strokes.append(Stroke(vertices, layer, bulges, where, filled))

    def _line(self, entity: _Entity, layer: str) -> None:
        start, end = entity.dxf.start, entity.dxf.end
        self._stroke(entity, layer, ((start.x, start.y), (end.x, end.y)))

    def _mirror(self, entity: _Entity) -> float | None:
        """Return 1 for an entity seen from above, −1 for one seen from below, None for a tilted one."""
        normal = entity.dxf.get("extrusion")
        if normal is None:
            return 1.0
        if abs(normal.x) > _UPRIGHT or abs(normal.y) > _UPRIGHT or normal.z == 0:
            return None
        return 1.0 if normal.z > 0 else -1.0

    def _circle(self, entity: _Entity, layer: str) -> None:
        mirror = self._mirror(entity)
        if mirror is None:
            self.curves.append((entity, layer))
            return
        centre, radius = entity.dxf.center, abs(entity.dxf.radius)
        if not (math.isfinite(centre.x) and math.isfinite(centre.y) and math.isfinite(radius)):
            self._stroke(entity, layer, ((centre.x, centre.y), (radius, radius)))
        elif radius > 0:
            self.drawing.circles.append(Circle(centre.x * mirror, centre.y, 2 * radius, layer))

    def _arc(self, entity: _Entity, layer: str) -> None:
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

    def _lwpolyline(self, entity: _Entity, layer: str) -> None:
        corners = entity.get_points("xyb")
        self._corners(entity, layer, corners, closed=entity.closed)

    def _polyline(self, entity: _Entity, layer: str) -> None:
        if entity.is_2d_polyline:
            # Vertices with flag 16 are the frame of a fitted curve, not points of it.
            corners = [
                (v.dxf.location.x, v.dxf.location.y, v.dxf.get("bulge", 0.0))
                for v in entity.vertices
                if not v.dxf.get("flags", 0) & 16
            ]
            self._corners(entity, layer, corners, closed=entity.is_closed)
        elif entity.is_3d_polyline:
            corners = [(v.dxf.location.x, v.dxf.location.y, 0.0) for v in entity.vertices]
            self._corners(entity, layer, corners, closed=entity.is_closed, flat=False)

    def _corners(self, entity: _Entity, layer: str, corners: list[Any], *, closed: bool, flat: bool = True) -> None:
        mirror = self._mirror(entity) if flat else 1.0
        if mirror is None:
            self.curves.append((entity, layer))
            return
        if closed and corners:
            corners = [*corners, corners[0]]
        table = np.array(corners, dtype=np.float64).reshape(-1, 3)
        table[:, 0] *= mirror
        self._stroke(entity, layer, table[:, :2], join_bulges(table[:-1, 2] * mirror))

    def _curve(self, entity: _Entity, layer: str) -> None:
        self.curves.append((entity, layer))

    def _filled(self, entity: _Entity, layer: str) -> None:
        from ezdxf import path

        for border in path.from_hatch(entity):
            size = max(border.start.distance(p) for p in border.control_vertices())
            points = [(p.x, p.y) for p in border.flattening(max(size * _RELATIVE * 5.0, 1e-9))]
            if points:
                self._stroke(entity, layer, [*points, points[0]], filled=True)

    def flatten_curves(self) -> None:
        """Turn ellipses, splines and tilted entities into points, now that the extent of the rest is known."""
        if not self.curves:
            return
        box = _Box(self.drawing.box())
        for entity, layer in self.curves:
            try:
                points = _curve_points(entity, self._step(entity, box.extent()))
                box.add(points)
            except _UNREADABLE as error:
                self.problems.add(
                    self._where(entity, layer),
                    f"this {entity.dxftype()} cannot be read ({error})",
                    "its numbers describe no curve",
                    "draw it again",
                )
                continue
            self._stroke(entity, layer, points)
        self.problems.raise_if_any()

    def _step(self, entity: _Entity, extent: float) -> float:
        if self.unit is not None and 1.0 < extent * MM_PER[self.unit] < _BOARD_MM:
            return 0.001 / MM_PER[self.unit]
        rough = _curve_points(entity, math.inf)
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


def _spline_points(spline: _Entity, step: float) -> list[tuple[float, float]]:
    """Return points of a B-spline, as many in each span of its knots as keep the chords' middles within *step* of it.

    All points of a round are worked out in one call: the library's own flattening calls for each of them.
    """
    knots = np.array(sorted(set(spline.knots())), dtype=np.float64)
    pieces = _FEWEST_PIECES
    while True:
        shares = np.arange(pieces) / pieces
        at = np.append((knots[:-1, None] + np.diff(knots)[:, None] * shares).ravel(), knots[-1])
        found = [(p.x, p.y) for p in spline.points(at)]
        points = np.array([complex(x, y) for x, y in found])
        off = np.abs(points[1:-1:2] - (points[:-2:2] + points[2::2]) / 2).max(initial=0.0)
        if not off > step or pieces >= _MOST_PIECES:
            return found
        # Twice as many pieces bring the chords four times as near.
        pieces = min(_MOST_PIECES, pieces * 2 ** max(1, math.ceil(math.log2(off / step) / 2)))


def _curve_points(entity: _Entity, step: float) -> list[tuple[float, float]]:
    """Return points of a free curve, chords within *step* of it; ∞ asks for a rough shape only."""
    kind = entity.dxftype()
    if kind in {"ELLIPSE", "SPLINE", "HELIX"}:
        # The curve itself: as a path it would be cubic pieces, 14 µm off on an ellipse of 50 mm.
        tool = entity.construction_tool()
        if kind == "ELLIPSE" and not all(
            map(math.isfinite, (tool.start_param, tool.end_param, *tool.center, *tool.major_axis))
        ):
            raise ValueError("a number is not finite")
        if kind != "ELLIPSE" and not all(math.isfinite(c) for p in tool.control_points for c in p):
            raise ValueError("a control point is not finite")
        if kind == "ELLIPSE":
            found = [(p.x, p.y) for p in tool.flattening(step if math.isfinite(step) else 1e9, 4)]
        else:
            found = _spline_points(tool, step)
    else:
        from ezdxf import path

        points = path.make_path(entity).flattening(step if math.isfinite(step) else 1e9, 16)
        found = [(p.x, p.y) for p in points]
    if kind == "SPLINE" and entity.dxf.get("flags", 0) & 1 and found and found[0] != found[-1]:
        found.append(found[0])
    return found
