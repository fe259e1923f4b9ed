"""The board's contour, its openings and what may be one. The process that reads drawings makes these records."""

from __future__ import annotations

import enum
from typing import TYPE_CHECKING, Final

from msgspec import Struct

from capcheck.model.record import Said

if TYPE_CHECKING:
    from shapely import Polygon
    from shapely.geometry.base import BaseGeometry as Geometry
else:
    # Records are decoded by their annotations, and a board without an outline is read without shapely.
    Polygon = Geometry = object


LARGEST_SCREW_HOLE_MM: Final = 6.6
"""Clearance hole of an M6 screw (ISO 273, medium): a round opening that is larger is a cut-out; common practice."""


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
    round_hole: bool = False
    """Whether it is a circle that a screw or a pin could fill."""


class HoleUse(enum.StrEnum):
    """What a hole is for, where the form of the file has a place for it."""

    TOOLING = "tooling"
    MOUNTING = "mounting"
    NOT_SAID = "not said"


class StatedHole(Struct, frozen=True):
    """A hole as a file states it, in mm; *plated* tells whether it has metal. Those of leads and vias are left out."""

    x_mm: float
    y_mm: float
    diameter_mm: float
    plated: bool
    use: HoleUse = HoleUse.NOT_SAID


class Outline(Struct, frozen=True):
    """The board's contour in mm.

    *polygon* has the cut-outs as interior rings; *holes* are round drills (x, y, diameter); *marks* are circles that
    may be fiducials (x, y, diameter); *doubts* may be openings or not. *rival* is the contour that is the board's edge
    if *polygon* is not, where that is open. *thickness_mm* is the board's, where the form of the file has a place for
    it; *thickness_from* says where it stands. *stated_holes* are those of a form that says which are plated.
    """

    polygon: Polygon
    holes: tuple[tuple[float, float, float], ...] = ()
    marks: tuple[tuple[float, float, float], ...] = ()
    source: Said | str = ""
    doubts: tuple[Doubt, ...] = ()
    rival: Polygon | None = None
    thickness_mm: float | None = None
    thickness_from: str = ""
    stated_holes: tuple[StatedHole, ...] = ()
