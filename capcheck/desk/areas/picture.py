"""The board as a drawing, both sides, with what the rules of the line that is looked at object to."""

from __future__ import annotations

from typing import Final

from msgspec import Struct

from capcheck.desk.areas.area import Area, Found, Seen
from capcheck.report import PICTURE_STYLE, board_svg, report_svg


class Picture(Struct, frozen=True):
    """The drawing on each line as SVG without a style of its own; one alone before any rule is answered."""

    drawings: tuple[str, ...]
    lines: tuple[str, ...]
    best: int
    refs: tuple[str, ...]
    """Designator by row, as the drawing's pieces carry it."""


class Shown(Struct, frozen=True):
    """The one drawing that is shown, the line it is of, and designators by row."""

    drawing: str
    line: str
    refs: tuple[str, ...]


def made(found: Found) -> Picture:
    """Return the drawings of what is known by now."""
    drawings = [report_svg(report, live=True) for report in found.reports]
    return Picture(
        tuple(_without_style(d) for d in drawings or [board_svg(found.board, live=True, stacked=True)]),
        found.lines,
        found.best if found.reports else 0,
        tuple(found.board.placements.ref),
    )


def _without_style(drawing: str) -> str:
    """Return a drawing whose style the page has in a sheet: its own would not be obeyed."""
    return drawing.replace(f"<style>{PICTURE_STYLE}</style>", "", 1)


def shown(seen: Seen, data: Picture | None) -> Shown | None:
    """Return the drawing of the line that is looked at, else of the one that suits the board best."""
    if data is None:
        return None
    wanted = data.best if seen.line is None else seen.line
    number = wanted if 0 <= wanted < len(data.drawings) else 0
    return Shown(data.drawings[number], data.lines[number] if number < len(data.lines) else "", data.refs)


AREA: Final = Area("picture", "Picture", shown, Picture, made, ("read", "checked"))
