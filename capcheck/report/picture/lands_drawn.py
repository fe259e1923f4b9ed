"""The lands of a board under its bodies, and the ring around each fiducial that mask, copper and print leave free.

Each side's lands are one path of boxes, a dozen characters each, so that thousands stay small.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import Final

import numpy as np

from capcheck.model import Board, Side
from capcheck.report.picture.scene import Scene, px

_MOST: Final = 12_000
"""Lands of a side that are drawn: of more the picture shows none, and says so."""


def land_pieces(scene: Scene, side: Side) -> Iterator[str]:
    """Yield the lands of a side as a group, those of parts apart from the others, and the rings of its fiducials."""
    lands = scene.board.lands
    if lands is None:
        return
    pieces = [*_boxes(scene, side), *_rings(scene, side), *_held_by(scene, side)]
    if pieces:
        yield f'<g class="lands">{"".join(pieces)}</g>'


def _boxes(scene: Scene, side: Side) -> Iterator[str]:
    lands = scene.board.lands
    kind = None if lands is None else lands.layers.kind_of_lands(str(side))
    openings = None if lands is None or kind is None else lands.layers.openings(kind, str(side))
    if lands is None or openings is None or not 0 < len(openings) <= _MOST:
        return
    left, low, right, high = scene.frame
    box = openings.box
    seen = (box[:, 0] <= right) & (box[:, 2] >= left) & (box[:, 1] <= high) & (box[:, 3] >= low)
    owned = np.zeros(len(box), dtype=np.bool_)
    owned[[land for one in lands.of.values() if one.side == str(side) for land in one.lands]] = True
    for css, rows in (("land", seen & owned), ("land free", seen & ~owned)):
        if rows.any():
            yield f'<path class="{css}" d="{"".join(_box(scene, side, one) for one in box[rows].tolist())}"/>'


def _box(scene: Scene, side: Side, box: Sequence[float]) -> str:
    left, low, right, high = box
    x, y = scene.at(right if side == Side.BOTTOM else left, high, side)
    return (
        f"M{x:.1f} {y:.1f}h{_tenth((right - left) * scene.px_per_mm)}v{_tenth((high - low) * scene.px_per_mm)}H{x:.1f}z"
    )


def _tenth(length: float) -> str:
    return f"{max(length, 0.1):.1f}".removesuffix(".0")


def _rings(scene: Scene, side: Side) -> Iterator[str]:
    for mark in () if scene.board.lands is None else scene.board.lands.marks:
        if mark.certain and mark.side == str(side) and scene.frame[0] <= mark.x_mm <= scene.frame[2]:
            x, y = scene.at(mark.x_mm, mark.y_mm, side)
            radius = mark.diameter_mm / 2
            yield f'<circle class="disc" cx="{px(x)}" cy="{px(y)}" r="{px(radius * scene.px_per_mm)}"/>'
            if mark.ring is not None and mark.ring[0] > 0:
                free = (radius + mark.ring[0]) * scene.px_per_mm
                yield f'<circle class="freering" cx="{px(x)}" cy="{px(y)}" r="{px(free)}"/>'


def _held_by(scene: Scene, side: Side) -> Iterator[str]:
    for hole in () if scene.board.lands is None else scene.board.lands.tooling:
        if scene.frame[0] <= hole.x_mm <= scene.frame[2]:
            x, y = scene.at(hole.x_mm, hole.y_mm, side)
            yield f'<circle class="hole" cx="{px(x)}" cy="{px(y)}" r="{px(hole.diameter_mm / 2 * scene.px_per_mm)}"/>'


def lands_said(board: Board, sides: Iterable[Side]) -> list[str]:
    """Return what a reader must know of the lands in the picture."""
    lands = board.lands
    if lands is None or not lands.layers.registered:
        return []
    kinds = {str(side): lands.layers.kind_of_lands(str(side)) for side in sides}
    drawn = {side: lands.layers.openings(kind, side) for side, kind in kinds.items() if kind is not None}
    too_many = [side for side, openings in drawn.items() if openings is not None and len(openings) > _MOST]
    found = [f"more than {_MOST:,} lands on the {side} side, not drawn" for side in too_many]
    if any(openings is not None and 0 < len(openings) <= _MOST for openings in drawn.values()):
        found.insert(0, "under the bodies: lands as the layers show them; filled: of a part for certain")
    if any(mark.certain and mark.ring is not None for mark in lands.marks):
        found.append("dashed ring around a fiducial: free of mask, other copper and print")
    return found
