"""Two revisions of a board over one another: the earlier dashed, the later solid, what changed ringed and numbered."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from typing import Final

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from capcheck.model import Board, Floats, Side
from capcheck.report.picture.drawing import circle_pieces, closed_path, contour_pieces, scale_bar
from capcheck.report.picture.pieces import area, flag, pieces_of, references_of
from capcheck.report.picture.scene import Box, Scene, body_of, point, px, safe
from capcheck.report.picture.style import PICTURE_STYLE, SYMBOLS

_VIEW_PX: Final = 620.0
_GAP_PX, _HEAD_PX = 28.0, 30.0
_RING_PX: Final = 9.0
OVERLAY_STYLE: Final = """
.was .body,.was .empty,.was .greatest{fill:none;stroke:#7c2d12;stroke-width:1.2;stroke-dasharray:4 2.5}
.was .ref{fill:#7c2d12}.was .pin1{fill:none;stroke:#7c2d12}
.now .body{fill:#c3cfd5;stroke:#1d2124;stroke-width:1.6}.now .empty{stroke:#1d2124;stroke-width:1.4}
.wasboard{fill:none;stroke:#7c2d12;stroke-width:1.4;stroke-dasharray:7 4}
.trail{stroke:#7c2d12;stroke-width:1.2;stroke-dasharray:2 2}
@media screen and (prefers-color-scheme:dark){
.was .body,.was .empty,.was .greatest,.wasboard,.trail{stroke:#f0a36f}.was .ref{fill:#f0a36f}
.now .body{fill:#74828a;stroke:#f4f5f4}.now .empty{stroke:#f4f5f4}}
"""


class Drawn(Struct, frozen=True):
    """What is drawn of one change: its rows in the two boards, −1 for none, and the number that its flag says."""

    old: int
    new: int
    number: int


def overlay_svg(old: Board, new: Board, changes: Mapping[int, Drawn], *, contour_changed: bool) -> str:
    """Return the picture; *old* lies in the frame of *new*. Pieces of a change carry its key as ``data-r``."""
    scenes = _in_one_frame(Scene.of(old, {}), Scene.of(new, {}))
    sides = [Side.TOP]
    if any(np.any(board.placements.side == Side.BOTTOM) for board in (old, new)):
        sides.append(Side.BOTTOM)
    step = scenes[1].height_px + _HEAD_PX + _GAP_PX
    views = [
        _view(scenes, side, changes, _HEAD_PX + n * step, contour_changed=contour_changed)
        for n, side in enumerate(sides)
    ]
    width, height = scenes[1].width_px + 2 * _GAP_PX, _HEAD_PX + len(sides) * step
    counted = f"{len(changes)} changes drawn"
    return "\n".join(
        [
            (
                f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {px(width)} {px(height)}" width="{px(width)}"'
                f' height="{px(height)}" role="img" aria-labelledby="picture-title picture-desc">'
            ),
            f'<title id="picture-title">{safe(new.name or "Board")}: two revisions over one another</title>',
            f'<desc id="picture-desc">The earlier dashed, the later solid; {counted}, ringed and numbered.</desc>',
            f"<style>{PICTURE_STYLE}{OVERLAY_STYLE}</style>",
            f"<defs>{SYMBOLS}</defs>",
            f'<rect class="paper" width="{px(width)}" height="{px(height)}"/>',
            *views,
            "</svg>",
            "",
        ]
    )


def _in_one_frame(old: Scene, new: Scene) -> tuple[Scene, Scene]:
    """Return both scenes with a frame that holds what either shows."""
    frame: Box = (
        min(old.frame[0], new.frame[0]),
        min(old.frame[1], new.frame[1]),
        max(old.frame[2], new.frame[2]),
        max(old.frame[3], new.frame[3]),
    )
    scale = _VIEW_PX / max(frame[2] - frame[0], frame[3] - frame[1])
    return replace(old, frame=frame, px_per_mm=scale), replace(new, frame=frame, px_per_mm=scale)


def _view(
    scenes: tuple[Scene, Scene], side: Side, changes: Mapping[int, Drawn], top: float, *, contour_changed: bool
) -> str:
    old, new = scenes
    here = {
        key: (row_old, row_new)
        for key, drawn in changes.items()
        if max(row_old := _on(old, drawn.old, side), row_new := _on(new, drawn.new, side)) >= 0
    }
    changed = {row for _, row in here.values()}
    rows = [row for row in _rows(new, side) if row not in changed]
    seen = "Bottom, seen from below" if side is Side.BOTTOM else "Top"
    taken: list[tuple[float, float]] = []
    return "\n".join(
        [
            (
                f'<g class="side" data-side="{side}" data-parts="{len(rows) + len(here)}"'
                f' data-size="{px(new.width_px)} {px(new.height_px)}" transform="translate({px(_GAP_PX)} {px(top)})">'
            ),
            f'<text class="head" y="-9">{seen} · {len(here)} changed</text>',
            *contour_pieces(new, side),
            *(_former_contour(old, side) if contour_changed else ()),
            *circle_pieces(new, side),
            *(piece for row in rows for piece in pieces_of(new, row, side)),
            *references_of(new, rows, side),
            *(piece for key, (was, now) in here.items() for piece in _change(scenes, side, key, was, now)),
            *(
                label
                for key, (was, now) in here.items()
                for label in _flag(scenes, side, changes[key].number, (was, now), taken)
            ),
            scale_bar(new),
            "</g>",
        ]
    )


def _rows(scene: Scene, side: Side) -> list[int]:
    """Return the rows drawn on a side, the large bodies first, so that small ones stay visible upon them."""
    places = scene.board.placements
    found = np.flatnonzero((places.side == side) | (places.side == Side.UNKNOWN)).tolist()
    shown = [row for row in found if _on(scene, row, side) >= 0]
    return sorted(shown, key=lambda row: (-area(body_of(scene.board, row)), row))


def _on(scene: Scene, row: int, side: Side) -> int:
    """Return a row where it is drawn on a side, within the frame; else −1."""
    if row < 0:
        return -1
    places = scene.board.placements
    at: Floats = np.array([places.x_mm[row], places.y_mm[row]])
    left, bottom, right, top = scene.frame
    inside = left <= at[0] <= right and bottom <= at[1] <= top
    return row if inside and places.side[row] in {side, Side.UNKNOWN} else -1


def _former_contour(old: Scene, side: Side) -> Iterator[str]:
    outline = old.board.outline
    if outline is None:
        left, bottom, right, top = old.box
        rings: list[Sequence[Sequence[float]]] = [[(left, bottom), (right, bottom), (right, top), (left, top)]]
    else:
        rings = [ring.coords[:-1] for ring in (outline.polygon.exterior, *outline.polygon.interiors)]
    yield f'<path class="wasboard" d="{" ".join(closed_path(old, side, ring) for ring in rings)}"/>'


def _named(scene: Scene, row: int, side: Side) -> str:
    return "".join((*pieces_of(scene, row, side), *references_of(scene, [row], side)))


def _change(scenes: tuple[Scene, Scene], side: Side, key: int, was: int, now: int) -> Iterator[str]:
    """Yield the earlier and the later of one change, a line from the one to the other, and its ring."""
    old, new = scenes
    if was >= 0:
        yield f'<g class="was" data-r="{key}">{_named(old, was, side)}</g>'
    if now >= 0:
        yield f'<g class="now" data-r="{key}">{_named(new, now, side)}</g>'
    ends = [_at(scene, row, side) for scene, row in ((old, was), (new, now)) if row >= 0]
    if len(ends) > 1 and math.dist(*ends) > 1.0:
        yield f'<path class="trail" d="M{point(ends[0])}L{point(ends[1])}"/>'
    yield f'<circle class="ring" cx="{px(ends[-1][0])}" cy="{px(ends[-1][1])}" r="{px(_RING_PX)}"/>'


def _flag(
    scenes: tuple[Scene, Scene], side: Side, number: int, rows: tuple[int, int], taken: list[tuple[float, float]]
) -> Iterator[str]:
    scene, row = (scenes[1], rows[1]) if rows[1] >= 0 else (scenes[0], rows[0])
    yield from flag(replace(scene, numbers={row: number}, live=False), row, side, taken)


def _at(scene: Scene, row: int, side: Side) -> tuple[float, float]:
    places = scene.board.placements
    return scene.at(float(places.x_mm[row]), float(places.y_mm[row]), side)
