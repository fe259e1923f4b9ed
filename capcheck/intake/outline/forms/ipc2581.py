"""The outline of a board in IPC-2581, revisions A to C, becomes a drawing, with its holes without metal.

The Step that is built has a Profile: a Polygon, and a Cutout for each opening; PolyBegin and PolyStepSegment are
corners, PolyStepCurve an arc to one about a centre. A Hole without metal has platingStatus NONPLATED; one that is for
tooling lies in a Set whose padUsage says so. Openings and holes of the boards that a panel repeats are the panel's.
CadHeader says the unit, Stackup how thick the whole is. Source: the elements of the consortium's test files of revision
C (MIT licence); their meaning from memory.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from pathlib import Path
from typing import Final

import numpy as np
from msgspec import Struct, field
from msgspec.structs import replace

from capcheck.intake.files import BoardSteps, StepPlaced, XmlElements, number_of, place_of, truth_of
from capcheck.intake.outline.drawing import Circle, Drawing, DrawnHole, Stroke, join_bulges
from capcheck.intake.outline.form import Likeness, OutlineForm
from capcheck.model import HoleUse
from capcheck.values import pattern

_BOARD: Final = pattern(rb"<(?:\w+:)?IPC-2581\s")
_UNITS: Final = {"INCH": "inch", "MILLIMETER": "mm", "MICRON": "µm"}
_MOST_POINTS: Final = 60_000
_LAYER: Final = "board outline"
_CUT: Final = "cutout"
_HOLES: Final = "holes"
_TOOLING: Final = "TOOLING_HOLE"
_CORNERS: Final = frozenset({"PolyBegin", "PolyStepSegment", "PolyStepCurve"})
Point = tuple[float, float]


def _likeness(head: bytes) -> Likeness:
    return Likeness.OUTLINE if head.lstrip()[:1] == b"<" and _BOARD.search(head) else Likeness.NONE


class _Line(Struct):
    """A line of straight and round pieces: each corner with the bulge of the piece that leads to it."""

    points: list[Point]
    bulges: list[float] = field(default_factory=list)
    is_cut: bool = False

    def add(self, at: Point, bulge: float = 0.0) -> None:
        self.points.append(at)
        self.bulges.append(bulge)

    def add_arc(self, at: Point, centre: Point, *, clockwise: bool) -> None:
        """Add an arc in two halves, so that a full circle is one, and a long arc no straight line."""
        start = self.points[-1]
        first, last = (math.atan2(y - centre[1], x - centre[0]) for x, y in (start, at))
        turn = -1 if clockwise else 1
        sweep = turn * (math.tau if start == at else turn * (last - first) % math.tau)
        radius = (math.dist(start, centre) + math.dist(at, centre)) / 2
        half = centre[0] + radius * math.cos(first + sweep / 2), centre[1] + radius * math.sin(first + sweep / 2)
        self.add(half, math.tan(sweep / 8))
        self.add(at, math.tan(sweep / 8))


class _Step(Struct):
    """A step with its lines, and its holes without metal or for tooling."""

    lines: list[_Line] = field(default_factory=list)
    holes: list[DrawnHole] = field(default_factory=list)
    has_parts: bool = False


class _Profiles(XmlElements):
    """The profiles of the steps read so far."""

    remedy = "export the board again, or its outline as DXF"

    def __init__(self, file: str) -> None:
        super().__init__(file)
        self.unit: str | None = None
        self.order = BoardSteps()
        self.steps: dict[str, _Step] = {}
        self.thicknesses: dict[float | None, int] = {}
        """Each that is stated, and the line of it."""
        self._in_profile = self._in_cut = self._for_tooling = False
        self._points = 0

    def begin(self, name: str, given: Mapping[str, str]) -> None:
        """Take the beginning of an element."""
        if name == "CadHeader":
            stated = _UNITS.get(given.get("units", ""))
            self.unit = stated if self.unit in {None, stated} else None
        elif name == "Stackup":
            self.thicknesses.setdefault(number_of(given.get("overallThickness")), self.line)
        if self.order.take(name, given) or name == "CadHeader" or not self.order.names:
            return
        step = self.steps.setdefault(self.order.names[-1], _Step())
        if name == "Component":
            step.has_parts = True
        elif name == "Profile":
            self._in_profile = True
        elif name == "Cutout":
            self._in_cut = True
        elif name == "Set":
            self._for_tooling = given.get("padUsage") == _TOOLING
        elif name == "Hole" and (given.get("platingStatus") == "NONPLATED" or self._for_tooling):
            at, diameter = place_of(given), number_of(given.get("diameter"))
            if at is None or diameter is None or diameter <= 0:
                raise self._torn("a hole without metal")
            use = HoleUse.TOOLING if self._for_tooling else HoleUse.NOT_SAID
            plated = given.get("platingStatus") != "NONPLATED"
            step.holes.append(DrawnHole(Circle(*at, diameter, _HOLES), plated, use))
        elif self._in_profile and name in _CORNERS:
            self._corner(step.lines, name, given)

    def _corner(self, lines: list[_Line], name: str, given: Mapping[str, str]) -> None:
        at = place_of(given)
        if at is None or (name != "PolyBegin" and not lines):
            raise self._torn("a corner of the outline")
        if name == "PolyBegin":
            lines.append(_Line([at], is_cut=self._in_cut))
        elif name == "PolyStepSegment":
            lines[-1].add(at)
        else:
            centre, clockwise = place_of(given, "centerX", "centerY"), truth_of(given.get("clockwise", "false"))
            if centre is None or clockwise is None:
                raise self._torn("an arc of the outline")
            lines[-1].add_arc(at, centre, clockwise=clockwise)
        self._points += 1
        if self._points > _MOST_POINTS:
            raise self.error(f"it has more than {_MOST_POINTS:,} points", "no outline has so many")

    def _torn(self, what: str) -> Exception:
        return self.error(f"{what} in line {self.line} cannot be read", "without it the board would have another shape")

    def finish(self, name: str) -> None:
        """Take the end of an element."""
        if name == "Profile":
            self._in_profile = False
        elif name == "Set":
            self._for_tooling = False
        elif name == "Cutout":
            self._in_cut = False

    def built(self) -> list[tuple[StepPlaced, _Step]]:
        """Return the step whose profile that of the whole is, then each that lies in it. Raises :class:`InputError`."""
        filled = {name for name, step in self.steps.items() if step.has_parts}
        filled = filled or {name for name, step in self.steps.items() if step.lines}
        whole = self.order.whole(filled)
        if self.order.problem or whole is None:
            several = f"it holds several boards: {', '.join(sorted(filled))}" if filled else "it has no outline"
            raise self.error(self.order.problem or several, "which is built is not said")
        try:
            placed = [(one, self.steps.get(one.step, _Step())) for one in self.order.placed(whole)]
        except ValueError as error:
            raise self.error(str(error), "what shape it has is not known") from None
        drawn = [(one, step) for one, step in placed if step.lines]
        lies_alone = len(drawn) == 1 and len(placed) == len({one.step for one, _ in placed})
        if not drawn or not (drawn[0][0].step == whole or lies_alone):
            raise self.error("it has no outline", "no step that has components has a profile")
        return [drawn[0], *(one for one in placed if one[0] is not drawn[0][0])]


def _read(path: Path, _unit: str | None) -> Drawing:
    """Read the contour and the holes without metal. Raises :class:`InputError`."""
    found = _Profiles.of(str(path))
    if found.unit is None:
        raise found.error("it states no unit that is known", "CadHeader states it")
    drawing = Drawing(str(path))
    drawing.unit = found.unit
    if len(found.thicknesses) == 1:
        [(thickness, stated_in)] = found.thicknesses.items()
        drawing.thickness = None if thickness is None else (thickness, stated_in)
    for number, (within, step) in enumerate(found.built()):
        for hole in step.holes:
            x, y = within.seen((hole.circle.x, hole.circle.y))
            drawing.holes.append(replace(hole, circle=replace(hole.circle, x=x, y=y)))
            drawing.circles.append(drawing.holes[-1].circle)
        for line in step.lines:
            if line.is_cut or number == 0:
                points = np.array([within.seen(at) for at in line.points])
                drawing.strokes.append(Stroke(points, _CUT if line.is_cut else _LAYER, join_bulges(line.bulges)))
    return drawing


FORM: Final = OutlineForm("IPC-2581", _likeness, _read)
