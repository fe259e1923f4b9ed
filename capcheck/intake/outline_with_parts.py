"""What the placed parts tell of contours drawn inside the board's: a contour that holds parts is no plain cut-out.

Nobody places parts in a cut-out. What holds some of them may be a text frame or a mistake, and what holds all of them
may be the board itself, with a frame around it.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Final

import numpy as np
from msgspec.structs import replace

from capcheck.model import (
    LARGEST_SCREW_HOLE_MM,
    Decision,
    Discrepancy,
    Doubt,
    Flags,
    Floats,
    Placements,
    Said,
    Severity,
    Topic,
    say,
)

if TYPE_CHECKING:
    from shapely import Polygon

    from capcheck.intake.outline import OutlineReading

_NEARLY_ALL: Final = 0.9
_FEWEST: Final = 3
_WINDOW_MM: Final = 5.0
"""A narrower opening is one that a part is mounted in: its body reaches over the rim."""
_REFS: Final = 20


def with_parts_inside(drawn: OutlineReading, drills: Sequence[Path], placed: Placements) -> OutlineReading:
    """Return the outline with inner contours that hold placed parts in doubt; all of them, the board's contour too.

    The holes of *drills* are put in first.
    """
    if drills:
        from capcheck.intake.drills import with_drills

        drawn = with_drills(drawn, drills)
    outline = drawn.outline
    rows = np.flatnonzero(placed.is_part & placed.fitted & np.isfinite(placed.x_mm) & np.isfinite(placed.y_mm))
    points = np.column_stack([placed.x_mm[rows], placed.y_mm[rows]])
    rings = list(outline.polygon.interiors)
    large = [hole for hole in outline.holes if hole[2] > LARGEST_SCREW_HOLE_MM]
    if not len(rows) or not (rings or large or drawn.second_lines):
        return drawn
    import shapely

    board, kept, holes = shapely.Polygon(outline.polygon.exterior), [], list(outline.holes)
    doubts, asked, rivals = list(outline.doubts), [], []
    named = shapely.union_all(drawn.named_openings)
    shapes = [shapely.Polygon(ring) for ring in rings]
    shapes += [shapely.Point(x, y).buffer(d / 2, quad_segs=32) for x, y, d in large]
    for number, shape in enumerate(shapes):
        inside = np.zeros(len(rows), dtype=np.bool_)
        if min(_sides(shape)) >= _WINDOW_MM:
            inside = _held(shape, points)
            # A cut-out by its name is one, unless all parts were in it.
            inside &= _nearly_all(inside) or not named.intersects(shape)
        if not inside.any():
            kept += rings[number : number + 1]
            continue
        if number >= len(rings):
            holes.remove(large[number - len(rings)])
        if _nearly_all(inside):
            rivals.append(shape)
        contour = _contour(shape)
        refs = tuple(placed.ref[i] for i in rows[inside].tolist())
        doubts.append(Doubt(shape, contour))
        asked.append(
            Discrepancy(
                Topic.DRAWN_INSIDE,
                say("outline.parts in a contour", contour=contour, count=len(refs)),
                refs[:_REFS],
                severity=Severity.ASSUMED,
            )
        )
    rivals += [line for line in drawn.second_lines if _nearly_all(_held(line, points))]
    if rivals:
        asked = []
    return replace(
        drawn,
        outline=replace(
            outline,
            polygon=shapely.Polygon(board.exterior, kept),
            holes=tuple(holes),
            doubts=tuple(doubts),
            rival=rivals[0] if rivals else outline.rival,
        ),
        decisions=(*drawn.decisions, *(_which(board, rival) for rival in rivals[:1])),
        discrepancies=(*drawn.discrepancies, *asked),
    )


def _held(shape: Polygon, points: Floats) -> Flags:
    import shapely

    return np.asarray(shapely.contains_xy(shape, points[:, 0], points[:, 1]), dtype=np.bool_)


def _nearly_all(inside: Flags) -> bool:
    return len(inside) >= _FEWEST and float(np.mean(inside)) >= _NEARLY_ALL


def _sides(shape: Polygon) -> tuple[float, float]:
    west, south, east, north = shape.bounds
    return east - west, north - south


def _contour(shape: Polygon) -> Said:
    x, y = _sides(shape)
    return say("outline.contour", x=x, y=y, west=shape.bounds[0], south=shape.bounds[1])


def _which(board: Polygon, inner: Polygon) -> Decision:
    """Return the open decision which of two contours, one in the other, is the board."""
    return Decision(
        Topic.OUTLINE_CONTOUR,
        _contour(board),
        say("outline.all parts in a contour"),
        _contour(inner),
        say("outline.contour by layer"),
        open=True,
    )
