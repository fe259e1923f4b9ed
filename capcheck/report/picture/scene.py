"""The frame of the board's picture: which part of the plane is in view, its scale, and texts that are safe in XML."""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping
from html import escape
from typing import TYPE_CHECKING, Final

import numpy as np
from msgspec import Struct

from capcheck.geometry import FoundFiducial, collect_fiducials
from capcheck.model import Board, Body, Floats, Kind, Mounting, Side

if TYPE_CHECKING:
    from shapely import Polygon

_VIEW_PX: Final = 620.0
"""Longer side of one view on the screen, twice that for a strip; the reader may enlarge it."""
_STRIP_ASPECT: Final = 4.0
"""From here on a board is so narrow that its parts would be dots."""
_MARGIN_SHARE: Final = 0.06
_OUTSIDE_SHARE: Final = 0.3
"""How far beyond the board the picture reaches for parts that lie outside, as a share of the board."""
_MOST_RIVAL: Final = 3.0
"""A contour that much larger than the board would make it a dot."""
_EXACT_SHARE: Final = 1.25
"""Greatest over least size up to which the middle is drawn as the body; beyond, both are drawn."""
_MOST_GREATEST: Final = 0.4
"""Share of the board's longer side from which on a greatest body tells nothing: it would hide its neighbours."""
_GRAVITY: Final = {"fail": 0, "warn": 1, "open": 2}
Box = tuple[float, float, float, float]


class Scene(Struct, frozen=True):
    """What is drawn, and the scale: *frame* is the part of the plane in view (mm), *box* the board's box."""

    board: Board
    marked: dict[int, str]
    numbers: dict[int, int]
    """What the flag of each marked row says; rows of which the same is said share a number."""
    box: Box
    frame: Box
    px_per_mm: float
    left_out: int
    unplaced: int
    grades: Mapping[int, str]
    """For each marked row how grave it is: ``fail``, ``warn`` or ``open``; ``fail`` where nothing is said."""
    live: bool
    """Whether pieces carry the row they stand for, for a page that reacts to them."""
    stated: tuple[FoundFiducial, ...] = ()
    """Marks that board.toml states and no row does."""
    on_marks: Mapping[str, str] = {}
    """What is said of stated marks, by name."""
    named: frozenset[int] = frozenset()
    """Rows whose text names their references itself, as that of a pair does."""

    @classmethod
    def of(
        cls,
        board: Board,
        marked: dict[int, str],
        *,
        grades: Mapping[int, str] | None = None,
        numbers: Mapping[int, int] | None = None,
        live: bool = False,
        on_marks: Mapping[str, str] | None = None,
        named: Collection[int] = (),
    ) -> Scene:
        """Return the frame that shows the board and the parts not far outside it.

        *numbers* are what the flags of marked rows say; where left out they count what is said, the gravest first.
        """
        places = board.placements
        x, y = places.x_mm, places.y_mm
        located = np.isfinite(x) & np.isfinite(y)
        drawn = located & (places.kind != Kind.MECHANICAL)
        shown = drawn if drawn.any() else located
        points = np.stack([x[shown], y[shown]], axis=-1)
        box = _box(board, points)
        half, rival = _half_extents(board)[shown], drawn_rival(board, box)
        reach = _OUTSIDE_SHARE * max(box[2] - box[0], box[3] - box[1])
        if rival is not None:
            corners = np.array(rival.bounds).reshape(2, 2)
            points, half = np.concatenate([points, corners]), np.concatenate([half, np.zeros((2, 2))])
            reach = max(reach, float(np.abs(corners - np.array(box).reshape(2, 2)).max()) + 1.0)
        frame = _frame(box, points, half, reach)
        inside = located & (x >= frame[0]) & (x <= frame[2]) & (y >= frame[1]) & (y <= frame[3])
        shortest, longest = sorted((frame[2] - frame[0], frame[3] - frame[1]))
        view = _VIEW_PX * (2 if longest > _STRIP_ASPECT * shortest else 1)
        rows = [r for r in sorted(marked) if 0 <= r < len(places)]
        return cls(
            board=board,
            marked={r: marked[r] for r in rows},
            numbers=_counted(marked, rows, grades or {}) if numbers is None else dict(numbers),
            box=box,
            frame=frame,
            px_per_mm=view / longest,
            left_out=int((located & ~inside).sum()),
            unplaced=int((~located).sum()),
            grades=grades or {},
            live=live,
            stated=_stated(board),
            on_marks=on_marks or {},
            named=frozenset(named),
        )

    @property
    def width_px(self) -> float:
        """Width of one view on the screen."""
        return (self.frame[2] - self.frame[0]) * self.px_per_mm

    @property
    def height_px(self) -> float:
        """Height of one view on the screen."""
        return (self.frame[3] - self.frame[1]) * self.px_per_mm

    def at(self, x_mm: float, y_mm: float, side: Side) -> tuple[float, float]:
        """Return a point of the board in the view's pixels; the bottom is mirrored from left to right."""
        across = self.frame[2] - x_mm if side == Side.BOTTOM else x_mm - self.frame[0]
        return across * self.px_per_mm, (self.frame[3] - y_mm) * self.px_per_mm


def drawn_rival(board: Board, box: Box) -> Polygon | None:
    """Return the contour that may be the board's edge instead; None for one elsewhere, or too large to show both."""
    rival = None if board.outline is None else board.outline.rival
    if rival is None:
        return None
    left, bottom, right, top = rival.bounds
    beside = left > box[2] or right < box[0] or bottom > box[3] or top < box[1]
    large = max(right - left, top - bottom) > _MOST_RIVAL * max(box[2] - box[0], box[3] - box[1])
    return None if beside or large else rival


def _counted(marked: Mapping[int, str], rows: list[int], grades: Mapping[int, str]) -> dict[int, int]:
    """Return the number of each row: one for each text, those of the gravest rows first."""
    ranked = sorted(rows, key=lambda r: (_GRAVITY.get(grades.get(r, "fail"), 0), r))
    texts = {text: n for n, text in enumerate(dict.fromkeys(marked[r] for r in ranked), 1)}
    return {r: texts[marked[r]] for r in ranked}


def _stated(board: Board) -> tuple[FoundFiducial, ...]:
    drawn = () if board.lands is None else board.lands.marks
    if not board.manifest.fiducials and not drawn:
        return ()
    from capcheck.facts import stated_marks, steps_of

    every = collect_fiducials(board.placements, board.outline, stated_marks(board, steps_of(board)), drawn)
    return tuple(mark for mark in every if mark.certain and mark.row < 0)


def body_of(board: Board, row: int) -> Body:
    """Return the body of a placement row, one without any size where none is known."""
    of = int(board.placements.part_type[row])
    return board.bodies[of] if 0 <= of < len(board.bodies) else Body()


def drawn_sizes(body: Body) -> tuple[tuple[float, float], tuple[float, float]]:
    """Return the greatest and the least body to draw; the same twice where the size is known well enough."""
    high, low = (body.length.high, body.width.high), (body.length.low, body.width.low)
    if not body.oriented:
        high = (high[0], min(high))
    nominal = (body.nominal_length.value, body.nominal_width.value)
    if body.longer_taken_along == "y":
        high, low, nominal = high[::-1], low[::-1], nominal[::-1]
    if all(n.is_known and n.middle > 0 for n in nominal):
        drawn = (nominal[0].middle, nominal[1].middle)
        return drawn, drawn
    if all(math.isfinite(h) and h <= _EXACT_SHARE * lo for h, lo in zip(high, low, strict=True)):
        drawn = ((high[0] + low[0]) / 2, (high[1] + low[1]) / 2)
        return drawn, drawn
    return high, low


def shows_greatest(body: Body, box: Box) -> bool:
    """Whether the greatest body is drawn around the least: of a part that heads place, where it tells something."""
    high, low = drawn_sizes(body)
    if high == low or body.mounting == Mounting.THROUGH_HOLE:
        return False
    return max(high) <= _MOST_GREATEST * max(box[2] - box[0], box[3] - box[1])


def _box(board: Board, points: Floats) -> Box:
    if board.outline is not None:
        left, bottom, right, top = board.outline.polygon.bounds
        if right > left and top > bottom:
            return float(left), float(bottom), float(right), float(top)
    x, y = (_gathered(p) for p in points.T)
    if not len(x):
        return 0.0, 0.0, 10.0, 10.0
    return float(x.min()) - 1, float(y.min()) - 1, float(x.max()) + 1, float(y.max()) + 1


def _gathered(values: Floats) -> Floats:
    """Return the values that lie with the others: one lost part must not shrink the board to a dot."""
    if not len(values):
        return values
    low, high = np.quantile(values, (0.05, 0.95))
    slack = 3 * (high - low) + 1.0
    gathered: Floats = values[(values >= low - slack) & (values <= high + slack)]
    return gathered


def _half_extents(board: Board) -> Floats:
    """Return half of the least extent of each body along x and y, shape (n, 2), 0 where its size is unknown."""
    sizes = [drawn_sizes(b)[1] for b in (*board.bodies, Body())]
    half = np.array([s if math.isfinite(sum(s)) else (0.0, 0.0) for s in sizes]) / 2
    places = board.placements
    each = half[np.where(places.part_type < len(board.bodies), places.part_type, -1)]
    angle = np.radians(np.nan_to_num(places.rotation_deg))
    turn = np.abs(np.stack([np.cos(angle), np.sin(angle)], axis=-1))
    return np.stack([(each * turn).sum(axis=1), (each * turn[:, ::-1]).sum(axis=1)], axis=-1)


def _frame(box: Box, points: Floats, half: Floats, reach: float) -> Box:
    """Return the board's box, widened to bodies that lie a little outside, and by a margin on all sides.

    It is kept symmetric in x, so that the mirrored view lies in the same frame.
    """
    low, high = np.array(box[:2]), np.array(box[2:])
    near = ((points > low - reach) & (points < high + reach)).all(axis=1)
    over = np.minimum(half[near], reach)
    least = np.minimum(low, (points[near] - over).min(axis=0, initial=np.inf))
    most = np.maximum(high, (points[near] + over).max(axis=0, initial=-np.inf))
    margin = _MARGIN_SHARE * float((high - low).max())
    beside = float(max(low[0] - least[0], most[0] - high[0])) + margin
    return box[0] - beside, float(least[1]) - margin, box[2] + beside, float(most[1]) + margin


def px(value: float) -> str:
    """Return a number of the drawing, to a hundredth."""
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text in {"-0", ""} else text


def point(at: tuple[float, float]) -> str:
    """Return the coordinates of a point of the drawing."""
    return f"{px(at[0])} {px(at[1])}"


def safe(value: str) -> str:
    """Return text that is safe in XML: escaped, without the control characters that XML forbids."""
    return escape("".join(c for c in value if c.isprintable() or c == " "))
