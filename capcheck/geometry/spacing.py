"""Gaps between bodies: exact for rotated rectangles, as intervals, over pairs of neighbours only.

A gap is signed: positive is the free distance, negative the shift that would part two overlapping bodies.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Final

import numpy as np

from capcheck.geometry.bodies import Bodies
from capcheck.geometry.crowds import Tally
from capcheck.geometry.found_pairs import Pairs
from capcheck.model import Codes, Flags, Floats, Ints, Side

_CHUNK: Final = 20_000
"""Candidate pairs measured at once: bounds the memory, not the result."""
_OUTWARDS: Final = np.array([-1.0, -1.0, 1.0, 1.0])
_PARALLEL: Final = 1e-12
"""Sines of turns up to which sides count as parallel: beyond it no two points of a board shift by a nanometre."""
_STRIP: Final = 1000
"""Boxes that begin in one strip of the search for pairs."""
_Columns = tuple[Ints, Ints, Floats, Floats, Codes]
"""Of pairs: both rows, the bounds of the gap, the side."""


def pairs(bodies: Bodies, search_mm: float, *, present: Flags | None = None, opposite: bool = False) -> Pairs:
    """Return all pairs on one side whose gap may be at most *search_mm*, in order of i, then j.

    *present* marks the bodies that count. With *opposite*, pairs on opposite sides are returned instead, as seen
    through the board. A body of unknown side may share the side of any other: its gaps have no upper bound.
    Bodies once known to lie in a crowd are not measured further among themselves.
    """
    counted = bodies.located if present is None else bodies.located & np.asarray(present, bool)
    rows = np.flatnonzero(counted)
    some = bodies.take(rows)
    if len(rows) < 2:
        empty = np.empty(0)
        none = np.empty(0, np.int64)
        left_out = np.zeros(len(bodies), np.bool_)
        return Pairs(none, none, empty, empty, np.empty(0, np.int8), search_mm, none, left_out)
    search = _Search(some, search_mm, opposite)
    i, j, low, high, side = search.all_pairs()
    order = np.lexsort((j, i))
    left_out = np.zeros(len(bodies), np.bool_)
    left_out[rows[search.left_out]] = True
    return Pairs(
        rows[i[order]], rows[j[order]], low[order], high[order], side[order], search_mm, rows[~some.bounded], left_out
    )


def _boxes(bodies: Bodies, half: Floats) -> Floats:
    """Return the extents (x min, y min, x max, y max) of rectangles with these half sides."""
    angle = np.radians(bodies.angle_deg)
    cos, sin = np.abs(np.cos(angle)), np.abs(np.sin(angle))
    dx, dy = half[:, 0] * cos + half[:, 1] * sin, half[:, 0] * sin + half[:, 1] * cos
    x, y = bodies.x_mm, bodies.y_mm
    return np.stack([x - dx, y - dy, x + dx, y + dy], axis=-1)


class _Search:
    """The search for the pairs of a set of bodies: candidates by their boxes, measured as they come."""

    def __init__(self, bodies: Bodies, search_mm: float, opposite: bool) -> None:
        self.bodies, self.search_mm, self.opposite = bodies, search_mm, opposite
        self.tally = Tally(np.zeros(len(bodies), np.int64))
        self.left_out = np.zeros(len(bodies), np.bool_)
        """Bodies of which pairs were not measured."""

    def all_pairs(self) -> _Columns:
        """Return the columns of all pairs i < j that may be near.

        Who touches whom comes first: it tells of crowds, whose bodies are not compared with each other any further.
        Where too few boxes meet for a crowd, that is not measured.
        """
        bodies, search = self.bodies, self.search_mm
        bounded = bodies.bounded
        boxes = _boxes(bodies, np.where(bounded[:, None], bodies.outer, bodies.inner))
        # What has no bounds may touch all that is within reach.
        reach = np.where(bounded, 0.0, max(search, 0.0))[:, None] * _OUTWARDS
        found: list[_Columns] = []
        waiting: list[tuple[Ints, Ints]] = []
        count = 0
        for i, j in self._meeting(boxes + reach, min(search, 0.0)):
            waiting.append((i, j))
            count += len(i)
            if search <= 0 or self.tally.may_be_crowded(count):
                found += self._touching(waiting, min(search, 0.0))
                waiting = []
        if search > 0:
            crowded = self.tally.crowded
            found = [_rows(some, crowded[some[0]] & crowded[some[1]]) for some in found]
            found += [self._measured(i, j, search) for i, j in self._meeting(boxes, search)]
        lonely = np.flatnonzero(~bounded)
        if len(lonely):
            seen = [_rows(some, ~(bounded[some[0]] & bounded[some[1]]))[:2] for some in found]
            found.append(self._measured(*_nearest_to(bodies, lonely, seen), search))
        i, j, low, high, side = (np.concatenate(column) for column in zip(*found, strict=True))
        return i, j, low, high, side

    def _touching(self, candidates: Sequence[tuple[Ints, Ints]], search_mm: float) -> Iterator[_Columns]:
        """Yield the pairs among candidates, counted towards crowds."""
        for i, j in candidates:
            found = self._measured(i, j, search_mm)
            self.tally.add(*found[:3])
            yield found

    def _measured(self, i: Ints, j: Ints, search_mm: float) -> _Columns:
        return _measure(self.bodies, i, j, search_mm, opposite=self.opposite)

    def _meeting(self, boxes: Floats, reach: float) -> Iterator[tuple[Ints, Ints]]:
        """Yield pairs i < j of boxes that come within *reach* along x and y, one strip of the board after the other.

        Strips run along x and hold about as many boxes each. In a strip, taken from left to right, a box meets only
        those behind it that begin before it ends; a pair is told in the first strip that both reach into. A tree of
        shapely finds the same pairs, but loading shapely takes longer than this does for ten thousand parts.
        """
        left, bottom, right, top = boxes.T
        low, high = bottom - reach, top
        edges = np.sort(bottom)[_STRIP::_STRIP]
        first, last = np.searchsorted(edges, low), np.searchsorted(edges, high)
        for strip in sorted(set(first.tolist())):
            rows = np.flatnonzero((first <= strip) & (strip <= last))
            rows = rows[np.argsort(left[rows])]
            ends = np.searchsorted(left[rows], right[rows] + reach, side="right")
            for one, other in self._behind(rows, ends):
                i, j = rows[one], rows[other]
                meet = (low[i] <= high[j]) & (low[j] <= high[i]) & (np.maximum(first[i], first[j]) == strip)
                yield np.minimum(i, j)[meet], np.maximum(i, j)[meet]

    def _behind(self, rows: Ints, ends: Ints) -> Iterator[tuple[Ints, Ints]]:
        """Yield places in *rows* with those behind them, up to their *ends*, a limited number at a time."""
        places, begin = np.arange(len(rows)), 0
        while begin < len(rows):
            # Who is known to lie in a crowd is not compared with others of whom that is known.
            crowded = self.tally.crowded[rows]
            own, inside, open_ = places[begin:], crowded[begin:], np.flatnonzero(~crowded)
            from_ = np.where(inside, np.searchsorted(open_, own, side="right"), own + 1)
            to = np.where(inside, np.searchsorted(open_, ends[begin:]), ends[begin:])
            count = max(int(np.searchsorted(np.cumsum(np.maximum(to - from_, 0)), _CHUNK, side="right")), 1)
            own, inside, from_, to = own[:count], inside[:count], from_[:count], to[:count]
            if inside.any():
                self._leave_out(rows, own[inside], ends[own[inside]], crowded)
            one, at = _expanded(own, from_, to)
            yield one, np.where(inside[one - begin], open_[np.minimum(at, len(open_) - 1)], at) if len(one) else at
            begin += count

    def _leave_out(self, rows: Ints, own: Ints, ends: Ints, crowded: Flags) -> None:
        """Note which bodies of the crowd are not compared: *own* with those of it up to their *ends*."""
        before = np.concatenate([[0], np.cumsum(crowded)])
        some = before[np.maximum(ends, own + 1)] > before[own + 1]
        self.left_out[rows[own[some]]] = True
        change = np.zeros(len(rows) + 1, np.int64)
        np.add.at(change, own[some] + 1, 1)
        np.add.at(change, ends[some], -1)
        self.left_out[rows[crowded & (np.cumsum(change[:-1]) > 0)]] = True


def _rows(columns: _Columns, rows: Flags) -> _Columns:
    i, j, low, high, side = columns
    return i[rows], j[rows], low[rows], high[rows], side[rows]


def _expanded(own: Ints, begin: Ints, end: Ints) -> tuple[Ints, Ints]:
    """Return each of *own* as often as there are numbers from *begin* up to *end*, and these numbers."""
    count = np.maximum(end - begin, 0)
    one = np.repeat(own, count)
    return one, np.arange(len(one)) - np.repeat(np.cumsum(count) - count - begin, count)


def _nearest_to(bodies: Bodies, rows: Ints, found: list[tuple[Ints, Ints]]) -> tuple[Ints, Ints]:
    """Return each row with the nearest centre other than its own, where the pair is not found yet."""
    import shapely

    centres = np.asarray(shapely.points(bodies.x_mm, bodies.y_mm), dtype=object)
    i, j = shapely.STRtree(centres).query_nearest(centres[rows], exclusive=True, all_matches=False)
    low, high = np.minimum(rows[i], j), np.maximum(rows[i], j)
    n = len(bodies)
    new = np.setdiff1d(low * n + high, np.concatenate([a * n + b for a, b in found]))
    return new // n, new % n


def _measure(bodies: Bodies, i: Ints, j: Ints, search_mm: float, *, opposite: bool) -> _Columns:
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
    open_ways = first.either_way | second.either_way
    # What may lie either way is measured each way, and not as the squares around and within both.
    own = measurable & ~open_ways
    low[own] = _gaps(first.take(own), second.take(own), least=False)
    high = np.empty(len(i))
    high[~open_ways] = _gaps(first.take(~open_ways), second.take(~open_ways), least=True)
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
    laid = LaidPairs(one, other)
    low = [laid.gaps(a, b) for a in one.outer_ways() for b in other.outer_ways()]
    one, other = (b.take(least) for b in both)
    laid = LaidPairs(one, other)
    high = [laid.gaps(a, b) for a in one.inner_ways() for b in other.inner_ways()]
    return np.minimum.reduce(low), np.maximum.reduce(high)


def _gaps(first: Bodies, second: Bodies, *, least: bool) -> Floats:
    if least:
        return rectangle_gaps(first, first.inner, second, second.inner)
    return rectangle_gaps(first, first.outer, second, second.outer)


def rectangle_gaps(first: Bodies, half_a: Floats, second: Bodies, half_b: Floats) -> Floats:
    """Return the signed gap of rectangles with these half sides, pair by pair, exact for any two angles."""
    return LaidPairs(first, second).gaps(half_a, half_b)


class LaidPairs:
    """How the rectangles of pairs lie to each other, whatever their sizes: worked out once for several of these."""

    def __init__(self, first: Bodies, second: Bodies) -> None:
        turn = np.radians(second.angle_deg - first.angle_deg)
        self._turn = np.cos(turn), np.sin(turn)
        dx, dy = second.x_mm - first.x_mm, second.y_mm - first.y_mm
        self._of_a = _turned(dx, dy, first.angle_deg)
        self._of_b = _turned(-dx, -dy, second.angle_deg)

    def gaps(self, half_a: Floats, half_b: Floats) -> Floats:
        """Return the signed gap of rectangles with these half sides, pair by pair, exact for any two angles.

        Two convex bodies overlap if no axis separates them, and an axis along a side of one of them suffices
        (separating axis theorem); the least overlap over these axes is the shift that parts them. Apart, their distance
        is taken between a corner of one and the nearest point of the other, or by the two axes where sides are
        parallel.
        """
        (cos, sin), (a_x, a_y), (b_x, b_y) = self._turn, self._of_a, self._of_b
        c, s = np.abs(cos), np.abs(sin)
        reach_b = np.stack([half_b[:, 0] * c + half_b[:, 1] * s, half_b[:, 0] * s + half_b[:, 1] * c])
        reach_a = np.stack([half_a[:, 0] * c + half_a[:, 1] * s, half_a[:, 0] * s + half_a[:, 1] * c])
        of_a = np.abs(a_x) - half_a[:, 0] - reach_b[0], np.abs(a_y) - half_a[:, 1] - reach_b[1]
        of_b = np.abs(b_x) - half_b[:, 0] - reach_a[0], np.abs(b_y) - half_b[:, 1] - reach_a[1]
        shift: Floats = np.maximum(np.maximum(*of_a), np.maximum(*of_b))
        is_away, is_parallel = shift > 0, np.minimum(c, s) < _PARALLEL
        beside = is_away & is_parallel
        shift[beside] = np.maximum(shift, np.hypot(*(np.maximum(along, 0) for along in of_a)))[beside]
        away = np.flatnonzero(is_away & ~is_parallel)
        if not len(away):
            return shift
        half_a, half_b, a_x, a_y, b_x, b_y, cos, sin = (v[away] for v in (half_a, half_b, a_x, a_y, b_x, b_y, cos, sin))
        apart = np.minimum(
            _corner_distance(half_a, half_b, (a_x, a_y), (cos, sin)),
            _corner_distance(half_b, half_a, (b_x, b_y), (cos, -sin)),
        )
        # Where the sides are all but parallel the axis gives the distance, and the larger of the two is the more exact.
        shift[away] = np.maximum(apart, shift[away])
        return shift


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
