"""The board as a drawing (SVG): contour, bodies to scale, marks and what a rule objects to, top and bottom.

The bottom is drawn as seen from below. Nothing is told by colour alone: an objection has a hatch, a heavy contour and
a number that the list below the views explains; an unknown size has a shape of its own.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator, Mapping, Sequence
from typing import Final

import numpy as np

from capcheck.facts import doubt
from capcheck.geometry import choose_travel
from capcheck.lexicon import cautions, sentence
from capcheck.model import Board, Body, Side
from capcheck.report.picture.lands_drawn import land_pieces, lands_said
from capcheck.report.picture.pieces import LISTED, area, flag, has_pin_1_assumed, pieces_of, references_of, stated_mark
from capcheck.report.picture.scene import Box, Scene, body_of, drawn_rival, drawn_sizes, point, px, safe, shows_greatest
from capcheck.report.picture.style import PICTURE_STYLE, SYMBOLS
from capcheck.report.styled_lines import wrapped
from capcheck.values import shortened, show_number

_GRADES: Final = {"open": 1, "warn": 2, "fail": 3}
"""The graver, the later drawn."""


def board_svg(
    board: Board,
    *,
    marked: Mapping[int, str] | None = None,
    grades: Mapping[int, str] | None = None,
    numbers: Mapping[int, int] | None = None,
    live: bool = False,
    stacked: bool | None = None,
    edge_strip_mm: float | None = None,
    turned: bool | None = None,
    on_marks: Mapping[str, str] | None = None,
    named: Collection[int] = (),
    remarks: Sequence[str] = (),
    heading: str = "",
) -> str:
    """Return the picture of a board as an SVG document.

    *marked* maps rows of the placements to what a rule says of them, *grades* to how grave it is (``fail``, ``warn``,
    ``open``), *numbers* to what the flag beside the body says. *live* is for a page around the picture: every piece
    carries its row as ``data-r``, and the page lists the objections. *stacked* puts the bottom below the top, else that
    depends on the board's shape. *edge_strip_mm* draws the strips of the two
    transported edges; *turned* says that the board travels along its y, else the long edge lies along the conveyor.
    *on_marks* maps the names of marks that board.toml states to what a rule says of them; *named* are the rows whose
    text names their references itself. Rows without a place are counted below the views, where *remarks*
    are said too; *heading* is what a reader must know first. Texts are escaped.
    """
    scene = Scene.of(
        board, dict(marked or {}), grades=grades, numbers=numbers, live=live, on_marks=on_marks, named=named
    )
    sides = [Side.TOP, Side.BOTTOM] if two_sides(board) else [Side.TOP]
    across = _travels_along_y(board, scene, turned=turned)
    strip = _strip(scene, edge_strip_mm, turned=across)
    below = scene.width_px > 1.6 * scene.height_px if stacked is None else stacked
    gap, head = 28.0, 30.0
    step = (0.0, scene.height_px + head + gap) if below else (scene.width_px + gap, 0.0)
    views = [
        _view(scene, side, strip, across if strip else None, (gap + n * step[0], head + n * step[1]))
        for n, side in enumerate(sides)
    ]
    last = len(sides) - 1
    width = max(2 * gap + scene.width_px + last * step[0], 420.0)
    end = head + scene.height_px + last * step[1]
    # A page around the picture has its own list of objections, remarks and cautions.
    said = [] if live else [*_remarks(scene, edge_strip_mm if strip else None), *remarks]
    notes = [] if live else list(_legend(scene, end + 20.0, width, said, heading))
    height = end + (20.0 if live else 44.0) + 17.0 * len(notes)
    title = ": ".join(filter(None, (heading, f"Board {board.name}" if board.name else "Board")))
    return "\n".join(
        [
            (
                f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {px(width)} {px(height)}" width="{px(width)}"'
                f' height="{px(height)}" role="img" aria-labelledby="picture-title picture-desc">'
            ),
            f'<title id="picture-title">{safe(title)}</title>',
            f'<desc id="picture-desc">{safe(_description(scene, sides))}</desc>',
            f"<style>{PICTURE_STYLE}</style>",
            f"<defs>{SYMBOLS}</defs>",
            f'<rect class="paper" width="{px(width)}" height="{px(height)}"/>',
            *views,
            *notes,
            "</svg>",
            "",
        ]
    )


def two_sides(board: Board) -> bool:
    """Whether the picture has a view of the bottom too."""
    return bool(np.any(board.placements.side == Side.BOTTOM))


def drawn_places(board: Board) -> list[tuple[float, float] | None]:
    """Return where the middle of each row lies in the view of its side, in the drawing's pixels; None for nowhere."""
    scene, places = Scene.of(board, {}), board.placements
    at = (
        scene.at(x, y, Side.BOTTOM if side == Side.BOTTOM else Side.TOP) if math.isfinite(x + y) else None
        for x, y, side in zip(places.x_mm.tolist(), places.y_mm.tolist(), places.side.tolist(), strict=True)
    )
    return [None if place is None else (round(place[0], 1), round(place[1], 1)) for place in at]


def picture_remarks(board: Board, edge_strip_mm: float | None) -> list[str]:
    """Return what a reader of the picture must know of its shapes, for a page that says so beside it."""
    return _remarks(Scene.of(board, {}), edge_strip_mm)


def _travels_along_y(board: Board, scene: Scene, *, turned: bool | None) -> bool:
    """Return whether the board lies turned on the conveyor: as told, else so that its long edge lies along it."""
    if turned is not None:
        return turned
    if board.size.length.value.is_known and board.size.width.value.is_known:
        return choose_travel(board.size.length.value, board.size.width.value).turned
    left, bottom, right, top = scene.box
    return top - bottom > right - left


def _strip(scene: Scene, strip_mm: float | None, *, turned: bool) -> list[Box]:
    """Return the strips of the transported edges as boxes in mm."""
    if not strip_mm or not math.isfinite(strip_mm):
        return []
    left, bottom, right, top = scene.box
    if turned:
        wide = min(strip_mm, right - left)
        return [(left, bottom, left + wide, top), (right - wide, bottom, right, top)]
    wide = min(strip_mm, top - bottom)
    return [(left, bottom, right, bottom + wide), (left, top - wide, right, top)]


def _view(scene: Scene, side: Side, strips: list[Box], turned: bool | None, place: tuple[float, float]) -> str:
    """Return one side as a group: heading, board, strips, holes, bodies, marks, then objections on top."""
    places = scene.board.placements
    seen = "Bottom, seen from below" if side == Side.BOTTOM else "Top"
    here = (places.side == side) | (places.side == Side.UNKNOWN)
    rows = np.flatnonzero(here & np.isfinite(places.x_mm) & np.isfinite(places.y_mm)).tolist()
    rows = [r for r in rows if _in_frame(scene, r)]
    # Large bodies first, so that small ones stay visible beneath a connector or a shield.
    grade = {r: _GRADES.get(scene.grades.get(r, "fail"), 3) if r in scene.marked else 0 for r in rows}
    rows.sort(key=lambda r: (grade[r], -area(body_of(scene.board, r)), r))
    parts = [piece for row in rows for piece in pieces_of(scene, row, side)]
    references = references_of(scene, rows[::-1], side)  # the gravest and the smallest first
    taken: list[tuple[float, float]] = []
    frame = px(scene.width_px + 9), px(scene.height_px + 9)
    labels = [label for row in rows if row in scene.marked for label in flag(scene, row, side, taken)]
    return "\n".join(
        [
            (
                f'<g class="side" data-side="{side}" data-parts="{len(rows)}"'
                f' data-size="{px(scene.width_px)} {px(scene.height_px)}"'
                f' transform="translate({px(place[0])} {px(place[1])})">'
            ),
            f'<text class="head" y="-9">{seen} · {_parts(scene, side)}{_size(scene)}</text>',
            *contour_pieces(scene, side),
            *(_strip_piece(scene, side, box) for box in strips),
            *circle_pieces(scene, side),
            f'<clipPath id="frame-{side}"><path d="M-9 -9H{frame[0]}V{frame[1]}H-9Z"/></clipPath>',
            f'<g clip-path="url(#frame-{side})">',
            *land_pieces(scene, side),
            *parts,
            *references,
            "</g>",
            *(piece for mark in scene.stated if mark.side == side for piece in stated_mark(scene, mark)),
            *labels,
            scale_bar(scene),
            *([] if turned is None else [_conveyor(scene, turned=turned)]),
            "</g>",
        ]
    )


def _in_frame(scene: Scene, row: int) -> bool:
    x, y = scene.board.placements.x_mm[row], scene.board.placements.y_mm[row]
    return bool(scene.frame[0] <= x <= scene.frame[2] and scene.frame[1] <= y <= scene.frame[3])


def contour_pieces(scene: Scene, side: Side) -> Iterator[str]:
    """Yield the board's contour with its openings, or the box of the placements where there is none."""
    outline = scene.board.outline
    if outline is None:
        yield _rect(scene, side, scene.box, "nocontour")
        return
    rings = [outline.polygon.exterior, *outline.polygon.interiors]
    path = " ".join(closed_path(scene, side, ring.coords[:-1]) for ring in rings)
    css = "board" if doubt(scene.board) is None else "board unsure"
    if (rival := drawn_rival(scene.board, scene.box)) is not None:
        yield f'<path class="rival" d="{closed_path(scene, side, rival.exterior.coords[:-1])}"/>'
    yield f'<path class="{css}" fill-rule="evenodd" d="{path}"/>'
    yield f'<clipPath id="contour-{side}"><path clip-rule="evenodd" d="{path}"/></clipPath>'


def closed_path(scene: Scene, side: Side, points: Sequence[Sequence[float]]) -> str:
    """Return a ring of points in mm as a path."""
    return "M" + " L".join(point(scene.at(float(p[0]), float(p[1]), side)) for p in points) + " Z"


def _strip_piece(scene: Scene, side: Side, box: Box) -> str:
    piece = _rect(scene, side, box, "strip")
    return piece if scene.board.outline is None else f'<g clip-path="url(#contour-{side})">{piece}</g>'


def _rect(scene: Scene, side: Side, box: Box, css: str) -> str:
    ends = scene.at(box[0], box[1], side), scene.at(box[2], box[3], side)
    x, y = min(ends[0][0], ends[1][0]), min(ends[0][1], ends[1][1])
    width, height = abs(ends[1][0] - ends[0][0]), abs(ends[1][1] - ends[0][1])
    return f'<rect class="{css}" x="{px(x)}" y="{px(y)}" width="{px(width)}" height="{px(height)}"/>'


def circle_pieces(scene: Scene, side: Side) -> Iterator[str]:
    """Yield the round holes and marks that the outline holds."""
    outline = scene.board.outline
    if outline is None:
        return
    for css, circles in (("hole", outline.holes), ("circle", outline.marks)):
        for x, y, diameter in circles:
            if math.isfinite(x + y + diameter) and scene.frame[0] <= x <= scene.frame[2]:
                cx, cy = scene.at(x, y, side)
                yield f'<circle class="{css}" cx="{px(cx)}" cy="{px(cy)}" r="{px(diameter / 2 * scene.px_per_mm)}"/>'


def scale_bar(scene: Scene) -> str:
    """Return a bar of a round length, about a fifth of the view, below the board."""
    wanted = scene.width_px / scene.px_per_mm / 5
    power = 10.0 ** math.floor(math.log10(wanted))
    length = max(m * power for m in (1, 2, 5) if m * power <= wanted)
    end, y = length * scene.px_per_mm, scene.height_px
    bar = f'<path class="scale" d="M0 {px(y - 4)} V{px(y)} H{px(end)} V{px(y - 4)}"/>'
    return f'{bar}<text class="small" x="{px(end + 6)}" y="{px(y)}">{length:g} mm</text>'


def _conveyor(scene: Scene, *, turned: bool) -> str:
    """Return an arrow with two heads along the conveyor: which way the board runs is the line's affair."""
    length, right, end = 70.0, scene.width_px, scene.height_px
    arrow = "m0 -3l-5 3l5 3m{0} -6l5 3l-5 3m-5 -3h-{0}"
    if turned:
        at, turn = f"{px(right + 2)} {px(end - length)}", " rotate(90)"
    else:
        at, turn = f"{px(right - length)} {px(end)}", ""
    drawn = f'<path class="scale" d="{arrow.format(px(length))}"/>'
    word = f'<text class="small" x="{px(length / 2)}" y="-5" text-anchor="middle">conveyor</text>'
    return f'<g transform="translate({at}){turn}">{drawn}{word}</g>'


def _legend(scene: Scene, top: float, width: float, remarks: Sequence[str], heading: str) -> Iterator[str]:
    """Return the lines below the views: the heading, objections by number, what the shapes mean, the cautions."""
    lines = [("note", text) for text in (heading, *_objections(scene)) if text]
    lines += [("small", text) for text in remarks]
    room = {css: int((width - 56.0) / per_letter) for css, per_letter in (("note", 6.9), ("small", 5.8))}
    lines += [("small", text) for text in wrapped(cautions(), room["small"])]
    for n, (css, text) in enumerate(lines):
        letters = room[css]
        short = text if len(text) <= letters else text[: letters - 1] + "…"
        y = top + 17.0 * (n + 1) + (6.0 if css == "small" else 0.0)
        yield f'<text class="{css}" x="28" y="{px(y)}">{safe(short)}</text>'


def _objections(scene: Scene) -> list[str]:
    """Return a line for each number, with all parts of which the same is said, then the marks without a number."""
    rows: dict[int, list[int]] = {}
    for row, number in scene.numbers.items():
        rows.setdefault(number, []).append(row)
    lines = [f"{n}  {_told_of(scene, rows[n])}" for n in sorted(rows)[:LISTED]]
    if left := sum(len(rows[n]) for n in sorted(rows)[LISTED:]):
        lines.append(f"and {left} more, hatched")
    names: dict[str, list[str]] = {}
    for name, text in scene.on_marks.items():
        names.setdefault(text, []).append(name)
    return lines + [f"ringed  {shortened(tuple(same), 6)}: {text}" for text, same in names.items()]


def _told_of(scene: Scene, rows: Sequence[int]) -> str:
    """Return what is said of rows that share a number, with their references once."""
    text = scene.marked[rows[0]]
    if scene.named.issuperset(rows):
        return text
    return f"{shortened(tuple(scene.board.placements.ref[row] for row in rows), 6)}: {text}"


def _size(scene: Scene) -> str:
    if scene.board.outline is None:
        return ""
    left, bottom, right, top = scene.box
    return f" · {show_number(right - left)} × {show_number(top - bottom)} mm"


def _remarks(scene: Scene, strip_mm: float | None) -> list[str]:
    board, places = scene.board, scene.board.placements
    used = sorted(set(places.part_type[places.is_part].tolist()))
    types = [board.bodies[t] if 0 <= t < len(board.bodies) else Body() for t in used]
    found: list[str] = []
    if strip_mm:
        found.append(f"hatched along two edges: the {px(strip_mm)} mm that the conveyor needs free of parts")
    if board.outline is None:
        found.append("no outline given: the dashed box holds the placements")
    elif (why := doubt(board)) is not None:
        found.append(f"edges, cut-outs and fiducials are not judged: {sentence(why)}")
    if (rival := drawn_rival(board, scene.box)) is not None:
        west, south, east, north = rival.bounds
        size = f"{show_number(east - west)} × {show_number(north - south)} mm"
        found.append(f"dotted: the other contour that may be the board's edge ({size})")
    if any(not math.isfinite(sum(drawn_sizes(b)[0])) for b in types):
        found.append("dashed diamond: size unknown")
    if any(shows_greatest(body, scene.box) for body in types):
        found.append("dashed contour: the greatest body possible, around the least")
    if any(has_pin_1_assumed(scene, r) for r in np.flatnonzero(places.is_part).tolist()):
        found.append("open mark: pin 1 or pole, taken to lie left (of many leads: upper left) at 0°; filled: known")
    open_ = [b for b in types if not b.oriented and math.isfinite(sum(drawn_sizes(b)[0]))]
    if any(b.longer_taken_along is None for b in open_):
        found.append("where no source says how a body lies at 0°, its long side is drawn along the part's own x")
    if any(b.longer_taken_along is not None for b in open_):
        found.append("where only one way leaves neighbours room, the long side is drawn that way")
    found += lands_said(board, [Side.TOP, Side.BOTTOM])
    if scene.left_out:
        found.append(f"far outside and not drawn: {scene.left_out}")
    if scene.unplaced:
        found.append(f"without a place and not drawn: {scene.unplaced}")
    return found


def _parts(scene: Scene, side: Side) -> str:
    places = scene.board.placements
    count = int((places.is_part & (places.side == side)).sum())
    return "1 part" if count == 1 else f"{count} parts"


def _description(scene: Scene, sides: Sequence[Side]) -> str:
    places = scene.board.placements
    counts = ", ".join(f"{_parts(scene, side)} on the {side}" for side in sides)
    size = f"{px(scene.box[2] - scene.box[0])} by {px(scene.box[3] - scene.box[1])} mm"
    what = "Board" if scene.board.outline is not None else "Placements without an outline"
    objected = [f"{places.ref[r]}: {text}" for r, text in list(scene.marked.items())[:LISTED]]
    if len(scene.marked) > LISTED:
        objected.append(f"and {len(scene.marked) - LISTED} more")
    end = f" Objected to: {'; '.join(objected)}." if objected else ""
    return f"{what} of {size}, {counts}.{end}"
