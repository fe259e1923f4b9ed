"""One candidate meaning of one text about a part: the currency in which every reader of this package pays.

A reader (of size codes, land-pattern names, package names, dimensions in free text, the shop library)
takes a text and returns candidates. A candidate states some fields of a body and leaves the others None; what is
weighed takes each field from the candidate that is to be trusted most, and tells where a lesser one disagrees.
"""

from __future__ import annotations

import enum
from collections.abc import Iterable
from functools import cached_property, lru_cache
from typing import Any, Final, TypeVar

from msgspec import Struct
from msgspec.structs import replace

from capcheck.lexicon import sentence
from capcheck.model import NOTHING, Basis, LeadStyle, Mounting, Packaging, PartName, Said, say
from capcheck.packages.tables import Family
from capcheck.values import FORCE, LENGTH, MASS, Dimension, Interval, pattern

_T = TypeVar("_T")

_LONGEST_TEXT: Final = 1000
"""A description has a hundred characters, a list of alternatives some hundreds."""
_LONGEST_NUMBER: Final = 30
_ENDLESS_NUMBER: Final = pattern(rf"\d{{{_LONGEST_NUMBER},}}")
"""Digits that are no figure of a body: a row of hundreds is no number that can be reckoned with."""


class Column(enum.StrEnum):
    """Where the text of a candidate stands in the customer's data or the shop's."""

    FOOTPRINT = "footprint"
    BOM_PACKAGE = "BOM package"
    DESCRIPTION = "description"
    VALUE = "value"
    PART_NUMBER = "part number"
    STATED = "stated"
    """A cell that states a number of the body; the candidate's text is its place."""
    LIBRARY = "shop library"
    """A row of the shop's library; the candidate's text is its place. Where it is the shop's store, the scheme says who
    stated it and when."""


_ADDRESS: Final = pattern(r"(?i)(?:https?://|ftp://|www\.)\S*")
PROSE: Final = frozenset((Column.DESCRIPTION, Column.VALUE))
"""Columns of running text: what is no name may stand in them, and a package's name there is loosely meant."""
OF_THE_BOM: Final = PROSE | {Column.BOM_PACKAGE, Column.PART_NUMBER}


class Trust(enum.IntEnum):
    """How much a candidate is to be trusted, the most first; equals keep the order they came in."""

    STATED = 0
    """A column of the BOM or the placement file states the size."""
    LIBRARY = 1
    """The shop's own library."""
    LAND_PATTERN = 2
    """An IPC-7351 land-pattern name."""
    SIZE_CODE = 3
    """A chip, tantalum, MELF, SOD or DO-214 size code."""
    PACKAGE_NAME = 4
    """A JEDEC or EIAJ outline number, or a package name as people write it."""
    PART_NUMBER = 5
    """A maker's part number, by the scheme of its digits and letters."""
    FREE_TEXT = 6
    """Dimensions found in a description or in a name."""
    BOUND = 7
    """A bound of the family."""


class Candidate(Struct, frozen=True, dict=True):
    """One candidate meaning of one text: what it says of a body, and what it leaves open (None).

    Lengths are mm, mass gram. *length* is the longer side of the body and *width* the shorter, unless
    *oriented* says that length lies along the part's own x. *nominal_length* and *nominal_width* are sizes
    by code or name, without tolerance.
    """

    basis: Basis
    trust: Trust
    column: Column | None = None
    """Where the text stands; None where no text says it, or a reader of names does not know it yet."""
    text: str = ""
    """The whole text that was read, as the customer wrote it, or the place of a stated number; empty for a bound."""
    scheme: Said = NOTHING
    """The scheme or table by which the text was read, as it goes on behind the text, or the reason of a bound."""
    piece: str = ""
    """The piece of the text that was read."""
    length: Interval | None = None
    width: Interval | None = None
    height: Interval | None = None
    nominal_length: Interval | None = None
    nominal_width: Interval | None = None
    span: Interval | None = None
    """Over the leads; the larger of two where they differ."""
    span_second: Interval | None = None
    """Over the leads in the other direction, for packages with leads on four sides."""
    pitch: Interval | None = None
    ball_diameter: Interval | None = None
    lead_width: Interval | None = None
    lead_length: Interval | None = None
    """How far leads or pegs reach below the body."""
    force_needed: Interval | None = None
    """Force in newton with which the part has to be pressed in."""
    force_allowed: Interval | None = None
    """Greatest force in newton that the part bears when placed."""
    mass: Interval | None = None
    tape_width: Interval | None = None
    tape_pitch: Interval | None = None
    pocket_depth: Interval | None = None
    reel: Interval | None = None
    """Outer diameter of the reel that the tape is on."""
    parts_per_reel: int | None = None
    """Parts on a reel, in a tray or in a stick."""
    lost_per_thousand: int | None = None
    """Parts that the machines lose of a thousand that are placed."""
    nozzle: str | None = None
    """The kind of nozzle that picks it, by the shop's name."""
    pins: int | None = None
    """Terminals that are soldered, without an exposed pad."""
    mounting: Mounting | None = None
    lead_style: LeadStyle | None = None
    family: str | None = None
    """Readable name of the package, such as ``SOIC-8`` or ``chip 1005M``."""
    family_key: Family | None = None
    """The family whose bounds hold."""
    part_class: str | None = None
    """The class of ``data/classes.toml`` that the part is of."""
    supply: Packaging | None = None
    hidden_joints: bool | None = None
    polarised: bool | None = None
    oriented: bool = False
    alternatives: tuple[str, ...] = ()
    """Names of the outlines that the candidate is the hull of; empty where it is one outline."""
    questions: tuple[Said, ...] = ()
    """What would settle an ambiguous name; ``settle`` among the values is how the shop does so in its own files."""
    notes: tuple[Said, ...] = ()
    contradicted: Said = NOTHING
    """What contradicts it as a whole, so that it states nothing."""
    as_spelled: Candidate | None = None
    """What a contradicted number says all the same: it proves nothing, and may be the part that is bought."""
    narrowed_by: tuple[Said, ...] = ()
    """What left fewer bodies possible than the text alone does, as origins of other candidates."""
    members: tuple[Candidate, ...] = ()
    """The candidates that this one is the hull of; empty where it is one outline."""
    all_stated: bool = False
    """Whether any of the members may be fitted, such as the numbers of one cell: no other source rules one out."""
    goes_first: bool = False
    """Whether it stands in that of the shop's list and store which an entry says to believe where they differ."""
    is_unsettled: bool = False
    """Whether it contradicts a figure of the store, and nobody has said yet which of the two is right."""

    @property
    def states_size(self) -> bool:
        """Whether both sides of the body are bounded on both ends."""
        return self.length is not None and self.width is not None and self.length.is_known and self.width.is_known

    @property
    def is_of_store(self) -> bool:
        """Whether it stands in the shop's store, which says who stated it; of a list it is said where it stands."""
        return self.column is Column.LIBRARY and bool(self.scheme.key)

    @property
    def origin(self) -> Said:
        """Where it comes from: column, text and scheme as one statement."""
        if not self.text:
            return self.scheme
        library = "store" if self.is_of_store else "library"
        key = {None: "text", Column.STATED: "stated", Column.LIBRARY: library}.get(self.column, "column")
        return say(f"packages.origin in {key}", column=self.column, text=self.text, scheme=self.scheme)

    @cached_property
    def source(self) -> str:
        """Its origin as a phrase for a reader: ``footprint "SOIC127P600X175-8N" as an IPC-7351 land-pattern name``."""
        return sentence(self.origin)

    def has_origin_of(self, other: Candidate) -> bool:
        """Whether both were read from one text by one scheme."""
        return (self.column, self.text, self.scheme) == (other.column, other.text, other.scheme)


MEASURED: Final = (
    "length",
    "width",
    "height",
    "nominal_length",
    "nominal_width",
    "span",
    "pitch",
    "ball_diameter",
    "lead_width",
    "lead_length",
    "force_needed",
    "force_allowed",
    "mass",
    "tape_width",
    "tape_pitch",
    "pocket_depth",
    "reel",
)
"""Fields of a candidate that become a :class:`~capcheck.model.Measure` of the body."""

_NO_LENGTHS: Final = {"mass": MASS, "force_needed": FORCE, "force_allowed": FORCE}


def measured_in(field: str) -> Dimension:
    """Return the dimension of a measured field of a candidate: a length, but for mass and forces."""
    return _NO_LENGTHS.get(field, LENGTH)


SAID: Final = (
    "pins",
    "mounting",
    "lead_style",
    "family",
    "supply",
    "hidden_joints",
    "polarised",
    "parts_per_reel",
    "lost_per_thousand",
    "nozzle",
)
"""Fields of a candidate that are taken as they are."""

KEYS: Final = ("family_key", "part_class")
"""Fields by which tables are chosen: taken as they are, and not told a reader."""

_HULLED: Final = (*MEASURED, "span_second")
_AGREED: Final = (*SAID, *KEYS)


def texts_of(name: PartName) -> tuple[tuple[Column, str], ...]:
    """Return the texts about a part that may name its body, by the column that each stands in.

    A text is read as far as whole words of its first :data:`_LONGEST_TEXT` characters go.
    """
    return _texts(name.footprint, name.bom_package, name.description, name.value)


@lru_cache(maxsize=4096)
def _texts(footprint: str, bom_package: str, description: str, value: str) -> tuple[tuple[Column, str], ...]:
    return (
        (Column.FOOTPRINT, _readable(footprint)),
        (Column.BOM_PACKAGE, _readable(bom_package)),
        (Column.DESCRIPTION, _readable(description)),
        (Column.VALUE, _readable(value)),
    )


def without_addresses(text: str) -> str:
    """Return *text* without addresses of pages, whose digits and letters say nothing of the part: ``?d=1``."""
    return _ADDRESS.sub(" ", text).strip() if "://" in text or "www." in text.lower() else text


def _readable(text: str) -> str:
    text = without_addresses(text)
    if len(text) < _LONGEST_NUMBER:
        return text
    if len(text) > _LONGEST_TEXT:
        text = text[: _LONGEST_TEXT + 1].rpartition(" ")[0]
    return _ENDLESS_NUMBER.sub(" ", text)


def sides(one: Interval, other: Interval) -> tuple[Interval, Interval]:
    """Return the longer and the shorter side of a body whose two sides are known in no order."""
    if one.low >= other.low and one.high >= other.high:
        return one, other
    longer = Interval(max(one.low, other.low), max(one.high, other.high))
    shorter = Interval(min(one.low, other.low), min(one.high, other.high))
    return longer, shorter


def distinct(every: Iterable[_T]) -> tuple[_T, ...]:
    """Return all in their order, such as statements, each once."""
    found: list[_T] = []
    found.extend(one for one in every if one not in found)
    return tuple(found)


def hull_of(candidates: tuple[Candidate, ...], scheme: Said, question: Said = NOTHING) -> Candidate:
    """Return the candidate that holds each of *candidates*: a field if all state it, with all their values.

    Texts and counts on which they differ are left open. The candidates' families are named as alternatives. *scheme*
    says how the text of the first came to several; a single candidate is returned as it is.
    """
    first = candidates[0]
    if len(candidates) == 1:
        return first
    changes: dict[str, Any] = {}
    for name in _HULLED:
        values: list[Interval | None] = [getattr(c, name) for c in candidates]
        held = values[0]
        for value in values[1:]:
            held = None if held is None or value is None else held.hull(value)
        changes[name] = held
    for name in _AGREED:
        said = {getattr(c, name) for c in candidates}
        changes[name] = said.pop() if len(said) == 1 else None
    names = dict.fromkeys(n for c in candidates for n in (c.alternatives or ((c.family,) if c.family else ())))
    asked = [*(q for c in candidates for q in c.questions), *([question] if question.key else [])]
    return replace(
        first,
        scheme=scheme,
        trust=max(c.trust for c in candidates),
        oriented=all(c.oriented for c in candidates),
        alternatives=tuple(names),
        questions=distinct(asked),
        notes=distinct(n for c in candidates for n in c.notes),
        members=tuple(m for c in candidates for m in (c.members or (c,))),
        **changes,
    )


def stated_fields(candidate: Candidate) -> tuple[str, ...]:
    """Return the names of the body's fields that *candidate* states."""
    return tuple(name for name in (*MEASURED, *SAID) if getattr(candidate, name) is not None)
