"""Points on arcs, so that the box of what is drawn with them is not that of their ends."""

from __future__ import annotations

import math
from typing import Final

_STEPS: Final = 360
"""Steps along an arc: a circle's box is then 0.004 % too small at most."""
_ROUND: Final = 0.02
"""Share of its radius by which the ends of an arc may lie nearer to its middle, or farther: files round."""

Point = tuple[float, float]


def way_about(start: Point, end: Point, centre: Point, *, clockwise: bool) -> list[Point] | None:
    """Return points on the way of an arc, a full circle where it ends as it starts; None where it is no arc."""
    radius = math.dist(start, centre)
    if radius <= 0 or abs(math.dist(end, centre) - radius) > _ROUND * radius:
        return None
    first, last = (math.atan2(y - centre[1], x - centre[0]) for x, y in (start, end))
    turn = -1 if clockwise else 1
    sweep = math.tau if start == end else turn * (last - first) % math.tau
    return _points(centre, radius, first, turn * sweep)


def way_turned(start: Point, end: Point, degrees: float) -> list[Point] | None:
    """Return points on the way of an arc that turns by an angle, counter-clockwise where that is positive.

    None where it turns by a full circle and more, or ends where it starts.
    """
    chord = math.dist(start, end)
    if not 0 < abs(degrees) < 360.0 or chord <= 0:
        return None
    turn = math.radians(degrees)
    # The middle lies to the left of the way for a turn to the left that is less than by half.
    off = chord / 2 / math.tan(turn / 2)
    along = (end[0] - start[0]) / chord, (end[1] - start[1]) / chord
    centre = (start[0] + end[0]) / 2 - off * along[1], (start[1] + end[1]) / 2 + off * along[0]
    first = math.atan2(start[1] - centre[1], start[0] - centre[0])
    return _points(centre, math.dist(start, centre), first, turn)


def _points(centre: Point, radius: float, first: float, sweep: float) -> list[Point]:
    angles = (first + sweep * k / _STEPS for k in range(1, _STEPS))
    return [(centre[0] + radius * math.cos(angle), centre[1] + radius * math.sin(angle)) for angle in angles]
