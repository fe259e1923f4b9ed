"""Parts as tables: placements, BOM lines, what names a type of part, and its body with the source of each number.

Placements are columns, not objects: 100,000 of them are read and checked in well under a second. Every row keeps
its file and row. Lengths are mm, angles degree, masses gram.
"""

from __future__ import annotations

import enum
from collections.abc import Mapping, Sequence
from typing import Final, Literal

import numpy as np
from msgspec import Struct, field
from msgspec.structs import replace
from numpy.typing import NDArray

from capcheck.model.families import Family
from capcheck.model.forms_of_parts import LeadStyle, Mounting, Packaging
from capcheck.model.record import Said
from capcheck.values import UNKNOWN_SIZE, Interval, Place

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Codes = NDArray[np.int8]
Flags = NDArray[np.bool_]


class Side(enum.IntEnum):
    """The side of the board a part sits on, as a code in :attr:`Placements.side`."""

    UNKNOWN = -1
    TOP = 0
    BOTTOM = 1

    def __str__(self) -> str:
        """Return the word that reports print."""
        return self.name.lower()


class Kind(enum.IntEnum):
    """What a row of the placement data stands for, as a code in :attr:`Placements.kind`."""

    PART = 0
    FIDUCIAL = 1
    MECHANICAL = 2
    """Holes, test points, logos: nothing is placed there."""

    def __str__(self) -> str:
        """Return the word that reports print."""
        return self.name.lower()


class Basis(enum.StrEnum):
    """How a number about a part came to be known, best first."""

    STATED = "stated"
    LIBRARY = "shop library"
    ASSUMED = "assumed by the shop"
    DECODED = "decoded from a name"
    PUBLISHED = "published outline"
    BOUND = "bound of the family"
    TYPICAL = "typical, not proved"
    UNKNOWN = "unknown"


class Measure(Struct, frozen=True):
    """An interval with how it is known and where it comes from."""

    value: Interval = UNKNOWN_SIZE
    basis: Basis = Basis.UNKNOWN
    source: str = ""

    @property
    def low(self) -> float:
        """The least value possible."""
        return self.value.low

    @property
    def high(self) -> float:
        """The greatest value possible."""
        return self.value.high

    @property
    def proved(self) -> Measure:
        """The measure as far as it may decide anything: a typical value proves nothing and is unknown here."""
        return UNKNOWN_MEASURE if self.basis is Basis.TYPICAL else self


UNKNOWN_MEASURE: Final = Measure()


class Placements(Struct, frozen=True):
    """The rows of the placement data as columns of equal length *n*, in the files' order.

    *x_mm*, *y_mm* and *rotation_deg* (0 to 360, counter-clockwise, as stated for the part's own side) are NaN where
    unknown. *side* holds :class:`Side` codes and *kind* :class:`Kind` codes. *file* indexes *files*; *row* is the row
    in that file, counted from 1. *bom_line* indexes the BOM's lines, −1 where there is none. *part_type* indexes
    the part types (:class:`PartName`), −1 for rows that are not parts.
    """

    ref: Sequence[str]
    x_mm: Floats
    y_mm: Floats
    rotation_deg: Floats
    side: Codes
    kind: Codes
    fitted: Flags
    file: Ints
    row: Ints
    bom_line: Ints
    part_type: Ints
    files: Sequence[str]
    place_open: Flags | None = None
    """Rows of which it is open where they lie, though a file states it; None where none is."""
    pin_1_at: Floats | None = None
    """Where pad 1 lies from the centre at 0°, shape (n, 2): −1 left or below, 0 between, 1 right or above; NaN where
    no file shows it, and None where none shows any."""
    test_lands: Mapping[int, str] = field(default_factory=dict)
    """The rows that are test points, with what their footprint is called, or their value; blank where nothing is."""

    def __len__(self) -> int:
        return len(self.ref)

    def place(self, i: int) -> Place:
        """Return where placement *i* stands."""
        return Place(self.files[int(self.file[i])], int(self.row[i]))

    @property
    def is_part(self) -> Flags:
        """Rows that a machine or a hand must place: parts that are fitted."""
        parts: Flags = (self.kind == Kind.PART) & self.fitted
        return parts


UNREAD_SIZE: Final = "unread"
"""The key of a size that a row states and that nobody could read: then nothing is proved of the body."""


def unread(size: str) -> str:
    """Return the key of one *size*, such as ``height``, that a row states and that proves nothing as it is written."""
    return f"{UNREAD_SIZE} {size}"


def about(size: str) -> str:
    """Return the key beside a *size* that a row states with room: somebody has to say the limit."""
    return f"about {size}"


def in_some_unit(size: str) -> str:
    """Return the key beside a *size* that holds in one of several units: its ends are what the least and greatest make.

    Another source that lies between them says nothing of which is meant.
    """
    return f"in some unit {size}"


class PartName(Struct, frozen=True):
    """All that the data say about one type of part: the key by which its body is looked up.

    Texts are as the customer wrote them, stripped; empty where nothing is stated. *dimensions* are the columns of
    the BOM or placement file that state a size (``length``, ``width``, ``height``, ``mass``, ``pitch``, ``pins`` …),
    in canonical units, each with the place it was read from.
    """

    part_number: str = ""
    footprint: str = ""
    value: str = ""
    description: str = ""
    bom_package: str = ""
    ref_prefix: str = ""
    dimensions: Mapping[str, tuple[Interval, str]] = field(default_factory=dict)
    other_dimensions: tuple[Mapping[str, tuple[Interval, str]], ...] = ()
    """What other sources state: the placement file beside the BOM, another row or a list of the same part number."""
    figures: tuple[tuple[str, float, str], ...] = ()
    """Numbers below titles of which nothing says what they count: the title, the number and its place."""
    where: str = ""
    mountings: tuple[tuple[str, str], ...] = ()
    """The cells of the columns that say how the part is mounted, each with the place it was read from."""
    joints: tuple[tuple[Mounting, str], ...] = ()
    """How all joints of the part are made, each with the place where a file of fabrication states its lands."""
    drawn: tuple[tuple[float, float, str], ...] = ()
    """The sides in mm, longer and shorter, of outlines that files of fabrication draw of its package, with their
    places: the body is no larger."""
    mounted: Mounting | None = None
    """How board.toml says that the part is mounted; it settles what the sources dispute."""
    others: tuple[PartName, ...] = ()
    """The same part as further lines of the BOM name it; any of them may be the right one."""
    reference: str = ""
    """The reference by which a row of the shop's library names the part; empty where none does."""
    supply: tuple[str, str] = ("", "")
    """What a column says the part is supplied in, with its place; blank where none does."""
    doubt: str = ""
    """The row whose columns may have shifted; empty where none has. What is said of the part then proves nothing."""

    def __hash__(self) -> int:
        # Dimensions are compared, but need no part in a hash: two rows of one type rarely state different ones.
        return hash((self.part_number, self.footprint, self.value, self.description, self.bom_package))


class BomLine(Struct, frozen=True):
    """One line of the bill of materials, with its references expanded."""

    refs: tuple[str, ...]
    part_number: str = ""
    value: str = ""
    description: str = ""
    package: str = ""
    quantity: float | None = None
    fitted: bool = True
    dimensions: Mapping[str, tuple[Interval, str]] = field(default_factory=dict)
    figures: tuple[tuple[str, float], ...] = ()
    """Numbers below titles of which nothing says what they count."""
    file: str = ""
    row: int = 0
    sheet: str | None = None
    stated_fitted: bool = False
    """Whether a cell of the fitted column says that the line is fitted."""
    doubtful: bool = False
    """Whether the columns of its row may have shifted."""
    contradicted: bool = False
    """Whether a text of the line says not fitted although the fitted column says fitted."""
    mounting: str = ""
    """How the part is mounted, in the file's words."""
    supply: str = ""
    """What the part is supplied in, likewise."""
    asked: Said | str = ""
    """Why it is open whether its row counts: struck through, hidden, below a heading of a variant."""
    by_hand: str = ""
    """The text that says that the part is fitted by hand."""
    provided: str = ""
    """The text that says that the customer provides the part."""
    maker: str = ""
    """Who makes the part, in the file's words."""
    cells: Mapping[str, str] = field(default_factory=dict)
    """The texts of its row by the titles of their columns, as they stand in the file."""
    side: Side | None = None
    """On which side the list says that the part lies."""

    def agrees_with(self, other: BomLine, *, in_full: bool = False) -> bool:
        """Whether another line says the same of a part, as far as both state it; *in_full* in words too.

        Sizes agree only where the other line states each of this one's as well.
        """
        texts = [(self.part_number, other.part_number), (self.value, other.value), (self.mounting, other.mounting)]
        if in_full:
            texts += [(self.package, other.package), (self.description, other.description)]
        sizes = {key: size for key, (size, _) in other.dimensions.items()}
        return (
            self.fitted == other.fitted
            and all(not a or not b or a.casefold() == b.casefold() for a, b in texts)
            and all(sizes.get(key) == size for key, (size, _) in self.dimensions.items())
        )

    @property
    def place(self) -> Place:
        """Where the line stands."""
        return Place(self.file, self.row, sheet=self.sheet or None)


class PossibleBody(Struct, frozen=True):
    """One of several bodies that a name may mean: its name, its longer and shorter side in mm, and the nominal ones."""

    name: str
    length: Interval
    width: Interval
    nominal: tuple[float, float]


_ABOUT_BODIES: Final = frozenset(
    {"body_from", "conflicts", "misfits", "of_records", "disputed", "questions", "may_be", "no_room"}
)
"""Fields of a body that tell of its sources."""


class Body(Struct, frozen=True):
    """The body of a type of part, each number with its source.

    *length* is along the part's own x at 0 degrees only where *oriented* is True; otherwise length is the longer
    side and the two may be exchanged.

    *nominal_length* and *nominal_width* are sizes by code or name, without tolerance: limits that the trade quotes
    by nominal size are compared with them. Texts are None where unknown; *pins* and the rest likewise.
    """

    length: Measure = UNKNOWN_MEASURE
    width: Measure = UNKNOWN_MEASURE
    height: Measure = UNKNOWN_MEASURE
    nominal_length: Measure = UNKNOWN_MEASURE
    nominal_width: Measure = UNKNOWN_MEASURE
    oriented: bool = False
    longer_taken_along: Literal["x", "y"] | None = None
    """Where *oriented* is False, the part's own axis along which the longer side is drawn and counted to lie.

    It rests on the neighbours' nominal sizes and proves nothing: no limit is judged by it.
    """
    centred: bool = True
    """Whether its middle lies at the placement's coordinates; a connector's may be those of its contacts."""
    span: Measure = UNKNOWN_MEASURE
    """Over the leads, across the body (the larger of two where they differ)."""
    pitch: Measure = UNKNOWN_MEASURE
    """Least distance between the centres of neighbouring leads or balls."""
    ball_diameter: Measure = UNKNOWN_MEASURE
    lead_width: Measure = UNKNOWN_MEASURE
    lead_length: Measure = UNKNOWN_MEASURE
    """How far leads or pegs reach below the body, into holes of the board."""
    force_needed: Measure = UNKNOWN_MEASURE
    """Force in newton with which it has to be pressed in."""
    force_allowed: Measure = UNKNOWN_MEASURE
    """Greatest force in newton that it bears when placed."""
    mass: Measure = UNKNOWN_MEASURE
    pins: int | None = None
    mounting: Mounting | None = None
    lead_style: LeadStyle | None = None
    family: str | None = None
    """Readable name of the package, such as ``SOIC-8`` or ``chip 1005M``."""
    family_key: Family | None = None
    """The family by which bounds, density, tape and tray are chosen."""
    part_class: str | None = None
    """The class of parts known by their names, such as ``key switch``; None where none is named."""
    hidden_joints: bool | None = None
    polarised: bool | None = None
    supply: Packaging | None = None
    supply_is_usual: bool = False
    """Whether nobody states the packaging, so that it is the one usual for such a body."""
    tape_width: Measure = UNKNOWN_MEASURE
    tape_pitch: Measure = UNKNOWN_MEASURE
    pocket_depth: Measure = UNKNOWN_MEASURE
    """Depth of the tape's pocket; unknown where only the part's height bounds it."""
    reel: Measure = UNKNOWN_MEASURE
    """Outer diameter of the reel."""
    parts_per_reel: int | None = None
    """Parts on a reel, in a tray or in a stick."""
    lost_per_thousand: int | None = None
    """Parts that the machines lose of a thousand that are placed, as the shop states for the part number."""
    nozzle: str | None = None
    """The kind of nozzle that picks it, by the shop's name."""
    body_from: str = ""
    """One line: what the body was taken from."""
    conflicts: tuple[Said, ...] = ()
    """Sources that disagree, each with both and their places."""
    misfits: tuple[Said, ...] = ()
    """Those of the conflicts in which the footprint, the land pattern drawn, stands against another source."""
    of_records: tuple[Said, ...] = ()
    """Those of the conflicts in which a list of the shop's stands against its store: no customer knows of either."""
    disputed: tuple[str, ...] = ()
    """The fields that sources differ on and nobody has settled; ``body`` for length and width."""
    questions: tuple[Said, ...] = ()
    """What would settle an ambiguous name; ``settle`` among the values is how the shop does so in its own files."""
    may_be: tuple[PossibleBody, ...] = ()
    """The bodies that length and width are the hull of; empty where they are of one."""
    no_room: tuple[Said, ...] = ()
    """Which of these would reach into a neighbour, and are less likely; every limit is judged by the hull."""

    @property
    def figures(self) -> tuple[object, ...]:
        """What is known of the body itself, without where it was found: bodies of equal figures are one."""
        own = (getattr(self, name) for name in self.__struct_fields__ if name not in _ABOUT_BODIES)
        return tuple((one.value, one.basis) if isinstance(one, Measure) else one for one in own)

    def lying(self, *, along_y: bool) -> Body:
        """Return the body with its longer side along its own x at 0 degrees, or along y: *length* is along x."""
        if not along_y:
            return replace(self, oriented=True)
        return replace(
            self,
            oriented=True,
            length=self.width,
            width=self.length,
            nominal_length=self.nominal_width,
            nominal_width=self.nominal_length,
        )

    @property
    def conflicts_of_texts(self) -> tuple[Said, ...]:
        """The conflicts in which neither the land pattern has a part nor the shop's own records differ."""
        return tuple(said for said in self.conflicts if said not in (*self.misfits, *self.of_records))
