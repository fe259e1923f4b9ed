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
from capcheck.geometry import FoundFiducial, choose_travel
from capcheck.lexicon import cautions, sentence
from capcheck.model import Board, Body, Kind, Side
from capcheck.report.picture.scene import Box, Scene, body_of, drawn_sizes, point, px, safe
from capcheck.report.picture.style import STYLE, SYMBOLS
from capcheck.report.styled_lines import wrapped
from capcheck.values import shortened, show_number

_LEAST_TEXT_PX: Final = 6.0
_MOST_TEXT_PX: Final = 13.0
_LETTER_SHARE: Final = 0.62
"""Width of a letter over its size, for capitals and digits."""
_LISTED: Final = 24
_FLAG_PX: Final = 16.0
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
    heading: str = "",
) -> str:
    """Return the picture of a board as an SVG document.

    *marked* maps rows of the placements to what a rule says of them, *grades* to how grave it is (``fail``, ``warn``,
    ``open``), *numbers* to what the flag beside the body says. *live* is for a page around the picture: every piece
    carries its row as ``data-r``, and the page lists the objections. *stacked* puts the bottom below the top, else that
    depends on the board's shape. *edge_strip_mm* draws the strips of the two
    transported edges; *turned* says that the board travels along its y, else the long edge lies along the conveyor.
    *on_marks* maps the names of marks that board.toml states to what a rule says of them; *named* are the rows whose
    text names their references itself. Rows without a place are counted below the views; *heading* is what a reader
    must know first. Texts are escaped.
    """
    scene = Scene.of(
        board, dict(marked or {}), grades=grades, numbers=numbers, live=live, on_marks=on_marks, named=named
    )
    sides = [Side.TOP]
    if np.any(board.placements.side == Side.BOTTOM):
        sides.append(Side.BOTTOM)
    strip = _strip(board, scene, edge_strip_mm, turned=turned)
    below = scene.width_px > 1.6 * scene.height_px if stacked is None else stacked
    gap, head = 28.0, 30.0
    step = (0.0, scene.height_px + head + gap) if below else (scene.width_px + gap, 0.0)
    views = [_view(scene, side, strip, (gap + n * step[0], head + n * step[1])) for n, side in enumerate(sides)]
    last = len(sides) - 1
    width = max(2 * gap + scene.width_px + last * step[0], 420.0)
    end = head + scene.height_px + last * step[1]
    notes = list(_legend(scene, end + 20.0, width, edge_strip_mm if strip else None, heading))
    height = end + 44.0 + 17.0 * len(notes)
    title = ": ".join(filter(None, (heading, f"Board {board.name}" if board.name else "Board")))
    return "\n".join(
        [
            (
                f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {px(width)} {px(height)}" width="{px(width)}"'
                f' height="{px(height)}" role="img" aria-labelledby="picture-title picture-desc">'
            ),
            f'<title id="picture-title">{safe(title)}</title>',
            f'<desc id="picture-desc">{safe(_description(scene, sides))}</desc>',
            f"<style>{STYLE}</style>",
            f"<defs>{SYMBOLS}</defs>",
            f'<rect class="paper" width="{px(width)}" height="{px(height)}"/>',
            *views,
            *notes,
            "</svg>",
            "",
        ]
    )


def _strip(board: Board, scene: Scene, strip_mm: float | None, *, turned: bool | None) -> list[Box]:
    """Return the strips of the transported edges as boxes in mm."""
    if not strip_mm or not math.isfinite(strip_mm):
        return []
    left, bottom, right, top = scene.box
    if turned is None:
        turned = choose_travel(board.size.length.value, board.size.width.value).turned
        if not (board.size.length.value.is_known and board.size.width.value.is_known):
            turned = top - bottom > right - left
    if turned:
        wide = min(strip_mm, right - left)
        return [(left, bottom, left + wide, top), (right - wide, bottom, right, top)]
    wide = min(strip_mm, top - bottom)
    return [(left, bottom, right, bottom + wide), (left, top - wide, right, top)]


def _view(scene: Scene, side: Side, strips: list[Box], place: tuple[float, float]) -> str:
    """Return one side as a group: heading, board, strips, holes, bodies, marks, then objections on top."""
    places = scene.board.placements
    seen = "Bottom, seen from below" if side == Side.BOTTOM else "Top"
    here = (places.side == side) | (places.side == Side.UNKNOWN)
    rows = np.flatnonzero(here & np.isfinite(places.x_mm) & np.isfinite(places.y_mm)).tolist()
    rows = [r for r in rows if _in_frame(scene, r)]
    # Large bodies first, so that small ones stay visible beneath a connector or a shield.
    grade = {r: _GRADES.get(scene.grades.get(r, "fail"), 3) if r in scene.marked else 0 for r in rows}
    rows.sort(key=lambda r: (grade[r], -_area(body_of(scene.board, r)), r))
    parts = [piece for row in rows for piece in _row(scene, row, side)]
    taken: list[tuple[float, float]] = []
    labels = [label for row in rows if row in scene.marked for label in _number(scene, row, side, taken)]
    return "\n".join(
        [
            f'<g transform="translate({px(place[0])} {px(place[1])})">',
            f'<text class="head" y="-9">{seen} · {_parts(scene, side)}{_size(scene)}</text>',
            *_contour(scene, side),
            *(_strip_piece(scene, side, box) for box in strips),
            *_circles(scene, side),
            *parts,
            *(piece for mark in scene.stated if mark.side == side for piece in _stated_mark(scene, mark)),
            *labels,
            _scale_bar(scene),
            "</g>",
        ]
    )


def _in_frame(scene: Scene, row: int) -> bool:
    x, y = scene.board.placements.x_mm[row], scene.board.placements.y_mm[row]
    return bool(scene.frame[0] <= x <= scene.frame[2] and scene.frame[1] <= y <= scene.frame[3])


def _contour(scene: Scene, side: Side) -> Iterator[str]:
    outline = scene.board.outline
    if outline is None:
        yield _rect(scene, side, scene.box, "nocontour")
        return
    rings = [outline.polygon.exterior, *outline.polygon.interiors]
    path = " ".join(_closed(scene, side, ring.coords[:-1]) for ring in rings)
    yield f'<path class="board" fill-rule="evenodd" d="{path}"/>'
    yield f'<clipPath id="contour-{side}"><path clip-rule="evenodd" d="{path}"/></clipPath>'


def _closed(scene: Scene, side: Side, points: Sequence[Sequence[float]]) -> str:
    return "M" + " L".join(point(scene.at(float(p[0]), float(p[1]), side)) for p in points) + " Z"


def _strip_piece(scene: Scene, side: Side, box: Box) -> str:
    piece = _rect(scene, side, box, "strip")
    return piece if scene.board.outline is None else f'<g clip-path="url(#contour-{side})">{piece}</g>'


def _rect(scene: Scene, side: Side, box: Box, css: str) -> str:
    ends = scene.at(box[0], box[1], side), scene.at(box[2], box[3], side)
    x, y = min(ends[0][0], ends[1][0]), min(ends[0][1], ends[1][1])
    width, height = abs(ends[1][0] - ends[0][0]), abs(ends[1][1] - ends[0][1])
    return f'<rect class="{css}" x="{px(x)}" y="{px(y)}" width="{px(width)}" height="{px(height)}"/>'


def _circles(scene: Scene, side: Side) -> Iterator[str]:
    outline = scene.board.outline
    if outline is None:
        return
    for css, circles in (("hole", outline.holes), ("circle", outline.marks)):
        for x, y, diameter in circles:
            if math.isfinite(x + y + diameter) and scene.frame[0] <= x <= scene.frame[2]:
                cx, cy = scene.at(x, y, side)
                yield f'<circle class="{css}" cx="{px(cx)}" cy="{px(cy)}" r="{px(diameter / 2 * scene.px_per_mm)}"/>'


def _area(body: Body) -> float:
    high, _ = drawn_sizes(body)
    return high[0] * high[1] if math.isfinite(high[0] + high[1]) else 0.0


def _row(scene: Scene, row: int, side: Side) -> Iterator[str]:
    """Return the pieces of one row: a mark, a hole's cross, or a body with its reference."""
    places = scene.board.placements
    x, y = scene.at(float(places.x_mm[row]), float(places.y_mm[row]), side)
    kind = Kind(int(places.kind[row]))
    told = _told(scene, row)
    key = f' data-r="{row}"' if scene.live else ""
    if kind is not Kind.PART:
        which = "mark" if kind is Kind.FIDUCIAL else "other"
        yield f'<use href="#{which}"{key} x="{px(x)}" y="{px(y)}">{told}</use>'
        return
    high, low = drawn_sizes(body_of(scene.board, row))
    angle = float(places.rotation_deg[row])
    # A bottom part's angle is stated as seen from below, as it is drawn; y of the drawing points down.
    turn = 0.0 if not math.isfinite(angle) else -angle
    css = "body" if places.fitted[row] else "empty"
    if places.side[row] == Side.UNKNOWN:
        css += " anyside"
    if row in scene.marked:
        css += f" marked {scene.grades.get(row, '')}".rstrip()
    if not math.isfinite(high[0] + high[1]) or max(high) == 0:
        yield f'<use href="#unknown" class="{css}"{key} x="{px(x)}" y="{px(y)}">{told}</use>'
        return
    scale = scene.px_per_mm
    place = f'{key.strip()} transform="translate({px(x)} {px(y)}) rotate({px(turn)})"'
    if high != low:
        yield f"<g {place.strip()}>{told}{_centred(css + ' greatest', high, scale)}{_centred(css, low, scale)}</g>"
    else:
        yield f"<g {place.strip()}>{told}{_centred(css, high, scale)}</g>"
    yield from _reference(places.ref[row], (x, y), (high[0] * scale, high[1] * scale), turn)


def _stated_mark(scene: Scene, mark: FoundFiducial) -> Iterator[str]:
    """Return a mark that board.toml states, in a ring where a rule objects to it."""
    x, y = scene.at(mark.x_mm, mark.y_mm, mark.side)
    said = scene.on_marks.get(mark.name, "")
    words = " · ".join(w for w in (mark.name, "stated in board.toml", said) if w)
    yield f'<use href="#mark" x="{px(x)}" y="{px(y)}"><title>{safe(words)}</title></use>'
    if said:
        yield f'<circle class="ring" cx="{px(x)}" cy="{px(y)}" r="9"/>'


def _told(scene: Scene, row: int) -> str:
    """Return the tooltip of a row: reference, kind of body, and what is objected to."""
    of = int(scene.board.placements.part_type[row])
    body = body_of(scene.board, row)
    name = scene.board.types[of].part_number if 0 <= of < len(scene.board.types) else ""
    words = [scene.board.placements.ref[row], name, body.family or "", scene.marked.get(row, "")]
    if not scene.board.placements.fitted[row]:
        words.append("not fitted")
    return f"<title>{safe(' · '.join(w for w in words if w))}</title>"


def _centred(css: str, size: tuple[float, float], scale: float) -> str:
    width, height = size[0] * scale, size[1] * scale
    if not width > 0 or not height > 0:
        return ""
    return f'<rect class="{css}" x="{px(-width / 2)}" y="{px(-height / 2)}" width="{px(width)}" height="{px(height)}"/>'


def _reference(ref: str, at: tuple[float, float], size: tuple[float, float], turn: float) -> Iterator[str]:
    """Return the reference inside its body, along its longer side, where it is large enough to be read."""
    along, across = max(size), min(size)
    text = min(0.7 * across, 0.9 * along / (_LETTER_SHARE * max(len(ref), 1)), _MOST_TEXT_PX)
    if not ref or text < _LEAST_TEXT_PX:
        return
    angle = turn + (90.0 if size[1] > size[0] else 0.0)
    angle = (angle + 90.0) % 180.0 - 90.0
    if angle >= 90.0 - 1e-6 or angle <= -90.0 + 1e-6:
        angle = -90.0
    place = f"translate({point(at)}) rotate({px(angle)})"
    yield f'<text class="ref" transform="{place}" font-size="{px(text)}" dy="0.36em">{safe(ref)}</text>'


def _number(scene: Scene, row: int, side: Side, taken: list[tuple[float, float]]) -> Iterator[str]:
    """Return the flag with the number of an objected part, beside its body; *taken* are the flags set so far."""
    number = scene.numbers.get(row, 0)
    if not number or (number > _LISTED and not scene.live):
        return
    places = scene.board.placements
    x, y = scene.at(float(places.x_mm[row]), float(places.y_mm[row]), side)
    high, _ = drawn_sizes(body_of(scene.board, row))
    half = min(high) / 2 * scene.px_per_mm if math.isfinite(high[0] + high[1]) else 5.0
    fx, fy = _free_place(scene, (x, y), half * 0.7 + 11.0, taken)
    taken.append((fx, fy))
    if places.kind[row] != Kind.PART:
        yield f'<circle class="ring" cx="{px(x)}" cy="{px(y)}" r="9"/>'
    yield f'<line class="leader" x1="{px(x)}" y1="{px(y)}" x2="{px(fx)}" y2="{px(fy)}"/>'
    yield f'<circle class="flag" cx="{px(fx)}" cy="{px(fy)}" r="7.5"/>'
    yield f'<text class="flagtext" x="{px(fx)}" y="{px(fy)}" dy="0.36em">{number}</text>'


def _free_place(
    scene: Scene, at: tuple[float, float], lift: float, taken: list[tuple[float, float]]
) -> tuple[float, float]:
    """Return a place for a flag near a part, clear of other flags; towards the middle first, away from the rim."""
    x, y = at
    sx = 1.0 if x < scene.width_px / 2 else -1.0
    sy = 1.0 if y < scene.height_px / 2 else -1.0
    ways = ((sx, sy), (sx, -sy), (-sx, sy), (-sx, -sy), (1.4 * sx, 0.0), (0.0, 1.4 * sy))
    tries = [(x + a * far, y + b * far) for far in (lift, lift + 10.0, lift + 20.0) for a, b in ways]
    for fx, fy in tries:
        if all(math.hypot(fx - tx, fy - ty) > _FLAG_PX for tx, ty in taken):
            return fx, fy
    return tries[0]


def _scale_bar(scene: Scene) -> str:
    """Return a bar of a round length, about a fifth of the view, below the board."""
    wanted = scene.width_px / scene.px_per_mm / 5
    power = 10.0 ** math.floor(math.log10(wanted))
    length = max(m * power for m in (1, 2, 5) if m * power <= wanted)
    end, y = length * scene.px_per_mm, scene.height_px
    bar = f'<path class="scale" d="M0 {px(y - 4)} V{px(y)} H{px(end)} V{px(y - 4)}"/>'
    return f'{bar}<text class="small" x="{px(end + 6)}" y="{px(y)}">{length:g} mm</text>'


def _legend(scene: Scene, top: float, width: float, strip_mm: float | None, heading: str) -> Iterator[str]:
    """Return the lines below the views: the heading, objections by number, what the shapes mean, the cautions.

    A page around the picture has its own list of objections, and the cautions.
    """
    lines = [("note", text) for text in (heading, *(() if scene.live else _objections(scene))) if text]
    if strip_mm:
        lines.append(("small", f"hatched along two edges: the {px(strip_mm)} mm that the conveyor needs free of parts"))
    lines += [("small", text) for text in _remarks(scene)]
    room = {css: int((width - 56.0) / per_letter) for css, per_letter in (("note", 6.9), ("small", 5.8))}
    if not scene.live:
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
    lines = [f"{n}  {_told_of(scene, rows[n])}" for n in sorted(rows)[:_LISTED]]
    if left := sum(len(rows[n]) for n in sorted(rows)[_LISTED:]):
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


def _remarks(scene: Scene) -> list[str]:
    board, places = scene.board, scene.board.placements
    used = sorted(set(places.part_type[places.is_part].tolist()))
    types = [board.bodies[t] if 0 <= t < len(board.bodies) else Body() for t in used]
    found: list[str] = []
    if board.outline is None:
        found.append("no outline given: the dashed box holds the placements")
    elif (why := doubt(board)) is not None:
        found.append(f"edges, cut-outs and marks are not judged: {sentence(why)}")
    if any(not math.isfinite(sum(drawn_sizes(b)[0])) for b in types):
        found.append("dashed diamond: size unknown")
    if any(math.isfinite(sum(s[0])) and s[0] != s[1] for s in map(drawn_sizes, types)):
        found.append("dashed contour: the greatest body possible, around the least")
    if any(not b.oriented and math.isfinite(sum(drawn_sizes(b)[0])) for b in types):
        found.append("where no source says how a body lies at 0°, its long side is drawn along the part's own x")
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
    objected = [f"{places.ref[r]}: {text}" for r, text in list(scene.marked.items())[:_LISTED]]
    if len(scene.marked) > _LISTED:
        objected.append(f"and {len(scene.marked) - _LISTED} more")
    end = f" Objected to: {'; '.join(objected)}." if objected else ""
    return f"{what} of {size}, {counts}.{end}"
