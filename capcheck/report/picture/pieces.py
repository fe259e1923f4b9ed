"""The pieces of the board's picture that stand for one row: its body with pin 1 and reference, its flag, its mark.

Where no file shows pad 1, it is drawn where IPC-7351A (its zero component orientations) has it: at the left end of
parts with two terminals, at the upper left of all others.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Final

from msgspec import Struct

from capcheck.geometry import FoundFiducial
from capcheck.model import Body, Kind, Side
from capcheck.report.picture.scene import Scene, body_of, drawn_sizes, point, px, safe, shows_greatest

_LEAST_TEXT_PX: Final = 6.0
_MOST_TEXT_PX: Final = 13.0
_LETTER_SHARE: Final = 0.62
"""Width of a letter over its size, for capitals and digits."""
LISTED: Final = 24
"""Flags of one picture, and lines below it."""
_FLAG_PX: Final = 16.0
_TERMINALS: Final = 2
_LEAST_MARKED_PX: Final = 1.5
"""Half the shorter side of a body from which on its pin 1 can be seen."""
_MOST_INSET_PX: Final = 6.0


def area(body: Body) -> float:
    """Return the area of a body as drawn (mm²), 0 where its size is unknown."""
    high, _ = drawn_sizes(body)
    return high[0] * high[1] if math.isfinite(high[0] + high[1]) else 0.0


def pieces_of(scene: Scene, row: int, side: Side) -> Iterator[str]:
    """Return the pieces of one row: a mark, a hole's cross, or a body; :func:`references_of` has its reference."""
    places = scene.board.placements
    x, y = scene.at(float(places.x_mm[row]), float(places.y_mm[row]), side)
    kind = Kind(int(places.kind[row]))
    told = _told(scene, row)
    key = f' data-r="{row}"' if scene.live else ""
    if kind is not Kind.PART:
        which = "mark" if kind is Kind.FIDUCIAL else "other"
        yield f'<use href="#{which}"{key} x="{px(x)}" y="{px(y)}">{told}</use>'
        return
    body = body_of(scene.board, row)
    high, low = drawn_sizes(body)
    css = "body" if places.fitted[row] else "empty"
    if places.side[row] == Side.UNKNOWN:
        css += " anyside"
    if row in scene.marked:
        css += f" marked {scene.grades.get(row, '')}".rstrip()
    if not math.isfinite(high[0] + high[1]) or max(high) == 0:
        yield f'<use href="#unknown" class="{css}"{key} x="{px(x)}" y="{px(y)}">{told}</use>'
        return
    scale = scene.px_per_mm
    place = f'{key.strip()} transform="translate({px(x)} {px(y)}) rotate({px(_turn(scene, row))})"'
    greatest = _centred(css + " greatest", high, scale) if shows_greatest(body, scene.box) else ""
    pin_1 = _pin_1(scene, row, (low[0] * scale, low[1] * scale))
    yield f"<g {place.strip()}>{told}{greatest}{_centred(css, low, scale)}{pin_1}</g>"


def _turn(scene: Scene, row: int) -> float:
    """Return by how many degrees a body is turned on the drawing, whose y points down.

    A bottom part's angle is stated as seen from below, as it is drawn.
    """
    angle = float(scene.board.placements.rotation_deg[row])
    return -angle if math.isfinite(angle) else 0.0


class _Pin1(Struct, frozen=True):
    """Where pin 1 or the pole lies from the middle: −1 left or below, 0 between, 1 right or above."""

    across: float
    along: float
    assumed: bool


def _pin_1_of(scene: Scene, row: int) -> _Pin1 | None:
    """Return where a row's pin 1 lies; None for a body that may be turned."""
    body = body_of(scene.board, row)
    if body.polarised is False or not (body.polarised or (body.pins or 0) > _TERMINALS):
        return None
    shown = scene.board.placements.pin_1_at
    if shown is None or math.isnan(shown[row][0]):
        return _Pin1(-1.0, 0.0 if _has_two_ends(body) else 1.0, assumed=True)
    return _Pin1(float(shown[row][0]), float(shown[row][1]), assumed=False)


def _has_two_ends(body: Body) -> bool:
    return (body.pins or _TERMINALS) <= _TERMINALS


def _pin_1(scene: Scene, row: int, size: tuple[float, float]) -> str:
    """Return the mark of pin 1 or of the pole in the body's own frame: filled where shown, open where assumed."""
    pin, (width, height) = _pin_1_of(scene, row), (size[0] / 2, size[1] / 2)
    least = min(width, height)
    if pin is None or least < _LEAST_MARKED_PX:
        return ""
    css = "pin1 assumed" if pin.assumed else "pin1"
    if pin.along == 0.0 and _has_two_ends(body_of(scene.board, row)):
        return f'<path class="{css}" d="M{px(pin.across * width * 0.6)} {px(-height)}v{px(2 * height)}"/>'
    inset = min(0.35 * least, _MOST_INSET_PX)
    x, y = pin.across * (width - inset), -pin.along * (height - inset)
    return f'<circle class="{css}" cx="{px(x)}" cy="{px(y)}" r="{px(0.6 * inset)}"/>'


def has_pin_1_assumed(scene: Scene, row: int) -> bool:
    """Whether the mark of a row's pin 1 stands for an assumption."""
    pin = _pin_1_of(scene, row)
    return pin is not None and pin.assumed


def stated_mark(scene: Scene, mark: FoundFiducial) -> Iterator[str]:
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


def references_of(scene: Scene, rows: Sequence[int], side: Side) -> Iterator[str]:
    """Return the references inside their bodies, where they are large enough to be read; none over an earlier one."""
    taken: list[tuple[float, float, float, float]] = []
    for row in rows:
        for (x, y, half_x, half_y), piece in _reference(scene, row, side):
            if all(abs(x - a) >= half_x + c or abs(y - b) >= half_y + d for a, b, c, d in taken):
                taken.append((x, y, half_x, half_y))
                yield piece


def _reference(scene: Scene, row: int, side: Side) -> Iterator[tuple[tuple[float, float, float, float], str]]:
    """Return the reference of a row along the longer side of its body, and its box: middle and half sides."""
    places, high = scene.board.placements, drawn_sizes(body_of(scene.board, row))[0]
    ref = places.ref[row]
    if not ref or places.kind[row] != Kind.PART or not math.isfinite(high[0] + high[1]):
        return
    along, across = max(high) * scene.px_per_mm, min(high) * scene.px_per_mm
    text = min(0.7 * across, 0.9 * along / (_LETTER_SHARE * len(ref)), _MOST_TEXT_PX)
    if text < _LEAST_TEXT_PX:
        return
    at = scene.at(float(places.x_mm[row]), float(places.y_mm[row]), side)
    angle = _turn(scene, row) + (90.0 if high[1] > high[0] else 0.0)
    angle = (angle + 90.0) % 180.0 - 90.0
    if angle >= 90.0 - 1e-6 or angle <= -90.0 + 1e-6:
        angle = -90.0
    place = f"translate({point(at)}) rotate({px(angle)})"
    cos, sin = abs(math.cos(math.radians(angle))), abs(math.sin(math.radians(angle)))
    half_long, half_high = _LETTER_SHARE * len(ref) * text / 2, text / 2
    box = (*at, cos * half_long + sin * half_high, sin * half_long + cos * half_high)
    yield box, f'<text class="ref" transform="{place}" font-size="{px(text)}" dy="0.36em">{safe(ref)}</text>'


def flag(scene: Scene, row: int, side: Side, taken: list[tuple[float, float]]) -> Iterator[str]:
    """Return the flag with the number of an objected part, beside its body; *taken* are the flags set so far."""
    number = scene.numbers.get(row, 0)
    if not number or (number > LISTED and not scene.live):
        return
    places = scene.board.placements
    x, y = scene.at(float(places.x_mm[row]), float(places.y_mm[row]), side)
    high, _ = drawn_sizes(body_of(scene.board, row))
    half = min(high) / 2 * scene.px_per_mm if math.isfinite(high[0] + high[1]) else 5.0
    fx, fy = _free_place(scene, (x, y), half * 0.7 + 11.0, taken)
    taken.append((fx, fy))
    grade = scene.grades.get(row, "fail")
    if places.kind[row] != Kind.PART:
        yield f'<circle class="ring {grade}" cx="{px(x)}" cy="{px(y)}" r="9"/>'
    key = f' data-flag="{row}"' if scene.live else ""
    yield (
        f'<g class="flagged {grade}"{key}><path class="leader" d="M{point((x, y))}L{point((fx, fy))}"/>'
        f'<circle class="flag" cx="{px(fx)}" cy="{px(fy)}" r="7.5"/>'
        f'<text class="flagtext" x="{px(fx)}" y="{px(fy)}" dy="0.36em">{number}</text></g>'
    )


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
