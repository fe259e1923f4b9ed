"""Lands as data: openings of layers, drilled holes, how layers lie to the placements, and which lands are whose."""

from __future__ import annotations

import enum
from collections.abc import Mapping
from pathlib import Path
from typing import Final, Literal, Protocol

import numpy as np
from msgspec import Struct, field
from msgspec.structs import replace

from capcheck.model.parts import Floats, Ints, Kind

LayerSide = Literal["top", "bottom"]


class LayerKind(enum.StrEnum):
    """What a layer shows; the value is what reports call it."""

    COPPER = "copper"
    MASK = "mask"
    PASTE = "paste"
    LEGEND = "legend"
    """What is printed on the mask; looked at around fiducials only."""


LAYERS_OF_LANDS: Final = (LayerKind.MASK, LayerKind.PASTE, LayerKind.COPPER)
"""The layers that show lands, those that show them best first."""


class LayerFile(Struct, frozen=True):
    """A Gerber file with what it shows and its side; None and blank where nothing tells yet."""

    file: Path
    kind: LayerKind | None = None
    side: str = ""
    stated: bool = False
    """Whether the file itself says so, or board.toml."""
    by_entry: bool = False
    """Whether board.toml says so: that goes before what other files say of themselves."""
    frame: str = ""
    """The frame that it states: project, day and origin, alike in all files of a set; blank where it states none."""


class Openings(Struct, frozen=True):
    """The openings of a layer, one a row: *box* (n, 4) is x and y at least and at most, in mm.

    *area* is without panes, *around* the length of the outer line and of those of the panes. *rings* are the outer
    lines, *x0, y0, x1, y1 …*. *strokes* counts what is drawn with lines: tracks, or texts, or painted openings.
    """

    box: Floats
    area: Floats
    around: Floats
    rings: list[list[float]]
    flashed: int = 0
    strokes: int = 0
    regions: int = 0

    def __len__(self) -> int:
        return len(self.rings)


class Holes(Struct, frozen=True):
    """Holes and the middles of slots: *at* (n, 2) and *diameter* in mm; *plated* is 1, 0, or NaN where nothing says.

    *are_all* says that no drill file was left unread: where it is not so, a land without a hole may have one.
    """

    at: Floats
    diameter: Floats
    plated: Floats
    are_all: bool = True

    def __len__(self) -> int:
        return len(self.at)

    def shifted(self, shift: tuple[float, float]) -> Holes:
        """Return the holes moved by *shift* in mm."""
        return self if shift == (0.0, 0.0) else replace(self, at=self.at + np.array(shift))


class Registered(Struct, frozen=True):
    """How a side's lands lie to its placements: *shift* in mm is added to the lands, *match* is of *judged* parts."""

    shift: tuple[float, float]
    match: float
    judged: int


class Layers(Protocol):
    """The layers of a board that lie on its placements; openings are read when they are asked for."""

    registered: dict[str, Registered]

    def openings(self, kind: LayerKind, side: str, *, whole: bool | None = None) -> Openings | None:
        """Return the openings of a layer in the placements' frame; None where there is none, or it does not lie so."""
        ...

    def holes(self, side: str) -> Holes:
        """Return the drilled holes in the frame of a side's placements."""
        ...

    def file_of_lands(self) -> dict[str, str]:
        """Return the name of the file that shows the lands of each side that lies on its placements."""
        ...

    def kind_of_lands(self, side: str) -> LayerKind | None:
        """Return which layer shows the lands of a side: mask, else paste, else copper."""
        ...


class OtherPlaces(Struct, frozen=True):
    """Where another file, or the columns *titles* of the same, puts placements: *rows*, (n, 2) *here* and *there*."""

    file: str
    titles: tuple[str, ...]
    rows: Ints
    here: Floats
    there: Floats


class How(enum.StrEnum):
    """By what it is known which lands are a part's."""

    PAIR = "two lands of one size, in whose middle it lies"
    COUNTED = "as many lands lie evenly around it as it has pins"
    REPEATED = "all instances of its footprint have them in common"
    OFF_CENTRE = "two lands of one size beside whose middle it lies"


class PartLands(Struct, frozen=True):
    """The lands of one placement: their numbers in the layer of the side, and what they measure.

    *gap_mm* and *extent_mm* are the distance of the inner and of the outer edges of two lands, *along_y* whether these
    lie along the part's own y axis at 0 degrees; None where it has more, or the layer is paste, whose openings are
    smaller than lands. *in_holes* is True where every land has a lead's hole in its middle, False where none has a
    hole, None else, or where there is no drill file. *has_paste* is None where there is no layer of paste.
    """

    side: str
    lands: tuple[int, ...]
    how: How
    middle: tuple[float, float]
    offset: tuple[float, float] = (0.0, 0.0)
    """From the stated place to the middle of two lands, in mm, in the part's own frame at 0 degrees."""
    pitch: tuple[float, float] | None = None
    gap_mm: float | None = None
    extent_mm: float | None = None
    across_mm: float | None = None
    """How far two lands span across the line through both."""
    along_y: bool | None = None
    in_holes: bool | None = None
    has_paste: bool | None = None
    thermal: bool | None = None
    vias: int | None = None
    """Holes in its lands that are no lead's; those of a land in the middle of the others do not count."""


class Mark(Struct, frozen=True):
    """A circle of copper on a *side* that is a fiducial, or may be one: its place and size in mm.

    *opening_mm* is how wide the mask leaves it free, None without a mask. *certain* is False where too little proves
    that it is a fiducial; what placements or board.toml list is certain.
    """

    x_mm: float
    y_mm: float
    side: LayerSide
    diameter_mm: float
    opening_mm: float | None = None
    ring: tuple[float, float] | None = None
    """Least and greatest width in mm around it that neither mask nor other copper reaches into; None if not known."""
    certain: bool = True
    listed: bool = False
    """Whether placements or board.toml list a fiducial there."""
    file: str = ""
    """The name of the layer of copper that shows it."""
    kind: Kind = Kind.FIDUCIAL
    """``MECHANICAL`` for a hole that a board may be held by."""


class BoardLands(Struct, frozen=True):
    """The lands of a board's placements, by their rows, and the layers that they are of."""

    of: Mapping[int, PartLands]
    layers: Layers
    free: Mapping[str, Ints] = field(default_factory=dict)
    """The lands of each side that are no part's for certain."""
    file_of: Mapping[str, str] = field(default_factory=dict)
    """The name of the file that shows the lands of each side."""
    turned: frozenset[int] = frozenset()
    """Rows of two-land parts whose lands lie along another own axis than those of the others of their footprint."""
    marks: tuple[Mark, ...] = ()
    """The fiducials that the layers show, and circles that may be some; none where no rule asks for fiducials."""
    tooling: tuple[Mark, ...] = ()
    """Holes without metal near an edge that the board may be held by."""
