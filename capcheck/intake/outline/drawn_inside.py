"""What is drawn inside the board's contour and is neither its edge nor an opening for certain: nothing is dropped.

A slot may be drawn as one line, as half circles or as lines with a gap. What may be an opening keeps its place, so that
no body over it passes; the rest (texts, what the name of its layer explains) is named.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from typing import TYPE_CHECKING, Final

import numpy as np
import shapely
from msgspec import Struct
from shapely import LineString, Polygon

from capcheck.intake.outline.contours import groups
from capcheck.intake.outline.drawing import Circle, Drawing, OtherKind
from capcheck.intake.outline.explained import Explained, Hole
from capcheck.model import LARGEST_SCREW_HOLE_MM, Discrepancy, Doubt, Said, Severity, Topic, say
from capcheck.values import Place

if TYPE_CHECKING:
    from numpy.typing import NDArray
    from shapely.geometry.base import BaseGeometry as Geometry

_WIDE_MM: Final = 0.5
"""A line drawn wider than this may be an area itself."""
_JOINED_MM: Final = 1.0
"""Lines whose ends come this near belong to one thing."""
_POINT_MM: Final = 0.01
_PAIR: Final = 2
_BENT: Final = 1.01
"""A line longer than the way between its ends by this factor is bent."""
_SIDES_MM: Final = 10.0
"""Straight lines farther apart are no two sides of a slot."""
_COARSE_MM: Final = 0.02
_MOST_CORNERS: Final = 50
"""With so many corners left an arc is still an arc; what needs more is neither end nor side of a slot."""
_MANY: Final = 300
_GAP_SHARE: Final = 0.1
"""A line whose ends are nearer to each other is meant to be closed."""
_NOT_AN_OPENING: Final = 0.5
"""Loose lines around more of the board than this are no opening, but each of them may be an edge."""
SECOND_LINE: Final = 0.8
"""A closed line around so much of the board is no cut-out: next to nothing would be left. It may be the edge."""


class _Piece(Struct, frozen=True):
    """Something drawn inside the contour that nothing explains, with the key of the words for it."""

    kind: str
    layer: str
    shape: Geometry | None
    """None where its place or its form is not known."""
    width_mm: float = 0.0
    name: str = ""
    round_hole: bool = False

    def at(self) -> tuple[float, float] | None:
        """Return a place to look at."""
        if self.shape is None:
            return None
        if isinstance(self.shape, LineString):
            middle = self.shape.interpolate(0.5, normalized=True)
        else:
            middle = self.shape.representative_point()
        return float(middle.x), float(middle.y)


class Inside(Struct, frozen=True):
    """What may be an opening, and the records that name all that is drawn inside the contour without an answer."""

    doubts: tuple[Doubt, ...]
    discrepancies: tuple[Discrepancy, ...]


def drawn_inside(
    drawing: Drawing,
    board: Polygon,
    holes: Sequence[Hole],
    marks: Sequence[Hole],
    *,
    factor: float,
    explained: Callable[[str], bool],
) -> Inside:
    """Return what the *drawing* holds inside the contour of *board* beside its cut-outs, *holes* and possible *marks*.

    *factor* is the mm in a unit of the drawing; *explained* tells whether the name of a layer says that what lies on
    it is no opening.
    """
    known = Explained(board, holes)
    # A circle on a layer that says what it is not is counted among the marks that may be.
    counted = {*map(_rounded, holes)}, {*map(_rounded, marks)}
    circles = [
        circle
        for circle in drawing.circles
        if _rounded(_in_mm(circle, factor)) not in counted[0]
        and not (explained(circle.layer) and _rounded(_in_mm(circle, factor)) in counted[1])
    ]
    pieces = [
        *_strokes(drawing, known, factor),
        *_circles(circles, known, factor),
        *_others(drawing, known.contour, factor),
    ]
    doubtful: list[_Piece] = []
    rest: list[_Piece] = []
    for piece in pieces:
        (rest if piece.kind in _NO_OPENING or explained(piece.layer) else doubtful).append(piece)
    return Inside(tuple(_doubts(doubtful, known.contour)), tuple(_records(drawing.file, doubtful, rest)))


_NO_OPENING: Final = frozenset({"outline.texts", "outline.pictures"})


def _strokes(drawing: Drawing, known: Explained, factor: float) -> Iterable[_Piece]:
    strokes, points = drawing.strokes, drawing.lines(factor)
    if not strokes:
        return
    of = np.repeat(np.arange(len(points)), [len(line) for line in points])
    lines = np.asarray(shapely.linestrings(np.concatenate(points), indices=of), dtype=object)
    for i, run in sorted(known.left_of(lines).items()):
        left: Geometry = run
        stroke = strokes[i]
        width = stroke.width * factor
        kind = "outline.lines"
        if stroke.hatched:
            kind = "outline.filled areas"
        elif width > _WIDE_MM:
            kind = "outline.wide lines"
        elif lines[i].is_closed:
            kind = "outline.closed lines"
            left = _opened(lines[i], run, known.contour)
        yield _Piece(kind, stroke.layer, left, width if width > _WIDE_MM else 0.0)


def _opened(line: LineString, left: LineString, contour: Polygon) -> Geometry:
    """Return what a closed line opens of the board where it runs along the edge in part; else what is *left* of it."""
    if left.is_closed or len(line.coords) <= _PAIR + 1:
        return left
    area = shapely.intersection(shapely.make_valid(Polygon(line)), contour)
    return area if 0.0 < area.area < SECOND_LINE * contour.area else left


def _circles(circles: Sequence[Circle], known: Explained, factor: float) -> Iterable[_Piece]:
    if not circles:
        return
    rims = np.array([_in_mm(circle, factor) for circle in circles])
    discs = shapely.buffer(np.asarray(shapely.points(rims[:, :2]), dtype=object), rims[:, 2] / 2)
    wide = rims[:, 2] > LARGEST_SCREW_HOLE_MM  # whose rim, in few pieces, would leave the edge of a round board
    discs[wide] = shapely.buffer(np.asarray(shapely.points(rims[wide, :2])), rims[wide, 2] / 2, quad_segs=64)
    for i in sorted(known.left_of(shapely.boundary(discs))):
        yield _Piece(
            "outline.circles", circles[i].layer, discs[i], round_hole=bool(rims[i, 2] <= LARGEST_SCREW_HOLE_MM)
        )


def _in_mm(circle: Circle, factor: float) -> Hole:
    return circle.x * factor, circle.y * factor, circle.diameter * factor


def _rounded(hole: Hole) -> Hole:
    x, y, d = hole
    return round(x, 2), round(y, 2), round(d, 2)


_KIND_OF: Final = {
    OtherKind.TEXT: "outline.texts",
    OtherKind.PICTURE: "outline.pictures",
    OtherKind.POINT: "outline.points",
    OtherKind.SHAPE: "outline.shapes",
}


def _others(drawing: Drawing, contour: Polygon, factor: float) -> Iterable[_Piece]:
    for other in drawing.others:
        x, y = other.x * factor, other.y * factor
        placed = math.isfinite(x) and math.isfinite(y)
        if placed and other.kind is not OtherKind.SHAPE and not shapely.intersects_xy(contour, x, y):
            continue
        # Of a shape that cannot be read the place says where it begins, and not how far it reaches.
        point = shapely.Point(x, y) if placed and other.kind is not OtherKind.SHAPE else None
        yield _Piece(_KIND_OF[other.kind], other.layer, point, name=other.name)


def _doubts(pieces: Sequence[_Piece], contour: Polygon) -> Iterable[Doubt]:
    """Return the areas of what may be openings: lines whose ends meet are one, and enclose what lies between them."""
    lines = [p for p in pieces if isinstance(p.shape, LineString | shapely.MultiLineString)]
    for group in _ends_of_slots(list(_chains(lines))):
        yield Doubt(_area(group, contour), _named(group))
    for piece in pieces:
        if not isinstance(piece.shape, LineString | shapely.MultiLineString):
            area = (
                None if piece.shape is None else piece.shape.buffer(_POINT_MM) if not piece.shape.area else piece.shape
            )
            yield Doubt(area, _named([piece]), piece.round_hole)


def _chains(lines: list[_Piece]) -> Iterable[list[_Piece]]:
    """Return the lines in groups whose ends meet, or nearly do."""
    if not lines:
        return
    ends = np.concatenate([shapely.get_coordinates(p.shape)[[0, -1]] for p in lines])
    points = np.asarray(shapely.points(ends), dtype=object)
    near = shapely.STRtree(points).query(points, predicate="dwithin", distance=_JOINED_MM) // 2
    label = groups(len(lines), near[:, near[0] < near[1]])
    members: dict[int, list[_Piece]] = defaultdict(list)
    for number, piece in zip(label.tolist(), lines, strict=True):
        members[number].append(piece)
    yield from members.values()


def _ends_of_slots(chains: list[list[_Piece]]) -> list[list[_Piece]]:
    """Return the chains, and those together that may be the two ends, or the two sides, of one slot.

    They are single lines whose own ends lie equally far apart: half circles, or sides near one another.
    """
    alike: dict[float, list[_Piece]] = defaultdict(list)
    for chain in chains:
        if len(chain) == 1 and isinstance(line := chain[0].shape, LineString):
            alike[round(math.dist(line.coords[0], line.coords[-1]), 1)].append(chain[0])
    together = []
    for mouth, pieces in alike.items():
        if len(pieces) < _PAIR:
            continue
        lines = np.array([piece.shape for piece in pieces], dtype=object)
        bent = shapely.length(lines) > _BENT * mouth
        coarse = _coarse(lines)
        nearest = shapely.STRtree(coarse).query_nearest(coarse, exclusive=True, return_distance=True, all_matches=False)
        (one, other), apart = nearest
        close = (bent[one] & bent[other]) | (apart < min(_SIDES_MM, mouth))
        together += [[pieces[i], pieces[k]] for i, k in zip(one[close].tolist(), other[close].tolist(), strict=True)]
    return [*chains, *together]


def _coarse(lines: NDArray[np.object_]) -> NDArray[np.object_]:
    """Return lines with few corners each: between two of thousands every pair of pieces would be measured."""
    simple = np.asarray(shapely.simplify(lines, _COARSE_MM, preserve_topology=False), dtype=object)
    for i in np.flatnonzero(shapely.get_num_coordinates(simple) > _MOST_CORNERS).tolist():
        corners = shapely.get_coordinates(simple[i])
        simple[i] = LineString(corners[np.linspace(0, len(corners) - 1, _MOST_CORNERS).astype(int)])
    return simple


def _area(group: Sequence[_Piece], contour: Polygon) -> Geometry:
    """Return what lines may open: themselves, and what they enclose; a large area only where they nearly close."""
    lines = [p.shape for p in group if p.shape is not None]
    drawn = [
        line.buffer(piece.width_mm / 2) if piece.width_mm else line for piece, line in zip(group, lines, strict=True)
    ]
    enclosed, closed = _enclosed(lines)
    if enclosed.area > (SECOND_LINE if closed else _NOT_AN_OPENING) * contour.area:
        return shapely.GeometryCollection(drawn)
    return shapely.GeometryCollection([*drawn, enclosed])


def _enclosed(lines: list[Geometry]) -> tuple[Geometry, bool]:
    """Return what lies between lines, and whether they close around it but for one gap; else it is their hull.

    Of many lines it is the hull at once: it holds whatever they enclose.
    """
    hull = shapely.MultiLineString([part for line in lines for part in shapely.get_parts(line)]).convex_hull
    if len(lines) > _MANY:
        return hull, False
    together = shapely.unary_union(lines)
    faces, *others = shapely.polygonize_full(np.asarray(shapely.get_parts(together), dtype=object))
    if all(shapely.is_empty(lines) for lines in others):
        return shapely.unary_union(faces), True
    whole = shapely.line_merge(together)
    if isinstance(whole, LineString) and len(whole.coords) > _PAIR:
        gap = math.dist(whole.coords[0], whole.coords[-1])
        if gap < _GAP_SHARE * whole.length:
            return hull, True
    return hull, False


def _named(pieces: Sequence[_Piece]) -> Said:
    """Return pieces as reports name them: what, how many, on which layer, where."""
    by_kind: dict[tuple[str, str, str], list[_Piece]] = defaultdict(list)
    for piece in pieces:
        by_kind[piece.kind, piece.layer, piece.name].append(piece)
    things = []
    for (kind, layer, name), found in by_kind.items():
        at = [p for p in (piece.at() for piece in found) if p is not None]
        places = [say("outline.place", x=x, y=y) for x, y in at]
        what = say(kind, count=len(found), name=name)
        placed = say("outline.things at", things=what, places=places) if at else what
        things.append(say("outline.things on a layer", things=placed, layer=layer) if layer else placed)
    return things[0] if len(things) == 1 else say("outline.all of them", things=things)


def _records(file: str, doubtful: Sequence[_Piece], rest: Sequence[_Piece]) -> Iterable[Discrepancy]:
    if doubtful:
        said = say("outline.may be openings", things=_named(doubtful))
        yield Discrepancy(Topic.DRAWN_INSIDE, said, place=Place(file), severity=Severity.ASSUMED)
    if rest:
        said = say("outline.no openings", things=_named(rest))
        yield Discrepancy(Topic.DRAWN_INSIDE, said, place=Place(file), severity=Severity.ADVICE)
