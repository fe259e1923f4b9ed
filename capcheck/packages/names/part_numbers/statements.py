"""What a scheme's code says, and the candidate that it makes: ``size 1005; height 0.5``, ``package SOT-23``.

The keys of a statement, lengths in mm:

``size``       a chip by its metric size code, ``inch`` by its inch code
``case``       a molded capacitor's case, such as 7343-31
``package``    names of packages, with a bar between those that it may be
``box``        the two sides, ``4.2 x 3.2`` or with ranges ``4.0..4.4 x 3.0..3.4``
``height``     ``0.5`` (with *room* on either side), ``0.45..0.55`` or ``..0.9`` for at most
``room``       how far the height may lie from its nominal value
``most``       the greatest height of the size, whatever else is stated
``over``       how much longer than the number says the sides may be, and ``under`` how much shorter
``length``, ``width``  the sides one by one, where groups of the number hold them
``ends``       what a connector is longer than its first to its last position, also as a range; ``depth`` its other side
``contacts``   all contacts of a connector, in ``rows`` that are two unless stated; ``positions`` those of one row
``pitch``, ``positions``, ``rows``, ``pins``, ``ball`` the diameter of the balls
``style``, ``mounting``, ``family``, ``called``, ``polarised``, ``kind``
"""

from __future__ import annotations

import math
from functools import cache
from typing import Any, Final

from msgspec.structs import replace

from capcheck.model import Basis, LeadStyle, Mounting, Said, say
from capcheck.packages.candidate import Candidate, Column, Trust, hull_of, sides
from capcheck.packages.names.arrays import read_array
from capcheck.packages.names.chip_codes import resistor_height, sized
from capcheck.packages.names.named_sizes import read_named, read_tantalum
from capcheck.packages.names.outlines import UNDER_THE_BODY, read_package_name
from capcheck.packages.names.part_numbers.schemes import all_schemes, all_suffixes
from capcheck.packages.tables import Family, Size, size_table
from capcheck.values import Interval, pattern

_MEMORY_SIDE_MM: Final = 0.1
_MEMORY_HEIGHT: Final = 1.1
"""What is allowed for a row from memory: each side 0.1 mm more (a tenth of a small one), a tenth of the height."""
_SIDE_ROOM: Final = (0.2, 0.1)
"""Tolerance of a side that is given by one number: mm, or share of it if less; common practice."""
_SEVERAL: Final = 0.35
"""Width of a range, in shares of its middle, from which on it stands for several bodies and no tolerance."""
_HEIGHT_ROOM: Final = (0.2, 0.1)
_ENDS_ROOM_MM: Final = 0.4
_ZERO: Final = pattern(r"0+(?:[RM]0*)?(?:Z0)?|0R[0-9]*[A-Z]?")
"""The value of a link, which is put in the place of any part."""
_SECOND: Final = ("height", "span", "span_second", "pitch", "pins", "lead_style", "family_key", "hidden_joints")
"""What the published outline of a package tells behind a name that states its sides."""


@cache
def parsed(statement: str) -> dict[str, str]:
    """Return a statement's values by their keys."""
    pairs = (piece.strip().partition(" ") for piece in statement.split(";") if piece.strip())
    return {key: value.strip() for key, _, value in pairs}


@cache
def names_given() -> frozenset[str]:
    """Return what the statements of all numbers call a body, such as ``coaxial connector``."""
    of_codes = (text for scheme in all_schemes() for codes in scheme.codes.values() for text in codes.values())
    statements = [*(s.gives for s in all_schemes()), *(s.gives for s in all_suffixes()), *of_codes]
    said = [parsed(text) for text in statements]
    return frozenset(values["called"] for values in said if "called" in values)


def candidate_of(
    said: dict[str, str], kind: str, scheme: Said, column: Column, text: str, *, from_memory: bool
) -> Candidate | None:
    """Return what a number says by its statement; None where its size is in no table."""
    basis = Basis.DECODED if from_memory else Basis.PUBLISHED
    base = Candidate(basis, Trust.PART_NUMBER, column, text, scheme=scheme, mounting=Mounting.SURFACE)
    kind = said.get("kind", kind)
    found = _of_size(said, kind, base)
    if found is None:
        return None
    changes = _measured(said, from_memory=from_memory) | _stated(said)
    if "ends" in said:
        changes |= _row_of_contacts(said, from_memory=from_memory)
    return replace(found, trust=Trust.PART_NUMBER, basis=basis, column=column, text=text, scheme=scheme, **changes)


def _of_size(said: dict[str, str], kind: str, base: Candidate) -> Candidate | None:
    """Return *base* with the body that the size, case or package names; as it is where none does."""
    if "size" in said or "inch" in said:
        size = _chip(said, kind)
        if size is None:
            return None
        found = sized(base, size, "metric", kind or None)
        if kind == "resistor":
            height = resistor_height(found)
            found = replace(found, height=found.height or (height.height if height else None))
            if _ZERO.fullmatch(said.get("value", "")):
                found = replace(found, family_key=None, family=f"link {size.metric}", polarised=False)
        return found
    if "case" in said:
        return next(iter(read_tantalum(said["case"], base.column or Column.PART_NUMBER, "C", "tantalum")), None)
    if "package" in said:
        return _package_called(said["package"], kind, base)
    return base


def _chip(said: dict[str, str], kind: str) -> Size | None:
    table = size_table()
    if "inch" in said:
        return table.chip_by_inch.get(said["inch"])
    return table.by_kind.get((kind, said["size"])) or table.chip_by_metric.get(said["size"])


def _package_called(names: str, kind: str, base: Candidate) -> Candidate | None:
    """Return *base* as one of the packages in *names*, which stand with a bar between them; None where none is read."""
    called = [name.strip() for name in names.split("|")]
    found = [read for name in called if (read := _package(name, kind, base)) is not None]
    if not found:
        return None
    if len(found) == 1:
        return replace(found[0], questions=())
    question = say("packages.one of several outlines", text=base.text, names=called)
    return hull_of(tuple(replace(f, questions=()) for f in found), base.scheme, question)


def _package(name: str, kind: str, base: Candidate) -> Candidate | None:
    column = base.column or Column.PART_NUMBER
    named = ("R", "resistor") if kind == "resistor" else ("D", "diode")
    read = read_named(name, column, *named) or read_array(name, column, "RN") or read_package_name(name)
    if not read:
        return None
    first, *others = read
    for other in others:
        # The name states the sides; the published outline that agrees with it knows the rest.
        rest = {field: getattr(other, field) for field in _SECOND if getattr(first, field) is None}
        first = replace(first, **rest)
    return replace(first, basis=base.basis, trust=base.trust, column=column, text=base.text, scheme=base.scheme)


def interval_of(text: str, room: float) -> Interval:
    """Return ``0.45..0.55``, ``..0.9`` or a single number with *room* on either side of it."""
    low, dots, high = text.partition("..")
    if not dots:
        value = float(low)
        return Interval(max(0.0, round(value - room, 4)), round(value + room, 4))
    return Interval(float(low) if low else 0.0, float(high))


def _side(text: str, *, from_memory: bool) -> tuple[Interval, Interval]:
    """Return a side with its tolerance, and its nominal value; a wide range of several bodies has none of its own."""
    most, share = _SIDE_ROOM
    low, dots, high = text.partition("..")
    value = (float(low) + float(high)) / 2 if dots else float(low)
    found = interval_of(text, min(most, share * value))
    several = bool(dots) and found.high - found.low > _SEVERAL * value
    nominal = found if several else Interval.exactly(round(value, 4))
    if from_memory:
        more = min(_MEMORY_SIDE_MM, 0.1 * value)
        found = Interval(round(max(0.0, found.low - more), 4), round(found.high + more, 4))
    return found, nominal


def _height(said: dict[str, str], *, from_memory: bool) -> Interval:
    greatest = float(said.get("most", "inf"))
    if "height" not in said:
        return Interval.at_most(greatest)
    text = said["height"]
    most, share = _HEIGHT_ROOM
    room = float(said["room"]) if "room" in said else 0.0 if ".." in text else min(most, share * float(text))
    found = interval_of(text, room)
    high = round(found.high * _MEMORY_HEIGHT, 4) if from_memory else found.high
    return Interval(min(found.low, greatest), min(high, greatest))


def _measured(said: dict[str, str], *, from_memory: bool) -> dict[str, Any]:
    changes: dict[str, Any] = {}
    box = said.get("box", f"{said['length']} x {said['width']}" if {"length", "width"} <= said.keys() else "")
    if box:
        (one, nominal), (other, nominal_other) = (
            _side(piece.strip(), from_memory=from_memory) for piece in box.split(" x ")
        )
        over, under = float(said.get("over", "0")), float(said.get("under", "0"))
        one, other = (Interval(round(s.low - under, 4), round(s.high + over, 4)) for s in (one, other))
        changes["length"], changes["width"] = sides(one, other)
        changes["nominal_length"], changes["nominal_width"] = sides(nominal, nominal_other)
    if "height" in said or "most" in said:
        changes["height"] = _height(said, from_memory=from_memory)
    if "pitch" in said:
        changes["pitch"] = interval_of(said["pitch"], 0.0)
    if "ball" in said:
        changes["ball_diameter"] = interval_of(said["ball"], 0.0)
    if "pins" in said or "contacts" in said:
        changes["pins"] = int(said.get("pins", said.get("contacts", "0")))
    elif "positions" in said:
        changes["pins"] = int(said["positions"]) * int(said.get("rows", "1"))
    return changes


@cache
def bounds_said(statement: str) -> dict[str, Any]:
    """Return the measures of a statement that bounds all parts of a sort, with what is allowed for memory."""
    return _measured(parsed(statement), from_memory=True)


def _of_a_row(said: dict[str, str]) -> int:
    """Return the contacts of one row."""
    if "contacts" in said:
        return math.ceil(int(said["contacts"]) / int(said.get("rows", "2")))
    return int(said["positions"])


def _row_of_contacts(said: dict[str, str], *, from_memory: bool) -> dict[str, Any]:
    """Return the sides of a connector by its positions, pitch, ends and depth."""
    ends, between = interval_of(said["ends"], 0.0), (_of_a_row(said) - 1) * float(said["pitch"])
    length = Interval(round(between + ends.low - _ENDS_ROOM_MM, 4), round(between + ends.high + _ENDS_ROOM_MM, 4))
    along = round(between + ends.low, 4)
    depth, nominal = _side(said["depth"], from_memory=from_memory)
    (longer, shorter), (nominal_longer, nominal_shorter) = sides(length, depth), sides(Interval.exactly(along), nominal)
    return {
        "length": longer,
        "width": shorter,
        "nominal_length": nominal_longer,
        "nominal_width": nominal_shorter,
    }


def _stated(said: dict[str, str]) -> dict[str, Any]:
    changes: dict[str, Any] = {}
    if "style" in said:
        changes["lead_style"] = LeadStyle(said["style"])
        changes["hidden_joints"] = changes["lead_style"] in UNDER_THE_BODY
    if "mounting" in said:
        changes["mounting"] = Mounting(said["mounting"]) if said["mounting"] != "open" else None
    if "family" in said:
        changes["family_key"] = Family(said["family"])
        changes["family"] = said["family"]
    if "called" in said:
        changes["family"] = said["called"]
    if "polarised" in said:
        changes["polarised"] = said["polarised"] == "yes"
    return changes
