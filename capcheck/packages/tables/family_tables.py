"""The families of packages, each one file of ``data/families``: its words, published outlines and tallest height.

A file states the family that its rows belong to. What it may hold:

``words``            package words (TSSOP) with the outlines that answer to them, lead style, tolerance, height class
``outlines``         published bodies, found by number (MO-153 AB, SOT-23) or by package word and count of pins
``registered``       outline numbers with more bodies than rows, and the package word that they stand for
``names``            patterns of short names (SOD-123, MELF) and the sizes of ``size_codes.csv`` that they mean
``land_patterns``    words of land-pattern names and how their numbers are laid out
``tallest``          a height that no part of the family exceeds, with its reason

The first three are CSV tables within the file, read as those of ``data`` are. Lengths are mm.
"""

from __future__ import annotations

import enum
from functools import cache, cached_property
from typing import Final

from msgspec import Struct, field

from capcheck.model import Family, LeadStyle
from capcheck.packages.tables.rows import DATA, converted, rows_in
from capcheck.values import Interval, own_table


class Layout(enum.StrEnum):
    """How the numbers of a land-pattern name are laid out."""

    TENTHS = "two sides in tenths"
    ONE_SPAN = "one span"
    TWO_SPANS = "two spans"


_SIDE_SLACK_MM: Final = 0.26
_SPAN_SLACK_MM: Final = 0.16
_PITCH_SLACK_MM: Final = 0.012
_SPAN_RANGE_MM: Final = 0.45
FROM_MEMORY: Final = "from memory"


class LandPattern(Struct, frozen=True, forbid_unknown_fields=True):
    """A word of land-pattern names, such as SOIC in ``SOIC127P600X175-8N``."""

    family: Family
    word: str
    layout: Layout
    lead_style: LeadStyle
    polarised: bool | None = None


class Word(Struct, frozen=True, forbid_unknown_fields=True):
    """What a package word such as TSSOP says: which outlines answer to it, lead style, tolerance, height class."""

    family: Family
    word: str
    lead_style: LeadStyle
    tolerance_mm: float
    source: str
    answers_to: frozenset[str] = frozenset()
    height_max_mm: float | None = None


class Registered(Struct, frozen=True, forbid_unknown_fields=True):
    """An outline number under which dozens of bodies are registered, and the package word that it stands for."""

    number: str
    word: str
    source: str


class NamePattern(Struct, frozen=True, forbid_unknown_fields=True):
    """A short name such as SOD-123, as a pattern over capitals, and the sizes that it may mean: family and name."""

    pattern: str
    lead_style: LeadStyle
    sizes: tuple[str, ...]


class Tallest(Struct, frozen=True, forbid_unknown_fields=True):
    """A height that no part of a family exceeds, and why."""

    height_mm: float
    reason: str
    source: str


class Outline(Struct, frozen=True, forbid_unknown_fields=True):
    """One published outline; *length_mm* is the longer side of the body. None where not published."""

    family: Family
    name: str
    pins: int
    lead_style: LeadStyle
    length_mm: float
    width_mm: float
    pitch_mm: float
    source: str
    basis: str
    keys: tuple[str, ...] = ()
    """Outline numbers and names, written without separators: ``MS012AA``, ``SOT23-5``."""
    words: tuple[str, ...] = ()
    """Package words that it answers to with its count of pins."""
    height_max_mm: float | None = None
    span_mm: float | None = None
    span_second_mm: float | None = None
    pitch_other_mm: float | None = None
    """Pitch that a name may give instead: of the two leads on one side of a SOT-23, say."""
    length_range_mm: Interval | None = None
    width_range_mm: Interval | None = None
    span_range_mm: Interval | None = None
    """Ranges of the drawings, where the tolerance usual for the family does not hold them."""
    height_basis: str | None = None
    """Where the height comes from, if not from where the sides do."""

    @property
    def is_from_memory(self) -> bool:
        """Whether no document was at hand for the sides."""
        return self.basis == FROM_MEMORY

    @property
    def height_is_from_memory(self) -> bool:
        """Whether no document was at hand for the height."""
        return (self.height_basis or self.basis) == FROM_MEMORY

    def has_sides(self, one: float, other: float) -> bool:
        """Whether the body has these two sides, in either order."""
        long, short = max(one, other), min(one, other)
        return abs(self.length_mm - long) <= _SIDE_SLACK_MM and abs(self.width_mm - short) <= _SIDE_SLACK_MM

    def spans(self, one: float, other: float) -> bool:
        """Whether the two numbers are the part's size over its leads instead of its body."""
        if self.span_mm is None:
            return False
        asked = sorted((one, other))
        pairs = (
            (self.span_mm, self.span_second_mm or self.length_mm),
            (self.span_mm, self.span_second_mm or self.width_mm),
        )
        return any(all(abs(a - b) <= _SPAN_SLACK_MM for a, b in zip(sorted(p), asked, strict=True)) for p in pairs)

    def has_pitch(self, pitch: Interval) -> bool:
        """Whether the pitch is the one asked for, allowing for a name that rounds it."""
        low, high = pitch.low - _PITCH_SLACK_MM, pitch.high + _PITCH_SLACK_MM
        return low <= self.pitch_mm <= high or (self.pitch_other_mm is not None and low <= self.pitch_other_mm <= high)

    def has_span(self, span: Interval) -> bool:
        """Whether the size over the leads is the one asked for."""
        if self.span_range_mm is not None and self.span_range_mm.overlaps(span, 0.02):
            return True
        return (
            self.span_mm is not None
            and self.span_mm - _SPAN_RANGE_MM <= span.high
            and span.low <= self.span_mm + _SPAN_RANGE_MM
        )


class FamilyTable(Struct, frozen=True, forbid_unknown_fields=True, dict=True):
    """All that one file knows of a family; its long tables are read when they are first asked for."""

    family: Family
    most_pins: int | None = None
    """A greater number beside a word of the family is no count of pins."""
    many_bodies: bool = False
    """Whether the family is sold with more bodies of one count of pins than any table has."""
    sides_with_leads: int = 0
    """Sides that leads stand out at, where the body lies within the span over them."""
    by_span: tuple[str, ...] = ()
    """Package words among whose outlines pins, pitch and span over the leads find the one that a name means."""
    names: tuple[NamePattern, ...] = ()
    land_patterns: tuple[LandPattern, ...] = ()
    tallest: Tallest | None = None
    word_table: str = field(default="", name="words")
    outline_table: str = field(default="", name="outlines")
    registered_table: str = field(default="", name="registered")

    @cached_property
    def words(self) -> tuple[Word, ...]:
        """The package words of the family."""
        return rows_in(self.word_table, Word, f"families/{self.family} words", family=self.family)

    @cached_property
    def outlines(self) -> tuple[Outline, ...]:
        """The published outlines of the family."""
        return rows_in(self.outline_table, Outline, f"families/{self.family} outlines", family=self.family)

    @cached_property
    def registered(self) -> tuple[Registered, ...]:
        """The outline numbers of the family that have more bodies than rows."""
        return rows_in(self.registered_table, Registered, f"families/{self.family} registered")


@cache
def families() -> tuple[FamilyTable, ...]:
    """Return the tables of all families, in the order of :class:`Family`.

    Raises ValueError with file and row for one that names a family or a lead style that is none.
    """
    found = []
    for path in sorted((DATA / "families").glob("*.toml")):
        table = own_table(path)
        for row in table.get("land_patterns", ()):
            row["family"] = table["family"]
        found.append(converted(table, FamilyTable, f"families/{path.name}"))
    order = list(Family)
    return tuple(sorted(found, key=lambda table: order.index(table.family)))


@cache
def family_table(family: Family) -> FamilyTable:
    """Return the first table of a family; an empty one where no file tells of it."""
    return next((table for table in families() if table.family is family), FamilyTable(family))
