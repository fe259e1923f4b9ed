"""The board as a drawing, both sides, with what the rules of the line that is looked at object to, and its parts."""

from __future__ import annotations

import math
import re
from typing import Final

from msgspec import Struct

from capcheck.checking import Report
from capcheck.desk.areas.area import Area, Found, Seen
from capcheck.model import Board, Body, Measure, PartName, Side
from capcheck.report import DIFFERENCE_STYLES, PICTURE_STYLE, board_svg, report_svg

_DRAWN: Final = "drawn-"
"""Ids of a drawing begin with it: the page's areas have ids too."""
_WORDS: Final = {"pass": "proved", "warn": "with a warning", "fail": "does not go", "unanswered": "not decided"}


class DrawnPart(Struct, frozen=True, array_like=True):
    """A row of the placements: names, body in mm, side, place in mm, and on each line outcome and who places it."""

    ref: str
    part_number: str
    value: str
    footprint: str
    body: str
    side: str
    at: tuple[float, float] | None = None
    outcomes: tuple[str, ...] = ()
    machines: tuple[str, ...] = ()

    def on(self, line: int) -> str:
        """Return the outcome on the line of a number."""
        return self.outcomes[line] if line < len(self.outcomes) else ""


class Picture(Struct, frozen=True):
    """The drawing on each line as SVG without a style of its own; one alone before any rule is answered."""

    drawings: tuple[str, ...]
    lines: tuple[str, ...]
    best: int
    parts: tuple[DrawnPart, ...]
    """By row, as the drawing's pieces carry it."""


class Shown(Struct, frozen=True):
    """The one drawing that is shown, the line it is of and its number, and the part that is looked at, if any."""

    drawing: str
    line: str
    number: int
    parts: int
    sides: int
    part: DrawnPart | None
    row: int


def made(found: Found) -> Picture:
    """Return the drawings of what is known by now."""
    drawings = [report_svg(report, live=True) for report in found.reports]
    return Picture(
        tuple(without_style(d) for d in drawings or [board_svg(found.board, live=True, stacked=True)]),
        found.lines,
        found.best if found.reports else 0,
        _parts(found.board, found.reports),
    )


def without_style(drawing: str) -> str:
    """Return a drawing whose style the page has in a sheet (:func:`style_of_pictures`): its own would not be obeyed."""
    return with_own_ids(drawing.replace(f"<style>{PICTURE_STYLE}</style>", "", 1), _DRAWN)


def style_of_pictures() -> str:
    """Return the look of drawings, for drawings alone; their patterns are those of the board's picture."""
    look = f".drawing {{{PICTURE_STYLE}}} .overlay {{{DIFFERENCE_STYLES[1]}}}"
    return look.replace("url(#", f"url(#{_DRAWN}")


def with_own_ids(drawing: str, prefix: str) -> str:
    """Return a drawing whose ids begin with a *prefix*, for a page that has another one."""
    return re.sub(r'(\bid="|url\(#|href="#)(?=[\w-])', rf"\g<1>{prefix}", drawing).replace(
        'aria-labelledby="picture-title picture-desc"',
        f'aria-labelledby="{prefix}picture-title {prefix}picture-desc"',
    )


def _parts(board: Board, reports: tuple[Report, ...]) -> tuple[DrawnPart, ...]:
    places = board.placements
    names, bodies = [*board.types, PartName()], [*map(_body, board.bodies), ""]
    columns = [column.tolist() for column in (places.part_type, places.side, places.x_mm, places.y_mm)]
    results = [report.row_results() for report in reports]
    return tuple(
        DrawnPart(
            ref,
            names[kind].part_number,
            names[kind].value,
            names[kind].footprint,
            bodies[kind],
            str(Side(side)),
            (round(x, 3), round(y, 3)) if math.isfinite(x + y) else None,
            tuple(_WORDS.get(of[row].outcome, "") for of in results),
            tuple(", ".join(of[row].taken_by) for of in results),
        )
        for row, (ref, kind, side, x, y) in enumerate(zip(places.ref, *columns, strict=True))
    )


def _body(body: Body) -> str:
    """Return a body's size in mm as far as it is known, with the form of its leads."""
    sizes = [_mm(size) for size in (body.length, body.width, body.height)]
    return "" if not any(sizes) else f"{' × '.join(size or '?' for size in sizes)} mm"


def _mm(size: Measure) -> str:
    if not size.value.is_known:
        return ""
    low, high = f"{size.value.low:.4g}", f"{size.value.high:.4g}"
    return low if low == high else f"{low}–{high}"


def number_shown(seen: Seen, data: Picture) -> int:
    """Return the number of the line that is looked at, else of the one that suits the board best."""
    wanted = data.best if seen.line is None else seen.line
    return wanted if 0 <= wanted < len(data.drawings) else 0


def shown(seen: Seen, data: Picture | None) -> Shown | None:
    """Return the drawing of the line that is looked at, else of the one that suits the board best."""
    if data is None:
        return None
    number = number_shown(seen, data)
    row = next((row for row, part in enumerate(data.parts) if part.ref == seen.part), -1) if seen.part else -1
    drawing = data.drawings[number]
    return Shown(
        drawing,
        data.lines[number] if number < len(data.lines) else "",
        number,
        len(data.parts),
        drawing.count('class="side"'),
        data.parts[row] if row >= 0 else None,
        row,
    )


def parts_of_drawing(seen: Seen, data: Picture) -> list[tuple[str, ...]]:
    """Return, by row, what is found and told of each part on the line that is looked at.

    Each is reference, part number, value, footprint, body, side, outcome, and what places it.
    """
    line = number_shown(seen, data)
    return [
        (
            part.ref,
            part.part_number,
            part.value,
            part.footprint,
            part.body,
            part.side,
            part.on(line),
            part.machines[line] if line < len(part.machines) else "",
        )
        for part in data.parts
    ]


AREA: Final = Area("picture", "Picture", shown, Picture, made, ("read", "checked"))
