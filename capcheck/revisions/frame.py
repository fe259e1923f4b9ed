"""How the frame of the earlier revision lies in that of the later: an origin that moved is no move of 500 parts."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Sequence
from typing import Final, Literal

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from capcheck.model import Board, Floats, Side
from capcheck.revisions.rows import Row

SAME_MM: Final = 0.02
"""Places no farther apart are one: a file in whole thousandths of an inch rounds by up to 0.013 mm along x and y."""
_CELL_MM: Final = 0.1
_LEAST: Final = 3
"""So many parts must have moved alike before the frame is taken to have moved, and not they."""
_MOST_PAIRS: Final = 20_000

Told = Literal["outline", "parts"]


class Motion(Struct, frozen=True):
    """The earlier frame as the later sees it: turned about its origin by quarter turns, then shifted."""

    quarter_turns: int = 0
    dx_mm: float = 0.0
    dy_mm: float = 0.0
    told_by: Told = "parts"

    @property
    def is_still(self) -> bool:
        """Whether both frames are one."""
        return self.quarter_turns == 0 and math.hypot(self.dx_mm, self.dy_mm) <= SAME_MM

    def points(self, xy: Floats) -> Floats:
        """Return points of the earlier frame, shape (n, 2), in the later one."""
        found: Floats = _turned(xy, self.quarter_turns) + np.array([self.dx_mm, self.dy_mm])
        return found

    def place(self, row: Row) -> tuple[float, float]:
        """Return where a row of the earlier revision lies in the later frame."""
        x, y = row.x_mm, row.y_mm
        across, along = ((x, y), (-y, x), (-x, -y), (y, -x))[self.quarter_turns % 4]
        return across + self.dx_mm, along + self.dy_mm

    def angle(self, row: Row) -> float:
        """Return the angle of such a row there, as seen from its own side."""
        return row.rotation_deg + 90.0 * self.quarter_turns * (-1 if row.side is Side.BOTTOM else 1)


def _turned(xy: Floats, quarter_turns: int) -> Floats:
    x, y = xy[:, 0], xy[:, 1]
    across, along = ((x, y), (-y, x), (-x, -y), (y, -x))[quarter_turns % 4]
    return np.stack([across, along], axis=-1)


def find_motion(old: Board, new: Board, before: Sequence[Row], after: Sequence[Row]) -> Motion:
    """Return how the frame moved: with its outline, where both have one of the same size, else with most of the parts.

    Parts with the same references count first, and places that are taken in both where references changed.
    """
    shift = _outline_shift(old, new)
    by_outline = None if shift is None else Motion(0, *shift, told_by="outline")
    pairs = _pairs(before, after)
    best = by_outline or Motion()
    most = _in_place(pairs, best)
    for motion in _of_pairs(pairs):
        # A box turned by half a turn is the same box: then the parts tell.
        if (by_outline is None or motion.quarter_turns) and (count := _in_place(pairs, motion)) > most:
            best, most = motion, count
    if most >= _LEAST and 2 * most > len(pairs):
        return best
    if by_outline is not None or not len(pairs):
        return by_outline or Motion()
    # References were given anew: what counts is which places are taken.
    there = _taken(after, Motion())
    best, most = Motion(), len(_taken(before, Motion()) & there)
    for motion in (*_of_pairs(pairs), *_of_corners(before, after)):
        if (count := len(_taken(before, motion) & there)) > most:
            best, most = motion, count
    return best if most >= _LEAST and 2 * most > len(before) else Motion()


def _outline_shift(old: Board, new: Board) -> tuple[float, float] | None:
    if old.outline is None or new.outline is None:
        return None
    was, now = (np.array(board.outline.polygon.bounds) for board in (old, new) if board.outline is not None)
    shift = now - was
    if np.abs(shift[:2] - shift[2:]).max() > SAME_MM:
        return None
    return float(shift[0]), float(shift[1])


def _pairs(before: Sequence[Row], after: Sequence[Row]) -> Floats:
    """Return the places of what bears one reference in both, as (n, 2, 2): row, revision, axis."""
    now = {row.ref: row for row in after if row.is_placed}
    found = [
        ((row.x_mm, row.y_mm), (now[row.ref].x_mm, now[row.ref].y_mm))
        for row in before
        if row.is_placed and row.ref in now
    ]
    return np.array(found[:_MOST_PAIRS], dtype=float).reshape(-1, 2, 2)


def _in_place(pairs: Floats, motion: Motion) -> int:
    return int((np.hypot(*(motion.points(pairs[:, 0]) - pairs[:, 1]).T) <= SAME_MM).sum())


def _of_pairs(pairs: Floats) -> Iterator[Motion]:
    """Yield for each way of turning the shift that most pairs share."""
    for turns in range(4 if len(pairs) else 0):
        shifts = pairs[:, 1] - _turned(pairs[:, 0], turns)
        cells = np.round(shifts / _CELL_MM).astype(np.int64)
        (commonest, _), *_ = Counter(map(tuple, cells.tolist())).most_common(1)
        near = np.abs(shifts - np.array(commonest) * _CELL_MM).max(axis=1) <= _CELL_MM
        dx, dy = np.median(shifts[near], axis=0).tolist()
        yield Motion(turns, dx, dy)


def _of_corners(before: Sequence[Row], after: Sequence[Row]) -> Iterator[Motion]:
    """Yield for each way of turning the shift that brings the lower left of all places together."""
    was, now = (
        np.array([(row.x_mm, row.y_mm) for row in rows if row.is_placed], dtype=float).reshape(-1, 2)
        for rows in (before, after)
    )
    if len(was) and len(now):
        for turns in range(4):
            dx, dy = (now.min(axis=0) - _turned(was, turns).min(axis=0)).tolist()
            yield Motion(turns, dx, dy)


def _taken(rows: Sequence[Row], motion: Motion) -> set[tuple[int, int, int]]:
    placed = [row for row in rows if row.is_placed]
    if not placed:
        return set()
    cells = np.round(motion.points(np.array([(row.x_mm, row.y_mm) for row in placed])) / _CELL_MM).astype(np.int64)
    return {(x, y, int(row.side)) for (x, y), row in zip(cells.tolist(), placed, strict=True)}


def in_later_frame(board: Board, motion: Motion) -> Board:
    """Return the earlier board as it lies in the frame of the later, for a picture of both."""
    placements = board.placements
    xy = motion.points(np.stack([placements.x_mm, placements.y_mm], axis=-1))
    sign = np.where(placements.side == Side.BOTTOM, -90.0, 90.0)
    outline = board.outline
    if outline is not None:
        from shapely import transform

        circles = (
            tuple((*motion.points(np.array([[x, y]]))[0].tolist(), d) for x, y, d in found)
            for found in (outline.holes, outline.marks)
        )
        holes, marks = circles
        rival = None if outline.rival is None else transform(outline.rival, motion.points)
        polygon = transform(outline.polygon, motion.points)
        # What is only drawn of the earlier board needs no more of its holes.
        outline = replace(outline, polygon=polygon, holes=holes, marks=marks, rival=rival, stated_holes=())
    moved = replace(
        placements,
        x_mm=xy[:, 0],
        y_mm=xy[:, 1],
        rotation_deg=(placements.rotation_deg + sign * motion.quarter_turns) % 360.0,
    )
    return replace(board, placements=moved, outline=outline)
