"""Gaps between bodies: exact for rotated rectangles, as intervals, over pairs of neighbours only.

A gap is signed: positive is the free distance, negative the shift that would part two overlapping bodies.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final

import numpy as np
from msgspec import Struct

from capcheck.geometry.bodies import Bodies
from capcheck.model import Codes, Flags, Floats, Ints, Side

_CHUNK: Final = 200_000
"""Candidate pairs measured at once: bounds the memory, not the result."""


_STRIP: Final = 1000
"""Boxes that begin in one strip of the search for pairs."""


class Pairs(Struct, frozen=True):
    """Neighbours *i* < *j* (rows of the bodies) with the bounds of their gap in mm; *side* is the one they share.

    Every two bodies whose gap may be at most *search_mm* are here, except that a body without an upper bound of size
    (in *unbounded*) is paired only with those near its centre and its nearest neighbour: its gaps are open downwards
    anyway, and a pair with every other body of the board would say nothing more.
    """

    i: Ints
    j: Ints
    gap_low: Floats
    gap_high: Floats
    side: Codes
    search_mm: float
    unbounded: Ints

    def __len__(self) -> int:
        return len(self.i)

    def take(self, rows: Ints | Flags) -> Pairs:
        """Return the pairs of these rows, an index or a mask."""
        return Pairs(
            self.i[rows],
            self.j[rows],
            self.gap_low[rows],
            self.gap_high[rows],
            self.side[rows],
            self.search_mm,
            self.unbounded,
        )

    def closest(self, bodies: int, *, to: Flags | None = None) -> tuple[Floats, Floats, Ints]:
        """Return for each body the bounds of its least gap and the neighbour, −1 where none is near.

        With *to*, only neighbours so marked count. A body that has none near has a gap of *search_mm* or more.
        """
        row = np.concatenate([self.i, self.j])
        other = np.concatenate([self.j, self.i])
        low, high = np.tile(self.gap_low, 2), np.tile(self.gap_high, 2)
        if to is not None:
            keep = np.asarray(to, bool)[other]
            row, other, low, high = row[keep], other[keep], low[keep], high[keep]
        least_low = np.full(bodies, self.search_mm)
        least_high = np.full(bodies, math.inf)
        np.minimum.at(least_low, row, low)
        np.minimum.at(least_high, row, high)
        if to is None or np.asarray(to, bool).any():
            # A body of unknown size may reach any other: it is named itself, and at those near it.
            least_low[self.unbounded] = -math.inf
        neighbour = np.full(bodies, -1)
        order = np.lexsort((high, low))[::-1]
        neighbour[row[order]] = other[order]
        return least_low, least_high, neighbour


def pairs(bodies: Bodies, search_mm: float, *, present: Flags | None = None, opposite: bool = False) -> Pairs:
    """Return all pairs on one side whose gap may be at most *search_mm*, in order of i, then j.

    *present* marks the bodies that count. With *opposite*, pairs on opposite sides are returned instead, as seen
    through the board. A body of unknown side may share the side of any other: its gaps have no upper bound.
    """
    counted = bodies.located if present is None else bodies.located & np.asarray(present, bool)
    rows = np.flatnonzero(counted)
    some = bodies.take(rows)
    if len(rows) < 2:
        empty = np.empty(0)
        none = np.empty(0, np.int64)
        return Pairs(none, none, empty, empty, np.empty(0, np.int8), search_mm, none)
    found = [_measure(some, i, j, search_mm, opposite=opposite) for i, j in _candidates(some, search_mm)]
    i, j, low, high, side = (np.concatenate(column) for column in zip(*found, strict=True))
    order = np.lexsort((j, i))
    return Pairs(rows[i[order]], rows[j[order]], low[order], high[order], side[order], search_mm, rows[~some.bounded])


def _boxes(bodies: Bodies, half: Floats) -> Floats:
    """Return the extents (x min, y min, x max, y max) of rectangles with these half sides."""
    angle = np.radians(bodies.angle_deg)
    cos, sin = np.abs(np.cos(angle)), np.abs(np.sin(angle))
    dx, dy = half[:, 0] * cos + half[:, 1] * sin, half[:, 0] * sin + half[:, 1] * cos
    x, y = bodies.x_mm, bodies.y_mm
    return np.stack([x - dx, y - dy, x + dx, y + dy], axis=-1)


def _candidates(bodies: Bodies, search_mm: float) -> list[tuple[Ints, Ints]]:
    """Return pairs i < j whose boxes come within the search distance, in chunks."""
    bounded = bodies.bounded
    boxes = _boxes(bodies, np.where(bounded[:, None], bodies.outer, bodies.inner))
    found = [
        (i[k : k + _CHUNK], j[k : k + _CHUNK])
        for i, j in _meeting(boxes, search_mm)
        for k in range(0, max(len(i), 1), _CHUNK)
    ]
    lonely = np.flatnonzero(~bounded)
    if len(lonely):
        found.append(_nearest_to(bodies, lonely, found))
    return found


def _meeting(boxes: Floats, reach: float) -> Iterator[tuple[Ints, Ints]]:
    """Yield the pairs i < j of boxes that come within *reach* along x and y, one strip of the board after the other.

    Strips run along x and hold about as many boxes each. In a strip, taken from left to right, a box meets only those
    behind it that begin before it ends; a pair is told in the first strip that both reach into. A tree of shapely finds
    the same pairs, but loading shapely takes longer than this does for ten thousand parts.
    """
    left, bottom, right, top = boxes.T
    low, high = bottom - reach, top
    edges = np.sort(bottom)[_STRIP::_STRIP]
    first, last = np.searchsorted(edges, low), np.searchsorted(edges, high)
    for strip in sorted(set(first.tolist())):
        rows = np.flatnonzero((first <= strip) & (strip <= last))
        rows = rows[np.argsort(left[rows])]
        behind = np.searchsorted(left[rows], right[rows] + reach, side="right") - np.arange(len(rows)) - 1
        behind = np.maximum(behind, 0)
        one = np.repeat(np.arange(len(rows)), behind)
        other = one + 1 + np.arange(len(one)) - np.repeat(np.cumsum(behind) - behind, behind)
        i, j = rows[one], rows[other]
        meet = (low[i] <= high[j]) & (low[j] <= high[i]) & (np.maximum(first[i], first[j]) == strip)
        yield np.minimum(i, j)[meet], np.maximum(i, j)[meet]


def _nearest_to(bodies: Bodies, rows: Ints, found: list[tuple[Ints, Ints]]) -> tuple[Ints, Ints]:
    """Return each row with the nearest centre other than its own, where the pair is not found yet."""
    import shapely

    centres = np.asarray(shapely.points(bodies.x_mm, bodies.y_mm), dtype=object)
    i, j = shapely.STRtree(centres).query_nearest(centres[rows], exclusive=True, all_matches=False)
    low, high = np.minimum(rows[i], j), np.maximum(rows[i], j)
    n = len(bodies)
    new = np.setdiff1d(low * n + high, np.concatenate([a * n + b for a, b in found]))
    return new // n, new % n


def _measure(
    bodies: Bodies, i: Ints, j: Ints, search_mm: float, *, opposite: bool
) -> tuple[Ints, Ints, Floats, Floats, Codes]:
    """Return the pairs that share a side (or face each other) and may be near, with their gaps."""
    side_i, side_j = bodies.side[i], bodies.side[j]
    sure = (side_i >= 0) & (side_j >= 0)
    keep = ~sure | ((side_i != side_j) if opposite else (side_i == side_j))
    i, j, sure = i[keep], j[keep], sure[keep]
    side = np.maximum(bodies.side[i], bodies.side[j]).astype(np.int8)
    if opposite:
        side = np.full(len(i), Side.UNKNOWN, np.int8)
    first, second = bodies.take(i), bodies.take(j)
    measurable = first.bounded & second.bounded
    low = np.full(len(i), -math.inf)
    low[measurable] = _gaps(first.take(measurable), second.take(measurable), least=False)
    high = _gaps(first, second, least=True)
    open_ways = first.either_way | second.either_way
    if open_ways.any():
        low[open_ways & measurable], high[open_ways] = _gaps_of_ways((first, second), open_ways & measurable, open_ways)
    high = np.where(sure, np.maximum(high, low), math.inf)
    near = low <= search_mm
    return i[near], j[near], low[near], high[near], side[near]


def _gaps_of_ways(both: tuple[Bodies, Bodies], greatest: Flags, least: Flags) -> tuple[Floats, Floats]:
    """Return the bounds of the gap over all ways in which the two bodies may lie, for the rows of each end.

    Tighter than the squares around both ways: a neighbour at the square's corner may clear the body whichever way.
    """
    one, other = (b.take(greatest) for b in both)
    low = [rectangle_gaps(one, a, other, b) for a in one.outer_ways() for b in other.outer_ways()]
    one, other = (b.take(least) for b in both)
    high = [rectangle_gaps(one, a, other, b) for a in one.inner_ways() for b in other.inner_ways()]
    return np.minimum.reduce(low), np.maximum.reduce(high)


def _gaps(first: Bodies, second: Bodies, *, least: bool) -> Floats:
    if least:
        return rectangle_gaps(first, first.inner, second, second.inner)
    return rectangle_gaps(first, first.outer, second, second.outer)


def rectangle_gaps(first: Bodies, half_a: Floats, second: Bodies, half_b: Floats) -> Floats:
    """Return the signed gap of rectangles with these half sides, pair by pair, exact for any two angles.

    Two convex bodies overlap if no axis separates them, and an axis along a side of one of them suffices (separating
    axis theorem); the least overlap over these axes is the shift that parts them. Apart, their distance
    is taken between a corner of one and the nearest point of the other.
    """
    turn = np.radians(second.angle_deg - first.angle_deg)
    cos, sin = np.cos(turn), np.sin(turn)
    dx, dy = second.x_mm - first.x_mm, second.y_mm - first.y_mm
    a_x, a_y = _turned(dx, dy, first.angle_deg)
    b_x, b_y = _turned(-dx, -dy, second.angle_deg)
    c, s = np.abs(cos), np.abs(sin)
    reach_b = np.stack([half_b[:, 0] * c + half_b[:, 1] * s, half_b[:, 0] * s + half_b[:, 1] * c])
    reach_a = np.stack([half_a[:, 0] * c + half_a[:, 1] * s, half_a[:, 0] * s + half_a[:, 1] * c])
    shift: Floats = np.max(
        [
            np.abs(a_x) - half_a[:, 0] - reach_b[0],
            np.abs(a_y) - half_a[:, 1] - reach_b[1],
            np.abs(b_x) - half_b[:, 0] - reach_a[0],
            np.abs(b_y) - half_b[:, 1] - reach_a[1],
        ],
        axis=0,
    )
    apart = np.minimum(
        _corner_distance(half_a, half_b, (a_x, a_y), (cos, sin)),
        _corner_distance(half_b, half_a, (b_x, b_y), (cos, -sin)),
    )
    # Where the sides are parallel the axis gives the distance itself, and the larger of the two is the more exact.
    return np.where(shift > 0, np.maximum(apart, shift), shift)


def _turned(x: Floats, y: Floats, angle_deg: Floats) -> tuple[Floats, Floats]:
    """Return vectors as seen from frames turned by these angles."""
    angle = np.radians(angle_deg)
    cos, sin = np.cos(angle), np.sin(angle)
    return x * cos + y * sin, y * cos - x * sin


def _corner_distance(box: Floats, other: Floats, centre: tuple[Floats, Floats], turn: tuple[Floats, Floats]) -> Floats:
    """Return the least distance from a box around the origin to the corners of another, turned one."""
    best = np.full(len(box), math.inf)
    for sx, sy in ((1, 1), (1, -1), (-1, 1), (-1, -1)):
        px, py = sx * other[:, 0], sy * other[:, 1]
        x = np.abs(centre[0] + px * turn[0] - py * turn[1]) - box[:, 0]
        y = np.abs(centre[1] + px * turn[1] + py * turn[0]) - box[:, 1]
        best = np.minimum(best, np.hypot(np.maximum(x, 0), np.maximum(y, 0)))
    return best
