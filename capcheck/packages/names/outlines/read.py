"""Package names as people write them become candidates: published outlines, and what the name itself states.

``SO-8``, ``SOIC-16W``, ``LQFP-64 10x10``, ``QFN-32 5x5 P0.5``, ``MS-012``, ``SOT-23-6 L2.9 W1.6 P0.95``: a package
word or an outline number, a pin count, sizes and a pitch in any order. A name that fits several outlines is the
hull of them, with the candidates named.
"""

from __future__ import annotations

from functools import lru_cache
from typing import Final

from msgspec.structs import replace

from capcheck.model import Basis, LeadStyle, Mounting, Said, say
from capcheck.packages.candidate import Candidate, Trust, hull_of, sides
from capcheck.packages.names import devices
from capcheck.packages.names.outlines.drawing_codes import may_be_coded, packages_behind
from capcheck.packages.names.outlines.package_name import PackageName, by_number, by_word, may_name_package
from capcheck.packages.names.outlines.published import UNDER_THE_BODY, candidate_of
from capcheck.packages.names.written_sizes import WrittenSize, normalised
from capcheck.packages.tables import Family, Outline, Word, family_table
from capcheck.values import Interval, pattern

_LETTERS: Final = pattern(r"[A-Z]+")
_IPC_NAME: Final = pattern(
    r"^[A-Z]+\d*[CN]?\d+P\d+X\d|^(?:CAP|RES|IND|LED|DIO|FUS|SOD|OSC|XTAL|BEAD)[A-Z]{1,5}\d{4,8}(?:X|N|L|M|$)"
)
_POWER_CODE: Final = pattern(r"(?:POWERDI|PWRDI)[-_ ]?(\d{4})(?!\d)")
"""A maker's word for no-lead power packages, with the sides in tenths behind it."""
_KIND_BEFORE: Final = pattern(r"(?<![A-Z])(DIO|TRANS|RES|CAP|LED)(?=[UVWX]{0,2}DFN\d{4}(?![\dLMNX]))")
"""The kind of part written before a package whose digits are the sides in tenths: DIODFN0000."""
_TWO_NUMBERS: Final = pattern(r"(?<![\d.])(\d{1,2}(?:\.\d{1,2})?)\s?X\s?(\d{1,2}(?:\.\d{1,2})?)(?![\d.])")
_DEVICES_THAT_YIELD: Final = frozenset(
    ("connector", "switch", "test point", "oscillator", "shield", "pin header", "through-hole part")
)

_DEVICES_OF_ANY_PACKAGE: Final = frozenset(("module", "relay", "transformer", "sounder"))


def may_be_package(shaped: str) -> bool:
    """Whether a text of this shape may name a package or a device."""
    name = normalised(shaped)
    letters = _LETTERS.findall(name)
    return (
        "RDI" in name
        or "DFN" in name
        or may_be_coded(letters)
        or may_name_package(tuple(letters))
        or not devices.ANY.isdisjoint(letters)
        or any(run.startswith(("SMD", "SMT")) for run in letters)
    )


def read_package_name(text: str) -> list[Candidate]:
    """Return the meanings of a package name, the best first; nothing where it names no package.

    Where the name states a size, the first candidate holds what is stated and the second the published outline that
    agrees with it. Otherwise the first is the published outline, or the hull of those that fit.
    """
    return list(_read(text))


@lru_cache(maxsize=4096)
def _read(text: str) -> tuple[Candidate, ...]:
    whole = normalised(text)
    name = whole.rpartition(":")[2]
    if "RDI" in name:
        name = _POWER_CODE.sub(r"PDFN\1", name)
    if "DFN" in name:
        name = _KIND_BEFORE.sub(r"\1_", name)
    if not name or not (letters := _LETTERS.findall(name)) or _IPC_NAME.match(name):
        return ()
    if coded := packages_behind(name, letters):
        return _coded(coded, text)
    taken = (by_number(name, text) or by_word(name, text)) if may_name_package(tuple(letters)) else None
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
    return _candidates(taken) if taken else ()


def _coded(names: tuple[str, ...], text: str) -> tuple[Candidate, ...]:
    """Return the candidates of a drawing code's packages; of several, one that spans what all of them may be."""
    every = [_candidates(taken) for n in names if (taken := by_number(n, text) or by_word(n, text)) is not None]
    if not every:
        return ()
    if len(every) == 1:
        return tuple(
            replace(c, scheme=say("packages.drawing code of one package", names=names, origin=c.origin))
            for c in every[0]
        )
    hull = hull_of(tuple(found[0] for found in every), say("packages.drawing code", names=names))
    question = say("packages.count of a drawing code", origin=hull.origin)
    return (replace(hull, questions=(question,) if hull.alternatives else ()),)


def _candidates(name: PackageName) -> tuple[Candidate, ...]:
    stated, outlines = _settle(name)
    if stated is None and outlines and name.sizes.sides:
        return (_over_leads_or_body(name, published_candidate(name, outlines)),)
    if stated is None:
        return (published_candidate(name, outlines) if outlines else _of_name(name, None),)
    first = _of_name(name, stated)
    return (first, published_candidate(name, outlines)) if outlines else (first,)


def _over_leads_or_body(name: PackageName, published: Candidate) -> Candidate:
    """Return the outline whose span a name states, with sides that leave open whether the name means the body."""
    long, short = _stated(name)
    if published.length is None or published.width is None:
        return published
    return replace(published, length=published.length.hull(long), width=published.width.hull(short))


def _settle(name: PackageName) -> tuple[tuple[Interval, Interval] | None, tuple[Outline, ...]]:
    """Return the body that the name states, if it does, and the published outlines that agree with the name."""
    found, sizes = name.outlines, name.sizes
    if sizes.pitch is not None:
        found = tuple(o for o in found if o.has_pitch(sizes.pitch.interval)) or (found if name.word is None else ())
    if sizes.span is not None:
        found = tuple(o for o in found if o.has_span(sizes.span.interval)) or (found if name.word is None else ())
    if not sizes.sides:
        return None, found
    one, other = (s.value for s in sizes.sides)
    same = tuple(o for o in found if o.has_sides(one, other))
    over_leads = tuple(o for o in found if o.spans(one, other) and o not in same)
    if over_leads:
        return None, (*same, *over_leads)
    if same:
        return _stated(name), same
    return _stated(name), ()


def _stated(name: PackageName) -> tuple[Interval, Interval]:
    tolerance = name.word.tolerance_mm if name.word else 0.2
    both = []
    for size in name.sizes.sides:
        around = min(tolerance, 0.1 * size.value)
        both.append(size.interval.hull(Interval(round(size.value - around, 4), round(size.value + around, 4))))
    return sides(both[0], both[1])


def published_candidate(name: PackageName, outlines: tuple[Outline, ...]) -> Candidate:
    """Return a published outline as a meaning of a name, or the hull of those that fit it."""
    candidates = tuple(candidate_of(o, name.text) for o in outlines)
    names = list(dict.fromkeys(o.name for o in outlines))
    candidate = hull_of(
        candidates,
        say("packages.several published outlines", names=names),
        say("packages.one of several outlines", text=name.text, names=names),
    )
    word = name.word
    pitch = name.sizes.pitch
    guess, is_open = _is_guess(name, outlines), _is_open(name, outlines)
    if is_open:
        candidate = _beyond_the_table(candidate)
    if (guess or is_open) and word is not None and word.family is Family.BGA and word.height_max_mm is None:
        candidate = replace(candidate, height=None)  # a tabled body's height class says nothing of another's
    if word is not None and word.family is Family.BGA and name.sizes.sides and pitch is None and not name.confirmed:
        # As many balls lie closer, or farther apart, under a body of the same sides.
        candidate = replace(candidate, pitch=_wider(candidate.pitch, _PITCH_BEYOND, _PITCH_BEYOND))
    return replace(
        candidate,
        pins=name.pins if word is not None and name.pins is not None else candidate.pins,
        basis=Basis.TYPICAL if guess else candidate.basis,
        family=name.label if len(outlines) > 1 else candidate.family,
        questions=(say("packages.sold with other bodies", text=name.text),) if guess else candidate.questions,
        family_key=word.family if word else candidate.family_key,
        pitch=pitch.interval if pitch and candidate.pitch and not candidate.pitch.is_exact else candidate.pitch,
        height=_least_height(candidate.height, word),
    )


_OWN_BODIES: Final = frozenset(("SOP", "HSOP"))
_LOOSELY_USED: Final = frozenset(("SSOP", "TSOP", "HSOP", "SOP", "SO"))
"""Words that makers give to bodies of their own: a lone outline from memory is not enough."""


_SMALLER: Final = 0.4
_LARGER: Final = 0.5
_PITCH_BEYOND: Final = 0.25
"""How far beyond all tabled bodies of so many pins another may be: shares of a side, and of its pitch."""


def _is_open(name: PackageName, outlines: tuple[Outline, ...]) -> bool:
    """Whether a count, with or without a pitch, picks from a family of which no table is complete: QFN-16, BGA-256."""
    if name.word is None or name.sizes.sides or not (name.sizes.pitch or len(outlines) > 1):
        return False
    return family_table(name.word.family).many_bodies and not _names_sides(name.text, outlines)


def _names_sides(text: str, outlines: tuple[Outline, ...]) -> bool:
    """Whether a text holds the sides of one of the outlines as two numbers, whatever else these may be: 5x5 P0.5."""
    both = ((float(m[1]), float(m[2])) for m in _TWO_NUMBERS.finditer(normalised(text)))
    return any(outline.has_sides(one, other) for one, other in both for outline in outlines)


def _beyond_the_table(candidate: Candidate) -> Candidate:
    """Return the hull of some outlines of a family with room for those that no table has."""
    return replace(
        candidate,
        length=_wider(candidate.length, _SMALLER, _LARGER),
        width=_wider(candidate.width, _SMALLER, _LARGER),
        pitch=_wider(candidate.pitch, _PITCH_BEYOND, _PITCH_BEYOND),
        members=(),
        scheme=say("packages.beyond the table", scheme=candidate.scheme),
    )


def _wider(value: Interval | None, under: float, over: float) -> Interval | None:
    return value and Interval(round((1 - under) * value.low, 4), round((1 + over) * value.high, 4))


def _is_guess(name: PackageName, outlines: tuple[Outline, ...]) -> bool:
    """Whether one tabled body stands for a family that comes in many, and nothing in the name confirms it."""
    word = name.word
    if word is None or len(outlines) > 1 or name.sizes.sides or name.sizes.pitch or name.confirmed:
        return False
    if word.word in _LOOSELY_USED:
        return word.word in _OWN_BODIES or outlines[0].is_from_memory
    return family_table(word.family).many_bodies


def _least_height(height: Interval | None, word: Word | None) -> Interval | None:
    """Return the outline's height limit, or that of the height class in the name where it is lower."""
    if height is None or word is None or word.height_max_mm is None:
        return height
    return Interval(height.low, min(height.high, word.height_max_mm))


_STAND_OFF_MM: Final = 0.3
"""What a drawing's height over all exceeds the thickness of a body on leads by: JEDEC MS-013 (0.1 to 0.3), MS-026."""
_HEIGHT_TOLERANCE: Final = (0.1, 0.1)
"""Tolerance of a height that a name gives bare: mm, or share of it if less; common practice."""


def _named_height(size: WrittenSize, lead_style: LeadStyle) -> Interval:
    """Return the height behind a third number: LQFP 10x10x1.4 means the body, which stands 1.6 mm high on its leads."""
    if size.interval.low <= 0:
        return size.interval
    most, share = _HEIGHT_TOLERANCE
    around = min(most, share * size.value)
    low, high = round(size.value - around, 4), round(size.value + around, 4)
    if lead_style in {LeadStyle.GULL_WING, LeadStyle.J_LEAD}:
        high = round(size.value + _STAND_OFF_MM, 4)
    return size.interval.hull(Interval(low, high))


def _of_name(name: PackageName, stated: tuple[Interval, Interval] | None) -> Candidate:
    """Return what the name itself says, without a published outline."""
    sizes = name.sizes
    known = name.word or next(iter(name.outlines), None)
    style = LeadStyle.GULL_WING if known is None else known.lead_style
    long, short = stated or (None, None)
    values = [s.value for s in sizes.sides] if stated else []
    return Candidate(
        basis=Basis.DECODED,
        trust=Trust.PACKAGE_NAME,
        text=name.text,
        scheme=_as_package_name(name),
        length=long,
        width=short,
        height=_named_height(sizes.height, style) if sizes.height else None,
        nominal_length=Interval.exactly(max(values)) if values else None,
        nominal_width=Interval.exactly(min(values)) if values else None,
        span=sizes.span.interval if sizes.span else None,
        pitch=sizes.pitch.interval if sizes.pitch else None,
        pins=name.pins,
        mounting=Mounting.SURFACE,
        lead_style=style,
        family=name.label,
        family_key=None if known is None else known.family,
        hidden_joints=style in UNDER_THE_BODY,
    )


def _as_package_name(name: PackageName) -> Said:
    if not name.sizes.read:
        return say("packages.package name without size", label=name.label)
    return say("packages.package name", label=name.label, sizes=name.sizes.read)
