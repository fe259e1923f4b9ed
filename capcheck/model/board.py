"""A board as understood: outline, size, placements, parts with bodies, and what was inferred on the way."""

from __future__ import annotations

import enum
from collections.abc import Sequence
from typing import TYPE_CHECKING

from msgspec import Struct

from capcheck.model.parts import UNKNOWN_MEASURE, Body, BomLine, Measure, PartName, Placements
from capcheck.model.record import Decision, Discrepancy, InputFile, Note, ReadTable, Said, SetAside
from capcheck.model.stated import Manifest

if TYPE_CHECKING:
    from shapely import Polygon
    from shapely.geometry.base import BaseGeometry as Geometry
else:
    # Records are decoded by their annotations, and a board without an outline is read without shapely.
    Polygon = Geometry = object


class Placed(enum.Enum):
    """How the places of the parts came into the outline's frame."""

    AS_WRITTEN = enum.auto()
    SHIFTED = enum.auto()
    """By a shift, or a way of turning, that was inferred."""
    BY_HOLES = enum.auto()
    """Holes and marks of the two files coincide."""
    AS_STATED = enum.auto()
    """By board.toml."""


class Doubt(Struct, frozen=True):
    """Something drawn inside the contour that may be an opening: the *area* it may take, None where it is not known."""

    area: Geometry | None
    drawn: Said


class Outline(Struct, frozen=True):
    """The board's contour in mm.

    *polygon* has the cut-outs as interior rings; *holes* are round drills (x, y, diameter); *marks* are circles that
    may be fiducials (x, y, diameter); *doubts* may be openings or not.
    """

    polygon: Polygon
    holes: tuple[tuple[float, float, float], ...] = ()
    marks: tuple[tuple[float, float, float], ...] = ()
    source: Said | str = ""
    doubts: tuple[Doubt, ...] = ()


class BoardSize(Struct, frozen=True):
    """The board's box along its own x (*length*) and y (*width*), thickness and mass, each with its source."""

    length: Measure = UNKNOWN_MEASURE
    width: Measure = UNKNOWN_MEASURE
    thickness: Measure = UNKNOWN_MEASURE
    mass: Measure = UNKNOWN_MEASURE


class Board(Struct, frozen=True):
    """A board as understood: what `read_board` returns and every later step starts from."""

    name: str
    placements: Placements
    types: Sequence[PartName]
    bodies: Sequence[Body]
    """One for each of *types*."""
    bom: Sequence[BomLine] | None
    outline: Outline | None
    size: BoardSize
    manifest: Manifest
    """The board.toml, with defaults where there is none."""
    inputs: Sequence[InputFile] = ()
    notes: Sequence[Note] = ()
    decisions: Sequence[Decision] = ()
    set_aside: Sequence[SetAside] = ()
    discrepancies: Sequence[Discrepancy] = ()
    """Where the customer's files disagree."""
    tables: Sequence[ReadTable] = ()
    unit_settled: bool = True
    """False where the unit of the coordinates is open: what depends on distances is then held back."""
    sides_settled: bool = True
    """False where the side of a part is open."""
