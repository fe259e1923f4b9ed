"""Dimensions that stand in free text: ``4.0 x 3.2 x 1.1 mm``, ``L=7.3 W=4.3``, ``H 1.2MAX``, ``Ø5``, ``p0.4``."""

from __future__ import annotations

import math
from functools import lru_cache
from typing import TYPE_CHECKING, Final

from msgspec.structs import replace

from capcheck.lexicon import (
    Concept,
    WrittenHeight,
    above_by,
    fold,
    heights_in_words,
    heights_overall,
    may_state_height,
    mm_per,
    shape,
    vocabulary,
)
from capcheck.model import NOT_ON_THE_SURFACE, Basis, Said, say
from capcheck.packages.candidate import MEASURED, Candidate, Column, Trust, hull_of, sides
from capcheck.packages.names.cans import base_of, height_of as can_height
from capcheck.packages.names.outlines import read_package_name
from capcheck.packages.names.round_bodies import lying_on_its_round, says_round
from capcheck.packages.names.written_sizes import (
    USUAL_PITCHES_MM,
    WrittenSize,
    WrittenSizes,
    may_state_a_size,
    normalised,
    sizes_in,
)
from capcheck.packages.tables import Family
from capcheck.values import Interval, pattern

if TYPE_CHECKING:
    from collections.abc import Iterator

_BODY_TOLERANCE: Final = (0.2, 0.1)
"""What a size in a text leaves for the making of the part: mm, or share of the size if less; common practice."""
_CAPACITORS: Final = frozenset(("C", "CP", "CE", "EC"))
_ROUND: Final = frozenset(("BT", "BAT", "BZ", "LS", "SPK"))
_COILS: Final = frozenset(("L", "LF", "CH"))
_COIN: Final = pattern(r"(?<![A-Z])COIN(?![A-Z])")
_LAMP: Final = pattern(r"(?<![A-Z])LEDS?(?![A-Z])")
_LONGEST: Final = 500
_ANY_NUMBER: Final = pattern(r"(?<![0-9.])(?:[0-9]{1,3}(?:\.[0-9]{1,4})?|\.[0-9]{1,4})")
_GRAM: Final = r"(?:ram(?:m[eio]?|o)?s?)"
"""What follows the first letter of a gram that is spelled out."""
_A_PIECE: Final = r"(?:/\s?|\s(?:per|a|pro|par|por)\s)[a-z]{1,6}\.?"
_MASS: Final = pattern(
    lambda: (
        rf"{vocabulary().titles[Concept.MASS]}[\s:=(.]{{0,4}}(?:ca\.?|approx\.?|max\.?|~|<|<=|≤)?\s?"
        r"(?P<told>[0-9]{1,4}(?:[.,][0-9]{1,3})?)\s?(?P<unit>k?g)(?:{_GRAM})?(?![a-z])"
        rf"|(?<![\d.,])(?P<spelt>[0-9]{{1,4}}(?:[.,][0-9]{{1,3}})?)\s?(?P<kilo>k?)(?:ilo)?g{_GRAM}(?![a-z])"
        rf"|(?:^|[,;(])\s*(?P<alone>[1-9][0-9]{{1,3}}(?:[.,][0-9]{{1,3}})?)\s?(?P<own>k?g)r?\s*(?:$|[,;)]|{_A_PIECE})"
    )
)
"""A mass with its word, or ten grams and more as a phrase of its own: a sensor's 8 g are an acceleration."""
_LEAST_CAN_MM: Final = 5.0
"""Least height of an aluminium can; from memory."""


def read_dimensions(text: str, column: Column, ref_prefix: str = "") -> list[Candidate]:
    """Return the dimensions that *text* states as one candidate, with another for each further height, or nothing.

    The first product of two or three numbers is the body. Values, grids, size codes and pads are not sizes. A side or
    a height without a tolerance holds to 0.2 mm or a tenth; ``MAX`` makes it an upper bound. Two numbers about a
    capacitor may be a can's diameter and height.
    """
    prefix = ref_prefix.upper()
    candidates = _with_mass(_read(text, column, prefix in _CAPACITORS), text, column)
    if _COIN.search(text.upper()):
        return [lying_on_its_round(c) for c in candidates]
    if prefix in _COILS and says_round(text.upper()):
        return [lying_on_its_round(c) for c in candidates]
    if prefix in _ROUND:
        # 20x3.2mm of a cell or 12x9.5mm of a buzzer is diameter by height.
        return [c for c in candidates if c.height is not None or c.length is None or c.length == c.width]
    return list(candidates)


def may_state_dimensions(shaped: str) -> bool:
    """Whether prose of this shape may state a dimension or a mass."""
    folded = fold(shaped[:_LONGEST])
    if "0" not in folded:
        return any(map(str.isdigit, shaped))
    return "g" in folded or may_state_a_size(shape(normalised(shaped))) or may_state_height(folded)


_BARE_HEIGHT: Final = pattern(r"(?<=[_ -])[hH]([1-9]\d?)(?![\w.,]|[-/]\d)")
"""A letter and a number behind the name of a footprint, which may state its height: XQ3_h12."""


@lru_cache(maxsize=8192)
def _read(text: str, column: Column, capacitor: bool) -> tuple[Candidate, ...]:
    found = _with_heights_in_words(text, sizes_in(normalised(text)))
    if column is Column.FOOTPRINT and found.height is None and (bare := _BARE_HEIGHT.search(text)):
        # A name more often than a height: it proves nothing, and stands against a lower height.
        found = replace(found, height=WrittenSize(float(bare[1]), Interval(0.0, math.inf)), read=(*found.read, bare[0]))
    length, width, note = _body(found)
    if not found.sides and _LAMP.search(text.upper()):
        length = width = None  # the diameter of a lamp is its lens's, which the body may exceed or not reach
    if length is not None and width is not None and _contradicts_name(text, length, width):
        length = width = None
    if length is None and found.height is None and found.pitch is None:
        return ()
    candidate = Candidate(
        Basis.DECODED,
        Trust.FREE_TEXT,
        column,
        text,
        scheme=say("packages.dimensions", read=found.read) if found.read else say("packages.pitch"),
        length=length,
        width=width,
        height=_taller(text, found.height) if found.height and not _is_pitch(text, found) else None,
        nominal_length=_nominal(found, longest=True) if length else None,
        nominal_width=_nominal(found, longest=False) if length else None,
        span=found.span.interval if found.span else None,
        pitch=found.pitch.interval if found.pitch else None,
        notes=note,
    )
    return (_or_can(candidate, found) if capacitor else candidate, *_further(candidate, found))


def _with_mass(candidates: tuple[Candidate, ...], text: str, column: Column) -> tuple[Candidate, ...]:
    """Return the candidates with what the text says that the part weighs; one that states the mass alone, or none."""
    grams = _grams(text)
    if grams is None:
        return candidates
    mass = Interval.exactly(grams)
    if candidates:
        return (replace(candidates[0], mass=mass), *candidates[1:])
    scheme = say("packages.dimensions", read=(f"{grams:g} g",))
    return (Candidate(Basis.DECODED, Trust.FREE_TEXT, column, text, scheme=scheme, mass=mass),)


@lru_cache(maxsize=8192)
def _grams(text: str) -> float | None:
    folded = fold(text[:_LONGEST])
    found = _MASS.search(folded) if "g" in folded and any(map(str.isdigit, text)) else None
    if found is None:
        return None
    grams = float((found["told"] or found["spelt"] or found["alone"]).replace(",", "."))
    return grams * 1000.0 if (found["unit"] or found["own"]) == "kg" or found["kilo"] else grams


def _further(first: Candidate, found: WrittenSizes) -> Iterator[Candidate]:
    """Yield what else the text states of the body, where that is not what *first* states."""
    alone = replace(first, **dict.fromkeys((*MEASURED, "span_second")), notes=())
    told = [first.height]
    for one in found.further:
        height = _made(one[-1])
        if height in told or (first.height is None and len(one) == 1):
            continue
        told.append(height)
        if len(one) == 1 or first.length is None:
            yield replace(alone, height=height)
        else:
            length, width = sides(*map(_made, one[:2]))
            yield replace(alone, length=length, width=width, height=height)


def _with_heights_in_words(text: str, found: WrittenSizes) -> WrittenSizes:
    """Return the sizes with what words state of the height: as it where nothing shorter does, and as further ones."""
    named = heights_in_words(text)
    overall = heights_overall(text) if found.sides and found.height is not None else ()
    words = [*named, *overall]
    if not words:
        return found
    written = [WrittenSize(height.mm, _in_words(height)) for height in words]
    read = (*found.read, *(height.text for height in words))
    return replace(
        found, height=found.height or written[0], further=(*found.further, *((w,) for w in written)), read=read
    )


def _in_words(height: WrittenHeight) -> Interval:
    if height.at_least:
        return Interval(height.mm, math.inf)
    return Interval.at_most(height.mm) if height.at_most else Interval.exactly(height.mm)


def _or_can(candidate: Candidate, found: WrittenSizes) -> Candidate:
    """Return the hull of a box and of a can, where two numbers may be a can's diameter and its height."""
    if len(found.sides) != 2 or found.height is not None or found.labels or candidate.length is None:
        return candidate
    first, second = (side.value for side in found.sides)
    base = base_of(first)
    if base is None or second < _LEAST_CAN_MM or candidate.width is None:
        return candidate
    # The height of a can as its name states it, with its tolerances.
    can = replace(
        candidate,
        length=base,
        width=base,
        nominal_length=None,
        nominal_width=None,
        height=can_height(second),
        alternatives=("can",),
    )
    box = replace(candidate, alternatives=("box",))
    return hull_of((box, can), candidate.scheme, say("packages.can or box", origin=candidate.origin))


def _is_pitch(text: str, found: WrittenSizes) -> bool:
    """Whether the package name in the same text takes a third number for its pitch, or cannot tell."""
    third = found.height
    if third is None or third.value not in USUAL_PITCHES_MM or (third,) in found.further:
        return False  # a label or a word says that it is the height
    named = next((c for c in read_package_name(text) if c.pins and c.states_size), None)
    return named is not None and named.height is None


def _contradicts_name(text: str, length: Interval, width: Interval) -> bool:
    """Whether the package name in the same text shows the numbers to be something else than the body.

    ``6.3x7.7`` of a can is diameter by height, ``22x22`` of a quad flat package may be over the leads.
    """
    for named in read_package_name(text):
        if named.length is not None and named.width is not None:
            return not (named.length.overlaps(length, 0.1) and named.width.overlaps(width, 0.1))
        if named.mounting in NOT_ON_THE_SURFACE or named.family_key is Family.CONNECTOR:
            return True
    return False


def _nominal(found: WrittenSizes, *, longest: bool) -> Interval | None:
    if not found.sides:
        return None
    values = [s.value for s in found.sides]
    return Interval.exactly(max(values) if longest else min(values))


def _made(side: WrittenSize) -> Interval:
    """Return a side as parts of that nominal size are made; one with a stated limit or wide tolerance as it is."""
    if side.interval.low <= 0:
        return side.interval
    most, share = _BODY_TOLERANCE
    around = min(most, share * side.value)
    return side.interval.hull(Interval(round(side.value - around, 4), round(side.value + around, 4)))


def _taller(text: str, height: WrittenSize) -> Interval:
    """Return a height with what a tolerance behind its number, ``H=12 +20/-0``, lets it be above."""
    made, whole = _made(height), normalised(text)
    above = [
        more[0] * mm
        for number in _ANY_NUMBER.finditer(whole)
        for mm in (1.0, mm_per()["mil"], mm_per()["in"])
        if math.isclose((value := float(number[0])) * mm, height.value, rel_tol=1e-6)
        and (more := above_by(whole, number.end(), value))
    ]
    most = max(above, default=0.0)
    # What is stated to both sides is in the height already, where its number was read with it; words hold theirs.
    if height.value + most <= made.high:
        return made
    return Interval(made.low, (height.value if heights_in_words(text) else made.high) + most)


def _body(found: WrittenSizes) -> tuple[Interval | None, Interval | None, tuple[Said, ...]]:
    """Return the two sides; a diameter alone is both, up to the square base that a can of that size stands on."""
    if found.sides:
        return (*sides(*(_made(side) for side in found.sides)), ())
    if found.diameter is None:
        return None, None, ()
    diameter = found.diameter.interval
    if found.long is not None and found.long.value > found.diameter.value:
        across = _made(found.diameter).hull(base_of(found.diameter.value) or diameter)
        return across.hull(_made(found.long)), across, (say("packages.diameter and length"),)
    both = diameter.hull(base_of(found.diameter.value) or diameter)
    return both, both, (say("packages.diameter alone"),)
