"""Tantalum cases, MELF, SOD and DO-214 bodies by the names that people give them.

A tantalum case is metric code and height (7343-31 is 7.3 x 4.3 mm, at most 3.1 mm high) or a letter. Letters A to D
are the same with every maker; the others depend on the maker, so they give the hull of their cases.
"""

from __future__ import annotations

import re
from functools import cache
from typing import Final

from msgspec.structs import replace

from capcheck.model import Basis
from capcheck.packages.candidate import Reading, Trust, hull_of
from capcheck.packages.names.part_kind import BY_PREFIX
from capcheck.packages.tables import Size, size_table
from capcheck.values import Interval, pattern

_SUFFIXED: Final = pattern(
    r"(?<!\d)(1608|2012|3216|3528|6032|7343|7360|7361)[-_ /](\d{2,3})(?=W?(?:[^0-9A-Z.]|[A-Z]?$|[A-Z]_))"
)
_BARE: Final = pattern(r"(?<![\d.])(3528|6032|7343|7360|7361|1411|2312|2917|2924)(?![\d])(?!\.\d)")
_EIA_BARE: Final = pattern(r"(?<![A-Z])EIA[-_ ]?(3216)(?![-_ ]?\d|M(?![A-Z0-9])|[-_ ]?METRIC)")
"""EIA before a code mostly means a molded case; this one is a chip's size too."""
_CERAMIC: Final = pattern(r"(?<![A-Z])(?:CC|CAPC|MLCC|CER|CERAMIC)[-_ ]?$")
_LETTERS: Final = (
    pattern(r"(?:CASE|SIZE)[-_ :]*(?:CASE|SIZE)?[-_ :]*([A-HJKLNPR-Y])(?![A-Z0-9])"),
    pattern(r"TANT(?:ALUM)?[-_ :]+([A-HJKLNPR-Y])(?![A-Z0-9])"),
    pattern(r"(?<![A-Z0-9])([A-HJKLNPR-Y])[-_ ]?CASE(?![A-Z])"),
    pattern(r"(?:(?<![A-Z])TANT(?:ALUM)?|(?<![A-Z])CT|(?<![A-Z])TAN|SMT?C?AP|SMC)[-_]([A-E])(?![A-Z0-9])"),
)
"""Ways to name a case by its letter, the clearest first: the C of C_CASE_D is the capacitor's."""
_TANTALUM_HINT: Final = pattern(r"\d{4}|CASE|TAN|CT[-_]|CAP[-_]|SIZE|SMC[-_]")
_CAPACITOR_PREFIXES: Final = frozenset({"", "C", "CT", "CP", "CB", "CE", "TC", "PC"})
_DIODE_PREFIXES: Final = frozenset({"", "D", "CR", "Z", "ZD", "DZ", "VD", "TVS", "V", "TV", "DS", "VR", "ESD"})
_COAXIAL: Final = pattern(
    r"COAX|CONN|EDGE|JACK|PLUG|ANTENNA|(?<![A-Z])ANT|FEMALE|MALE|SOCKET|\bRF|VERT|RIGHT|STRAIGHT|KEYSTONE|CABLE|U\.?FL|END"
)
_OWN_NUMBER: Final = r"(?![0-9])"


def _outline(size: Size, source: str, lead_style: str, key: str, *, polarised: bool | None) -> Reading:
    return Reading(
        source=source,
        basis=Basis.PUBLISHED,
        trust=Trust.SIZE_CODE,
        length=size.length,
        width=size.width,
        height=_height(size),
        nominal_length=Interval.exactly(size.nominal_length),
        nominal_width=Interval.exactly(size.nominal_width),
        span=size.span,
        pins=2,
        mounting="surface",
        lead_style=lead_style,
        family=_name(size),
        family_key=key,
        hidden_joints=lead_style == "no lead",
        polarised=polarised,
        text=_name(size),
    )


_MEMORY_HEIGHT: Final = 1.1
"""What is allowed for a greatest height that the table has from memory, so that it decides nothing near a limit."""


def _height(size: Size) -> Interval | None:
    if size.height is None or size.basis != "from memory":
        return size.height
    if "melf" in size.family:
        return Interval.at_most(size.width.high)  # a cylinder is as high as its diameter
    return Interval(size.height.low, round(_MEMORY_HEIGHT * size.height.high, 3))


def _name(size: Size) -> str:
    if size.family == "tantalum":
        return f"molded case {size.metric}"
    name = size.names[0]
    if size.family == "melf resistor":
        return f"{name} {size.inch}"
    return name


def _tantalum(sizes: tuple[Size, ...], source: str, question: str = "") -> Reading:
    parts = tuple(_outline(s, source, "molded", "tantalum", polarised=True) for s in sizes)
    return hull_of(parts, source, question)


def _suffixed(code: str, suffix: str, source: str) -> Reading | None:
    cases = [s for s in size_table().tantalum if s.metric.startswith(code)]
    exact = tuple(s for s in cases if s.metric == f"{code}-{suffix}")
    if exact:
        return _tantalum(exact, source)
    height = int(suffix) / (10 if len(suffix) == 2 else 100)
    if not 0.5 <= height <= 6:
        return None
    outline = _tantalum((cases[0],), source)
    changes: dict[str, object] = {
        "height": Interval.at_most(height),
        "family": f"molded case {code}-{suffix}",
        "text": f"{code}-{suffix}",
    }
    return replace(outline, **changes)


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


def read_tantalum(text: str, what: str, ref_prefix: str, kind: str | None) -> list[Reading]:
    """Return the readings of *text* as a molded tantalum (or niobium, or polymer) case: 7343-31, EIA-3528-21, case D.

    A bare 3528 or 7343 says nothing of the height. *kind* is the kind of part as far as known.
    """
    upper = text.upper()
    if not _TANTALUM_HINT.search(upper):
        return []
    suffixed = _SUFFIXED.search(upper)
    source = f'{what} "{text}"'
    capacitor = ref_prefix.upper() in _CAPACITOR_PREFIXES and kind in {None, "capacitor", "tantalum", "diode"}
    if suffixed is not None and (capacitor or kind == "tantalum"):
        reading = _suffixed(suffixed[1], suffixed[2], f"{source} as molded case {suffixed[0]}")
        if reading is not None:
            return [reading]
    letter = next(filter(None, (way.search(upper) for way in _LETTERS)), None)
    if letter is not None and (capacitor or kind == "tantalum"):
        name = letter[1]
        cases = _by_letter().get(name, ())
        if cases:
            question = ""
            if len(cases) > 1:
                metric = " or ".join(s.metric for s in cases)
                question = f"case {name} in {source} is {metric}, by maker; state the EIA code or the size"
            return [_tantalum(cases, f"{source} as molded case {name}", question)]
    bare = _BARE.search(upper) or _EIA_BARE.search(upper)
    if bare is not None and capacitor:
        return [
            _bare(
                bare[1], source, may_be_ceramic=bare[1] == "3216" or _CERAMIC.search(upper[: bare.start()]) is not None
            )
        ]
    return []


def _bare(code: str, source: str, *, may_be_ceramic: bool) -> Reading:
    """Return a case without its height; where letters that stand for a ceramic chip go before, only its two sides."""
    cases = tuple(s for s in size_table().tantalum if code in (s.metric[:4], s.inch))
    molded = replace(_tantalum(cases, f"{source} as molded case {code}, height not stated"), family=f"case {code}")
    if not may_be_ceramic:
        return molded
    return replace(
        molded,
        source=f"{source} as size {code} of a ceramic or a molded capacitor",
        height=None,
        lead_style=None,
        family=f"capacitor {code}",
        family_key=None,
        polarised=None,
        questions=(f"{source} may be a ceramic or a molded capacitor; state its height",),
    )


@cache
def _patterns() -> tuple[tuple[re.Pattern[str], str, str, tuple[Size, ...]], ...]:
    """Return (pattern, lead style, family key, sizes that the name may mean), the more particular names first."""
    named = {(s.family, s.names[0]): s for s in size_table().named}

    def sizes(*keys: tuple[str, str]) -> tuple[Size, ...]:
        return tuple(named[k] for k in keys)

    micro, mini, full = (
        sizes(("melf diode", "MicroMELF"), ("melf resistor", "MicroMELF")),
        sizes(("melf diode", "MiniMELF"), ("melf resistor", "MiniMELF")),
        sizes(("melf diode", "MELF"), ("melf resistor", "MELF")),
    )
    lines: tuple[tuple[str, str, str, tuple[Size, ...]], ...] = (
        (r"MICRO[-_ ]?MELF|MELF[-_ ]?0102", "melf", "melf", micro),
        (r"(?<![A-Z0-9])MMU(?:[-_ ]?0102)?(?![A-Z])", "melf", "melf", micro[1:]),
        (
            r"(?<![A-Z0-9])MMA(?:[-_ ]?0204)?(?![A-Z])|MELF[-_ ]?0204|0204[-_ ]?(?:MINI[-_ ]?)?MELF",
            "melf",
            "melf",
            mini[1:],
        ),
        (r"(?<![A-Z0-9])MMB(?:[-_ ]?0207)?(?![A-Z])|MELF[-_ ]?0207|0207[-_ ]?MELF", "melf", "melf", full[1:]),
        (r"SOD[-_ ]?80|LL[-_ ]?34|DO[-_ ]?213AA", "melf", "melf", mini[:1]),
        (r"DO[-_ ]?213AB|(?<![A-Z])LL[-_ ]?41", "melf", "melf", full[:1]),
        (r"MINI[-_ ]?MELF", "melf", "melf", mini),
        (r"(?<![A-Z])MELF", "melf", "melf", full),
        (r"SOD[-_ ]?123[-_ ]?FL?(?![A-Z])", "flat lead", "sodfl", sizes(("sod", "SOD-123F"))),
        (r"SOD[-_ ]?123(?![\dA-Z])", "gull wing", "sod", sizes(("sod", "SOD-123"))),
        (r"SOD[-_ ]?323[-_ ]?FL?(?![A-Z])", "flat lead", "sodfl", sizes(("sod", "SOD-323F"))),
        (r"SOD[-_ ]?323(?![\dA-Z])|(?<![A-Z])SC[-_ ]?76", "gull wing", "sod", sizes(("sod", "SOD-323"))),
        (r"SOD[-_ ]?523(?![A-Z])|(?<![A-Z])SC[-_ ]?79", "flat lead", "sodfl", sizes(("sod", "SOD-523"))),
        (r"SOD[-_ ]?723(?![A-Z])", "flat lead", "sodfl", sizes(("sod", "SOD-723"))),
        (r"SOD[-_ ]?923(?![A-Z])", "flat lead", "sodfl", sizes(("sod", "SOD-923"))),
        (r"SOD[-_ ]?123[-_ ]?W(?![A-Z])", "flat lead", "sodfl", sizes(("sod", "SOD-123W"))),
        (r"(?:POWERDI|PWRDI)[-_ ]?123(?![A-Z\d])", "flat lead", "sodfl", sizes(("sod", "PowerDI123"))),
        (r"SOD[-_ ]?128(?![A-Z])", "flat lead", "sodfl", sizes(("sod", "SOD-128"))),
        (r"DO[-_ ]?221[-_ ]?AC|(?<![A-Z0-9])SMAF(?![A-Z0-9])", "flat lead", "sodfl", sizes(("sod", "SMAF"))),
        (r"(?<![A-Z0-9])SMBF(?![A-Z0-9])", "flat lead", "sodfl", sizes(("sod", "SMBF"))),
        (r"DO[-_ ]?220[-_ ]?AA", "flat lead", "sodfl", sizes(("sod", "SMP"))),
        (r"DO[-_ ]?216[-_ ]?AA", "flat lead", "sodfl", sizes(("sod", "DO-216AA"))),
        (r"SOD[-_ ]?962(?![A-Z])", "no lead", "dfn", sizes(("sod", "SOD-962"))),
        (r"SOD[-_ ]?87(?![A-Z])", "melf", "melf", sizes(("melf diode", "SOD-87"))),
        (r"SOD[-_ ]?106(?![A-Z])|DO[-_ ]?214[-_ ]?BA", "J lead", "molded diode", sizes(("do-214", "SOD-106"))),
        (r"(?<![A-Z0-9])(?:P4SMA|SMAJ)\d+", "J lead", "molded diode", sizes(("do-214", "SMA"))),
        (r"(?<![A-Z0-9])(?:P6SMB|SMBJ)\d+", "J lead", "molded diode", sizes(("do-214", "SMB"))),
        (r"(?<![A-Z0-9.])(?:1\.5SMC|SM[CD]J)\d+", "J lead", "molded diode", sizes(("do-214", "SMC"))),
        (r"DO[-_ ]?215[-_ ]?AC", "gull wing", "molded diode", sizes(("do-215", "DO-215AC"))),
        (r"DO[-_ ]?215[-_ ]?AA", "gull wing", "molded diode", sizes(("do-215", "DO-215AA"))),
        (r"DO[-_ ]?215[-_ ]?AB", "gull wing", "molded diode", sizes(("do-215", "DO-215AB"))),
        (r"SOD[-_ ]?882(?![A-Z])|DFN[-_ ]?1006[-_]2", "no lead", "dfn", sizes(("sod", "SOD-882"))),
        (r"DO[-_ ]?219[-_ ]?AB", "flat lead", "sodfl", sizes(("sod", "SMF"))),
        (
            r"(?<![A-Z0-9])SMA[-_/ ]SMB(?![A-Z0-9])",
            "J lead",
            "molded diode",
            sizes(("do-214", "SMA"), ("do-214", "SMB")),
        ),
        (
            r"(?<![A-Z0-9])SMB[-_/ ]SMC(?![A-Z0-9])",
            "J lead",
            "molded diode",
            sizes(("do-214", "SMB"), ("do-214", "SMC")),
        ),
        (r"DO[-_ ]?214[-_ ]?AC", "J lead", "molded diode", sizes(("do-214", "SMA"))),
        (r"DO[-_ ]?214[-_ ]?AA", "J lead", "molded diode", sizes(("do-214", "SMB"))),
        (r"DO[-_ ]?214[-_ ]?AB", "J lead", "molded diode", sizes(("do-214", "SMC"))),
        (r"(?<![A-Z0-9])(?:D[-_ ])?SMA(?![A-Z0-9])", "J lead", "molded diode", sizes(("do-214", "SMA"))),
        (r"(?<![A-Z0-9])(?:D[-_ ])?SMB(?![A-Z0-9])", "J lead", "molded diode", sizes(("do-214", "SMB"))),
        (r"(?<![A-Z0-9])(?:D[-_ ])?SMC(?![A-Z0-9])", "J lead", "molded diode", sizes(("do-214", "SMC"))),
    )
    return tuple((re.compile(f"(?:{p}){_OWN_NUMBER}"), style, key, found) for p, style, key, found in lines)


_HINT: Final = pattern(r"MELF|SOD|DO[-_ ]?2[12]|SM[ABCD]|LL[-_ ]?[34]|SC[-_ ]?7|MM[ABU]|DFN|DI[-_ ]?123")


def read_named(text: str, what: str, ref_prefix: str, kind: str | None) -> list[Reading]:
    """Return the readings of *text* as a MELF, SOD or DO-214 body.

    SMA is also a coaxial connector, so SMA, SMB and SMC count for diodes only. A MELF name that fits a diode and a
    resistor gives the hull of both unless *kind* tells them apart.
    """
    upper = text.upper()
    if not _HINT.search(upper):
        return []
    for shape, style, key, sizes in _patterns():
        match = shape.search(upper)
        if match is None:
            continue
        if key == "molded diode" and (ref_prefix.upper() not in _DIODE_PREFIXES or _COAXIAL.search(upper)):
            continue
        if style == "melf" and match[0].startswith("MM") and ref_prefix.upper() not in {"", "R"}:
            continue
        if kind not in {"diode", "resistor"}:
            kind = BY_PREFIX.get(ref_prefix.upper())
        chosen = sizes
        if len(sizes) > 1 and kind in {"diode", "resistor"} and style == "melf":
            chosen = tuple(s for s in sizes if s.family.endswith(kind))
        source = f'{what} "{text}" as {chosen[0].names[0]}'
        if style == "J lead" and match[0].startswith("DO") is False:
            source += f" ({chosen[0].names[-1]})"
        question = ""
        if len(chosen) > 1:
            question = f'{match[0]} in {what} "{text}" may be a diode or a resistor; state the length and the diameter'
            if style != "melf":
                either = " or ".join(s.names[0] for s in chosen)
                question = f'{what} "{text}" takes {either}: state which of them is fitted'
        polarised = False if chosen[0].family == "melf resistor" else None
        parts = tuple(_outline(s, source, style, key, polarised=polarised) for s in chosen)
        return [hull_of(parts, source, question)]
    return []
