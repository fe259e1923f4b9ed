"""The lines along which a panel is parted, and how near to them and in which direction the bodies lie."""

from __future__ import annotations

import math
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from capcheck.geometry.bodies import Bodies
from capcheck.geometry.edges import Bounds
from capcheck.model import Flags, Floats, Stepping

if TYPE_CHECKING:
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
    """Return each body's distance in mm to the nearest depanelling line, negative where it lies across one."""
    rows = np.asarray(lines, float).reshape(-1, 4)
    low, high = np.full(len(bodies), math.inf), np.full(len(bodies), math.inf)
    outer, inner = bodies.outer_corners(), bodies.inner_corners()
    for x1, y1, x2, y2 in rows:
        length = math.hypot(x2 - x1, y2 - y1)
        normal = np.array([y1 - y2, x2 - x1]) / length
        for corners, least in ((outer, low), (inner, high)):
            offset = (corners - np.array([x1, y1])) @ normal
            apart = np.maximum(offset.min(axis=1), -offset.max(axis=1))
            np.minimum(least, apart, out=least)
    return np.where(np.isnan(low), -np.inf, low), np.where(np.isnan(high), np.inf, high)


def lies_along(bodies: Bodies, lines: ArrayLike, *, within_deg: float = 30.0) -> Flags:
    """Whether each body's longer side is proved to lie along the nearest depanelling line, as ceramics should."""
    rows = np.asarray(lines, float).reshape(-1, 4)
    if not len(rows):
        return np.ones(len(bodies), bool)
    each = np.stack([line_distance(bodies, row)[1] for row in rows])
    nearest = rows[np.argmin(each, axis=0)]
    line = np.degrees(np.arctan2(nearest[:, 3] - nearest[:, 1], nearest[:, 2] - nearest[:, 0]))
    long_x = bodies.inner[:, 0] > bodies.outer[:, 1]
    long_y = bodies.inner[:, 1] > bodies.outer[:, 0]
    axis = bodies.angle_deg + np.where(long_y, 90.0, 0.0)
    off = np.abs(np.remainder(axis - line + 90.0, 180.0) - 90.0)
    along: Flags = (long_x | long_y) & (off <= within_deg)
    return along
