"""Points of free curves: splines, ellipses, and whatever else the CAD library makes a path of."""

from __future__ import annotations

import math
from typing import Any, Final

import numpy as np

_Curve = Any
"""A curve of the CAD library: their classes have no common typed form."""

_FEWEST_PIECES: Final = 8
_MOST_PIECES: Final = 1024
"""Chords that a span of a spline is divided into; even numbers, so that every second point is a chord's middle."""
_ROUGH: Final = 1e9
"""A distance that leaves the library no more chords than it must draw."""


def _spline_points(spline: _Curve, step: float) -> list[tuple[float, float]]:
    """Return points of a B-spline, as many in each span of its knots as keep the chords' middles within *step* of it.

    All points of a round are worked out in one call: the library's own flattening calls for each of them.
    """
    if not all(math.isfinite(c) for p in spline.control_points for c in p):
        raise ValueError("a control point is not finite")
    knots = np.array(sorted(set(spline.knots())), dtype=np.float64)
    pieces = _FEWEST_PIECES
    while True:
        shares = np.arange(pieces) / pieces
        at = np.append((knots[:-1, None] + np.diff(knots)[:, None] * shares).ravel(), knots[-1])
        found = [(p.x, p.y) for p in spline.points(at)]
        points = np.array([complex(x, y) for x, y in found])
        off = np.abs(points[1:-1:2] - (points[:-2:2] + points[2::2]) / 2).max(initial=0.0)
        if not off > step or pieces >= _MOST_PIECES:
            return found
        # Twice as many pieces bring the chords four times as near.
        pieces = min(_MOST_PIECES, pieces * 2 ** max(1, math.ceil(math.log2(off / step) / 2)))


def _ellipse_points(ellipse: _Curve, step: float) -> list[tuple[float, float]]:
    if not all(map(math.isfinite, (ellipse.start_param, ellipse.end_param, *ellipse.center, *ellipse.major_axis))):
        raise ValueError("a number is not finite")
    return [(p.x, p.y) for p in ellipse.flattening(min(step, _ROUGH), 4)]


def curve_points(entity: _Curve, step: float) -> list[tuple[float, float]]:
    """Return points of a free curve, chords within *step* of it; ∞ asks for a rough shape only."""
    kind = entity.dxftype()
    # The curve itself: as a path it would be cubic pieces, 14 µm off on an ellipse of 50 mm.
    if kind == "ELLIPSE":
        return _ellipse_points(entity.construction_tool(), step)
    if kind in {"SPLINE", "HELIX"}:
        found = _spline_points(entity.construction_tool(), step)
    else:
        from ezdxf import path

        found = [(p.x, p.y) for p in path.make_path(entity).flattening(min(step, _ROUGH), 16)]
    if kind == "SPLINE" and entity.dxf.get("flags", 0) & 1 and found and found[0] != found[-1]:
        found.append(found[0])
    return found
