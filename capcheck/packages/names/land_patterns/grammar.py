"""IPC-7351 land-pattern names, such as SOIC127P600X175-8N, CAPC1608X90N or BGA256C80P16X16_1400X1400X170.

The convention's families fall into a few grammars. Numbers are hundredths of a millimetre without leading zeros,
except that two-terminal chips, molded and MELF bodies run length and width together in tenths. A number is
truncated or rounded to its digits, so each is an interval: P65 is 0.645 to 0.655, 12 tenths are 1.15 to 1.3.
A height in a name is the greatest height; the least is a share of it. Source of the grammars: IPC-7351B, table
"Naming Convention for Standard SMT Land Patterns"; families that no open copy of it shows follow common practice.
"""

from __future__ import annotations

import re
from functools import lru_cache
from typing import TYPE_CHECKING, Final

from msgspec.structs import replace

from capcheck.lexicon import shape
from capcheck.model import LeadStyle, Said, say
from capcheck.packages.candidate import Candidate, Column, hull_of, sides
from capcheck.packages.names.land_patterns.body_rules import (
    body_below_span,
    chip_body,
    diode_body,
    exposed_pad_counted,
    inch_body,
    is_size_code,
    sod_body,
)
from capcheck.packages.names.land_patterns.families import land_pattern, words_in
from capcheck.packages.names.land_patterns.later_names import read_later_name
from capcheck.packages.names.land_patterns.numbers import (
    LAND_PATTERN,
    height_of,
    hundredths,
    named_body,
    nominal_of,
    two_sides,
)
from capcheck.packages.tables import Family, Layout, size_table
from capcheck.values import Interval, pattern

if TYPE_CHECKING:
    from collections.abc import Callable

_START: Final = r"(?<![A-Z0-9])"
_PINS: Final = r"[-_](?P<pins>\d{1,4})(?:_(?P<locations>\d{1,4}))?(?![0-9]|X\d)"

_TENTHS: Final = pattern(
    lambda: (
        _START + rf"(?P<family>{words_in(Layout.TENTHS)})" + r"(?P<digits>\d{4,8})(?:X(?P<height>\d{1,4}))?(?![0-9])"
    )
)
_MELF: Final = pattern(_START + r"(?P<family>RES|DIO|CAP)MELF(?P<digits>\d{4}|\d{6})(?![0-9])")
_SOD: Final = pattern(_START + r"(?P<family>SODFL|SOD)(?P<digits>\d{4,5})X(?P<height>\d{2,4})(?![0-9])")
_CAN: Final = pattern(_START + r"CAPAE(?P<a>\d{3,4})X(?P<height>\d{3,4})(?![0-9])")
_ONE_SPAN: Final = pattern(
    lambda: (
        _START + r"(?:(?:HTS|TS|VS|HS|S|M|Q|H)(?=SOP\d))?"
        rf"(?P<family>{words_in(Layout.ONE_SPAN)})" + r"(?:(?<=SOT)\d{2,4}[-_])?(?P<pitch>\d{2,3})P(?P<span>\d{3,4})"
        r"(?:X(?P<height>\d{2,4}))?(?:_HS)?" + _PINS
    )
)
"""People write their own word before the convention's family: TSSOP65P640X120-20N."""
_TWO_SPANS: Final = pattern(
    lambda: (
        _START + r"(?:[HLMTV]{1,2}(?=QFP\d))?" + rf"(?P<family>{words_in(Layout.TWO_SPANS)})" + r"(?P<pitch>\d{2,3})P"
        r"(?P<a>\d{3,4})X(?P<b>\d{3,4})(?:X(?P<height>\d{2,4}))?" + _PINS
    )
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
_GRIDS: Final = {
    "BGA": (Family.BGA, LeadStyle.BALL_GRID),
    "LGA": (Family.LGA, LeadStyle.LAND_GRID),
    "CGA": (Family.CGA, LeadStyle.COLUMN_GRID),
    "PGA": (Family.CGA, LeadStyle.OTHER),
}
_PAD_BELOW: Final = frozenset((Family.SOIC, Family.SOP, Family.TSOP))
"""Families of which some have an exposed pad."""
_LEAST_PITCH: Final = 20
_MOST_PITCH: Final = 254
"""Bounds in hundredths of a millimetre for the pitch of a grid whose count and pitch run together."""
_HINT: Final = pattern(r"\dP\d|X\d\d|MELF\d|(?:CAP|RES|IND|BEAD|FUS|THRM|VAR|DIO|LED)[CM]P?M?\d{4}")


def _pins(match: re.Match[str], *, bottom_pad: bool) -> tuple[int | None, tuple[Said, ...]]:
    """Return the soldered terminals without an exposed pad; 20_24 means 20 fitted of 24 locations."""
    if match["pins"] is None:
        return None, ()
    pins = int(match["pins"])
    locations = int(match["locations"]) if match["locations"] else pins
    if locations < pins:
        pins, locations = locations, pins
    if bottom_pad and locations > 4 and match["locations"] is None:
        return pins - 1, (say("packages.counts an exposed pad"),)
    return pins, ()


def _read_tenths(match: re.Match[str]) -> list[Candidate]:
    word, digits = land_pattern(match["family"]), match["digits"]
    molded = word.lead_style is LeadStyle.MOLDED
    if not molded and match["height"] is None and is_size_code(digits):
        # Without a height it is no full name of the convention: people write CAPC0805 for the inch size too.
        return []
    body = chip_body(digits, molded=molded)
    if body is None:
        return []
    readable = f"{word.word}{digits}" if molded else f"chip {digits}M"
    name = replace(
        named_body(match[0], readable, word.family, word.lead_style),
        length=body.length,
        width=body.width,
        nominal_length=body.nominal_length,
        nominal_width=body.nominal_width,
        height=height_of(match["height"]),
        pins=2,
        polarised=word.polarised,
        hidden_joints=False,
    )
    inch = None if molded else inch_body(name, digits)
    if inch is not None:
        return [name, inch]
    return [diode_body(name, digits) if word.family is Family.MOLDED_DIODE else name]


def _read_melf(match: re.Match[str]) -> list[Candidate]:
    digits = match["digits"]
    body = chip_body(digits, melf=True)
    if body is None:
        return []
    return [
        replace(
            named_body(match[0], f"{match['family']}MELF{digits}", Family.MELF, LeadStyle.MELF),
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


def _read_sod(match: re.Match[str]) -> list[Candidate]:
    digits = match["digits"]
    key, style = (Family.SODFL, LeadStyle.FLAT_LEAD)
    if match["family"] == "SOD":
        key, style = Family.SOD, LeadStyle.GULL_WING
    body = chip_body(digits if len(digits) == 4 else digits[:2] + digits[3:])
    if body is None:
        return []
    span = body.raw_length if len(digits) == 4 else hundredths(digits[:3])
    length = Interval(round(0.5 * span.low, 6), span.high)
    # The leads of a SOD project on two sides: the body is shorter than the span, and no open rule says by how much.
    name = replace(
        named_body(match[0], f"{match['family']}{digits}", key, style),
        length=Interval(max(length.low, body.raw_width.low), max(length.high, body.raw_width.high)),
        width=Interval(min(length.low, body.raw_width.low), body.raw_width.high),
        span=span,
        height=height_of(match["height"]),
        pins=2,
        hidden_joints=False,
    )
    return [sod_body(name)]


def _read_can(match: re.Match[str]) -> list[Candidate]:
    side = Interval.about(int(match["a"]) / 100, 0.2)
    nominal = nominal_of(match["a"])
    return [
        replace(
            named_body(match[0], f"CAPAE{match['a']}", Family.CAN_CAPACITOR, LeadStyle.CAN),
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


def _read_one_span(match: re.Match[str]) -> list[Candidate]:
    word = land_pattern(match["family"])
    pad = word.family in _PAD_BELOW and word.lead_style is LeadStyle.GULL_WING and _counts_pad(match, 2)
    pins, notes = _pins(match, bottom_pad=pad)
    name = replace(
        named_body(match[0], f"{word.word}-{pins}", word.family, word.lead_style),
        span=hundredths(match["span"]),
        pitch=hundredths(match["pitch"]),
        height=height_of(match["height"]),
        pins=pins,
        notes=notes,
        hidden_joints=pad or word.family is Family.DPAK,
    )
    return [body_below_span(name)]


def _counts_pad(match: re.Match[str], sided: int) -> bool:
    return exposed_pad_counted(int(match["pins"]), sided, match.string[match.end() :])


def _read_two_spans(match: re.Match[str]) -> list[Candidate]:
    word = land_pattern(match["family"])
    pad = _counts_pad(match, 4)
    pins, notes = _pins(match, bottom_pad=pad)
    longer, shorter = sides(hundredths(match["a"]), hundredths(match["b"]))
    name = replace(
        named_body(match[0], f"{word.word}-{pins}", word.family, word.lead_style),
        span=longer,
        span_second=shorter,
        pitch=hundredths(match["pitch"]),
        height=height_of(match["height"]),
        pins=pins,
        notes=notes,
        hidden_joints=pad,
    )
    return [body_below_span(name)]


def _read_no_lead(match: re.Match[str]) -> list[Candidate]:
    word = match["family"]
    family = (
        Family.CHIP_ARRAY
        if word[3:5] == "CA"
        else Family.LCC
        if word.startswith("LCC")
        else Family.QFN
        if word.endswith("QFN")
        else Family.SON
    )
    array = family is Family.CHIP_ARRAY
    pad = not array and _counts_pad(match, 2 if family is Family.SON else 4)
    pins, notes = _pins(match, bottom_pad=pad)
    return [
        replace(
            named_body(match[0], f"{word}-{pins}", family, LeadStyle.CHIP if array else LeadStyle.NO_LEAD),
            **two_sides(match),
            pitch=hundredths(match["pitch"]),
            height=height_of(match["height"]),
            pins=pins,
            notes=notes,
            hidden_joints=family not in {Family.CHIP_ARRAY, Family.LCC},  # their ends are castellated
        )
    ]


def _read_no_pitch(match: re.Match[str]) -> list[Candidate]:
    word = match["family"]
    starts = {"XTAL": Family.CRYSTAL, "OSC": Family.OSCILLATOR, "LED": Family.CHIP_LED}
    family = next((family for start, family in starts.items() if word.startswith(start)), Family.DFN)
    style = {"OSCJ": LeadStyle.J_LEAD, "OSCL": LeadStyle.GULL_WING}.get(word, LeadStyle.NO_LEAD)
    pins = int(match["pins"]) if match["pins"] else {"XTAL": 2, "OSCCC": 4}.get(word)
    return [
        replace(
            named_body(match[0], word if pins is None else f"{word}-{pins}", family, style),
            **two_sides(match),
            height=height_of(match["height"]),
            pins=pins,
            hidden_joints=family is Family.DFN,
        )
    ]


def _read_loose(match: re.Match[str]) -> list[Candidate]:
    """Return a body in hundredths where a density letter shows the convention, or the sides are a crystal's size."""
    code = "".join(f"{round(side.low * 10):02d}" for side in sides(nominal_of(match["a"]), nominal_of(match["b"])))
    crystal = match["family"] in _CRYSTAL_WORDS
    if match["density"] is None and not (crystal and ("crystal", code) in size_table().by_kind):
        return []
    family = {"LED": Family.CHIP_LED, "FUSE": Family.CHIP_FUSE}.get(
        match["family"], Family.CRYSTAL if crystal else Family.MOLDED_INDUCTOR
    )
    return [
        replace(
            named_body(match[0], match[0], family, LeadStyle.NO_LEAD if crystal else None),
            **two_sides(match),
            height=height_of(match["height"]),
            pins=int(match["pins"]) if match["pins"] else None,
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


def _read_grid(match: re.Match[str]) -> list[Candidate]:
    word = match["family"].rstrip("S")
    places = int(match["columns"]) * int(match["rows"])
    split = _count_and_pitch(match["run"], places)
    if split is None:
        return []
    count, pitch = int(split[0]), hundredths(split[1])
    if match["pitch2"]:
        pitch = min(pitch, hundredths(match["pitch2"]), key=lambda p: p.low)
    # Generators write the full grid where balls are missing, so a full grid is an upper bound only.
    full = count == places and min(int(match["columns"]), int(match["rows"])) > 2
    note = say("packages.counts the full grid", columns=match["columns"], rows=match["rows"])
    family, style = _GRIDS[word]
    return [
        replace(
            named_body(match[0], f"{word}-{count}", family, style),
            **two_sides(match),
            pitch=pitch,
            height=height_of(match["height"]),
            pins=None if full else count,
            notes=(note,) if full else (),
            hidden_joints=True,
        )
    ]


_GRAMMARS: Final[tuple[tuple[re.Pattern[str], Callable[[re.Match[str]], list[Candidate]]], ...]] = (
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


@lru_cache(maxsize=4096)
def may_be_land_pattern(shaped: str) -> bool:
    """Whether capitals of this shape may be the name of a land pattern."""
    return _HINT.search(shaped) is not None


@lru_cache(maxsize=8192)
def read_land_pattern(text: str, column: Column) -> Candidate | None:
    """Return *text* read as an IPC-7351 land-pattern name, found anywhere in it; None if it is none."""
    upper = text.upper().replace("×", "X")
    if not may_be_land_pattern(shape(upper)):
        return None
    for grammar, read in _GRAMMARS:
        match = grammar.search(upper)
        if match is not None and (found := read(match)):
            placed = tuple(replace(name, text=text, column=column) for name in found)
            question = say("packages.higher than its metric size", column=column, text=text)
            return hull_of(placed, LAND_PATTERN, question)
    later = read_later_name(upper)
    return None if later is None else replace(later, text=text, column=column)
