"""The lines along which a panel is parted, and how near to them the bodies lie, or lie across them."""

from __future__ import annotations

import math
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from capcheck.geometry.bodies import Bodies
from capcheck.geometry.edges import Bounds
from capcheck.model import Flags, Floats, Stepping

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import ArrayLike


def depanelling_lines(steps: Stepping) -> Floats:
    """Return the lines along which the panel is parted, rows (x1, y1, x2, y2): the middle of each gap, and each rail.

    Lines run through the whole panel, as a V-score does.
    """
    left, bottom, right, top = steps.circuit
    box = steps.box
    columns, rows = np.unique(steps.shift[:, 0]), np.unique(steps.shift[:, 1])
    xs = _cuts(columns, left, right, (box[0], box[2]))
    ys = _cuts(rows, bottom, top, (box[1], box[3]))
    lines = [(x, box[1], x, box[3]) for x in xs] + [(box[0], y, box[2], y) for y in ys]
    return np.array(lines, float).reshape(-1, 4)


def _cuts(shifts: Floats, low: float, high: float, ends: tuple[float, float]) -> list[float]:
    first, last = low + float(shifts[0]), high + float(shifts[-1])
    outer = [edge for edge, end in ((first, ends[0]), (last, ends[1])) if edge != end]
    between = [(high + a + low + b) / 2 for a, b in pairwise(shifts.tolist())]
    return sorted([*outer, *map(float, between)])


def line_distance(bodies: Bodies, lines: ArrayLike) -> Bounds:
    """Return each body's distance in mm to the nearest depanelling line, negative where it lies across one.

    A body whose longer side may lie along either axis is measured both ways.
    """
    return _nearest(bodies, lines, lambda _way, _line: (np.ones(len(bodies), bool),) * 2)


def across_distance(bodies: Bodies, lines: ArrayLike, *, within_deg: float = 30.0) -> Bounds:
    """Return each body's distance in mm to the nearest line that its longer side lies across; infinite where none is.

    A side within so many degrees of a line lies along it, as that of ceramics should. Where it is open which side is
    the longer one, or along which axis it lies, the bounds are those of every case.
    """

    def across(way: int, line: float) -> tuple[Flags, Flags]:
        off = np.abs(np.remainder(bodies.angle_deg - line + 90.0, 180.0) - 90.0)
        across_x, across_y = off > within_deg, 90.0 - off > within_deg
        outer, inner, either = bodies.outer, bodies.inner, bodies.either_way
        may_x = np.where(either, way == 0, ~(inner[:, 1] > outer[:, 0]))
        may_y = np.where(either, way == 1, ~(inner[:, 0] > outer[:, 1]))
        return (may_x & across_x) | (may_y & across_y), (across_x | ~may_x) & (across_y | ~may_y)

    return _nearest(bodies, lines, across)


def _nearest(bodies: Bodies, lines: ArrayLike, counts: Callable[[int, float], tuple[Flags, Flags]]) -> Bounds:
    """Return the distances to the nearest of the lines that count: of a way and a line's angle, which may, which do."""
    low, high = np.full(len(bodies), math.inf), np.full(len(bodies), -math.inf)
    axes = np.radians(bodies.angle_deg)[:, None] + [0.0, math.pi / 2]
    for way, (outer, inner) in enumerate(zip(bodies.outer_ways(), bodies.inner_ways(), strict=True)):
        least, most = np.full(len(bodies), math.inf), np.full(len(bodies), math.inf)
        for x1, y1, x2, y2 in np.asarray(lines, float).reshape(-1, 4):
            line = math.atan2(y2 - y1, x2 - x1)
            offset = np.abs((bodies.y_mm - y1) * math.cos(line) - (bodies.x_mm - x1) * math.sin(line))
            share = np.abs(np.sin(axes - line))
            may, does = counts(way, math.degrees(line))
            near, far = (offset - (np.where(share > 0, half, 0.0) * share).sum(axis=1) for half in (outer, inner))
            least = np.where(may, np.fmin(least, np.where(np.isnan(near), -np.inf, near)), least)
            most = np.where(does, np.fmin(most, np.where(np.isnan(far), np.inf, far)), most)
        np.minimum(low, least, out=low)
        np.maximum(high, most, out=high)
    return low, high
