"""A Gerber profile layer becomes a drawing: the middle of every stroke is the contour.

gerbonara reads the format. Compared with pygerber 2.4 on 23 profile layers of real boards: gerbonara 1.5 read all
23, in 0.1 to 3 ms each after 0.05 s of import; pygerber refused two with deprecated commands, took 20 to 110 ms
after 0.28 s, adds the stroke's width to its sizes, and bounds two files with arcs far too wide.
"""

from __future__ import annotations

import math
import warnings
from pathlib import Path
from typing import Any, Final

import numpy as np

from capcheck.intake.outline.drawing import Circle, Drawing, Other, OtherKind, Stroke, join_bulges
from capcheck.intake.outline.form import Likeness, OutlineForm
from capcheck.lexicon import fold, vocabulary
from capcheck.model import Floats, say
from capcheck.values import InputError, Place, Problems, pattern

_Object = Any
"""A graphic object of the Gerber library, which has no types."""
_SAME: Final = 1e-9

MAX_OBJECTS: Final = 60_000
_FORMAT: Final = pattern(rb"%\s*FS")
_REPEAT: Final = pattern(rb"%\s*SRX(\d{1,12})Y(\d{1,12})")
_COMMANDS: Final = pattern(rb"%\s*FS[LTD]?[AI]?X\d\dY\d\d|%\s*MO(?:MM|IN)\s*\*|%ADD\d+[A-Z]")
_FUNCTION: Final = pattern(rb"TF\.FileFunction,\s*([A-Za-z]+)([^*\r\n]{0,80})")
_UNIT: Final = pattern(rb"%\s*MO\s*(MM|IN)\s*\*|(?:^|\*|\n)[ \t\r]*+G7([01])\s*\*")


def _likeness(head: bytes) -> Likeness:
    if not _COMMANDS.search(head):
        return Likeness.NO_OUTLINE if b"D02*" in head else Likeness.NONE
    function = _FUNCTION.search(head)
    if function is None:
        return Likeness.OUTLINE
    if function[1].lower() == b"profile":
        return Likeness.SAYS_OUTLINE
    # "Other,Milling" has no word of the standard's for what is cut out of a board.
    told = fold(function[2].decode("utf-8", "replace"))
    is_cut = function[1].lower() == b"other" and vocabulary().layers.cut_out.search(told)
    return Likeness.OUTLINE if is_cut else Likeness.NO_OUTLINE


def _read(path: Path, _unit: str | None) -> Drawing:
    """Read strokes, arcs, regions and round flashes of the Gerber file at *path*, in mm.

    Raises :class:`InputError`: gerbonara is not installed, the file is not Gerber, draws too much, or has a
    coordinate that is no number.
    """
    try:
        import gerbonara
        from gerbonara import graphic_objects as shapes
        from gerbonara.utils import MM
    except ImportError as error:
        raise InputError.at(
            str(path),
            "a Gerber outline cannot be read",
            "its library is not installed",
            'install it with: pip install "capcheck[gerber]", or send the outline as DXF',
        ) from error
    content = _content(path)
    stated = _UNIT.search(content) is not None
    try:
        with warnings.catch_warnings():
            # Deprecated commands are common in real files and do not change what is drawn.
            warnings.simplefilter("ignore")
            # Without a unit the numbers are read as they stand, and the unit is inferred like a DXF file's.
            prefix = "" if stated else "%MOMM*%\n"
            layer = gerbonara.GerberFile.from_string(prefix + content.decode("utf-8", "replace"), filename=path)
            objects = list(layer.objects)
    except MemoryError:
        raise  # not of the form, but of the limit under which it is read
    except Exception as error:  # the reader lets many kinds of errors through
        detail = " ".join(str(error).replace(str(path), path.name).split())[:160]
        raise InputError.at(
            str(path),
            "this is not a Gerber file that can be read",
            detail or type(error).__name__,
            "export the profile layer as Gerber RS-274X again, or as DXF",
        ) from error
    if len(objects) > MAX_OBJECTS:
        raise InputError.at(
            str(path),
            f"it draws {len(objects):,} objects, at most {MAX_OBJECTS:,} are read",
            "a profile has tens to hundreds; this is another layer",
            "name the profile layer as the outline",
        )
    drawing = Drawing(str(path), unit="mm" if stated else None)
    repeat = _REPEAT.search(content)
    if repeat is not None and (int(repeat[1]) > 1 or int(repeat[2]) > 1):
        drawing.notes.append(say("outline.repeated", columns=int(repeat[1]), rows=int(repeat[2])))
        drawing.others.append(Other(OtherKind.SHAPE, "step and repeat", ""))
    problems = Problems()
    for number, thing in enumerate(objects, start=1):
        where = Place(drawing.file, column=f"{type(thing).__name__.lower()} {number}")
        if isinstance(thing, shapes.Region):
            _region(drawing, thing)
        elif isinstance(thing, shapes.Line):
            line, width = thing.converted(MM), _width(thing)
            if math.dist((line.x1, line.y1), (line.x2, line.y2)) < _SAME:
                # A line that ends where it begins draws its aperture, as a flash does.
                drawing.circles.append(Circle(line.x1, line.y1, width, ""))
            else:
                _add(drawing, problems, where, [(line.x1, line.y1), (line.x2, line.y2)], width=width)
        elif isinstance(thing, shapes.Arc):
            _arc(drawing, problems, where, thing.converted(MM), _width(thing))
        elif isinstance(thing, shapes.Flash):
            _flash(drawing, thing)
    problems.raise_if_any()
    return drawing


def _content(path: Path) -> bytes:
    content = path.read_bytes()
    if not _FORMAT.search(content):
        raise InputError.at(
            str(path),
            "the Gerber file does not say how its numbers are written",
            "without the command FS the decimal point's place is unknown",
            "export the profile layer as Gerber RS-274X again, or as DXF",
        )
    for repeat in _REPEAT.finditer(content):
        columns, rows = int(repeat[1]), int(repeat[2])
        if columns * rows > MAX_OBJECTS:
            raise InputError.at(
                str(path),
                f"it repeats what it draws {columns:,} × {rows:,} times",
                f"at most {MAX_OBJECTS:,} objects are read; a panel has some dozen boards",
                "export the profile of one board",
            )
    return content


def _add(
    drawing: Drawing,
    problems: Problems,
    where: Place,
    points: list[tuple[float, float]],
    bulges: Floats | None = None,
    *,
    width: float = 0.0,
) -> None:
    vertices = np.array(points, dtype=np.float64)
    if np.isfinite(vertices).all():
        drawing.strokes.append(Stroke(vertices, "", bulges, width=width))
    else:
        problems.add(where, "a coordinate is not a finite number", remedy="export it again")


def _arc(drawing: Drawing, problems: Problems, where: Place, arc: _Object, width: float) -> None:
    cx, cy = arc.center
    radius = math.hypot(arc.x1 - cx, arc.y1 - cy)
    if math.dist((arc.x1, arc.y1), (arc.x2, arc.y2)) < _SAME:
        drawing.circles.append(Circle(cx, cy, 2 * radius, ""))
        return
    points, bulges = _halves((arc.x1, arc.y1), (arc.x2, arc.y2), (cx, cy), clockwise=arc.clockwise)
    _add(drawing, problems, where, points, np.array(bulges), width=width)


def _width(thing: _Object) -> float:
    """Return how wide a line is drawn at most, in mm."""
    try:
        (left, low), (right, high) = thing.aperture.bounding_box("mm")
    except (AttributeError, TypeError, ValueError):
        return 0.0
    width = float(max(right - left, high - low))
    return width if math.isfinite(width) else 0.0


def _halves(
    start: tuple[float, float], end: tuple[float, float], centre: tuple[float, float], *, clockwise: bool
) -> tuple[list[tuple[float, float]], list[float]]:
    """Return an arc as two halves with their bulges, whose swept angle is under a half turn each."""
    first = math.atan2(start[1] - centre[1], start[0] - centre[0])
    last = math.atan2(end[1] - centre[1], end[0] - centre[0])
    sweep = -((first - last) % math.tau) if clockwise else (last - first) % math.tau
    # The format over-determines arcs: the two radii differ by its rounding, the middle one splits the difference.
    radius = (math.dist(start, centre) + math.dist(end, centre)) / 2.0
    middle = (centre[0] + radius * math.cos(first + sweep / 2), centre[1] + radius * math.sin(first + sweep / 2))
    bulge = math.tan(sweep / 8.0)
    return [start, middle, end], [bulge, bulge]


def _region(drawing: Drawing, region: _Object) -> None:
    # gerbonara 1.5 cannot convert a region as it does the rest.
    _area(drawing, region, float(region.unit.convert_to("mm", 1.0)) if region.unit else 1.0)


def _area(drawing: Drawing, area: _Object, factor: float) -> None:
    """Add the closed contour of an area of straight and round pieces, *factor* mm in its unit."""
    points: list[tuple[float, float]] = []
    bulges: list[float] = []
    corners = [(float(x) * factor, float(y) * factor) for x, y in area.outline]
    if len(corners) > 1 and math.dist(corners[0], corners[-1]) > _SAME:
        corners.append(corners[0])
    centres = list(area.arc_centers or [])
    centres += [None] * (len(corners) - 1 - len(centres))
    for start, end, arc in zip(corners[:-1], corners[1:], centres, strict=False):
        points.append(start)
        if arc is None or arc[0] is None:
            bulges.append(0.0)
            continue
        centre = (arc[1][0] * factor, arc[1][1] * factor)
        halves, tangents = _halves(start, end, centre, clockwise=bool(arc[0]))
        points.append(halves[1])
        bulges += tangents
    if points:
        drawing.strokes.append(Stroke(np.array([*points, corners[-1]]), "", join_bulges(bulges)))


def _flash(drawing: Drawing, flash: _Object) -> None:
    """Add what a flash stamps: a round one is a hole drawn as a dot, another one a closed contour."""
    at = flash.converted("mm")
    diameter = getattr(flash.aperture, "diameter", None)
    if diameter and type(flash.aperture).__name__ == "CircleAperture":
        size = flash.aperture.unit.convert_to("mm", diameter) if flash.aperture.unit else diameter
        drawing.circles.append(Circle(float(at.x), float(at.y), float(size), ""))
        return
    try:
        pieces = list(flash.to_primitives("mm"))
        for piece in pieces:
            if hasattr(piece, "x2"):
                _slot(drawing, complex(piece.x1, piece.y1), complex(piece.x2, piece.y2), float(piece.width))
            else:
                _area(drawing, piece.to_arc_poly(), 1.0)
    except (ArithmeticError, AttributeError, IndexError, TypeError, ValueError):
        pieces = []  # a macro that the library cannot work out is named all the same
    if not pieces:
        drawing.others.append(Other(OtherKind.SHAPE, type(flash.aperture).__name__, "", float(at.x), float(at.y)))


def _slot(drawing: Drawing, start: complex, end: complex, width: float) -> None:
    """Add the contour of a slot with round ends, whose middles are *start* and *end* (x + iy)."""
    along = (end - start) / abs(end - start) if end != start else 1.0 + 0.0j
    beside = along * 1j * width / 2.0
    corners = [start - beside, end - beside, end + beside, start + beside, start - beside]
    half_turn = 1.0
    bulges = join_bulges([0.0, half_turn, 0.0, half_turn])
    drawing.strokes.append(Stroke(np.array([(c.real, c.imag) for c in corners]), "", bulges))


FORM: Final = OutlineForm("Gerber", _likeness, _read, ("gerbonara",), file_a_layer=True)
