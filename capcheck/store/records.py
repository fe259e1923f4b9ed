"""What a store is given and gives back: keys, scopes, statements with who, when and whence, questions and answers.

Lengths are mm, masses g, forces N, times are aware and count to the second. Nothing here needs a database.
"""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Mapping
from typing import Final, Literal

from msgspec import Struct

from capcheck.model import LeadStyle, Mounting, Packaging, PartName
from capcheck.packages import folded_number, folded_value
from capcheck.values import Interval

Source = Literal["answered", "stated", "imported", "entered", "held"]
"""How a figure came: an answer, a customer's own file, a list that was imported, an entry by hand, or the store's own
figure that somebody held against what a board's files state."""

Value = Interval | int | str | bool
"""What a figure says: a measure within bounds, a number of pins, a word, yes or no."""

UNITS: Final[dict[str, str]] = {
    "length": "mm",
    "width": "mm",
    "height": "mm",
    "span": "mm",
    "pitch": "mm",
    "ball_diameter": "mm",
    "lead_width": "mm",
    "lead_length": "mm",
    "force_needed": "N",
    "force_allowed": "N",
    "tape_width": "mm",
    "tape_pitch": "mm",
    "pocket_depth": "mm",
    "reel": "mm",
    "mass": "g",
}
"""The fields that hold a measure, with the unit in which it is kept."""
COUNTS: Final = ("pins", "parts_per_reel", "lost_per_thousand")
"""The fields that hold a whole number."""
_LEAST: Final = {"lost_per_thousand": 0}
"""The least of those that may be less than one."""
WORDS: Final[dict[str, tuple[str, ...]]] = {
    "mounting": tuple(Mounting),
    "lead_style": tuple(LeadStyle),
    "supply": tuple(Packaging),
    "family": (),
    "nozzle": (),
}
"""The fields that hold a word: any of these, or any text where none stand here."""
FLAGS: Final = ("polarised", "hidden_joints", "oriented")
"""The fields that are yes or no; ``oriented`` says that length lies along the part's own x."""
FIELDS: Final = (*UNITS, *COUNTS, *WORDS, *FLAGS)
"""Every field of which a store keeps figures."""


class PartKey(Struct, frozen=True):
    """By which a part is found again, as it is written; it is compared as a library compares it.

    A part number goes alone or with a footprint, a value with a footprint, a footprint alone; a reference is of one
    board. Part numbers and footprints may hold the wildcards ``*`` and ``?``.
    """

    part_number: str = ""
    footprint: str = ""
    value: str = ""
    """Counts beside a footprint or a reference; beside a part number it is for the reader alone."""
    reference: str = ""

    @classmethod
    def of(cls, name: PartName, reference: str = "") -> PartKey | None:
        """Return the key of a part: its maker number, else value and footprint, else footprint, else *reference*.

        None where there is neither.
        """
        if folded_number(name.part_number):
            return cls(part_number=name.part_number)
        if name.footprint:
            return cls(footprint=name.footprint, value=name.value)
        return cls(value=name.value, reference=reference) if reference else None

    @property
    def compared(self) -> tuple[str, str, str, str]:
        """Part number, value, footprint and reference as they are compared."""
        number = folded_number(self.part_number)
        value = "" if number else folded_value(self.value)
        return number, value, self.footprint.casefold(), self.reference.casefold()

    @property
    def is_pattern(self) -> bool:
        """Whether it holds a wildcard."""
        return any(sign in text for text in (self.part_number, self.footprint) for sign in "*?")

    def __str__(self) -> str:
        """Return the key as a reader is told it: ``4K7 in C0603``."""
        if self.part_number:
            return f"{self.part_number} in {self.footprint}" if self.footprint else self.part_number
        called = " in ".join(text for text in (self.value, self.footprint) if text)
        return f"{self.reference} ({called})" if self.reference and called else self.reference or called


class Scope(Struct, frozen=True):
    """For whom a figure holds: everyone, one customer, or one board (of one customer, where it is named)."""

    customer: str = ""
    board: str = ""

    def __str__(self) -> str:
        """Return ``everyone``, ``customer X`` or ``board Y``."""
        if self.board:
            return f"board {self.board}" + (f" of {self.customer}" if self.customer else "")
        return f"customer {self.customer}" if self.customer else "everyone"


EVERYONE: Final = Scope()


class Given(Struct, frozen=True):
    """Who said something, when, and whence it was taken."""

    who: str
    when: dt.datetime
    source: Source
    where: str = ""
    """The file and row that it was read from, as ``questions.xlsx:14``."""
    link: str = ""
    """The data sheet that shows it: an address or a document's number."""

    def __post_init__(self) -> None:
        if self.when.tzinfo is None:
            raise ValueError("a time in the store says of which zone it is")

    @property
    def date(self) -> str:
        """The day, in UTC."""
        return self.when.astimezone(dt.UTC).date().isoformat()


class Statement(Struct, frozen=True):
    """What somebody says of one part."""

    key: PartKey
    values: Mapping[str, Value]
    given: Given
    scope: Scope = EVERYONE


class Figure(Struct, frozen=True):
    """One figure as the store keeps it; *superseded* is when a later one took its place, None while it stands."""

    key: PartKey
    scope: Scope
    field: str
    value: Value
    given: Given
    superseded: dt.datetime | None = None


class Change(Struct, frozen=True):
    """What a statement does to one figure: it is new, the same as what stands, or another, which supersedes *old*."""

    key: PartKey
    scope: Scope
    field: str
    new: Value
    given: Given
    kind: Literal["new", "same", "other"]
    old: Figure | None = None


class BoardKey(Struct, frozen=True):
    """A board by its name, and whose it is."""

    name: str
    customer: str = ""


class Revision(Struct, frozen=True):
    """A board's files as they came: a label, the hash over all files, and each file with its role and hash."""

    board: BoardKey
    sha256: str
    files: tuple[tuple[str, str, str], ...]
    given: Given
    label: str = ""


class Result(Struct, frozen=True):
    """What a check of a revision came to."""

    board: BoardKey
    sha256: str
    """Of the revision."""
    line: str
    verdict: str
    counts: Mapping[str, int]
    given: Given
    program: str = ""


class Question(Struct, frozen=True):
    """A question as it was asked; *fingerprint* says what of, so that an answer to something else is refused."""

    key: str
    type: str
    text: str
    fingerprint: str
    refs: tuple[str, ...] = ()
    part: PartKey | None = None
    fields: tuple[str, ...] = ()
    data: Mapping[str, str] = {}


class Answer(Struct, frozen=True):
    """An answer as it was given; one that does not settle the question leaves it open."""

    key: str
    fingerprint: str
    text: str
    given: Given
    goes_to: str = "noted"
    """What it was written to: ``store``, ``board.toml``, ``waiver``, several with commas, or ``noted``."""
    settles: bool = True


class Standing(Struct, frozen=True):
    """A question with what was answered so far."""

    question: Question
    asked: Given
    answers: tuple[Answer, ...] = ()

    @property
    def is_open(self) -> bool:
        """Whether no answer settles it."""
        return not any(answer.settles for answer in self.answers)


class Outcome(Struct, frozen=True):
    """What becomes of an answer.

    ``same``: it was given before; ``changed``: the question is meanwhile about something else; ``unknown``: it was
    never asked.
    """

    answer: Answer
    state: Literal["accepted", "same", "changed", "unknown"]

    @property
    def is_refused(self) -> bool:
        """Whether it is an answer to what is not asked now."""
        return self.state in {"changed", "unknown"}


class ImpossibleError(ValueError):
    """A statement that no part can have is given to the store: its caller's fault, and none of what the store holds."""


def refuse_impossible(statement: Statement) -> None:
    """Raise ImpossibleError for a statement that no part can have: an unknown field, a negative size, another word."""
    if not any(statement.key.compared):
        raise ImpossibleError("a statement has no key")
    if statement.key.reference and not statement.scope.board:
        raise ImpossibleError(f"{statement.key}: a reference is of one board, and the scope names none")
    for field, value in statement.values.items():
        _refuse(field, value)


def _refuse(field: str, value: Value) -> None:
    if field in UNITS:
        right = isinstance(value, Interval) and value.low >= 0 and value.high > 0 and not math.isinf(value.low)
    elif field in COUNTS:
        right = isinstance(value, int) and not isinstance(value, bool) and value >= _LEAST.get(field, 1)
    elif field in WORDS:
        right = isinstance(value, str) and bool(value) and (not WORDS[field] or value in WORDS[field])
    else:
        right = field in FLAGS and isinstance(value, bool)
    if not right:
        raise ImpossibleError(f"{field} cannot be {value!r}")
