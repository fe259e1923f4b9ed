"""Loose lines become closed contours: ends joined, crossings and duplicates resolved, polygons found.

Ends closer than the tolerance are bridged, nearest pairs first; then shapely nodes the lines (which also dissolves
duplicates) and finds every face. Faces that hang together form one contour, their common outer border; lines from
edge to edge, such as scored ones, and ends that stick out therefore do no harm.
"""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING, Final

import numpy as np
import shapely
from msgspec import Struct
from shapely import Polygon

from capcheck.model import Floats, Ints

if TYPE_CHECKING:
    from numpy.typing import NDArray

GAP_MM: Final = 0.1
"""Gaps up to this are closed unless the user states a tolerance."""

_SAME_MM: Final = 1e-3
"""Ends closer than this are one point: file formats round to about this."""

_PAIR: Final = 2
_ROUND: Final = 12
"""A polygon of fewer corners is no circle."""
_CHAIN_MM: Final = 5.0
"""An open chain that spans less than this in x or y is no board contour."""


class Contour(Struct, frozen=True):
    """A closed contour in mm, filled: *polygon* has no interior rings. *circle* is (x, y, diameter) if it is one."""

    polygon: Polygon
    layer: str
    circle: tuple[float, float, float] | None = None
    crossing: tuple[float, float] | None = None
    """Where the contour crosses itself."""
    divided: int = 1
    """The number of faces it is made of."""
    hatched: bool = False
    """Whether it borders a hatched area."""


class OpenChain(Struct, frozen=True):
    """Lines that hang together and enclose nothing: the convex *hull* and the two loose *ends* closest together."""

    hull: Polygon
    layer: str
    ends: tuple[tuple[float, float], tuple[float, float]]
    gap_mm: float


class Traced(Struct, frozen=True):
    """The contours of one group of lines, with what had to be mended."""

    contours: tuple[Contour, ...] = ()
    chains: tuple[OpenChain, ...] = ()
    gaps_closed: int = 0
    widest_gap_mm: float = 0.0
    flat: tuple[float, float] | None = None
    """A point of a closed line that encloses no area."""


def trace(lines: list[Floats], layer: str, tolerance_mm: float = GAP_MM) -> Traced:
    """Return the contours that *lines* (each n × 2, mm) enclose, gaps up to *tolerance_mm* closed."""
    lines = _without_repeats(lines)
    if not lines:
        return Traced()
    ends = _join_ends(lines)
    bridges, widest = _bridges(lines, ends, tolerance_mm)
    noded = shapely.get_parts(shapely.unary_union(_strings([*lines, *bridges])))
    noded = noded[shapely.get_dimensions(noded) == 1]
    faces, cuts, dangles, _ = shapely.polygonize_full(noded)
    original = np.concatenate([*lines, *bridges])
    contours = _outer_borders(shapely.get_parts(faces), original, layer, max(tolerance_mm, GAP_MM))
    loose = np.concatenate((shapely.get_parts(cuts), shapely.get_parts(dangles)))
    flat = None
    if not contours:
        closed = [line for line in lines if len(line) > _PAIR and (line[0] == line[-1]).all()]
        flat = (float(closed[0][0, 0]), float(closed[0][0, 1])) if closed else None
    return Traced(tuple(contours), tuple(_open_chains(loose, layer)), len(bridges), widest, flat)


def _strings(lines: list[Floats]) -> NDArray[np.object_]:
    of = np.repeat(np.arange(len(lines)), [len(line) for line in lines])
    return np.asarray(shapely.linestrings(np.concatenate(lines), indices=of), dtype=object)


def _without_repeats(lines: list[Floats]) -> list[Floats]:
    """Return the lines on a grid of 1 nm, without pieces of no length and without lines that are a point."""
    if not lines:
        return []
    every: Floats = np.asarray(np.round(np.concatenate(lines), 6) + 0.0, dtype=np.float64)  # no negative zero
    starts = np.cumsum([0, *map(len, lines)])
    moved = np.ones(len(every), dtype=bool)
    moved[1:] = (every[1:] != every[:-1]).any(axis=1)
    moved[starts[:-1]] = True
    every = every[moved]
    ends = np.concatenate(([0], np.cumsum(moved)))[starts].tolist()
    return [every[a:b] for a, b in pairwise(ends) if b - a > 1]


def groups(count: int, pairs: NDArray[np.int64]) -> Ints:
    """Return for each of *count* items the least item that it is linked to through *pairs* (2 × n)."""
    label = np.arange(count)
    a, b = pairs
    while a.size:
        low = np.minimum(label[a], label[b])
        before = label.copy()
        np.minimum.at(label, a, low)
        np.minimum.at(label, b, low)
        # Follow labels to their own labels, so that long chains take few rounds.
        np.minimum(label, label[label], out=label)
        label = label[label]
        if (label == before).all():
            break
    return label


def _join_ends(lines: list[Floats]) -> Ints:
    """Move ends that are one point but for rounding onto each other; return the point's number of each end.

    Ends are numbered first and last of line 0, first and last of line 1, and so on.
    """
    ends = np.concatenate([line[[0, -1]] for line in lines])
    points = np.asarray(shapely.points(ends), dtype=object)
    near = shapely.STRtree(points).query(points, predicate="dwithin", distance=_SAME_MM)
    label = groups(len(ends), near[:, near[0] < near[1]])
    for i, line in enumerate(lines):
        line[0] = ends[label[2 * i]]
        line[-1] = ends[label[2 * i + 1]]
    return label


def _bridges(lines: list[Floats], ends: Ints, tolerance: float) -> tuple[list[Floats], float]:
    """Return short lines that close the gaps at loose ends, and the widest gap closed."""
    count = np.bincount(ends, minlength=len(ends))
    loose = np.flatnonzero(count[ends] == 1)
    if loose.size == 0 or tolerance <= 0:
        return [], 0.0
    places = np.array([lines[e // 2][-(e % 2)] for e in loose])
    points = np.asarray(shapely.points(places), dtype=object)
    tree = shapely.STRtree(points)
    a, b = tree.query(points, predicate="dwithin", distance=tolerance)
    # The two ends of one short line are not a gap.
    keep = (a < b) & (loose[a] // 2 != loose[b] // 2)
    a, b = a[keep], b[keep]
    long_self = _own_gaps(lines, loose, places, tolerance)
    a, b = np.concatenate((a, long_self[0])), np.concatenate((b, long_self[1]))
    gaps = np.hypot(*(places[a] - places[b]).T)
    bridges: list[Floats] = []
    widest = 0.0
    taken: set[int] = set()
    for k in np.argsort(gaps, kind="stable").tolist():
        first, second = int(a[k]), int(b[k])
        if first not in taken and second not in taken:
            taken |= {first, second}
            bridges.append(places[[first, second]])
            widest = max(widest, float(gaps[k]))
    rest = np.array([i for i in range(len(loose)) if i not in taken], dtype=np.int64)
    more, wider = _bridges_onto_lines(lines, loose[rest], places[rest], tolerance)
    return bridges + more, max(widest, wider)


def _own_gaps(lines: list[Floats], loose: Ints, places: Floats, tolerance: float) -> tuple[Ints, Ints]:
    """Return pairs of loose ends of one and the same line that nearly closes on itself."""
    index = {int(e): i for i, e in enumerate(loose)}
    first, second = [], []
    for e, i in index.items():
        j = index.get(e + 1)
        if e % 2 == 0 and j is not None and len(lines[e // 2]) > _PAIR + 1:
            gap = float(np.hypot(*(places[i] - places[j])))
            if gap <= tolerance and gap < 0.1 * float(np.ptp(lines[e // 2], axis=0).max()):
                first.append(i)
                second.append(j)
    return np.array(first, dtype=np.int64), np.array(second, dtype=np.int64)


def _bridges_onto_lines(
    lines: list[Floats], loose: Ints, places: Floats, tolerance: float
) -> tuple[list[Floats], float]:
    """Return bridges from loose ends to the middle of another line; that line gets the point as a vertex."""
    bridges: list[Floats] = []
    widest = 0.0
    if loose.size == 0:
        return bridges, widest
    strings = _strings(lines)
    points = np.asarray(shapely.points(places), dtype=object)
    hits = shapely.STRtree(strings).query(points, predicate="dwithin", distance=tolerance)
    added: dict[int, list[tuple[float, Floats]]] = {}
    for i, target in hits.T.tolist():
        if target == loose[i] // 2:
            continue
        along = float(shapely.line_locate_point(strings[target], points[i]))
        if not 0.0 < along < float(strings[target].length):
            continue
        foot = np.round(shapely.get_coordinates(shapely.line_interpolate_point(strings[target], along))[0], 6)
        gap = float(np.hypot(*(foot - places[i])))
        added.setdefault(target, []).append((along, foot))
        if gap > 0:
            bridges.append(np.array([places[i], foot]))
            widest = max(widest, gap if gap > _SAME_MM else 0.0)
    for target, feet in added.items():
        line = lines[target]
        at = np.concatenate(([0.0], np.cumsum(np.hypot(*np.diff(line, axis=0).T))))
        where = np.searchsorted(at, [along for along, _ in sorted(feet, key=lambda f: f[0])])
        lines[target] = np.insert(line, where, [foot for _, foot in sorted(feet, key=lambda f: f[0])], axis=0)
    return bridges, widest


def _outer_borders(faces: NDArray[np.object_], original: Floats, layer: str, sliver_mm: float) -> list[Contour]:
    """Return the outer border of every set of faces that touch each other."""
    if len(faces) == 0:
        return []
    rings = shapely.get_exterior_ring(faces)
    filled = np.asarray(shapely.polygons(rings), dtype=object)
    touching = shapely.STRtree(rings).query(rings, predicate="intersects")
    label = groups(len(faces), touching[:, touching[0] < touching[1]])
    circles = _circles_among(filled)
    drawn = np.sort(original[:, 0] + 1j * original[:, 1])
    contours: list[Contour] = []
    order = np.argsort(label, kind="stable")
    for members in np.split(order, np.flatnonzero(np.diff(label[order])) + 1):
        if len(members) == 1:
            contours.append(Contour(filled[members[0]], layer, circles.get(int(members[0]))))
            continue
        # Ends that meet a little off make slivers, whose corners are no crossings.
        mean_width = 2.0 * shapely.area(filled[members]) / shapely.length(rings[members])
        crossing = _crossing(rings[members][mean_width > sliver_mm], drawn)
        for part in shapely.get_parts(shapely.unary_union(filled[members])):
            border = Polygon(part.exterior)
            contours.append(
                Contour(border, layer, circle_of(shapely.get_coordinates(border)[:-1]), crossing, len(members))
            )
    return contours


def _circles_among(filled: NDArray[np.object_]) -> dict[int, tuple[float, float, float]]:
    """Return the circles among polygons by their index; a box far from square needs no closer look."""
    boxes = shapely.bounds(filled)
    sides = boxes[:, 2:] - boxes[:, :2]
    maybe = np.flatnonzero(
        (np.abs(sides[:, 0] - sides[:, 1]) < 0.02 * sides.max(axis=1) + 0.02)
        & (shapely.get_num_coordinates(filled) > _ROUND)
    )
    found = {int(i): circle_of(shapely.get_coordinates(filled[i])[:-1]) for i in maybe}
    return {i: circle for i, circle in found.items() if circle is not None}


def _crossing(rings: NDArray[np.object_], drawn: NDArray[np.complex128]) -> tuple[float, float] | None:
    """Return a point on the outer border where two lines cross that go on as borders of faces on both sides.

    Such a point is an end of no line drawn, and four pieces of border leave it. Where a scored line runs beyond the
    board, its loose end bounds nothing and three pieces leave the point. *drawn* are all corners of lines, in order: of
    thousands of contours none may look through all of them.
    """
    coordinates, ring_of = shapely.get_coordinates(rings, return_index=True)
    key = coordinates[:, 0] + 1j * coordinates[:, 1]
    new = drawn[np.minimum(np.searchsorted(drawn, key), len(drawn) - 1)] != key
    if not new.any():
        return None
    same = ring_of[1:] == ring_of[:-1]
    start, end = key[:-1][same], key[1:][same]
    outer = shapely.get_coordinates(shapely.boundary(shapely.unary_union(shapely.polygons(rings))))
    border = outer[:, 0] + 1j * outer[:, 1]
    for point in np.unique(key[new & np.isin(key, border)]):
        if len(np.unique(np.concatenate((end[start == point], start[end == point])))) >= 2 * _PAIR:
            return float(point.real), float(point.imag)
    return None


def _open_chains(loose: NDArray[np.object_], layer: str) -> list[OpenChain]:
    """Return the chains of lines that enclose nothing and are large enough to be meant as a board."""
    chains: list[OpenChain] = []
    if len(loose) == 0:
        return chains
    ends = np.concatenate([shapely.get_coordinates(s)[[0, -1]] for s in loose])
    _, number = np.unique(ends, axis=0, return_inverse=True)
    pairs = number.reshape(-1, 2).T
    node = groups(int(number.max()) + 1, pairs)
    degree = np.bincount(number)
    label = node[number.reshape(-1, 2)[:, 0]]
    order = np.argsort(label, kind="stable")
    for members in np.split(order, np.flatnonzero(np.diff(label[order])) + 1):
        hull = shapely.MultiLineString(list(loose[members])).convex_hull
        west, south, east, north = hull.bounds
        if not isinstance(hull, Polygon) or min(east - west, north - south) < _CHAIN_MM:
            continue
        both = np.concatenate((2 * members, 2 * members + 1))
        tips = ends[both[degree[number[both]] == 1]]
        if len(tips) < _PAIR:
            continue
        first, second, gap = _closest(tips)
        chains.append(OpenChain(hull, layer, (first, second), gap))
    return chains


def _closest(tips: Floats) -> tuple[tuple[float, float], tuple[float, float], float]:
    """Return the two tips that are closest together, and their distance."""
    tips = tips[:400]
    away = np.hypot(tips[:, None, 0] - tips[None, :, 0], tips[:, None, 1] - tips[None, :, 1])
    np.fill_diagonal(away, np.inf)
    i, j = np.unravel_index(int(np.argmin(away)), away.shape)
    a, b = tips[int(i)], tips[int(j)]
    return (float(a[0]), float(a[1])), (float(b[0]), float(b[1])), float(away[i, j])


def circle_of(corners: Floats) -> tuple[float, float, float] | None:
    """Return (x, y, diameter) if the polygon with these *corners* (n × 2, open) stands for a circle, else None.

    At least twelve corners, all at one distance from the middle within 5 µm and 0.5 %, and no piece longer than
    a twelfth of the turn.
    """
    if len(corners) < _ROUND:
        return None
    low, high = corners.min(axis=0), corners.max(axis=0)
    if abs(float(np.subtract(*(high - low)))) > 0.01 * float((high - low).max()) + 0.01:
        return None
    middle = (low + high) / 2.0
    radii = np.hypot(*(corners - middle).T)
    radius = float(radii.max())
    pieces = np.hypot(*(np.roll(corners, -1, axis=0) - corners).T)
    if float(np.ptp(radii)) > 0.005 + 0.005 * radius or float(pieces.max()) > 0.55 * radius:
        return None
    return float(middle[0]), float(middle[1]), 2.0 * radius
