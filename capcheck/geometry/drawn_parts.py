"""Contours in the outline's drawing that are the bodies of the placed parts: drawings of the parts, and no openings."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np
from msgspec.structs import replace

from capcheck.geometry.bodies import Bodies, body_rectangles
from capcheck.model import Body, Box, Doubt, Outline, Placements

_CENTRE_MM: Final = 0.1
_SIZE_MM: Final = 0.2
_FEWEST: Final = 3
"""One or two contours of a body's size may be windows that the part sits in."""
_MOST: Final = 0.8


def without_drawn_parts(outline: Outline, placements: Placements, bodies: Sequence[Body]) -> tuple[Outline, list[str]]:
    """Return the outline without the doubts that are drawings of parts, and the references of these parts.

    Contours of so many parts that most of what is in doubt is explained are an assembly drawing; fewer stay in doubt.
    """
    if len(outline.doubts) < _FEWEST:
        return outline, []
    rows = np.flatnonzero(placements.is_part)
    rectangles = body_rectangles(placements, bodies).take(rows)
    drawn = {k: found for k, doubt in enumerate(outline.doubts) if (found := _drawn(doubt, rectangles))}
    parts = sorted({row for found in drawn.values() for row in found})
    if len(parts) < _FEWEST or len(drawn) < _MOST * len(outline.doubts):
        return outline, []
    kept = tuple(doubt for k, doubt in enumerate(outline.doubts) if k not in drawn)
    return replace(outline, doubts=kept), [placements.ref[rows[row]] for row in parts]


def _drawn(doubt: Doubt, bodies: Bodies) -> list[int]:
    """Return the parts whose bodies the lines of a doubt show; none where one of its lines shows no part.

    Two lines may be the sides of one slot, and are in doubt together as well.
    """
    if doubt.area is None or doubt.area.is_empty or doubt.round_hole:
        return []
    lines = [shape for shape in getattr(doubt.area, "geoms", ()) if shape.geom_type == "LineString"]
    found = [_shown(shape.bounds, bodies) for shape in lines or [doubt.area]]
    return [row for row in found if row is not None] if None not in found else []


def _shown(box: Box, bodies: Bodies) -> int | None:
    """Return the part whose body has a contour's box: the same centre, and a size that the body may have."""
    west, south, east, north = box
    near = np.flatnonzero(np.hypot(bodies.x_mm - (west + east) / 2, bodies.y_mm - (south + north) / 2) < _CENTRE_MM)
    for row in near.tolist():
        one = bodies.take(np.array([row]))
        low, high = (np.ptp(corners[0], axis=0) for corners in (one.inner_corners(), one.outer_corners()))
        sides = np.array([east - west, north - south])
        if ((sides > low - _SIZE_MM) & (sides < high + _SIZE_MM)).all():
            return row
    return None
