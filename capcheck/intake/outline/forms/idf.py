"""The outline of a board in the Intermediate Data Format, version 3.0, becomes a drawing, with its holes.

The section BOARD_OUTLINE has the board's thickness, then points with the number of their loop and an angle: 0 for a
straight line from the point before, else how far the arc to it turns, counter-clockwise where it is positive; 360 for a
circle around the point before. DRILLED_HOLES has diameter, x, y, plating, which part a hole belongs to and what it is
for. A hole without metal is an opening, and so is one of the board itself for a screw or a pin. Source: Intermediate
Data Format, Mechanical Data Exchange Specification, Version 3.0 Revision 1 of 1996-10-31; the records are from memory.
"""

from __future__ import annotations

import math
from pathlib import Path
from typing import Final

import numpy as np

from capcheck.intake.files import lines_within_budget
from capcheck.intake.outline.drawing import Circle, Drawing, DrawnHole, Stroke, join_bulges
from capcheck.intake.outline.form import Likeness, OutlineForm
from capcheck.model import HoleUse
from capcheck.values import InputError, Place, Problems, pattern

_BOARD: Final = pattern(rb"(?im)^\.HEADER\s+(?:BOARD|PANEL)_FILE\s")
_OUTLINE: Final = pattern(r"(?i)\.(?:BOARD|PANEL)_OUTLINE")
_KINDS: Final = ("BOARD_FILE", "PANEL_FILE")
"""What the first record of a header begins with; the next is the board's name and its unit."""
_QUOTED: Final = pattern(r'"[^"]*"')
_UNITS: Final = {"MM": "mm", "THOU": "mil"}
_MOST_POINTS: Final = 60_000
_LAYER: Final = "board outline"
_HOLES: Final = "holes"
_TOOL: Final = "TOOL"
_USES: Final = {_TOOL: HoleUse.TOOLING, "MTG": HoleUse.MOUNTING}
_OF_PARTS: Final = frozenset({"PIN", "VIA"})
_OF_BOARD: Final = frozenset({"BOARD", "PANEL", "NOREFDES"})
"""What a hole belongs to that is no part's."""
_CIRCLE: Final = 360.0
_SHARE: Final = 1e-6
_REMEDY: Final = "export the board again as version 3.0, or its outline as DXF"


def _likeness(head: bytes) -> Likeness:
    start = head.lstrip()[:1]
    return Likeness.OUTLINE if start in {b".", b"#"} and _BOARD.search(head) else Likeness.NONE


def _read(path: Path, _unit: str | None) -> Drawing:
    """Read the contour and the holes without metal. Raises :class:`InputError`."""
    drawing = Drawing(str(path))
    problems = Problems()
    section, first = "", 0
    loops: dict[str, list[list[float]]] = {}
    for number, line in enumerate(lines_within_budget(str(path), _REMEDY), start=1):
        text = line.strip()
        if not text or text.startswith("#"):
            continue
        if text.startswith("."):
            section, first = text.split()[0], number
        elif section.upper() == ".HEADER" and not text.upper().startswith(_KINDS):
            drawing.unit = _UNITS.get(text.split()[-1].upper())
        elif _OUTLINE.fullmatch(section):
            _outline_record(text, number, drawing, loops, problems)
        elif section.upper() == ".DRILLED_HOLES":
            _hole(text, number, drawing, problems)
    if sum(map(len, loops.values())) + len(drawing.circles) > _MOST_POINTS:
        raise InputError.at(str(path), f"it has more than {_MOST_POINTS:,} points", "no outline has so many", _REMEDY)
    problems.raise_if_any()
    if drawing.unit is None:
        raise InputError.at(str(path), "it states no unit", "MM or THOU stands behind the board's name", _REMEDY)
    if not loops:
        raise InputError.at(str(path), "it has no outline", f"its last section begins in line {first}", _REMEDY)
    for points in loops.values():
        _add_loop(points, drawing)
    return drawing


def _outline_record(
    text: str, line: int, drawing: Drawing, loops: dict[str, list[list[float]]], problems: Problems
) -> None:
    fields = text.split()
    values = _numbers(fields)
    if values is not None and len(values) == 1:
        drawing.thickness = values[0], line
    elif values is not None and len(values) == 4:
        loops.setdefault(fields[0], []).append(values[1:])
    else:
        problems.add(Place(drawing.file, line), "is no point of an outline", "it is a loop, x, y and an angle", _REMEDY)


def _hole(text: str, line: int, drawing: Drawing, problems: Problems) -> None:
    fields = _QUOTED.sub("name", text).split()
    values = _numbers(fields[:3])
    if values is None or len(values) < 3 or values[0] <= 0 or len(fields) < 4:
        problems.add(Place(drawing.file, line), "is no hole", "it is a diameter, x, y and a plating", _REMEDY)
        return
    plating, owner, use = [*(field.upper() for field in fields[3:6]), "", ""][:3]
    circle, plated = Circle(values[1], values[2], values[0], _HOLES), plating != "NPTH"
    is_boards = owner in _OF_BOARD
    if not plated or (use in _USES and is_boards):
        drawing.circles.append(circle)
    # A peg of a part fills its hole; some list a hole for tooling as a part by itself.
    if use not in _OF_PARTS and (is_boards or (use == _TOOL and not plated)):
        drawing.holes.append(DrawnHole(circle, plated, _USES.get(use, HoleUse.NOT_SAID)))


def _add_loop(points: list[list[float]], drawing: Drawing) -> None:
    if len(points) == 2 and abs(abs(points[1][2]) - _CIRCLE) < _SHARE:
        (x, y, _), (u, v, _) = points
        drawing.circles.append(Circle(x, y, 2 * math.hypot(u - x, v - y), _LAYER))
        return
    bulges = join_bulges(math.tan(math.radians(angle) / 4) for _, _, angle in points[1:])
    drawing.strokes.append(Stroke(np.array([point[:2] for point in points]), _LAYER, bulges))


def _numbers(texts: list[str]) -> list[float] | None:
    try:
        values = [float(text) for text in texts]
    except ValueError:
        return None
    return values if all(math.isfinite(value) for value in values) else None


FORM: Final = OutlineForm("IDF", _likeness, _read)
