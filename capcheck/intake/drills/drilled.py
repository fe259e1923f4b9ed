"""Holes of drill files become openings of the outline: those without metal for certain, others as far as is known.

A hole with metal in it carries a lead or joins layers: under a body it is ordinary. Of a large hole that may be one or
the other, no body over it passes.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Final

from msgspec import Struct, field
from msgspec.structs import replace

from capcheck.intake.drills.file import read_drill_file
from capcheck.intake.drills.program import Point, Program, Way, points_of_drills, ways_of_drills
from capcheck.model import LARGEST_SCREW_HOLE_MM, Discrepancy, Doubt, Note, Outline, Said, Severity, Topic, say
from capcheck.values import InputError, Place

if TYPE_CHECKING:
    from shapely import Polygon
    from shapely.geometry.base import BaseGeometry as Geometry

    from capcheck.intake.outline import OutlineReading

_MM: Final = {"mm": 1.0, "inch": 25.4}
_SURE_MM: Final = 1.0
"""Vias and holes for fine leads are smaller: whether they have metal in them is no question. Common practice."""
_SAME_MM: Final = 0.06
_OVER_MM: Final = 0.5
"""Holes on the edge of the board, as of breakaway tabs, count as inside."""
_ALL: Final = 0.98
_MOST: Final = 1_000
"""Openings of one file that are looked at: each is held against all others. No board has so many; from memory."""


class _Found(Struct):
    """What a drill file adds to the outline."""

    holes: list[tuple[float, float, float]] = field(default_factory=list)
    cut_outs: list[Geometry] = field(default_factory=list)
    doubts: list[Doubt] = field(default_factory=list)
    asked: list[Said] = field(default_factory=list)


def with_drills(drawn: OutlineReading, files: Sequence[Path]) -> OutlineReading:
    """Return the outline with the holes of drill files in it, and with a question where one of them tells too little.

    A file that cannot be read, or whose holes do not lie on the board, is a question too.
    """
    import shapely

    outline, notes = drawn.outline, [*drawn.notes]
    discrepancies = [*drawn.discrepancies]
    board = shapely.Polygon(outline.polygon.exterior)
    for file in files:
        try:
            program = read_drill_file(file)
        except InputError as error:
            problem = error.problems[0]
            discrepancies.append(_question(file, say("outline.drill file not read", what=problem.what)))
            continue
        found = _holes(program, board, file)
        outline = _with(outline, found)
        discrepancies += [_question(file, said) for said in found.asked]
        said = say(
            "outline.drill file",
            holes=len(found.holes),
            slots=len(found.cut_outs),
            others=len(program.drilled) - len(found.holes) - len(found.cut_outs),
        )
        notes.append(Note(said, Place(str(file))))
    return replace(drawn, outline=outline, notes=tuple(notes), discrepancies=tuple(discrepancies))


def _question(file: Path, said: Said) -> Discrepancy:
    return Discrepancy(Topic.DRAWN_INSIDE, said, place=Place(str(file)), severity=Severity.ASSUMED)


def _holes(program: Program, board: Polygon, file: Path) -> _Found:
    found = _Found()
    telling = [hole for hole in program.drilled if hole.plated is not True]
    if program.unread:
        found.asked.append(say("outline.drill commands", file=file.name, commands=list(dict.fromkeys(program.unread))))
    if not telling:
        return found
    way, share = _best_way(program, board)
    if share < _ALL:
        found.asked.append(say("outline.drills beside the board", file=file.name, share=share, count=len(telling)))
        return found
    unsized = [hole for hole in telling if hole.size is None]
    if unsized:
        found.asked.append(say("outline.drills without size", file=file.name, count=len(unsized)))
    sizes = {hole: (hole.size or 0.0) * _MM[hole.unit or way.unit] for hole in telling}
    openings = [hole for hole in sizes if hole.plated is False and hole.size is not None]
    unclear = [
        h for h in sizes if (h.plated is not False or h.size is None) and (h.size is None or sizes[h] >= _SURE_MM)
    ]
    if len(openings) + len(unclear) > _MOST:
        count = len(openings) + len(unclear)
        found.asked.append(say("outline.drills too many", file=file.name, count=count, most=_MOST))
        return found
    for hole, points in zip(openings, points_of_drills(openings, way), strict=True):
        if len(points) == 1:
            found.holes.append((*points[0], sizes[hole]))
        else:
            found.cut_outs.append(_shape(points, sizes[hole]))
    for hole, points in zip(unclear, points_of_drills(unclear, way), strict=True):
        is_round = len(hole.points) == 1 and sizes[hole] <= LARGEST_SCREW_HOLE_MM
        shape = _shape(points, sizes[hole])
        found.doubts.append(Doubt(shape, say("outline.drilled", file=file.name), is_round))
    if unclear:
        found.asked.append(say("outline.plated or not", file=file.name, count=len(unclear)))
    return found


def _best_way(program: Program, board: Polygon) -> tuple[Way, float]:
    """Return the first way to read the numbers by which the holes lie on the board, and their share there."""
    import shapely

    grown = board.buffer(_OVER_MM)
    shapely.prepare(grown)
    tried: list[tuple[float, int, Way]] = []
    for order, way in enumerate(ways_of_drills(program)):
        points = [point for of_one in points_of_drills(program.drilled, way) for point in of_one]
        inside = shapely.contains_xy(grown, [x for x, _ in points], [y for _, y in points])
        tried.append((float(inside.mean()), -order, way))
        if tried[-1][0] >= _ALL:
            break
    share, _, way = max(tried, key=lambda t: t[:2])
    return way, share


def _shape(points: Sequence[Point], size: float) -> Geometry:
    """Return what a tool of this size takes away; a closed line takes what it encloses as well."""
    import shapely

    if len(points) == 1:
        return shapely.Point(points[0]).buffer(max(size / 2, 0.01), quad_segs=16)
    line = shapely.LineString(points).buffer(max(size / 2, 0.001), quad_segs=16)
    closed = len(points) > 3 and points[0] == points[-1]
    return shapely.Polygon(line.exterior) if closed and isinstance(line, shapely.Polygon) else line


def _with(outline: Outline, found: _Found) -> Outline:
    """Return the outline with holes and slots that it does not show itself."""
    import shapely

    polygon, doubts = outline.polygon, [*outline.doubts]
    known = [*outline.holes]
    shapely.prepare(polygon)
    for hole in found.holes:
        if shapely.contains_xy(polygon, *hole[:2]) and not any(_same(hole, other) for other in known):
            known.append(hole)
    edge = shapely.Polygon(polygon.exterior)
    for shape in found.cut_outs:
        if _is_known(shape, polygon):
            continue
        cut = polygon.difference(shape)
        if edge.contains(shape) and isinstance(cut, shapely.Polygon):
            polygon = cut
        else:
            # A routed line along the edge is the edge, drawn as the tool's way outside it.
            doubts.append(Doubt(shape.intersection(edge), say("outline.routed line")))
    doubts += [doubt for doubt in found.doubts if not _is_answered(doubt, polygon, known)]
    return replace(outline, polygon=polygon, holes=tuple(known), doubts=tuple(doubts))


def _same(one: tuple[float, float, float], other: tuple[float, float, float]) -> bool:
    return all(abs(a - b) < _SAME_MM for a, b in zip(one, other, strict=True))


def _is_known(shape: Geometry, polygon: Polygon) -> bool:
    """Whether what a tool takes away lies outside the board, or in a cut-out of it."""
    return bool(polygon.intersection(shape).area < 0.02 * shape.area)


def _is_answered(doubt: Doubt, polygon: Polygon, holes: Sequence[tuple[float, float, float]]) -> bool:
    return doubt.area is not None and (_is_known(doubt.area, polygon) or any(_within(doubt.area, h) for h in holes))


def _within(area: Geometry, hole: tuple[float, float, float]) -> bool:
    import shapely

    return bool(shapely.Point(hole[:2]).buffer(hole[2] / 2 + _SAME_MM).contains(area))
