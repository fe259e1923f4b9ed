"""The outline of a board in IPC-2581, revisions A to C, becomes a drawing, with its holes without metal.

A Step that has components has a Profile: a Polygon, and a Cutout for each opening; PolyBegin and PolyStepSegment are
corners, PolyStepCurve an arc to one about a centre. A Hole without metal has platingStatus NONPLATED. CadHeader says
the unit. Source: the elements of the consortium's test files of revision C (MIT licence); their meaning from memory.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from pathlib import Path
from typing import Final
from xml.parsers import expat

import numpy as np
from msgspec import Struct, field

from capcheck.intake.outline.drawing import Circle, Drawing, Stroke, join_bulges
from capcheck.intake.outline.form import Likeness, OutlineForm
from capcheck.values import InputError, pattern

_BOARD: Final = pattern(rb"<(?:\w+:)?IPC-2581\s")
_UNITS: Final = {"INCH": "inch", "MILLIMETER": "mm", "MICRON": "µm"}
_LARGEST: Final = 32 * 1024 * 1024
_MOST_POINTS: Final = 60_000
_LAYER: Final = "board outline"
_CUT: Final = "cutout"
_HOLES: Final = "holes"
_REMEDY: Final = "export the board again, or its outline as DXF"


def _likeness(head: bytes) -> Likeness:
    return Likeness.OUTLINE if head.lstrip()[:1] == b"<" and _BOARD.search(head) else Likeness.NONE


class _Step(Struct):
    """A step with its closed lines, each a list of x, y and bulge, and its holes; *parts* counts its components.

    *cut* are the numbers of the lines that are openings.
    """

    lines: list[list[tuple[float, float, float]]] = field(default_factory=list)
    cut: set[int] = field(default_factory=set)
    holes: list[tuple[float, float, float]] = field(default_factory=list)
    parts: int = 0


class _Profiles:
    """The profiles of the steps read so far."""

    def __init__(self, file: str) -> None:
        self.file = file
        self.unit: str | None = None
        self.steps: list[_Step] = []
        self._in_profile = False
        self._points = 0

    def refuse(self, *_declared: object) -> None:
        """Refuse a file with a document type: it may declare entities that grow without bound."""
        raise InputError.at(self.file, "it declares a document type", "no such file needs one", _REMEDY)

    def start(self, tag: str, given: dict[str, str]) -> None:
        """Take the beginning of an element."""
        name = tag.rpartition(":")[2]
        if name == "CadHeader":
            self.unit = _UNITS.get(given.get("units", ""))
        elif name == "Step":
            self.steps.append(_Step())
        elif not self.steps:
            return
        elif name == "Component":
            self.steps[-1].parts += 1
        elif name == "Profile":
            self._in_profile = True
        elif name == "Cutout" and self._in_profile:
            self.steps[-1].cut.add(len(self.steps[-1].lines))
        elif name == "Hole" and given.get("platingStatus") == "NONPLATED":
            at = _numbers(given, "x", "y", "diameter")
            self.steps[-1].holes += [at] if at is not None and at[2] > 0 else []
        elif self._in_profile:
            self._corner(name, given)

    def _corner(self, name: str, given: Mapping[str, str]) -> None:
        lines = self.steps[-1].lines
        at = _numbers(given, "x", "y")
        if at is None:
            return
        x, y = at[:2]
        if name == "PolyBegin":
            lines.append([(x, y, 0.0)])
        elif name == "PolyStepSegment" and lines:
            lines[-1].append((x, y, 0.0))
        elif name == "PolyStepCurve" and lines:
            centre = _numbers(given, "centerX", "centerY")
            start = lines[-1][-1][:2]
            bulge = 0.0 if centre is None else _bulge(start, (x, y), centre[:2], given.get("clockwise") == "true")
            lines[-1].append((x, y, bulge))
        self._points += 1
        if self._points > _MOST_POINTS:
            raise InputError.at(
                self.file, f"it has more than {_MOST_POINTS:,} points", "no outline has so many", _REMEDY
            )

    def end(self, tag: str) -> None:
        """Take the end of an element."""
        if tag.rpartition(":")[2] == "Profile":
            self._in_profile = False


def _bulge(start: tuple[float, float], end: tuple[float, float], centre: tuple[float, float], clockwise: bool) -> float:
    """Return the tangent of a quarter of the angle that an arc sweeps, positive counter-clockwise."""
    first = math.atan2(start[1] - centre[1], start[0] - centre[0])
    last = math.atan2(end[1] - centre[1], end[0] - centre[0])
    sweep = -((first - last) % math.tau) if clockwise else (last - first) % math.tau
    # A full turn has no bulge: it is drawn as two halves.
    return math.tan(sweep / 4) if abs(sweep) < math.tau * 0.99 else 0.0


def _numbers(given: Mapping[str, str], *names: str) -> tuple[float, float, float] | None:
    try:
        values = [float(given[name]) for name in names]
    except (KeyError, ValueError):
        return None
    if not all(map(math.isfinite, values)):
        return None
    return values[0], values[1], values[2] if len(values) > 2 else 0.0


def _read(path: Path, _unit: str | None) -> Drawing:
    """Read the contour and the holes without metal. Raises :class:`InputError`."""
    data = path.read_bytes()
    if len(data) > _LARGEST:
        raise InputError.at(str(path), f"it has {len(data) / 1e6:,.0f} MB", "no board is so long", _REMEDY)
    found = _Profiles(str(path))
    parser = expat.ParserCreate()
    parser.StartElementHandler = found.start
    parser.EndElementHandler = found.end
    parser.StartDoctypeDeclHandler = found.refuse
    try:
        parser.Parse(data, True)
    except expat.ExpatError as error:
        raise InputError.at(str(path), f"it is damaged: {error}", "an XML file is read as a whole", _REMEDY) from None
    if found.unit is None:
        raise InputError.at(str(path), "it states no unit that is known", "CadHeader states it", _REMEDY)
    step = max(found.steps, key=lambda one: (one.parts, len(one.lines)), default=None)
    if step is None or not step.lines:
        raise InputError.at(str(path), "it has no outline", "no step that has components has a profile", _REMEDY)
    drawing = Drawing(str(path))
    drawing.unit = found.unit
    for number, points in enumerate(step.lines):
        bulges = join_bulges(bulge for _, _, bulge in points[1:])
        drawing.strokes.append(
            Stroke(np.array([point[:2] for point in points]), _CUT if number in step.cut else _LAYER, bulges)
        )
    drawing.circles += [Circle(x, y, diameter, _HOLES) for x, y, diameter in step.holes]
    return drawing


FORM: Final = OutlineForm("IPC-2581", _likeness, _read)
