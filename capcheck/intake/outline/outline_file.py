"""A board's outline from a DXF or Gerber file: contour, cut-outs, holes and possible marks, in mm.

Every choice on the way is a decision with its evidence: which contour is the board, and what the drawing's unit is.
"""

from __future__ import annotations

import re
from pathlib import Path
from typing import Final, Literal

import numpy as np
from msgspec import Struct

from capcheck.intake.outline.drawing import Drawing, outline_unit
from capcheck.model import Decision, Floats, Note, Outline
from capcheck.values import InputError, pattern


class OutlineOptions(Struct, frozen=True):
    """What the user states of the outline: *layer*, *unit* (mm, inch, mil, cm, µm), the widest gap that is closed."""

    layer: str | None = None
    unit: str | None = None
    tolerance_mm: float | None = None


class OutlineReading(Struct, frozen=True):
    """An outline as understood, with what was decided on the way; *unit* is the drawing's."""

    outline: Outline
    decisions: tuple[Decision, ...]
    notes: tuple[Note, ...]
    unit: str


_BINARY_DXF: Final = pattern(rb"[A-Za-z ]{1,30}Binary DXF\r\n\x1a\x00")
_TEXT_DXF: Final = pattern(rb"\s*(?:999\s*\r?\n[^\n]*\n\s*)*0\s*\r?\n\s*SECTION\b", re.IGNORECASE)
_GERBER: Final = pattern(rb"%\s*FS[LTD]?[AI]?X\d\dY\d\d|%\s*MO(?:MM|IN)\s*\*|%ADD\d+[A-Z]")
_FUNCTION: Final = pattern(rb"TF\.FileFunction,\s*([A-Za-z]+)")


def is_outline_file(head: bytes) -> Literal["dxf", "gerber"] | None:
    """Return the format of a file that begins with *head*, if an outline can be read from it; by content alone.

    A Gerber file that says it is another layer than the profile is none.
    """
    head = head.removeprefix(b"\xef\xbb\xbf")
    if _BINARY_DXF.match(head) or _TEXT_DXF.match(head):
        return "dxf"
    if _GERBER.search(head):
        function = _FUNCTION.search(head)
        return "gerber" if function is None or function[1].lower() == b"profile" else None
    return None


def read_outline(
    path: Path,
    options: OutlineOptions,
    expected_points: Floats | None = None,
    *,
    unscaled_points: Floats | None = None,
) -> OutlineReading:
    """Read the board's outline from the DXF or Gerber file at *path*.

    *expected_points*, n × 2 in mm, are the placements, where their unit is known: evidence for the unit and the
    contour, whether they share the outline's origin or not. *unscaled_points* are placements whose unit nobody states:
    they tell an outline's unit only so far as some unit of theirs must fill the board.

    Raises :class:`InputError` with the position: a file that cannot be read, no closed contour, one that crosses
    itself or has no area, two boards.
    """
    unit = None
    if options.unit is not None:
        unit = outline_unit(options.unit)
        if unit is None:
            known = "mm, cm, inch, mil, µm"
            raise InputError.at(
                str(path), f'"{options.unit}" is not a unit for an outline', remedy=f"use one of {known}"
            )
    drawing = _read_drawing(path, unit)
    if not drawing.strokes and not drawing.circles:
        raise InputError.at(
            str(path),
            "nothing in it can be a contour",
            "there are no lines, arcs, polylines or curves",
            "export the board's outline as lines",
        )
    from capcheck.intake.outline.board_shape import OutlineReader  # shapely costs 0.1 s, and not every command needs it

    points, unscaled = _finite(expected_points), _finite(unscaled_points)
    reader = OutlineReader(drawing, options.layer, options.tolerance_mm, points, unscaled)
    outline, decisions, notes, found = reader.read(unit)
    return OutlineReading(outline, decisions, notes, found)


def _finite(points: Floats | None) -> Floats | None:
    if points is None:
        return None
    points = np.asarray(points, dtype=np.float64).reshape(-1, 2)
    return points[np.isfinite(points).all(axis=1)]


def _read_drawing(path: Path, unit: str | None) -> Drawing:
    try:
        with path.open("rb") as stream:
            head = stream.read(65536)
    except OSError as error:
        raise InputError.at(
            str(path), f"it cannot be opened ({error.strerror})", remedy="check the path of the outline"
        ) from error
    form = is_outline_file(head)
    gerber_like = _GERBER.search(head) is not None or (form is None and b"D02*" in head)
    if form == "gerber" or gerber_like:
        from capcheck.intake.outline.gerber import read_gerber

        return read_gerber(path)
    from capcheck.intake.outline.dxf import read_dxf

    return read_dxf(path, unit)
