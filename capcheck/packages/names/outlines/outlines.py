"""Package names as people write them become readings: published outlines, and what the name itself states.

``SO-8``, ``SOIC-16W``, ``LQFP-64 10x10``, ``QFN-32 5x5 P0.5``, ``MS-012``, ``SOT-23-6_L2.9-W1.6-P0.95``: a package
word or an outline number, a pin count, sizes and a pitch in any order. A name that fits several outlines is the
hull of them, with the candidates named.
"""

from __future__ import annotations

from functools import cache, lru_cache
from typing import Final

from msgspec import Struct
from msgspec.structs import replace

from capcheck.model import Basis
from capcheck.packages.candidate import Reading, Trust, hull_of, sides
from capcheck.packages.names import devices
from capcheck.packages.names.drawing_codes import packages_behind
from capcheck.packages.names.outlines import published as outline_table
from capcheck.packages.names.outlines.package_name import PackageName, by_number, by_word
from capcheck.packages.names.outlines.published import HIDDEN, Outline, Word, reading_of
from capcheck.packages.names.package_words import NO_SIZES, Size, normalised
from capcheck.values import Interval, pattern

_LETTERS: Final = pattern(r"[A-Z]+")
_IPC_NAME: Final = pattern(
    r"^[A-Z]+\d*[CN]?\d+P\d+X\d|^(?:CAP|RES|IND|LED|DIO|FUS|SOD|OSC|XTAL|BEAD)[A-Z]{1,5}\d{4,8}(?:X|N|L|M|$)"
)
_POWER_CODE: Final = pattern(r"(?:POWERDI|PWRDI)[-_ ]?(\d{4})(?!\d)")
"""A maker's word for no-lead power packages, with the sides in tenths behind it."""
_DEVICES_THAT_YIELD: Final = frozenset(
    ("connector", "switch", "test point", "oscillator", "shield", "pin header", "through-hole part")
)

_DEVICES_OF_ANY_PACKAGE: Final = frozenset(("module", "relay", "transformer", "sounder"))


def read_package_name(text: str) -> list[Reading]:
    """Return the meanings of a package name, the best first; nothing where it names no package.

    Where the name states a size, the first reading holds what is stated and the second the published outline that
    agrees with it. Otherwise the first is the published outline, or the hull of those that fit.
    """
    return list(_read(text))


@lru_cache(maxsize=16384)
def _read(text: str) -> tuple[Reading, ...]:
    whole = normalised(text)
    name = whole.rpartition(":")[2]
    if "RDI" in name:
        name = _POWER_CODE.sub(r"PDFN\1", name)
    if not name or not (letters := _LETTERS.findall(name)) or _IPC_NAME.match(name):
        return ()
    if coded := packages_behind(name, letters):
        return _coded(coded, text)
    taken = by_number(name, text) or by_word(name, text)
    found = devices.read(name, text, frozenset(letters))
    # "IC USB HUB 48-LQFP" is no connector; "PLCC-44 socket" and an LED in a PLCC are no integrated circuit.
    yields = bool(found and taken) and (
        found[0].family in _DEVICES_OF_ANY_PACKAGE
        or (found[0].family in _DEVICES_THAT_YIELD and bool(taken and taken.pins) and "SOCKET" not in letters)
    )
    if found and not yields:
        return found
    if taken is None and name != whole:
        taken = by_word(whole, text)
    return _readings(taken) if taken else ()


def _coded(names: tuple[str, ...], text: str) -> tuple[Reading, ...]:
    """Return the readings of a drawing code's packages; of several, one that spans what all of them may be."""
    every = [_readings(taken) for n in names if (taken := by_number(n, text) or by_word(n, text)) is not None]
    if not every:
        return ()
    readings = every[0] if len(every) == 1 else (hull_of(tuple(r[0] for r in every), ""),)
    why = f'"{text}" as a maker\'s drawing code for {" or ".join(names)}'
    if len(every) == 1:
        return tuple(replace(r, source=f"{why}: {r.source}") for r in readings)
    asked = () if readings[0].alternatives == () else (f"{why}: state the count of leads",)
    return (replace(readings[0], source=why, questions=asked),)


def _readings(name: PackageName) -> tuple[Reading, ...]:
    stated, candidates = _settle(name)
    if stated is None:
        if not candidates:
            return (_of_name(name, None),)
        return (_published(name, candidates),)
    first = _of_name(name, stated)
    if not candidates:
        return (first,)
    return (first, _published(name, candidates))


def _settle(name: PackageName) -> tuple[tuple[Interval, Interval] | None, tuple[Outline, ...]]:
    """Return the body that the name states, if it does, and the published outlines that agree with the name."""
    found, sizes = name.candidates, name.sizes
    if sizes.pitch is not None:
        found = tuple(o for o in found if o.has_pitch(sizes.pitch.interval)) or (found if name.word is None else ())
    if sizes.span is not None:
        found = tuple(o for o in found if o.has_span(sizes.span.interval)) or (found if name.word is None else ())
    if not sizes.sides:
        return None, found
    one, other = (s.value for s in sizes.sides)
    if same := tuple(o for o in found if o.has_sides(one, other)):
        return _stated(name), same
    if over_leads := tuple(o for o in found if o.spans(one, other)):
        return None, over_leads
    return _stated(name), ()


def _stated(name: PackageName) -> tuple[Interval, Interval]:
    tolerance = name.word.tolerance_mm if name.word else 0.2
    both = []
    for size in name.sizes.sides:
        around = min(tolerance, 0.1 * size.value)
        both.append(size.interval.hull(Interval(round(size.value - around, 4), round(size.value + around, 4))))
    return sides(both[0], both[1])


def _published(name: PackageName, candidates: tuple[Outline, ...]) -> Reading:
    readings = tuple(reading_of(o, name.text) for o in candidates)
    names = ", ".join(dict.fromkeys(o.name for o in candidates))
    reading = hull_of(
        readings,
        readings[0].source if len(readings) == 1 else f'"{name.text}" fits several published outlines: {names}',
        f'"{name.text}" may be {names}: state which, or the length and width',
    )
    word = name.word
    pitch = name.sizes.pitch
    guess, is_open = _is_guess(name, candidates), _is_open(name, candidates)
    if is_open:
        reading = _beyond_the_table(reading)
    if (guess or is_open) and word is not None and word.family_key == "bga" and word.height_max_mm is None:
        reading = replace(reading, height=None)  # a tabled body's height class says nothing of another's
    return replace(
        reading,
        pins=name.pins if word is not None and name.pins is not None else reading.pins,
        basis=Basis.TYPICAL if guess else reading.basis,
        family=name.label if len(candidates) > 1 else reading.family,
        questions=_sold_otherwise(name) if guess else reading.questions,
        family_key=word.family_key if word else reading.family_key,
        pitch=pitch.interval if pitch and reading.pitch and not reading.pitch.is_exact else reading.pitch,
        height=_least_height(reading.height, word),
    )


_MANY_BODIES: Final = frozenset(("bga", "wlcsp", "lga", "qfn", "son", "dfn"))
_OWN_BODIES: Final = frozenset(("SOP", "HSOP"))
_LOOSELY_USED: Final = frozenset(("SSOP", "TSOP", "HSOP", "SOP", "SO"))
"""Words that makers give to bodies of their own: a lone outline from memory is not enough."""


def _sold_otherwise(name: PackageName) -> tuple[str, ...]:
    return (f'"{name.text}" is sold with other bodies too: state the length and width',)


_BEYOND: Final = 0.25


def _is_open(name: PackageName, candidates: tuple[Outline, ...]) -> bool:
    """Whether a count alone picks from a family of which no table is complete: QFN-16, DFN-8, BGA-256."""
    if name.word is None or name.sizes.sides or len(candidates) < 2:
        return False
    return name.word.family_key in _MANY_BODIES and not (name.sizes.pitch and name.word.family_key == "qfn")


def _beyond_the_table(reading: Reading) -> Reading:
    """Return the hull of some outlines of a family with room for those that no table has, a quarter on either end."""

    def wider(value: Interval | None) -> Interval | None:
        if value is None:
            return None
        return Interval(round((1 - _BEYOND) * value.low, 4), round((1 + _BEYOND) * value.high, 4))

    return replace(
        reading,
        length=wider(reading.length),
        width=wider(reading.width),
        pitch=wider(reading.pitch),
        members=(),
        source=f"{reading.source}; a quarter smaller or larger, as others are sold under this name",
    )


def _is_guess(name: PackageName, candidates: tuple[Outline, ...]) -> bool:
    """Whether one tabled body stands for a family that comes in many, and nothing in the name confirms it."""
    word = name.word
    if word is None or len(candidates) > 1 or name.sizes.sides or name.sizes.pitch or name.confirmed:
        return False
    if word.word in _LOOSELY_USED:
        return word.word in _OWN_BODIES or candidates[0].from_memory
    return word.family_key in _MANY_BODIES


def _least_height(height: Interval | None, word: Word | None) -> Interval | None:
    """Return the outline's height limit, or that of the height class in the name where it is lower."""
    if height is None or word is None or word.height_max_mm is None:
        return height
    return Interval(height.low, min(height.high, word.height_max_mm))


_STAND_OFF_MM: Final = 0.3
"""What a drawing's height over all exceeds the thickness of a body on leads by: JEDEC MS-013 (0.1 to 0.3), MS-026."""
_HEIGHT_TOLERANCE: Final = (0.1, 0.1)
"""Tolerance of a height that a name gives bare: mm, or share of it if less; common practice."""


def _named_height(size: Size, lead_style: str) -> Interval:
    """Return the height behind a third number: LQFP 10x10x1.4 means the body, which stands 1.6 mm high on its leads."""
    if size.interval.low <= 0:
        return size.interval
    most, share = _HEIGHT_TOLERANCE
    around = min(most, share * size.value)
    low, high = round(size.value - around, 4), round(size.value + around, 4)
    if lead_style in {"gull wing", "J lead"}:
        high = round(size.value + _STAND_OFF_MM, 4)
    return size.interval.hull(Interval(low, high))


def _of_name(name: PackageName, stated: tuple[Interval, Interval] | None) -> Reading:
    """Return what the name itself says, without a published outline."""
    word, sizes = name.word, name.sizes
    style = word.lead_style if word else (name.candidates[0].lead_style if name.candidates else "gull wing")
    key = word.family_key if word else (outline_table.family_key_of(name.candidates[0]) if name.candidates else None)
    long, short = stated or (None, None)
    said = ", ".join(sizes.read) or "no size"
    values = [s.value for s in sizes.sides] if stated else []
    height = _named_height(sizes.height, style) if sizes.height else None
    return Reading(
        source=f'"{name.text}" as a package name ({name.label}; {said})',
        basis=Basis.DECODED,
        trust=Trust.PACKAGE_NAME,
        length=long,
        width=short,
        height=height,
        nominal_length=Interval.exactly(max(values)) if values else None,
        nominal_width=Interval.exactly(min(values)) if values else None,
        span=sizes.span.interval if sizes.span else None,
        pitch=sizes.pitch.interval if sizes.pitch else None,
        pins=name.pins,
        mounting="surface",
        lead_style=style,
        family=name.label,
        family_key=key,
        hidden_joints=style in HIDDEN,
        text=name.text,
    )


_LAND_PATTERN_WORDS: Final = {
    "SOIC": ("SOIC", "SO", "SOICW"),
    "SOP": ("SO", "SSOP", "TSSOP", "MSOP", "VSSOP", "QSOP", "HSOP", "SOIJ", "TVSOP", "SOICW"),
    "TSOP": ("TSOP", "TSSOP"),
    "QFP": ("LQFP", "TQFP", "MQFP"),
    "CQFP": (),
    "PLCC": ("PLCC",),
    "SOJ": ("SOJ",),
    "SOT": (),
    "SOTFL": (),
    "TO": (),
    "QFN": ("QFN", "UQFN"),
    "SON": ("SON",),
}
_EQUALLY_NEAR_MM: Final = 0.11
_SAME_SPAN_MM: Final = 0.45
_NUMBERED: Final = {"SOT": ("gull wing", "sot"), "SOTFL": ("flat lead", "sotfl"), "TO": ("gull wing", "dpak")}


@cache
def _numbered(family: str) -> tuple[Outline, ...]:
    style, key = _NUMBERED[family]
    every = dict.fromkeys(o for k in sorted(outline_table.known_keys()) for o in outline_table.by_key(k))
    return tuple(o for o in every if o.lead_style == style and outline_table.family_key_of(o) == key)


def _interval(value: Interval | float | None) -> Interval | None:
    return value if value is None or isinstance(value, Interval) else Interval.about(value, 0.005)


def lookup(
    family: str,
    pins: int | None,
    pitch: Interval | float | None,
    span: Interval | float | None,
    *,
    span_second: Interval | float | None = None,
    height: Interval | float | None = None,
) -> Reading | None:
    """Return the published body for a family of which a name gives only pins, pitch and span over the leads.

    *family* is a land-pattern word (``SOIC``, ``SOP``, ``QFP``, ``PLCC``, ``SOT`` …) or a package word. An odd count
    is taken for one with an exposed pad where no outline has it. Several outlines give their hull; None if none
    fits. *height* only decides between outlines of equal body (a 1.2 mm from a 1.6 mm quad flat package).
    """
    if pins is None:
        return None
    asked = _Asked(*map(_interval, (pitch, span, span_second, height)))
    for count in (pins, pins - 1):
        # Libraries call flat leads SOT too, as in SOT50P160X60-6N.
        words = (family.upper(), "SOTFL") if family.upper() == "SOT" else (family.upper(),)
        found = next(filter(None, (asked.fitting(_named(word, count)) for word in words)), ())
        if found:
            label = f"{family}-{count}"
            return _published(PackageName(label, label, None, found, count, NO_SIZES), found)
    return None


def _named(family: str, pins: int) -> list[Outline]:
    """Return the outlines that a land-pattern word with so many pins may mean."""
    if family in _NUMBERED:
        return [o for o in _numbered(family) if o.pins == pins]
    known = outline_table.words()
    names = _LAND_PATTERN_WORDS.get(family, (family,))
    return list(dict.fromkeys(o for n in names if n in known for o in outline_table.by_word(known[n], pins)))


class _Asked(Struct, frozen=True):
    """What a land-pattern name gives of an outline: pitch, one or two spans, height."""

    pitch: Interval | None
    span: Interval | None
    second: Interval | None
    height: Interval | None

    def fitting(self, outlines: list[Outline]) -> tuple[Outline, ...]:
        """Return the outlines that agree; of several, those whose span is nearest."""
        found = [o for o in outlines if self._fits(o)]
        if self.span is not None and len(found) > 1:
            away = [abs((o.span or 0.0) - self.span.middle) for o in found]
            found = [o for o, d in zip(found, away, strict=True) if d <= min(away) + _EQUALLY_NEAR_MM]
        if self.height is not None and len(found) > 1:
            found = [o for o in found if not o.height_max or o.height_max >= self.height.low - 0.2] or found
        return tuple(found)

    def _fits(self, outline: Outline) -> bool:
        if self.pitch is not None and not outline.has_pitch(self.pitch):
            return False
        if self.span is None:
            return True
        if outline.span_second is None or self.second is None:
            return outline.has_span(self.span)
        asked = sorted((self.span.middle, self.second.middle))
        mine = sorted((outline.span or 0.0, outline.span_second))
        return all(abs(a - b) <= _SAME_SPAN_MM for a, b in zip(asked, mine, strict=True))
