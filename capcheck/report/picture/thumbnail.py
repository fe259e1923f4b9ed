"""Small pictures of a board with a few of its parts ringed, for beside a question: as SVG for pages, PNG for workbooks.

What all small pictures of a side share is drawn once: as a symbol of the page, and as the ground of each PNG.
"""

from __future__ import annotations

import io
import math
from collections.abc import Callable, Iterator, Sequence
from typing import TYPE_CHECKING, Final

from msgspec import Struct

from capcheck.model import Board, Kind, Side
from capcheck.report.picture.scene import Scene, body_of, drawn_sizes, point, px, safe
from capcheck.values import InputError

if TYPE_CHECKING:
    from PIL.Image import Image
    from PIL.ImageDraw import ImageDraw

_LONGEST: Final = 150.0
"""Longer side of a picture (px of a screen)."""
_MARGIN: Final = 6.0
_LEAST_BODY: Final = 0.9
"""What is smaller in both directions would be a speck (px)."""
_MOST_RINGS: Final = 12
"""More rings than these hide what they ring: then the parts are filled alone."""
_LEAST_RING, _LEAST_DOT = 5.0, 1.6
_SHARP: Final = 2
"""Pixels of a PNG for each pixel of a screen: it is printed too."""
_SMOOTH: Final = 2
"""Drawn so much larger and made smaller again, since the library draws lines without soft edges."""
_DPI: Final = 96
_GAP: Final = 10.0
_COLOURS: Final = {"paper": "#ffffff", "board": "#e6e4db", "edge": "#4b4f4c", "body": "#aab4b9", "part": "#b0126b"}

Point = tuple[float, float]


class SmallView(Struct, frozen=True):
    """One side in px of the small picture: its contour, openings last, and each row's middle and body."""

    side: Side
    width: float
    height: float
    contour: tuple[tuple[Point, ...], ...]
    at: dict[int, Point]
    bodies: dict[int, tuple[Point, ...]]
    """The corners of the bodies that are large enough to be seen."""


class Thumbnails(Struct, frozen=True):
    """The sides of a board, ready for a picture of any rows of the placements."""

    refs: tuple[str, ...]
    views: tuple[SmallView, ...]

    @classmethod
    def of(cls, board: Board) -> Thumbnails:
        """Return the small pictures' ground."""
        scene = Scene.of(board, {})
        return cls(tuple(board.placements.ref), tuple(_view(scene, side) for side in (Side.TOP, Side.BOTTOM)))

    def sides(self, rows: Sequence[int]) -> list[SmallView]:
        """Return the sides on which any of the rows lies."""
        return [view for view in self.views if not view.at.keys().isdisjoint(rows)]

    def symbols(self) -> str:
        """Return what the pictures of :meth:`svg` refer to, once for a page."""
        return "".join(
            f'<symbol id="small-{view.side}" viewBox="0 0 {px(view.width)} {px(view.height)}">'
            f'<path class="small-board" fill-rule="evenodd" d="{" ".join(map(_closed, view.contour))}"/>'
            f'<path class="small-body" d="{"".join(map(_closed, view.bodies.values()))}"/></symbol>'
            for view in self.views
            if view.at
        )

    def svg(self, rows: Sequence[int]) -> str:
        """Return a picture for each side on which any of the rows lies; empty where none does."""
        return "".join(self._svg(view, [row for row in rows if row in view.at]) for view in self.sides(rows))

    def _svg(self, view: SmallView, rows: Sequence[int]) -> str:
        frame = f'viewBox="0 0 {px(view.width)} {px(view.height)}" width="{px(view.width)}" height="{px(view.height)}"'
        refs = ", ".join(self.refs[row] for row in rows[:_MOST_RINGS])
        more = f" and {len(rows) - _MOST_RINGS} more" if len(rows) > _MOST_RINGS else ""
        pieces = [
            f'<path class="small-part" d="{"".join(_closed(view.bodies[r]) for r in rows if r in view.bodies)}"/>'
        ]
        css = "small-ring" if len(rows) <= _MOST_RINGS else "small-part"
        pieces += [f'<circle class="{css}" cx="{px(x)}" cy="{px(y)}" r="{px(r)}"/>' for (x, y), r in _rings(view, rows)]
        return (
            f'<svg class="small" {frame} role="img"><title>{view.side}: {safe(refs + more)}</title>'
            f'<use href="#small-{view.side}" width="{px(view.width)}" height="{px(view.height)}"/>'
            f"{''.join(pieces)}</svg>"
        )

    def png(self, rows: Sequence[int]) -> bytes:
        """Return one picture of the sides on which any of the rows lies, side by side; empty where none does.

        Raises :class:`~capcheck.values.InputError` where the library for pictures is not installed.
        """
        views = self.sides(rows)
        if not views:
            return b""
        width = sum(view.width for view in views) + _GAP * (len(views) - 1)
        whole, pen = _paper(width, max(view.height for view in views))
        left = 0.0
        for view in views:
            pen.view(view, [row for row in rows if row in view.at], left)
            left += view.width + _GAP
        return _content(whole)


def size_of_png(views: Sequence[SmallView]) -> tuple[float, float]:
    """Return width and height of the PNG of these sides (px of a screen)."""
    return sum(view.width for view in views) + _GAP * (len(views) - 1), max(view.height for view in views)


def _view(scene: Scene, side: Side) -> SmallView:
    scale = (_LONGEST - 2 * _MARGIN) / max(scene.width_px, scene.height_px)

    def at(x_mm: float, y_mm: float) -> Point:
        x, y = scene.at(x_mm, y_mm, side)
        return x * scale + _MARGIN, y * scale + _MARGIN

    places = scene.board.placements
    middles, bodies = dict[int, Point](), dict[int, tuple[Point, ...]]()
    for row, own in enumerate(places.side.tolist()):
        x, y = float(places.x_mm[row]), float(places.y_mm[row])
        inside = scene.frame[0] <= x <= scene.frame[2] and scene.frame[1] <= y <= scene.frame[3]
        if not inside or (Side.BOTTOM if own == Side.BOTTOM else Side.TOP) is not side:
            continue
        middles[row] = at(x, y)
        size = drawn_sizes(body_of(scene.board, row))[1]
        small = [length * scene.px_per_mm * scale for length in size]
        if places.kind[row] == Kind.PART and _LEAST_BODY <= max(small) < math.inf:
            angle = float(places.rotation_deg[row])
            bodies[row] = tuple(_corners(middles[row], small, -angle if math.isfinite(angle) else 0.0))
    width, height = scene.width_px * scale + 2 * _MARGIN, scene.height_px * scale + 2 * _MARGIN
    return SmallView(side, width, height, tuple(_contour(scene, at)), middles, bodies)


def _contour(scene: Scene, at: Callable[[float, float], Point]) -> Iterator[tuple[Point, ...]]:
    """Yield the board's contour and then its openings; the box of the placements where there is no outline."""
    outline = scene.board.outline
    if outline is None:
        left, bottom, right, top = scene.box
        yield at(left, bottom), at(right, bottom), at(right, top), at(left, top)
        return
    for ring in (outline.polygon.exterior, *outline.polygon.interiors):
        yield tuple(at(float(x), float(y)) for x, y in ring.coords[:-1])


def _corners(middle: Point, size: Sequence[float], turn: float) -> Iterator[Point]:
    """Yield the corners of a body of this size (px); *turn* is clockwise, as y of a drawing points down (degrees)."""
    cos, sin = math.cos(math.radians(turn)), math.sin(math.radians(turn))
    for across, down in ((-0.5, -0.5), (0.5, -0.5), (0.5, 0.5), (-0.5, 0.5)):
        x, y = across * size[0], down * size[1]
        yield middle[0] + x * cos - y * sin, middle[1] + x * sin + y * cos


def _rings(view: SmallView, rows: Sequence[int]) -> Iterator[tuple[Point, float]]:
    """Yield middle and radius of the ring around each row; of many rows a dot each, so that none is lost."""
    for row in rows:
        if len(rows) > _MOST_RINGS:
            yield view.at[row], _LEAST_DOT
            continue
        reach = math.dist(view.at[row], view.bodies[row][0]) if row in view.bodies else 0.0
        yield view.at[row], max(_LEAST_RING, reach + 2.0)


def _closed(points: Sequence[Point]) -> str:
    return "M" + "L".join(map(point, points)) + "Z"


class _Pen(Struct, frozen=True):
    """Draws on an image that is larger than the picture by :data:`_SHARP` and :data:`_SMOOTH`."""

    draw: ImageDraw

    def view(self, view: SmallView, rows: Sequence[int], left: float) -> None:
        """Draw a side, *left* px from the edge, with these rows ringed."""
        for n, ring in enumerate(view.contour):
            self._area(ring, left, _COLOURS["paper" if n else "board"], edge=True)
        for row, corners in view.bodies.items():
            self._area(corners, left, _COLOURS["part" if row in rows else "body"], edge=False)
        for (x, y), radius in _rings(view, rows):
            filled = len(rows) > _MOST_RINGS
            box = [_large(left + x - radius), _large(y - radius), _large(left + x + radius), _large(y + radius)]
            self.draw.ellipse(box, _COLOURS["part"] if filled else None, _COLOURS["part"], width=round(_large(1.6)))

    def _area(self, points: Sequence[Point], left: float, colour: str, *, edge: bool) -> None:
        corners = [(_large(left + x), _large(y)) for x, y in points]
        self.draw.polygon(corners, colour)
        if edge:
            self.draw.line([*corners, corners[0]], _COLOURS["edge"], width=round(_large(0.8)))


def _large(length: float) -> float:
    return length * _SHARP * _SMOOTH


def _paper(width: float, height: float) -> tuple[Image, _Pen]:
    try:
        from PIL import Image, ImageDraw
    except ImportError:
        raise InputError.at(
            "--format questions-xlsx",
            "needs the library Pillow for the pictures beside the questions, which is not installed",
            remedy='install it with: pip install "capcheck[xlsx]"',
        ) from None
    image = Image.new("RGB", (round(_large(width)), round(_large(height))), _COLOURS["paper"])
    return image, _Pen(ImageDraw.Draw(image))


def _content(image: Image) -> bytes:
    """Return an image as PNG, in the few colours that it has."""
    stream = io.BytesIO()
    small = image.reduce(_SMOOTH).quantize(32)
    small.save(stream, "PNG", optimize=True, dpi=(_DPI * _SHARP, _DPI * _SHARP))
    return stream.getvalue()
