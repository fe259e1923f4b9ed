"""IPC-7351 land-pattern names, such as SOIC127P600X175-8N, CAPC1608X90N or BGA256C80P16X16_1400X1400X170.

The convention's families fall into a few grammars. Numbers are hundredths of a millimetre without leading zeros,
except that two-terminal chips, molded and MELF bodies run length and width together in tenths. A number is
truncated or rounded to its digits, so each is an interval: P65 is 0.645 to 0.655, 12 tenths are 1.15 to 1.3.
A height in a name is the greatest height and is taken as it stands. Source of the grammars: IPC-7351B, table
"Naming Convention for Standard SMT Land Patterns"; families that no open copy of it shows follow common practice.
"""

from __future__ import annotations

import re
from functools import lru_cache
from typing import TYPE_CHECKING, Final

from msgspec.structs import replace

from capcheck.packages.candidate import Reading, hull_of, sides
from capcheck.packages.names.land_patterns.body_rules import (
    body_below_span,
    chip_body,
    diode_body,
    exposed_pad_counted,
    inch_body,
    is_size_code,
    sod_body,
)
from capcheck.packages.names.land_patterns.hundredths import read_later_name
from capcheck.packages.names.land_patterns.numbers import height_of, hundredths, named_body, nominal_of, side_of
from capcheck.packages.tables import size_table
from capcheck.values import Interval, pattern

if TYPE_CHECKING:
    from collections.abc import Callable

_START: Final = r"(?<![A-Z0-9])"
_PINS: Final = r"[-_](?P<pins>\d{1,4})(?:_(?P<locations>\d{1,4}))?(?![0-9]|X\d)"
_DENSITY: Final = r"(?P<density>[MNLABC](?![A-Z0-9]))?"

_TENTHS: Final = pattern(
    _START + r"(?P<family>CAPCP|CAPCWR|CAPC|RESC|INDC|BEADC|FUSC|THRMC|VARC|DIOCN?|LEDC|FILC|TRXC"
    r"|CAPMP|CAPM|RESM|INDPM|INDP|INDM|FUSM|LEDM|DIOMN?|DIOM)"
    r"(?P<digits>\d{4,8})(?:X(?P<height>\d{1,4}))?(?![0-9])"
)
_MELF: Final = pattern(_START + r"(?P<family>RES|DIO|CAP)MELF(?P<digits>\d{4}|\d{6})(?![0-9])")
_SOD: Final = pattern(_START + r"(?P<family>SODFL|SOD)(?P<digits>\d{4,5})X(?P<height>\d{2,4})(?![0-9])")
_CAN: Final = pattern(_START + r"CAPAE(?P<a>\d{3,4})X(?P<height>\d{3,4})(?![0-9])")
_ONE_SPAN: Final = pattern(
    _START + r"(?:(?:HTS|TS|VS|HS|S|M|Q|H)(?=SOP\d))?"
    r"(?P<family>SOTFL|SOT(?:\d{2,4}[-_])?|SOIC|SOPFL|SOP|TSOP|SOJ|CFP|TO)(?P<pitch>\d{2,3})P(?P<span>\d{3,4})"
    r"(?:X(?P<height>\d{2,4}))?(?:_HS)?" + _PINS
)
"""People write their own word before the convention's family: TSSOP65P640X120-20N."""
_TWO_SPANS: Final = pattern(
    _START + r"(?:[HLMTV]{1,2}(?=QFP\d))?(?P<family>CQFP|QFP|PLCC|LDCC|JLCC)(?P<pitch>\d{2,3})P"
    r"(?P<a>\d{3,4})X(?P<b>\d{3,4})(?:X(?P<height>\d{2,4}))?" + _PINS
)
_NO_LEAD: Final = pattern(
    _START + r"(?:[HLTUVWX]{1,2}(?=(?:QFN|SON|DFN)\d))?"
    r"(?P<family>P?QFN|PSON|SON|DFN|LCCS?|LCC|(?:CAP|RES|IND|DIO|FIL)CA(?:V|F|XE|XS))"
    r"(?:\d{1,3}_)?(?P<pitch>\d{2,3})P(?P<a>\d{2,4})X(?P<b>\d{2,4})(?:X(?P<height>\d{2,4}))?(?:_HS)?" + _PINS
)
_NO_PITCH: Final = pattern(
    _START + r"(?P<family>(?:RES|CAP|DIO|IND|FILTR|TRX|LED|TRANS)?DFN|XTAL(?:CC|SC)?|OSC(?:SC|CC|J|L)|LEDSC|LEDCC)"
    r"(?P<a>\d{2,4})X(?P<b>\d{2,4})X(?P<height>\d{2,4})(?:" + _PINS + r")?(?![0-9X])"
)
_LOOSE: Final = pattern(
    _START + r"(?P<family>OSC|XTAL|XTL|CRYSTAL|TCXO|XO|L|IND|INDUCTOR|LED|FUSE)[-_](?P<a>\d{3,4})X(?P<b>\d{3,4})"
    r"(?:X(?P<height>\d{2,4}))?(?:[-_](?P<pins>\d{1,2})(?P<density>[MNL]))?(?![0-9A-Z.])"
)
"""Names after the convention's manner whose family it does not have: OSC-250X200X55, L-1260X1260X600-2N."""
_GRID: Final = pattern(
    _START + r"(?:[A-Z]{1,4}(?=BGA))?(?P<family>BGAS?|LGA|CGAS?|PGA)"
    r"(?P<run>\d{1,4}[CNP]\d{2,3}|\d{3,7})(?:X(?P<pitch2>\d{2,3}))?P"
    r"(?P<columns>\d{1,2})X(?P<rows>\d{1,2})_(?P<a>\d{2,4})X(?P<b>\d{2,4})(?:X(?P<height>\d{2,4}))?(?![0-9X])"
)
_CRYSTAL_WORDS: Final = frozenset({"OSC", "XTAL", "XTL", "CRYSTAL", "TCXO", "XO"})
_LEAST_PITCH: Final = 20
_MOST_PITCH: Final = 254
"""Bounds in hundredths of a millimetre for the pitch of a grid whose count and pitch run together."""
_HINT: Final = pattern(r"\dP\d|X\d\d|MELF\d|(?:CAP|RES|IND|BEAD|FUS|THRM|VAR|DIO|LED)[CM]P?M?\d{4}")

_CHIP_KINDS: Final = {
    "CAPC": ("chip capacitor", False),
    "CAPCP": ("chip polarised capacitor", True),
    "CAPCWR": ("chip capacitor", False),
    "RESC": ("chip resistor", False),
    "INDC": ("chip inductor", None),
    "BEADC": ("chip ferrite bead", False),
    "FUSC": ("chip fuse", False),
    "THRMC": ("chip thermistor", False),
    "VARC": ("chip varistor", False),
    "DIOC": ("chip diode", None),
    "DIOCN": ("chip diode", False),
    "LEDC": ("chip led", True),
    "FILC": ("chip", None),
    "TRXC": ("chip", None),
    "CAPM": ("molded capacitor", False),
    "CAPMP": ("tantalum", True),
    "RESM": ("molded resistor", False),
    "INDM": ("molded inductor", None),
    "INDPM": ("molded inductor", None),
    "INDP": ("molded inductor", None),
    "FUSM": ("molded fuse", False),
    "LEDM": ("molded led", True),
    "DIOM": ("molded diode", True),
    "DIOMN": ("molded diode", False),
}
"""Bounds' family and polarity of the families whose names give two digits for each side."""

_LEAD_STYLES: Final = {
    "SOTFL": "flat lead",
    "SOPFL": "flat lead",
    "SOJ": "J lead",
    "PLCC": "J lead",
    "LDCC": "J lead",
    "JLCC": "J lead",
    "CFP": "flat lead",
}


def _pins(match: re.Match[str], *, bottom_pad: bool) -> tuple[int | None, tuple[str, ...]]:
    """Return the soldered terminals without an exposed pad; 20_24 means 20 fitted of 24 locations."""
    if match["pins"] is None:
        return None, ()
    pins = int(match["pins"])
    locations = int(match["locations"]) if match["locations"] else pins
    if locations < pins:
        pins, locations = locations, pins
    if bottom_pad and locations > 4 and match["locations"] is None:
        return pins - 1, ("the pin count in the name includes an exposed pad",)
    return pins, ()


def _read_tenths(match: re.Match[str], source: str) -> list[Reading]:
    family, digits = match["family"], match["digits"]
    key, polarised = _CHIP_KINDS[family]
    molded = not key.startswith("chip")
    if not molded and match["height"] is None and is_size_code(digits):
        # Without a height it is no full name of the convention: people write CAPC0805 for the inch size too.
        return []
    body = chip_body(digits, molded=molded)
    if body is None:
        return []
    reading = replace(
        named_body(
            source, match[0], f"{family}{digits}" if molded else f"chip {digits}M", key, "molded" if molded else "chip"
        ),
        length=body.length,
        width=body.width,
        nominal_length=body.nominal_length,
        nominal_width=body.nominal_width,
        height=height_of(match["height"]),
        pins=2,
        polarised=polarised,
        hidden_joints=False,
        notes=body.notes,
    )
    inch = None if molded else inch_body(reading, digits)
    if inch is not None:
        return [reading, inch]
    if key == "molded diode":
        return [diode_body(reading, digits)]
    return [reading]


def _read_melf(match: re.Match[str], source: str) -> list[Reading]:
    digits = match["digits"]
    body = chip_body(digits, melf=True)
    if body is None:
        return []
    return [
        replace(
            named_body(source, match[0], f"{match['family']}MELF{digits}", "melf", "melf"),
            length=body.length,
            width=body.width,
            height=body.width,
            nominal_length=body.nominal_length,
            nominal_width=body.nominal_width,
            pins=2,
            polarised=match["family"] == "DIO",
            hidden_joints=False,
        )
    ]


def _read_sod(match: re.Match[str], source: str) -> list[Reading]:
    digits, flat = match["digits"], match["family"] == "SODFL"
    body = chip_body(digits if len(digits) == 4 else digits[:2] + digits[3:])
    if body is None:
        return []
    span = body.raw_length if len(digits) == 4 else hundredths(digits[:3])
    length = Interval(round(0.5 * span.low, 6), span.high)
    # The leads of a SOD project on two sides: the body is shorter than the span, and no open rule says by how much.
    reading = replace(
        named_body(
            source,
            match[0],
            f"{match['family']}{digits}",
            "sodfl" if flat else "sod",
            "flat lead" if flat else "gull wing",
        ),
        length=Interval(max(length.low, body.raw_width.low), max(length.high, body.raw_width.high)),
        width=Interval(min(length.low, body.raw_width.low), body.raw_width.high),
        span=span,
        height=height_of(match["height"]),
        pins=2,
        hidden_joints=False,
    )
    return [sod_body(reading)]


def _read_can(match: re.Match[str], source: str) -> list[Reading]:
    side = Interval.about(int(match["a"]) / 100, 0.2)
    nominal = nominal_of(match["a"])
    return [
        replace(
            named_body(source, match[0], f"CAPAE{match['a']}", "can capacitor", "can"),
            length=side,
            width=side,
            nominal_length=nominal,
            nominal_width=nominal,
            height=height_of(match["height"]),
            pins=2,
            polarised=True,
            hidden_joints=False,
        )
    ]


def _read_one_span(match: re.Match[str], source: str) -> list[Reading]:
    family = re.match(r"[A-Z]+", match["family"])[0]  # type: ignore[index]
    pad = family in {"SOIC", "SOP", "TSOP"} and exposed_pad_counted(int(match["pins"]), 2, match.string[match.end() :])
    pins, notes = _pins(match, bottom_pad=pad)
    key = {"SOPFL": "sop", "TO": "dpak"}.get(family, family.lower())
    reading = replace(
        named_body(source, match[0], f"{family}-{pins}", key, _LEAD_STYLES.get(family, "gull wing")),
        span=hundredths(match["span"]),
        pitch=hundredths(match["pitch"]),
        height=height_of(match["height"]),
        pins=pins,
        notes=notes,
        hidden_joints=pad or family == "TO",
    )
    return [body_below_span(reading)]


def _read_two_spans(match: re.Match[str], source: str) -> list[Reading]:
    family = match["family"]
    pad = exposed_pad_counted(int(match["pins"]), 4, match.string[match.end() :])
    pins, notes = _pins(match, bottom_pad=pad)
    longer, shorter = sides(hundredths(match["a"]), hundredths(match["b"]))
    key = {"LDCC": "plcc", "JLCC": "plcc"}.get(family, family.lower())
    reading = replace(
        named_body(source, match[0], f"{family}-{pins}", key, _LEAD_STYLES.get(family, "gull wing")),
        span=longer,
        span_second=shorter,
        pitch=hundredths(match["pitch"]),
        height=height_of(match["height"]),
        pins=pins,
        notes=notes,
        hidden_joints=pad,
    )
    return [body_below_span(reading)]


def _read_no_lead(match: re.Match[str], source: str) -> list[Reading]:
    family = match["family"]
    array = family[3:5] == "CA"
    four_sides = family.endswith("QFN") or family.startswith("LCC")
    pad = not array and exposed_pad_counted(int(match["pins"]), 4 if four_sides else 2, match.string[match.end() :])
    pins, notes = _pins(match, bottom_pad=pad)
    longer, shorter = sides(side_of(match["a"]), side_of(match["b"]))
    nominal = sides(nominal_of(match["a"]), nominal_of(match["b"]))
    key = "chip array" if array else "lcc" if family.startswith("LCC") else "qfn" if four_sides else "son"
    style = "chip" if array else "no lead"
    castellated = array or key == "lcc"
    return [
        replace(
            named_body(source, match[0], f"{family}-{pins}", key, style),
            length=longer,
            width=shorter,
            nominal_length=nominal[0],
            nominal_width=nominal[1],
            pitch=hundredths(match["pitch"]),
            height=height_of(match["height"]),
            pins=pins,
            notes=notes,
            hidden_joints=not castellated,
        )
    ]


def _read_no_pitch(match: re.Match[str], source: str) -> list[Reading]:
    family = match["family"]
    crystal, oscillator = family.startswith("XTAL"), family.startswith("OSC")
    longer, shorter = sides(side_of(match["a"]), side_of(match["b"]))
    nominal = sides(nominal_of(match["a"]), nominal_of(match["b"]))
    key = "crystal" if crystal else "oscillator" if oscillator else "chip led" if family.startswith("LED") else "dfn"
    style = {"OSCJ": "J lead", "OSCL": "gull wing"}.get(family, "no lead")
    pins = int(match["pins"]) if match["pins"] else {"XTAL": 2, "OSCCC": 4}.get(family)
    return [
        replace(
            named_body(source, match[0], family if pins is None else f"{family}-{pins}", key, style),
            length=longer,
            width=shorter,
            nominal_length=nominal[0],
            nominal_width=nominal[1],
            height=height_of(match["height"]),
            pins=pins,
            hidden_joints=key == "dfn",
        )
    ]


def _read_loose(match: re.Match[str], source: str) -> list[Reading]:
    """Return a body in hundredths where a density letter shows the convention, or the sides are a crystal's size."""
    sized = sides(nominal_of(match["a"]), nominal_of(match["b"]))
    code = "".join(f"{round(side.low * 10):02d}" for side in sized)
    crystal = match["family"] in _CRYSTAL_WORDS
    if match["density"] is None and not (crystal and ("crystal", code) in size_table().by_kind):
        return []
    longer, shorter = sides(side_of(match["a"]), side_of(match["b"]))
    key = {"LED": "chip led", "FUSE": "chip fuse"}.get(match["family"], "crystal" if crystal else "molded inductor")
    return [
        replace(
            named_body(source, match[0], match[0], key, "no lead" if crystal else "other"),
            length=longer,
            width=shorter,
            nominal_length=sized[0],
            nominal_width=sized[1],
            height=height_of(match["height"]),
            pins=int(match["pins"]) if match["pins"] else None,
            lead_style="no lead" if crystal else None,
        )
    ]


def _count_and_pitch(run: str, places: int) -> tuple[str, str] | None:
    """Return the terminals and the pitch; land grids run the two together, and only one split fits the grid."""
    parts = re.split("[CNP]", run)
    if len(parts) == 2:
        return parts[0], parts[1]
    splits = [(run[:-n], run[-n:]) for n in (2, 3) if len(run) > n]
    fitting = [
        (count, pitch)
        for count, pitch in splits
        if _LEAST_PITCH <= int(pitch) <= _MOST_PITCH and 1 <= int(count) <= places
    ]
    full = [s for s in fitting if int(s[0]) == places]
    found = full or fitting
    return found[0] if len(found) == 1 else None


def _read_grid(match: re.Match[str], source: str) -> list[Reading]:
    family = match["family"].rstrip("S")
    places = int(match["columns"]) * int(match["rows"])
    split = _count_and_pitch(match["run"], places)
    if split is None:
        return []
    count, pitch = int(split[0]), hundredths(split[1])
    if match["pitch2"]:
        pitch = min(pitch, hundredths(match["pitch2"]), key=lambda p: p.low)
    longer, shorter = sides(side_of(match["a"]), side_of(match["b"]))
    nominal = sides(nominal_of(match["a"]), nominal_of(match["b"]))
    # Generators write the full grid where balls are missing, so a full grid is an upper bound only.
    full = count == places and min(int(match["columns"]), int(match["rows"])) > 2
    notes = (
        (f"the name counts the full {match['columns']} x {match['rows']} grid; real balls may be fewer",)
        if full
        else ()
    )
    style = {"LGA": "land grid", "CGA": "column grid", "PGA": "other"}.get(family, "ball grid")
    return [
        replace(
            named_body(source, match[0], f"{family}-{count}", family.lower() if family != "PGA" else "cga", style),
            length=longer,
            width=shorter,
            nominal_length=nominal[0],
            nominal_width=nominal[1],
            pitch=pitch,
            height=height_of(match["height"]),
            pins=None if full else count,
            notes=notes,
            hidden_joints=True,
        )
    ]


_GRAMMARS: Final[tuple[tuple[re.Pattern[str], Callable[[re.Match[str], str], list[Reading]]], ...]] = (
    (_GRID, _read_grid),
    (_TWO_SPANS, _read_two_spans),
    (_NO_LEAD, _read_no_lead),
    (_ONE_SPAN, _read_one_span),
    (_NO_PITCH, _read_no_pitch),
    (_CAN, _read_can),
    (_MELF, _read_melf),
    (_TENTHS, _read_tenths),
    (_SOD, _read_sod),
    (_LOOSE, _read_loose),
)


def _either(found: list[Reading], what: str, text: str, source: str) -> Reading:
    question = f'{what} "{text}" is higher than a chip of its metric size; it may be the inch size: state the length'
    return hull_of(tuple(found), source, question)


@lru_cache(maxsize=8192)
def read_land_pattern(text: str, what: str) -> tuple[Reading, ...]:
    """Return the reading of *text* as an IPC-7351 land-pattern name, found anywhere in it; empty if it is none.

    *what* is the field that the text stands in (``footprint``).
    """
    upper = text.upper().replace("×", "X")
    if not _HINT.search(upper):
        return ()
    for grammar, read in _GRAMMARS:
        match = grammar.search(upper)
        if match is not None:
            source = f'{what} "{text}" as an IPC-7351 land-pattern name'
            found = read(match, source)
            if found:
                return (_either(found, what, text, source),) if len(found) > 1 else tuple(found)
    return read_later_name(upper, f'{what} "{text}" as a land-pattern name with all sides')
