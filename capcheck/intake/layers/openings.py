"""What a Gerber layer shows becomes openings: everything that is drawn, merged where it touches, in mm.

gerbonara reads the format (116 layers of mask and paste of real boards took it 35 µs an object), shapely merges. Each
aperture is worked out once and put wherever it is flashed.
"""

from __future__ import annotations

import math
import warnings
from collections import Counter
from collections.abc import Iterator, Sequence
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from capcheck.intake.confined import Reader, SharedTime, decoded
from capcheck.intake.files import layer_has_ended
from capcheck.intake.layers.areas import QUARTER, TangledError, area_within, between
from capcheck.intake.layers.merging import is_too_dense, merged, without
from capcheck.intake.layers.misread import REMEDY, refuse_misread
from capcheck.intake.layers.time_allowed import LARGEST, MOST_COMMANDS, MOST_COMMANDS_MERGED, seconds_a_megabyte
from capcheck.model import Floats, LayerFile, LayerKind, Openings
from capcheck.values import InputError, pattern

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry as Geometry

_Object = Any
"""A graphic object of the Gerber library, which has no types."""
_MOST: Final = 30_000
"""Flashes of one layer: the largest mask of 70 real boards has 15,000."""
_MOST_STROKES: Final = 150_000
"""Strokes and corners of one layer: the most of 32 real boards are the 110,000 of print."""
_MOST_CHANGES: Final = 400
"""Changes from what is drawn to what is erased, each of which is a cut of all that was drawn before."""
_FARTHEST_MM: Final = 3000.0
_SHORT_MM: Final = 0.002
"""Of a stroke, whose ends are narrow, fewer do: as many as leave the chord so near to the circle."""
_FORMAT: Final = pattern(rb"%\s*FS")
_UNIT: Final = pattern(rb"MO(?:MM|IN)\s*\*|(?:^|\*|\n)[ \t\r]*+G7[01]\s*\*")
_FLASH: Final = pattern(rb"D0?3\s*\*")


def read_layer(file: Path, *, whole: bool = True, shared: SharedTime | None = None) -> Openings:
    """Return the openings of a layer, read in the reading process; not *whole*, what is drawn with lines is left out.

    Of copper, whose tracks join most lands to one, the flashed pads and areas alone say where lands are; they are not
    merged then. *shared* is the time that all layers of its board may take. Raises :class:`InputError`.
    """
    found = _reader(file, whole=whole).read(str(file), Openings, whole, shared)
    return found if len(found) else Openings(np.zeros((0, 4)), np.zeros(0), np.zeros(0), [])


def expect_layer(file: Path, *, whole: bool = True) -> None:
    """Have a layer read while other work is done; :func:`read_layer` is to be asked for it next, in the same order."""
    _reader(file, whole=whole).expect(str(file), whole)


def layers_by_kind(files: Sequence[LayerFile]) -> dict[tuple[LayerKind, str], LayerFile]:
    """Return the layers by what they show and side: by board.toml, else what says so itself, else what is named so."""
    ranked = sorted(files, key=lambda layer: (not layer.by_entry, not layer.stated))
    return {(one.kind, one.side): one for one in reversed(ranked) if one.kind is not None and one.side}


def expect_layers(files: Sequence[LayerFile]) -> None:
    """Have the masks and pastes read that lands are taken from first, while other work is done."""
    import shapely  # noqa: F401  before the process is forked: it and this one need it

    known = layers_by_kind(files)
    for side in ("top", "bottom"):
        for kind in (LayerKind.MASK, LayerKind.PASTE):
            if (kind, side) in known:
                expect_layer(known[kind, side].file)


def _reader(file: Path, *, whole: bool) -> Reader:
    seconds = 0.0 if whole else seconds_a_megabyte(file)  # what is merged has few commands, and needs no time for them
    return Reader(f"{__name__}:{read_here.__name__}", REMEDY, ("gerbonara", "shapely"), seconds)


def read_here(file: str, argument: bytes) -> Openings:
    """Return the openings of a layer, read in this process. Raises :class:`InputError`."""
    whole = decoded(argument, bool)
    objects = objects_of(Path(file), MOST_COMMANDS_MERGED if whole else MOST_COMMANDS)
    counts = Counter(type(one).__name__ for one in objects)
    kept = objects if whole else [one for one in objects if type(one).__name__ in {"Flash", "Region"}]
    drawn = drawn_in_turn(file, kept, Shapes())
    if whole and is_too_dense(drawn):
        raise InputError.at(file, "it draws too much over itself", "no layer of lands needs that", REMEDY)
    return _as_openings(merged(drawn) if whole else drawn, counts, file)


def drawn_in_turn(file: str, objects: Sequence[_Object], shapes: Shapes) -> list[Geometry]:
    """Return what objects show, as they are drawn and erased in turn. Raises :class:`InputError`."""
    drawn: list[Geometry] = []
    changes = 0
    for is_dark, some in _runs(objects):
        try:
            now = shapes.of(some)
        except TangledError:
            what = "the edge of an area in it crosses itself too often"
            raise InputError.at(file, what, "no layer needs that", REMEDY) from None
        if is_dark:
            drawn += now
        elif drawn and now:
            changes += 1
            if changes > _MOST_CHANGES:
                raise InputError.at(file, "it erases and draws in turn too often", "no layer needs that", REMEDY)
            drawn = without(drawn, now)
    return drawn


def _runs(objects: Sequence[_Object]) -> Iterator[tuple[bool, list[_Object]]]:
    """Yield objects in the order in which they are drawn, as long as they all draw or all erase."""
    run: list[_Object] = []
    dark = True
    for one in objects:
        if one.polarity_dark != dark and run:
            yield dark, run
            run = []
        dark = one.polarity_dark
        run.append(one)
    if run:
        yield dark, run


def objects_of(path: Path, most: int = MOST_COMMANDS) -> list[_Object]:
    """Return what a layer of at most so many commands draws, in turn; of the file that was read last, as it was read.

    Raises :class:`InputError`.
    """
    stat = path.stat()
    return _objects(path, stat.st_size, stat.st_mtime_ns, most)


@lru_cache(maxsize=1)
def _objects(path: Path, _size: int, _changed: int, most: int) -> list[_Object]:
    content = path.read_bytes()
    if len(content) > LARGEST:
        raise _refused(path, f"it has {len(content) / 1e6:,.0f} MB", "no layer of a board is so long")
    if not _FORMAT.search(content) or not _UNIT.search(content):
        raise _refused(path, "it does not state its unit and format", "where its lands lie is not known")
    if not layer_has_ended(content):
        what = "it breaks off: the command that ends a layer is missing"
        raise _refused(path, what, "what stood behind is not known")
    refuse_misread(path, content)
    # Nearly all write them in one of two ways; of a million the pattern would take longer than all else.
    flashes = content.count(b"D03*") + content.count(b"D3*")
    if flashes <= _MOST:
        flashes = sum(1 for _ in _FLASH.finditer(content))
    if flashes > _MOST:
        raise _refused(path, f"it flashes {flashes:,} apertures", f"at most {_MOST:,} are read")
    # Corners of areas are counted too: one area may have as many as it likes, and is one object.
    strokes = content.count(b"D01*") + content.count(b"D1*")
    if strokes > _MOST_STROKES:
        raise _refused(path, f"it draws {strokes:,} strokes", f"at most {_MOST_STROKES:,} are read")
    commands = content.count(b"*")
    if commands > most:
        raise _refused(path, f"it has {commands:,} commands", f"at most {most:,} are read")
    try:
        import gerbonara
    except ImportError:
        raise _refused(
            path, "a Gerber layer cannot be read", 'its library is not installed: pip install "capcheck[gerber]"'
        ) from None
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            text = content.decode("utf-8", "replace")
            objects = list(gerbonara.GerberFile.from_string(text, filename=path).objects)
    except MemoryError:
        raise
    except Exception as error:  # the reader lets many kinds of errors through
        detail = " ".join(str(error).replace(str(path), path.name).split())[:160]
        raise _refused(path, "this is not a Gerber file that can be read", detail or type(error).__name__) from error
    if len(objects) > _MOST_STROKES:
        raise _refused(path, f"it draws {len(objects):,} objects", "no layer of a board has so many")
    return objects


def _refused(path: Path, what: str, why: str) -> InputError:
    return InputError.at(str(path), what, why, REMEDY)


class Shapes:
    """Shapes of objects, those of each aperture worked out once."""

    def __init__(self) -> None:
        self._apertures: dict[int, tuple[_Object, Geometry | None]] = {}

    def of(self, objects: Sequence[_Object]) -> list[Geometry]:
        """Return the shape of each object, those without area left out."""
        flashed: dict[int, list[tuple[float, float]]] = {}
        lines: dict[float, list[list[tuple[float, float]]]] = {}
        swept: dict[int, tuple[_Object, list[list[tuple[float, float]]]]] = {}
        found: list[Geometry] = []
        for one in objects:
            name, factor = type(one).__name__, unit_factor(one.unit)
            if name == "Flash":
                self._aperture(one)
                flashed.setdefault(id(one.aperture), []).append((one.x * factor, one.y * factor))
            elif name == "Line":
                ends = [(one.x1 * factor, one.y1 * factor), (one.x2 * factor, one.y2 * factor)]
                width = self._round_width(one)
                if width is None:
                    swept.setdefault(id(one.aperture), (one, []))[1].append(ends)
                elif width > 0:
                    lines.setdefault(width, []).append(ends)
            elif name == "Arc":
                width = self._round_width(one) or self._narrow(one)
                if width > 0:
                    lines.setdefault(width, []).append(_arc(one, factor))
            else:
                found += area_within(one.outline, one.arc_centers, factor)
        for key, places in flashed.items():
            once = list(dict.fromkeys(places))  # stacked flashes show what one does
            found += _placed(self._apertures[key][1], np.array(once, dtype=np.float64))
        for line, drawn in swept.values():
            found += self._swept(line, drawn)
        return found + _stroked(lines)

    def _aperture(self, flash: _Object) -> Geometry | None:
        key = id(flash.aperture)
        if key not in self._apertures:
            self._apertures[key] = flash.aperture, _shape_of(flash)
        return self._apertures[key][1]

    @staticmethod
    def _round_width(line: _Object) -> float | None:
        aperture = line.aperture
        if type(aperture).__name__ != "CircleAperture":
            return None
        return float(aperture.diameter) * unit_factor(aperture.unit)

    def _narrow(self, line: _Object) -> float:
        (left, low), (right, high) = line.aperture.bounding_box("mm")
        return float(min(right - left, high - low))

    def _swept(self, line: _Object, drawn: Sequence[list[tuple[float, float]]]) -> list[Geometry]:
        """Return what an aperture that is not round covers from one end of each line to the other."""
        import shapely
        from gerbonara.graphic_objects import Flash

        shape = self._aperture(Flash(0, 0, line.aperture, unit=line.unit))
        if shape is None:
            return []
        corners = shapely.get_coordinates(shapely.convex_hull(shape))
        places = (np.array(drawn)[:, :, None, :] + corners).reshape(-1, 2)
        of_line = np.repeat(np.arange(len(drawn)), 2 * len(corners))
        points: Any = shapely.points(places)
        hulls: Any = shapely.convex_hull(shapely.multipoints(points, indices=of_line))
        return list(hulls)


def unit_factor(unit: _Object) -> float:
    """Return how many mm a unit of the Gerber library is."""
    return float(unit.convert_to("mm", 1.0)) if unit else 1.0


def _shape_of(flash: _Object) -> Geometry | None:
    """Return what an aperture shows around its place; None where it shows nothing."""
    import shapely

    shape: Geometry = shapely.Polygon()
    x, y = flash.x * unit_factor(flash.unit), flash.y * unit_factor(flash.unit)
    for piece in flash.to_primitives("mm"):
        part = _piece(piece)
        shape = shape.union(part) if piece.polarity_dark == flash.polarity_dark else shape.difference(part)
    if shape.is_empty or not math.isfinite(shape.area):
        return None
    return _placed(shape, np.array([[-x, -y]]))[0]


def _piece(piece: _Object) -> Geometry:
    import shapely

    if hasattr(piece, "x2"):
        return shapely.LineString([(piece.x1, piece.y1), (piece.x2, piece.y2)]).buffer(
            piece.width / 2, quad_segs=QUARTER
        )
    if hasattr(piece, "r"):
        return shapely.Point(piece.x, piece.y).buffer(piece.r, quad_segs=QUARTER)
    poly = piece.to_arc_poly()
    areas = area_within(poly.outline, poly.arc_centers, 1.0)
    return areas[0] if areas else shapely.Polygon()


def _placed(shape: Geometry | None, places: Floats) -> list[Geometry]:
    """Return a shape put at each of the *places*, shape (n, 2)."""
    import shapely

    if shape is None:
        return []
    if isinstance(shape, shapely.Polygon) and not shape.interiors:
        ring = np.asarray(shape.exterior.coords)[:, :2]
        areas: Any = shapely.polygons(ring[None] + places[:, None, :])
        return list(areas)
    from shapely.affinity import translate

    return [translate(shape, x, y) for x, y in places.tolist()]


def _stroked(lines: dict[float, list[list[tuple[float, float]]]]) -> list[Geometry]:
    found: list[Geometry] = []
    for width, drawn in lines.items():
        found += list(_lines(drawn, width / 2))
    return found


def _lines(drawn: Sequence[list[tuple[float, float]]], radius: float) -> Sequence[Geometry]:
    import shapely

    pieces = QUARTER
    if radius > _SHORT_MM:
        pieces = min(QUARTER, math.ceil(math.pi / 4 / math.acos(1 - _SHORT_MM / radius)))
    counts = [len(line) for line in drawn]
    lines: Any = shapely.linestrings(
        [point for line in drawn for point in line], indices=np.repeat(np.arange(len(counts)), counts)
    )
    found: Sequence[Geometry] = shapely.buffer(lines, radius, quad_segs=pieces)
    return found


def _arc(arc: _Object, factor: float) -> list[tuple[float, float]]:
    cx, cy = (float(value) for value in arc.center)
    start, end = (arc.x1, arc.y1), (arc.x2, arc.y2)
    points = [start, *between(start, end, (cx, cy), clockwise=bool(arc.clockwise)), end]
    return [(x * factor, y * factor) for x, y in points]


def _as_openings(shapes: Sequence[Geometry], counts: Counter[str], file: str) -> Openings:
    import shapely

    parts = shapely.get_parts(shapes)
    parts = parts[(shapely.get_type_id(parts) == shapely.GeometryType.POLYGON) & ~shapely.is_empty(parts)]
    box = shapely.bounds(parts).reshape(-1, 4)
    if not np.isfinite(box).all() or np.abs(box).max(initial=0.0) > _FARTHEST_MM:
        raise InputError.at(file, "it draws what is larger than any board", f"over {_FARTHEST_MM:g} mm away", REMEDY)
    return Openings(
        box=np.round(box, 5),
        area=np.round(shapely.area(parts), 6),
        around=np.round(shapely.length(parts), 5),
        rings=_rings(parts),
        flashed=counts["Flash"],
        strokes=counts["Line"] + counts["Arc"],
        regions=counts["Region"],
    )


def _rings(parts: Sequence[Geometry]) -> list[list[float]]:
    """Return the outer line of each area."""
    import shapely

    lines = shapely.get_exterior_ring(parts)
    at = np.round(shapely.get_coordinates(lines).ravel(), 5).tolist()
    ends = np.cumsum(2 * shapely.get_num_coordinates(lines)).tolist()
    return [at[start:end] for start, end in zip([0, *ends], ends, strict=False)]
