"""Tantalum cases, MELF, SOD and DO-214 bodies by the names that people give them.

A tantalum case is metric code and height (7343-31 is 7.3 x 4.3 mm, at most 3.1 mm high) or a letter. Letters A to D
are the same with every maker; the others depend on the maker, so they give the hull of their cases.
"""

from __future__ import annotations

import re
from functools import cache, lru_cache
from typing import Final

from msgspec import Struct
from msgspec.structs import replace

from capcheck.lexicon import shape
from capcheck.model import Basis, LeadStyle, Mounting, Said, say
from capcheck.packages.candidate import PROSE, Candidate, Column, Trust, hull_of
from capcheck.packages.names.part_kind import KIND_BY_PREFIX
from capcheck.packages.tables import FROM_MEMORY, Family, Size, families, size_table
from capcheck.values import Interval, pattern

_SUFFIX: Final = r"(?<!\d)(1608|2012|3216|3528|6032|7260|7343|7360|7361)[-_ /](\d{2,3})"
_SUFFIXED: Final = pattern(rf"{_SUFFIX}(?=W?(?:[^0-9A-Z.]|[A-Z]?$|[A-Z]_))")
_ALONE: Final = pattern(rf"(?:.{{0,80}}:)?(?:EIA[-_ ]?)?{_SUFFIX}[A-Z]?")
"""A name of a footprint that is a case and nothing else, whatever the reference's letters stand for."""
_BARE: Final = pattern(r"(?<![\d.])(3528|6032|7260|7343|7360|7361|1411|2312|2917|2924)(?![\d])(?!\.\d)")
_EIA_BARE: Final = pattern(r"(?<![A-Z])EIA[-_ ]?(3216)(?![-_ ]?\d|M(?![A-Z0-9])|[-_ ]?METRIC)")
"""EIA before a code mostly means a molded case; this one is a chip's size too."""
_CERAMIC: Final = pattern(r"(?<![A-Z])(?:CC|CAPC|MLCC|CER|CERAMIC)[-_ ]?$")
_LETTERS: Final = (
    pattern(r"(?:CASE|SIZE|BAUFORM|TAILLE|BO[IÎ]TIER)[-_ :]*(?:CASE|SIZE)?[-_ :]*([A-HJKLNPR-Y])(?![A-Z0-9])"),
    pattern(r"TANT(?:ALUM)?[-_ :]+([A-HJKLNPR-Y])(?![A-Z0-9])"),
    pattern(r"(?<![A-Z0-9])([A-HJKLNPR-Y])[-_ ]?CASE(?![A-Z])"),
    pattern(r"(?:(?<![A-Z])TANT(?:ALUM)?|(?<![A-Z])CT|(?<![A-Z])TAN|SMT?C?AP|SMC)[-_]([A-E])(?![A-Z0-9])"),
)
"""Ways to name a case by its letter, the clearest first: the C of C_CASE_D is the capacitor's."""
_TANTALUM_HINT: Final = pattern(r"\d{4}|CASE|TAN|CT[-_]|CAP[-_]|SIZE|SMC[-_]|BAUFORM|TAILLE|TIER")
_CAPACITOR_PREFIXES: Final = frozenset({"", "C", "CT", "CP", "CB", "CE", "TC", "PC"})
_DIODE_PREFIXES: Final = frozenset({"", "D", "CR", "Z", "ZD", "DZ", "VD", "TVS", "V", "TV", "DS", "VR", "ESD"})
_COAXIAL: Final = pattern(
    r"COAX|CONN|EDGE|JACK|PLUG|ANTENNA|(?<![A-Z])ANT|FEMALE|MALE|SOCKET|\bRF|VERT|RIGHT|STRAIGHT|KEYSTONE|CABLE|U\.?FL|END"
)
_OWN_NUMBER: Final = r"(?![0-9])"


def _sized(size: Size, name: Candidate) -> Candidate:
    """Return *name*, which says how a text was read, with the body of one size that it may mean."""
    return replace(
        name,
        piece=_readable(size),
        length=size.length,
        width=size.width,
        height=_height(size),
        nominal_length=Interval.exactly(size.nominal_length),
        nominal_width=Interval.exactly(size.nominal_width),
        span=size.span,
        family=_readable(size),
        polarised=True if size.family == "tantalum" else False if size.family == "melf resistor" else None,
    )


def _named(column: Column, text: str, scheme: Said, lead_style: LeadStyle, family: Family) -> Candidate:
    return Candidate(
        Basis.PUBLISHED,
        Trust.SIZE_CODE,
        column,
        text,
        scheme=scheme,
        pins=2,
        mounting=Mounting.SURFACE,
        lead_style=lead_style,
        family_key=family,
        hidden_joints=lead_style is LeadStyle.NO_LEAD,
    )


_MEMORY_HEIGHT: Final = 1.1
"""What is allowed for a greatest height that the table has from memory, so that it decides nothing near a limit."""


def _height(size: Size) -> Interval | None:
    if size.height is None or size.basis != FROM_MEMORY:
        return size.height
    if size.family in {"melf diode", "melf resistor"}:
        return Interval.at_most(size.width.high)  # a cylinder is as high as its diameter
    return Interval(size.height.low, round(_MEMORY_HEIGHT * size.height.high, 3))


def _readable(size: Size) -> str:
    if size.family == "tantalum":
        return f"molded case {size.metric}"
    name = size.names[0]
    if size.family == "melf resistor":
        return f"{name} {size.inch}"
    return name


def _suffixed(code: str, suffix: str, name: Candidate) -> Candidate | None:
    cases = [s for s in size_table().tantalum if s.metric.startswith(code)]
    exact = next((s for s in cases if s.metric == f"{code}-{suffix}"), None)
    if exact is not None:
        return _sized(exact, name)
    height = int(suffix) / (10 if len(suffix) == 2 else 100)
    if not 0.5 <= height <= 6:
        return None
    case = _sized(cases[0], name)
    return replace(
        case, height=Interval.at_most(height), family=f"molded case {code}-{suffix}", piece=f"{code}-{suffix}"
    )


@cache
def _by_letter() -> dict[str, tuple[Size, ...]]:
    found: dict[str, list[Size]] = {}
    for size in size_table().tantalum:
        for name in size.names:
            letter = name.split()[-1]
            if len(letter) == 1:
                found.setdefault(letter, []).append(size)
        # A name such as KEMET/AVX R was split at the stroke; its last piece carries the letter.
    fixed = {"A": "3216-18", "B": "3528-21", "C": "6032-28", "D": "7343-31"}
    by_letter = {letter: tuple(dict.fromkeys(sizes)) for letter, sizes in found.items()}
    for letter, metric in fixed.items():
        by_letter[letter] = tuple(s for s in size_table().tantalum if s.metric == metric)
    return by_letter


@lru_cache(maxsize=4096)
def may_be_case(shaped: str) -> bool:
    """Whether capitals of this shape may name a molded case."""
    return _TANTALUM_HINT.search(shaped) is not None


def read_tantalum(text: str, column: Column, ref_prefix: str, kind: str | None) -> list[Candidate]:
    """Return *text* read as a molded tantalum (or niobium, or polymer) case: 7343-31, EIA-3528-21, case D.

    A bare 3528 or 7343 says nothing of the height. *kind* is the kind of part as far as known.
    """
    upper = text.upper()
    capacitor = ref_prefix.upper() in _CAPACITOR_PREFIXES and kind in {None, "capacitor", "tantalum", "diode"}
    if not may_be_case(shape(upper)):
        return []
    of_another = not (capacitor or kind == "tantalum")
    if of_another and (column in PROSE or ref_prefix.upper() not in KIND_BY_PREFIX or not _ALONE.fullmatch(upper)):
        return []

    def case_named(case: str, key: str = "molded case") -> Candidate:
        return _named(column, text, say(f"packages.{key}", case=case), LeadStyle.MOLDED, Family.TANTALUM)

    suffixed = _SUFFIXED.search(upper)
    if suffixed is not None:
        found = _suffixed(suffixed[1], suffixed[2], case_named(suffixed[0]))
        if found is not None:
            # Of another part than a capacitor the name says how large it is, and not which end is which.
            return [replace(found, polarised=None) if of_another else found]
    if of_another:
        return []
    letter = next(filter(None, (way.search(upper) for way in _LETTERS)), None)
    if letter is not None and (cases := _by_letter().get(letter[1], ())):
        name = case_named(letter[1])
        metric = [s.metric for s in cases]
        question = say("packages.case by maker", case=letter[1], column=column, text=text, cases=metric)
        return [hull_of(tuple(_sized(s, name) for s in cases), name.scheme, question)]
    bare = _BARE.search(upper) or _EIA_BARE.search(upper)
    if bare is None or not capacitor:
        return []
    may_be_ceramic = bare[1] == "3216" or _CERAMIC.search(upper[: bare.start()]) is not None
    return [_without_height(bare[1], case_named(bare[1], "molded case without height"), may_be_ceramic=may_be_ceramic)]


def _without_height(code: str, name: Candidate, *, may_be_ceramic: bool) -> Candidate:
    """Return a case without its height; where letters that stand for a ceramic chip go before, only its two sides."""
    cases = tuple(s for s in size_table().tantalum if code in (s.metric[:4], s.inch))
    molded = replace(hull_of(tuple(_sized(s, name) for s in cases), name.scheme), family=f"case {code}")
    if not may_be_ceramic:
        return molded
    return replace(
        molded,
        scheme=say("packages.ceramic or molded capacitor", code=code),
        height=None,
        lead_style=None,
        family=f"capacitor {code}",
        family_key=None,
        polarised=None,
        questions=(say("packages.ceramic or molded", column=name.column, text=name.text),),
    )


class _ShortName(Struct, frozen=True):
    """A name by its pattern over capitals, and the sizes that it may mean."""

    pattern: re.Pattern[str]
    family: Family
    lead_style: LeadStyle
    sizes: tuple[Size, ...]


@cache
def _short_names() -> tuple[_ShortName, ...]:
    """Return the short names of all families, the more particular ones first."""
    named = {f"{size.family} {size.names[0]}": size for size in size_table().named}
    return tuple(
        _ShortName(
            re.compile(f"(?:{name.pattern}){_OWN_NUMBER}"),
            table.family,
            name.lead_style,
            tuple(named[size] for size in name.sizes),
        )
        for table in families()
        for name in table.names
    )


_HINTS: Final = r"MELF|SOD|DO[-_ ]?2[12]|SM[ABCD]|LL[-_ ]?[34]|SC[-_ ]?7|MM[ABU]|DFN|DI[-_ ]?123"
_HINT: Final = pattern(_HINTS)


_HINT_OF_SHAPE: Final = pattern(lambda: re.sub(r"\[\d+\]|\d", "0", _HINTS))
"""The same letters in a text whose digits are all noughts."""


def may_be_named(shaped: str) -> bool:
    """Whether capitals of this shape may name a MELF, SOD or DO-214 body."""
    return _HINT_OF_SHAPE.search(shaped) is not None


def read_named(text: str, column: Column, ref_prefix: str, kind: str | None) -> list[Candidate]:
    """Return *text* read as a MELF, SOD or DO-214 body.

    SMA is also a coaxial connector, so SMA, SMB and SMC count for diodes only. A MELF name that fits a diode and a
    resistor gives the hull of both unless *kind* tells them apart.
    """
    upper = text.upper()
    if not _HINT.search(upper):
        return []
    prefix = ref_prefix.upper()
    for name in _short_names():
        match = name.pattern.search(upper)
        if match is None:
            continue
        melf = name.lead_style is LeadStyle.MELF
        if name.family is Family.MOLDED_DIODE and (prefix not in _DIODE_PREFIXES or _COAXIAL.search(upper)):
            continue
        if melf and match[0].startswith("MM") and prefix not in {"", "R"}:
            continue
        if kind not in {"diode", "resistor"}:
            kind = KIND_BY_PREFIX.get(prefix)
        chosen = name.sizes
        if len(chosen) > 1 and kind in {"diode", "resistor"} and melf:
            chosen = tuple(s for s in chosen if s.family == f"melf {kind}")
        return [_short_named(name, match[0], chosen, column, text)]
    return []


def _short_named(name: _ShortName, piece: str, chosen: tuple[Size, ...], column: Column, text: str) -> Candidate:
    names = [s.names[0] for s in chosen]
    scheme = say("packages.short name", name=names[0])
    if name.lead_style is LeadStyle.J_LEAD and not piece.startswith("DO"):
        scheme = say("packages.short name of an outline", name=names[0], outline=chosen[0].names[-1])
    if name.lead_style is LeadStyle.MELF:
        question = say("packages.diode or resistor", name=piece, column=column, text=text)
    else:
        question = say("packages.takes either", column=column, text=text, names=names)
    base = _named(column, text, scheme, name.lead_style, name.family)
    return hull_of(tuple(_sized(s, base) for s in chosen), scheme, question)
