"""The board's own size and mass: as stated, else as drawn, else as far as the placements and parts bound them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Final

import numpy as np
from msgspec.structs import replace

from capcheck.geometry import bare_mass, board_area
from capcheck.intake import Package
from capcheck.lexicon import sentence
from capcheck.model import UNKNOWN_MEASURE, Basis, Board, BoardSize, Body, Measure, Note, Outline, say, stepping
from capcheck.values import UNKNOWN_SIZE, Interval, Place, total

if TYPE_CHECKING:
    from capcheck.model import PanelSource

FR4_DENSITY: Final = Interval(1.7e-3, 2.1e-3)
"""Density of glass-epoxy board in g/mm³ (1.85 nominal; handbook value, from memory), with copper on it."""
_SAME_SIZE_MM: Final = 0.5
"""A stated size and a drawn one that differ by no more are one: a contour may follow the middle of a wide line."""


def board_size(package: Package | Board, bodies: Sequence[Body]) -> tuple[BoardSize, list[Note]]:
    """Return the board's box, thickness and mass: as stated, else from the outline, else as far as bounded.

    Without an outline the placements bound the board from below only. A note tells where board.toml and the outline
    contradict each other: then either counts.
    """
    manifest = package.manifest
    outline = package.outline
    length, width = _box(outline) if outline is not None else _spread(package)
    drawn = outline is not None and manifest.panel is None
    notes: list[Note] = []
    if manifest.length is not None:
        length = _stated("length", manifest.length, length if drawn else None, notes)
    if manifest.width is not None:
        width = _stated("width", manifest.width, width if drawn else None, notes)
    if manifest.panel is not None:
        # What is stated is one circuit; the machines carry the panel.
        length, width = _panel(outline, length, width, manifest.panel)
    thickness = UNKNOWN_MEASURE
    if manifest.thickness is not None:
        thickness = Measure(Interval.exactly(manifest.thickness), Basis.STATED, "board.toml thickness")
    elif outline is not None and outline.thickness_mm is not None:
        thickness = Measure(Interval.exactly(outline.thickness_mm), Basis.STATED, outline.thickness_from)
    return BoardSize(length, width, thickness, _mass(package, bodies, length, width, thickness)), notes


def with_thickness(board: Board, thickness: Measure) -> Board:
    """Return the board of another thickness, with the mass that follows from it."""
    size = board.size
    mass = _mass(board, board.bodies, size.length, size.width, thickness)
    return replace(board, size=BoardSize(size.length, size.width, thickness, mass))


def _stated(side: str, value_mm: float, drawn: Measure | None, notes: list[Note]) -> Measure:
    """Return a size that board.toml states; where the outline says otherwise, all from the one to the other."""
    stated = Interval.exactly(value_mm)
    if drawn is None or abs(drawn.value.middle - value_mm) <= _SAME_SIZE_MM:
        return Measure(stated, Basis.STATED, f"board.toml {side}")
    sizes = say("checking.two sizes", side=side, stated=value_mm, drawn=drawn.value.middle)
    notes.append(Note(say("checking.either counts", sizes=sizes), Place("board.toml")))
    return Measure(stated.hull(drawn.value), Basis.STATED, sentence(sizes))


def _panel(outline: Outline | None, length: Measure, width: Measure, panel: PanelSource) -> tuple[Measure, Measure]:
    """Return the size of the whole panel: of its outline, else stepped from the circuit's stated size."""
    if outline is not None:
        return _box(outline)
    if not (length.value.is_exact and width.value.is_exact):
        return _at_least(length.value.low), _at_least(width.value.low)
    left, low, right, high = stepping((0.0, 0.0, length.value.low, width.value.low), panel).box
    return (
        Measure(Interval.exactly(round(right - left, 3)), Basis.STATED, f"{length.source} and panel"),
        Measure(Interval.exactly(round(high - low, 3)), Basis.STATED, f"{width.source} and panel"),
    )


def _spread(package: Package | Board) -> tuple[Measure, Measure]:
    """Return the box around the placements' centres as the least size of the board, along x and y."""
    placements = package.placements
    places = np.column_stack([placements.x_mm, placements.y_mm])[placements.is_part]
    places = places[np.isfinite(places).all(axis=1)]
    if not package.unit_settled or not len(places):
        return UNKNOWN_MEASURE, UNKNOWN_MEASURE
    along_x, along_y = np.ptp(places, axis=0).tolist()
    return _at_least(along_x), _at_least(along_y)


def _at_least(side_mm: float) -> Measure:
    return Measure(Interval(round(side_mm, 3), math.inf), Basis.BOUND, "at least the spread of the placements")


def _box(outline: Outline) -> tuple[Measure, Measure]:
    left, low, right, high = outline.polygon.bounds
    return (
        Measure(Interval.exactly(round(right - left, 3)), Basis.STATED, sentence(outline.source)),
        Measure(Interval.exactly(round(high - low, 3)), Basis.STATED, sentence(outline.source)),
    )


def _mass(
    package: Package | Board, bodies: Sequence[Body], length: Measure, width: Measure, thickness: Measure
) -> Measure:
    manifest = package.manifest
    if manifest.mass is not None:
        return Measure(Interval.exactly(manifest.mass), Basis.STATED, "board.toml mass")
    density = FR4_DENSITY if manifest.density is None else Interval.exactly(manifest.density)
    polygon = None if package.outline is None else package.outline.polygon
    bare = bare_mass(board_area(polygon, length.value, width.value), thickness.value, density)
    parts = _mass_of_parts(package, bodies)
    total = Interval(bare.low + parts.low, bare.high + parts.high)
    if total == UNKNOWN_SIZE:
        return UNKNOWN_MEASURE
    return Measure(total, Basis.BOUND, "area × thickness × density, and the masses of the parts as far as known")


def _mass_of_parts(package: Package | Board, bodies: Sequence[Body]) -> Interval:
    placements = package.placements
    types = placements.part_type[placements.is_part]
    known = [bodies[t].mass for t in types.tolist() if t >= 0]
    return total(known)
