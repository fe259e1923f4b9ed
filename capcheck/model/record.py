"""What reading a customer's files leaves on record, as data: the report makes the sentences.

A record names a :class:`Topic` and a :class:`Place`; what it says is a :class:`Said`, the key of a sentence and the
values that stand in it. Whoever needs to know what a record is about asks its topic, never its words.
"""

from __future__ import annotations

import enum
from collections.abc import Mapping
from typing import Final, Literal

from msgspec import Struct, field

from capcheck.values import Place


class Topic(enum.StrEnum):
    """What a decision or a discrepancy is about. The value is the readable name that reports and rules use."""

    UNIT = "unit"
    SIDE = "side"
    BOTTOM_SIDE = "bottom side"
    """Whether x of the bottom side is written mirrored."""
    ORIGIN = "origin"
    Y_AXIS = "y axis"
    ROTATION = "rotation"
    PANEL = "panel"
    VARIANT = "variant"
    """Which column says what is fitted."""
    PART_NUMBER = "part number"
    """Which column holds the numbers by which parts are looked up."""
    PLACEMENTS = "placements"
    """Which file holds the placements."""
    BOM = "BOM"
    OUTLINE = "outline"
    OUTLINE_UNIT = "outline unit"
    OUTLINE_CONTOUR = "outline contour"
    DRAWN_INSIDE = "drawn inside the contour"
    """What the drawing holds inside the contour that is no opening for certain."""
    STATED_IN_DRAWING = "stated in the drawing"
    """A dimension or a text of the drawing that its own lines, or board.toml, contradict."""
    ORIENTATION_X = "orientation along x"
    """That bodies lie along their own x at 0 degrees."""
    ORIENTATION_Y = "orientation along y"
    SIZE_UNIT = "unit of sizes"
    """The unit of parts' sizes in columns that name none."""

    SIDE_UNKNOWN = "side unknown"
    NO_POSITION = "no position"
    PART_OR_NOT = "part or not"
    """Whether a row that is bought, and whose texts name a feature of the board, is a part."""
    NOT_IN_BOM = "not in BOM"
    NOT_PLACED = "not placed"
    """In the BOM but not in the placements."""
    FITTED_OR_NOT = "fitted or not"
    FITTED_AGAINST_A_TEXT = "fitted against a text"
    ON_TWO_BOM_LINES = "on two BOM lines"
    ROW_IN_QUESTION = "row in question"
    """A row that is read and may not count: struck through, hidden, below a heading of a variant."""
    BY_HAND = "by hand"
    """A part with coordinates of which a text says that it is fitted by hand."""
    LEFT_OUT = "row left out"
    """A row that is set aside and reads like a part."""
    NO_REFERENCE = "no reference"
    """A line of the BOM that buys something for no reference."""
    QUANTITY = "quantity"
    QUANTITY_OF_THE_ORDER = "quantity of the order"
    LAYERS = "layers"
    """How the Gerber layers lie to the placements."""
    AGAINST_LANDS = "against its lands"
    """A part that lies elsewhere, or on the other side, than the lands that files of fabrication state for it."""
    ONE_SPOT = "one spot"
    """Two references at one position."""
    ONE_REFERENCE_TWICE = "one reference twice"
    NOT_ANNOTATED = "not annotated"
    NO_PART_NUMBER = "no part number"
    GENERIC_PART_NUMBER = "generic part number"
    DAMAGED_PART_NUMBER = "damaged part number"
    DAMAGED_PACKAGE = "damaged package"
    TWO_FOOTPRINTS = "one number, two footprints"
    SEVERAL_NUMBERS = "one value, several numbers"
    TWO_VALUES = "two values"
    REVISION = "revision"
    THICKNESS = "thickness"
    """The thickness of a board that states none."""
    STATED_ELSEWHERE = "stated otherwise for another board"
    """A size of a part number that the files of two boards state differently."""

    def titled(self, *, open_: bool) -> str:
        """Return what rules and reports call a discrepancy of the topic, or a decision on it that is *open_*."""
        return f"{self} open" if open_ else str(self)


class Severity(enum.StrEnum):
    """What a discrepancy does to the order."""

    STOP = "stop"
    """On hold until answered."""
    ASSUMED = "assumed"
    """Settled by an assumption."""
    ADVICE = "advice"
    """Costs money only."""


class Said(Struct, frozen=True, gc=False):
    """A statement as data: the key of its sentence in ``lexicon/sentences``, and the values that stand in it.

    None holds itself, so the collector of circles need not follow the many that there are.
    """

    key: str
    values: Mapping[str, object] = field(default_factory=dict)

    def __hash__(self) -> int:
        """Return the key's: a mapping has none, and equal statements have equal keys."""
        return hash(self.key)


def say(key: str, /, **values: object) -> Said:
    """Return a statement; *values* are texts, numbers, lists of texts or statements, by the names in the sentence."""
    return Said(key, values)


NOTHING: Final = Said("")
"""No statement."""


class InputFile(Struct, frozen=True):
    """A file that was read: its path as the user gave it, its role and the hash of its bytes."""

    path: str
    role: str
    sha256: str


class ReadColumn(Struct, frozen=True):
    """What one column of a table was taken for: its role in words, its title or number, and the unit named there."""

    role: str
    title: str
    unit: str = ""


class ReadTable(Struct, frozen=True):
    """One table of a customer's files as it was read."""

    file: str
    sheet: str | None
    role: Literal["placements", "bom"]
    encoding: str
    delimiter: str
    header_row: int | None
    rows: int
    set_aside: int
    """Rows that are no data."""
    columns: tuple[ReadColumn, ...]
    unused: tuple[str, ...] = ()
    """The titles of columns with content that no role took: only remarks and sizes are looked for in them."""


class Note(Struct, frozen=True):
    """Something the reader of a report should know about the input; not a verdict."""

    said: Said | str
    place: Place | None = None


class Decision(Struct, frozen=True):
    """A choice that was inferred from evidence, because no input states it.

    *settle* is what would settle it, as the line for board.toml. *open* means that two readings remain and the choice
    is a guess.
    """

    topic: Topic
    choice: Said | str
    evidence: Said | str
    runner_up: Said | str = ""
    settle: Said | str = ""
    open: bool = False
    place: Place | None = None


class Discrepancy(Struct, frozen=True):
    """One thing in the customer's data that does not agree, with the references it is about.

    *about* is the decision that is open, where the discrepancy is that.
    """

    topic: Topic
    said: Said | str
    refs: tuple[str, ...] = ()
    place: Place | None = None
    severity: Severity = Severity.ASSUMED
    about: Decision | None = None
    evidence: Said | None = None
    """What the file states there, where that is the trouble."""

    @property
    def title(self) -> str:
        """What rules and reports call it: the topic, and that it is open where a decision is."""
        return self.topic.titled(open_=self.about is not None)


class SetAside(Struct, frozen=True):
    """A row of a file that is not a placement or a BOM line, with the reason: nothing is dropped silently.

    *refs* are references that it names all the same, *filled* says that it is filled like the rows around it.
    """

    place: Place
    reason: Said | str
    text: str = ""
    refs: tuple[str, ...] = ()
    filled: bool = False
