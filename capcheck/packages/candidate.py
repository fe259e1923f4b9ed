"""One candidate meaning of one text about a part: the currency in which every reader of this package pays.

A reader (of size codes, land-pattern names, package names, dimensions in free text, the shop library)
takes a text and returns readings. A reading states some fields of a body and leaves the others None; the
resolver takes each field from the reading that is to be trusted most, and reports where a lesser one
disagrees.
"""

from __future__ import annotations

import enum
from typing import TYPE_CHECKING, Final

from msgspec import Struct
from msgspec.structs import replace

from capcheck.values import Interval

if TYPE_CHECKING:
    from capcheck.model import Basis


class Trust(enum.IntEnum):
    """How much a reading is to be trusted, the most first; equals keep the order they came in."""

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
    FREE_TEXT = 5
    """Dimensions found in a description or in a name."""
    BOUND = 6
    """A bound of the family."""


class Reading(Struct, frozen=True):
    """One candidate meaning of one text: what it says of a body, and what it leaves open (None).

    Lengths are mm, mass gram. *length* is the longer side of the body and *width* the shorter, unless
    *oriented* says that length lies along the part's own x. *nominal_length* and *nominal_width* are sizes
    by code or name, without tolerance. *source* is a phrase for a reader: ``footprint "SOIC127P600X175-8N"
    as an IPC-7351 land-pattern name``.
    """

    source: str
    basis: Basis
    trust: Trust
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
    mass: Interval | None = None
    pins: int | None = None
    """Terminals that are soldered, without an exposed pad."""
    mounting: str | None = None
    lead_style: str | None = None
    """One of the words listed at :attr:`capcheck.model.Body.lead_style`."""
    family: str | None = None
    """Readable name of the package, such as ``SOIC-8`` or ``chip 1005M``."""
    family_key: str | None = None
    """The family whose bounds hold; one of :data:`FAMILY_KEYS`."""
    supply: str | None = None
    hidden_joints: bool | None = None
    polarised: bool | None = None
    oriented: bool = False
    alternatives: tuple[str, ...] = ()
    """Names of the outlines that the reading is the hull of; empty where it is one outline."""
    questions: tuple[str, ...] = ()
    """What would settle an ambiguous name, each as a sentence."""
    notes: tuple[str, ...] = ()
    text: str = ""
    """The piece of text that was read."""
    members: tuple[Reading, ...] = ()
    """The readings that this one is the hull of; empty where it is one outline."""

    def states_size(self) -> bool:
        """Whether both sides of the body are bounded on both ends."""
        return self.length is not None and self.width is not None and self.length.is_known and self.width.is_known


FAMILY_KEYS: Final = (
    "chip",  # a chip of unknown kind
    "chip resistor",
    "chip capacitor",
    "chip polarised capacitor",
    "chip inductor",
    "chip ferrite bead",
    "chip diode",
    "chip led",
    "chip fuse",
    "chip thermistor",
    "chip varistor",
    "chip array",
    "tantalum",
    "melf",
    "molded capacitor",
    "molded diode",
    "molded inductor",
    "molded resistor",
    "molded fuse",
    "molded led",
    "can capacitor",
    "sod",
    "sodfl",
    "sot",
    "sotfl",
    "dpak",
    "soic",
    "sop",
    "tsop",
    "soj",
    "cfp",
    "qfp",
    "cqfp",
    "plcc",
    "qfn",
    "son",
    "dfn",
    "lcc",
    "bga",
    "lga",
    "cga",
    "wlcsp",
    "crystal",
    "oscillator",
    "connector",
)
"""The families that :attr:`Reading.family_key` may name."""

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
    "mass",
)
"""Fields of a reading that become a :class:`~capcheck.model.Measure` of the body."""

SAID: Final = ("pins", "mounting", "lead_style", "family", "supply", "hidden_joints", "polarised")
"""Fields of a reading that are taken as they are."""

_HULLED: Final = (*MEASURED, "span_second")
_AGREED: Final = (*SAID, "family_key")


def sides(one: Interval, other: Interval) -> tuple[Interval, Interval]:
    """Return the longer and the shorter side of a body whose two sides are known in no order."""
    longer = Interval(max(one.low, other.low), max(one.high, other.high))
    shorter = Interval(min(one.low, other.low), min(one.high, other.high))
    return longer, shorter


def hull_of(readings: tuple[Reading, ...], source: str, question: str = "") -> Reading:
    """Return the reading that holds each of *readings*: a field if all state it, with all their values.

    Texts and counts on which they differ are left open. The readings' families are named as alternatives.
    """
    first = readings[0]
    if len(readings) == 1:
        return first
    changes: dict[str, object] = {}
    for name in _HULLED:
        values: list[Interval | None] = [getattr(r, name) for r in readings]
        held = values[0]
        for value in values[1:]:
            held = None if held is None or value is None else held.hull(value)
        changes[name] = held
    for name in _AGREED:
        said = {getattr(r, name) for r in readings}
        changes[name] = said.pop() if len(said) == 1 else None
    names = dict.fromkeys(n for r in readings for n in (r.alternatives or ((r.family,) if r.family else ())))
    questions = dict.fromkeys((*(q for r in readings for q in r.questions), *((question,) if question else ())))
    return replace(
        first,
        source=source,
        trust=max(r.trust for r in readings),
        oriented=all(r.oriented for r in readings),
        alternatives=tuple(names),
        questions=tuple(questions),
        notes=tuple(dict.fromkeys(n for r in readings for n in r.notes)),
        members=tuple(m for r in readings for m in (r.members or (r,))),
        **changes,
    )


def stated_fields(reading: Reading) -> tuple[str, ...]:
    """Return the names of the body's fields that *reading* states."""
    body = {*MEASURED, *SAID}
    return tuple(name for name in reading.__struct_fields__ if name in body and getattr(reading, name) is not None)
