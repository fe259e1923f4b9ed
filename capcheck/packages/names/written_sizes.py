"""The sizes, pitch and counts that are written in a package name or a description.

Nothing here knows packages. The patterns are anchored on what people write (``3.9x4.9mm``, ``P0.5``, ``L2.9 W1.6``,
``H 1.2MAX``), and refuse what only looks like a size: values (``4x10k``), grids (``1x04``, ``16x2 LCD``), size
codes (``0402x4``), pads (``EP5.6x5.6``).
"""

from __future__ import annotations

import re
import unicodedata
from functools import lru_cache
from typing import Final

from msgspec import Struct, field

from capcheck.lexicon import mm_per, shape, unit_named
from capcheck.packages.names.side_orders import in_usual_order
from capcheck.packages.tables import part_words, rows_of
from capcheck.values import Interval, pattern

_NUMBER = r"(?:\d{1,3}(?:\.\d{1,4})?|\.\d{1,4})"
_UNIT = r'(?:MM|INCH|IN|MILS?|")'
_PLUS_MINUS = r"(?:\s?(?:±|\+/-|\+-)\s?\d?\.\d{1,3}(?:\s?MM)?)?"
_DIMS: Final = pattern(
    rf"(?<![A-Z])(?P<lead>[A-Z]*+)(?P<gap>[-_ =(]|:\s?)?"
    rf"(?<![\d.])(?P<a>{_NUMBER})\s?(?P<ua>{_UNIT})?(?P<ta>{_PLUS_MINUS})(?:\s?\([LW]\))?"
    rf"\s?[X*]\s?(?P<b>{_NUMBER})(?![\d.])\s?(?P<ub>{_UNIT})?(?P<tb>{_PLUS_MINUS})(?:\s?\([LW]\))?"
    rf"(?:\s?[X*]\s?(?P<c>{_NUMBER})(?![\d.])\s?(?P<uc>{_UNIT})?(?P<tc>{_PLUS_MINUS})(?:\s?\([HT]\))?)?"
    rf"(?P<more>\s?[X*]\s?\d)?(?P<tail>[A-Z%Ω]*)(?P<after>\s?(?:[A-Z]+)?)",
)
_LABEL: Final = pattern(
    r"(?<![A-Z0-9.])(?P<name>LS|BD|L|W|H|HT|T|D|DIA|Ø|P|LENGTH|WIDTH|HEIGHT|THICKNESS|DIAMETER|PITCH|RASTER|RASTERMASS|PAS|PASO|PASSO)"
    rf"(?P<gap>\s?[=:]\s?|\s|[-_])?(?P<max>MAX\.?\s?)?(?P<v>{_NUMBER})(?P<tol>{_PLUS_MINUS})\s?(?P<u>{_UNIT})?\s?(?P<max2>\(?MAX\.?\)?)?"
    r"(?![A-Z0-9.%Ω])",
)
_GLUED: Final = pattern(r"((?:(?<![A-Z])[LWDH]|X)\d{1,2}\.\d{1,2})(?:MM)?X?(?=[LWDHT]\d{1,2}(?:\.\d)?)")
"""Labels run together, as in D7.8H5.0, D10.0XH5.4 and 4.0X4.0H3.0."""
_DECIMAL_COMMA: Final = pattern(r"(?<=\d),(?=\d{1,2}(?!\d))")
_BARE_HUNDREDTHS: Final = pattern(
    r"(?:(?P<pitch>P\d{2,3}_|(?:(?<=LLP)|(?<=[DQU]FN)|(?<=SON))\d{2,3}P)|(?P<kind>(?<![A-Z])(?:CAP|DIO|IND|RES))|(?<![A-Z\d.]))"
    r"(?P<a>[1-9]\d{1,3})X(?P<b>[1-9]\d{1,3})(?:X(?P<c>[1-9]\d{1,2}))?(?![\dX.A-Z])"
)
"""Sizes in hundredths of a millimetre without a word that says so: 500X500X80, P50_300X200, LLP65P220X250X80.

Behind the pitch of a package with leads the same numbers are its span and height, as IPC-7351 writes them.
"""
_TALL: Final = pattern(rf"(?<![\d.])(?P<v>{_NUMBER})\s?(?P<u>MM)?\s?TALL")
_OTHER_END: Final = pattern(rf"(?:MM)?\s?[-/~]\s?(?P<v>{_NUMBER})\s?(?P<u>MM)(?![A-Z])")
_UNDERSCORED: Final = pattern(r"(?<![0-9A-Z])0_(\d{1,2})(?=MM|P(?![A-Z0-9]))")
"""A decimal point written as an underscore, where nothing else can be meant: 0_5P."""
_PITCH: Final = pattern(
    rf"(?<![\d.X])(?P<v>{_NUMBER})\s?(?P<u>MM|MILS?)?\s?[-_]?(?:PITCH|P(?![A-Z0-9]))",
)
_HUNDREDTHS: Final = pattern(r"(?<![A-Z0-9])P(?P<v>[3-9]\d|1[0-2]\d)(?![\dX.])")
_ANY_PRODUCT: Final = pattern(r"\d\s?[X*]\s?\d")
_NOT_A_BODY: Final = frozenset(part_words()["no_body"]["before"])
_NAMED_BY_COUNTS: Final = frozenset(part_words()["no_body"]["named_by_counts"])
"""Words for parts before whose two numbers are mostly counts."""
_NOT_AFTER: Final = frozenset(part_words()["no_body"]["behind"])
_LARGEST_MM: Final = 120.0
_LARGEST_BARE_MM: Final = 60.0
_LEAST_BARE_HEIGHT: Final = 20.0
"""A bare whole number from here on is no height in millimetres."""
_HALF_DIGIT_CAP: Final = 0.05


class WrittenSize(Struct, frozen=True):
    """A number as written, in mm: the value, and the interval that its digits, tolerance or MAX leave."""

    value: float
    interval: Interval


class WrittenSizes(Struct, frozen=True):
    """What a text states of a body; *sides* as written, two where known. *unit* tells that a unit stood there."""

    sides: tuple[WrittenSize, ...] = ()
    height: WrittenSize | None = None
    pitch: WrittenSize | None = None
    span: WrittenSize | None = None
    diameter: WrittenSize | None = None
    read: tuple[str, ...] = ()
    unit: bool = False
    decimals: bool = False
    labels: frozenset[str] = field(default_factory=frozenset)
    long: WrittenSize | None = None
    """A length beside a diameter: the part is round, and lies or stands."""
    further: tuple[tuple[WrittenSize, ...], ...] = ()
    """What else the text states: three sides of another product each, or a height alone."""


NO_SIZES: Final = WrittenSizes()


@lru_cache(maxsize=4096)
def normalised(text: str) -> str:
    """Return *text* in capitals with one spelling of ×, µ, the decimal point and the space."""
    if not text.isascii():
        text = text.replace("ø", "Ø").replace("⌀", "Ø").replace("Φ", "Ø").replace("φ", "Ø")
        text = unicodedata.normalize("NFKC", text).replace("×", "X").replace("″", '"').replace("”", '"')
        text = text.replace("µ", "U").replace("μ", "U").replace("−", "-").replace("–", "-")
    text = text.strip().upper()
    if "," in text:
        text = _DECIMAL_COMMA.sub(".", text)
    return _BARE_HUNDREDTHS.sub(_with_decimals, text) if "X" in text else text


def _with_decimals(match: re.Match[str]) -> str:
    """Return sides in hundredths of a millimetre as millimetres, and what can be anything else as it stands.

    Three numbers are hundredths where no body could have so many millimetres, two only behind a pitch.
    """
    pitch, kind, third = match["pitch"] or "", match["kind"] or "", match["c"]
    sides = [int(match["a"]), int(match["b"])]
    sure = third if kind else min(sides) >= 100 and (pitch or (third and max(sides) > _LARGEST_MM))
    if not sure:
        return match[0]
    if max(sides) > 100 * _LARGEST_BARE_MM or (third and int(third) > 4 * max(sides)):
        return match[0]
    told = f" P{int(pitch.strip('P_')) / 100:.2f} " if pitch else f"{kind}_" if kind else ""
    numbers = (int(n) / 100 for n in (match["a"], match["b"], third) if n)
    return told + "X".join(f"{n:.2f}" for n in numbers) + "MM"


def _mm_per(unit: str) -> float:
    return mm_per()[unit_named(unit) or "mm"]


def _size(digits: str, unit: str, tolerance: str = "", *, at_most: bool = False) -> WrittenSize:
    """Return a number with its unit; without a stated tolerance it is good to half its last digit, at most 0.05."""
    factor = _mm_per(unit)
    value = float(f"{float(digits) * factor:.9g}")
    if at_most:
        return WrittenSize(value, Interval.at_most(value))
    match = re.search(r"\d?\.\d{1,3}", tolerance)
    places = len(digits.partition(".")[2])
    around = float(match[0]) * factor if match else min(0.5 * 10.0**-places * factor, _HALF_DIGIT_CAP)
    return WrittenSize(value, Interval(max(0.0, round(value - around, 6)), round(value + around, 6)))


def _is_grid(digits: str) -> bool:
    return len(digits) > 1 and digits[0] == "0" and digits[1] != "."


def _products(text: str, *, whole: bool) -> list[tuple[re.Match[str], str]]:
    """Return the products in *text* that can be a body, each with its unit; *whole* lets bare integers in."""
    found = []
    for match in _DIMS.finditer(text):
        lead, tail, after = match["lead"], match["tail"], match["after"].strip()
        counted = bool(lead) and match.start() > 0 and text[match.start() - 1].isdigit()  # 1EP_, 12MHz, 1.5A
        if after in _NOT_AFTER or tail in _NOT_AFTER or match["more"]:
            continue
        glued = not lead and not match["gap"] and match.start() > 0 and text[match.start() - 1].isalnum()
        if glued or (counted and not match["gap"]):
            continue
        named = lead in _NAMED_BY_COUNTS and _has_three_sides(match)
        if not counted and not named and lead in _NOT_A_BODY and not _has_pad(match):
            continue
        if lead and not match["gap"] and (lead.endswith(("EP", "PAD")) or (len(lead) > 1 and not whole and not named)):
            continue
        numbers = [match[k] for k in "abc" if match[k]]
        if any(map(_is_grid, numbers)):
            continue
        if (
            tail
            and not (tail == "H" and match["c"])
            and not (tail == "P" and (match["c"] or match["ub"]))
            and tail != "MAX"
        ):
            continue
        unit = match["uc"] or match["ub"] or match["ua"] or ""
        decimal = any("." in n for n in numbers)
        if not (unit or decimal or whole or (match["c"] and max(map(float, numbers)) <= _LARGEST_BARE_MM)):
            continue
        values = [float(n) * _mm_per(unit) for n in numbers]
        if min(values) <= 0 or max(values) > (_LARGEST_MM if unit else _LARGEST_BARE_MM):
            continue
        found.append((match, unit))
    # BGA-100_10x10_9.0x9.0mm: bare whole numbers beside a size in full count the grid.
    full = [(m, unit) for m, unit in found if unit or "." in m["a"] + m["b"]]
    return full if 0 < len(full) < len(found) else found


def _has_three_sides(match: re.Match[str]) -> bool:
    """Whether a product states the body of a part that is mostly named by its rows, pins and pitch: 12.7x5.1x8.5mm."""
    if not match["c"] or not (match["uc"] or match["ub"] or match["ua"] or "." in match["c"]):
        return False
    return float(match["c"]) not in USUAL_PITCHES_MM or ("." in match["a"] and "." in match["b"])


def _has_pad(match: re.Match[str]) -> bool:
    """Whether EP before a product says that the package has an exposed pad: QFN-24-EP(4x4), and not EP2.6x2.6."""
    if match["gap"] != "(":
        return False
    words_out = match["lead"] == "PAD" and match.string[: match.start()].rstrip("-_ ").endswith("EXPOSED")
    return match["lead"] == "EP" or (words_out and len(_ANY_PRODUCT.findall(match.string)) == 1)


_LONGEST_SIDEWAYS: Final = 10
"""No body is so many times as long as wide; a whole number with such a small one is pins by pitch: 40x0.35."""


def _pins_by_pitch(match: re.Match[str], unit: str) -> WrittenSize | None:
    """Return the pitch of a product that counts pins; None where it is a body."""
    if match["c"] or "." in match["a"] or match["ua"] or unit not in {"", "MM"}:
        return None
    count, pitch = int(float(match["a"])), float(match["b"])
    if pitch not in USUAL_PITCHES_MM or count <= _LONGEST_SIDEWAYS * pitch:
        return None
    return _pitch(_size(match["b"], unit))


def _spaced(text: str) -> str:
    """Return *text* with labels that run together apart, and 0_5 as 0.5 where nothing else can be meant."""
    if "." in text:
        text = _GLUED.sub(r"\1-", text)
    text = _UNDERSCORED.sub(r"0.\1", text) if "0_" in text else text
    return in_usual_order(text)


@lru_cache(maxsize=4096)
def may_state_a_size(shaped: str) -> bool:
    """Whether a text of this shape may state a size: descriptions differ in their digits more than in their shape."""
    if not any(map(str.isdigit, shaped)):
        return False
    signs = "X" in shaped or "*" in shaped or "/" in shaped or "TALL" in shaped
    glued = "." in shaped and _GLUED.search(shaped) is not None
    pitch = "P" in shaped and ("P00" in shaped or _PITCH.search(shaped) is not None)
    return signs or glued or pitch or "0_" in shaped or _has_label(shaped)


@lru_cache(maxsize=4096)
def sizes_in(text: str, *, whole: bool = False) -> WrittenSizes:
    """Return the sizes that stand in a normalised *text*.

    *whole* lets a bare ``10x10`` count, which only a package word beside it makes safe.
    """
    if not may_state_a_size(shape(text)):
        return NO_SIZES
    text = _spaced(text)
    sides: tuple[WrittenSize, ...] = ()
    height = pitch = span = diameter = None
    read: list[str] = []
    stated_unit = decimals = False
    rest = text
    products = _products(text, whole=whole) if "X" in text or "*" in text else []
    if products and (pitch := _pins_by_pitch(*products[0])) is not None:
        read.append(f"pitch {pitch.value:g}")
    elif products:
        match, unit = products[0]
        sides = tuple(_size(match[k], match[f"u{k}"] or unit, match[f"t{k}"]) for k in "ab")
        if match["c"]:
            limit = match["tail"] == "MAX" or match["after"].strip().startswith("MAX")
            third = _size(match["c"], match["uc"] or unit, match["tc"], at_most=limit)
            if match["tail"] == "P":
                pitch = third
            else:
                height = third
        ends = (match.end(k) for k in ("b", "ub", "c", "uc"))
        read.append(text[match.start("a") : max(ends)].strip())
        stated_unit, decimals = bool(unit), any("." in match[k] for k in "ab")
    if "X" in text or "*" in text:
        rest = _DIMS.sub(_without_product, text) if products else text
    labels, heights, with_unit = _labels(rest)
    stated_unit = stated_unit or with_unit
    for name, size in labels.items():
        read.append(f"{name} {size.value:g}")
    if not sides and "L" in labels and "W" in labels:
        sides = (labels["L"], labels["W"])
    height = height or labels.get("H") or labels.get("T") or _tall(rest)
    span, diameter = labels.get("LS"), labels.get("D")
    pitch = pitch or labels.get("P")
    pitch = _pitch(pitch) if pitch else _other_pitch(rest)
    return WrittenSizes(
        sides,
        height,
        pitch,
        span,
        diameter,
        tuple(read),
        stated_unit,
        decimals,
        frozenset(labels),
        labels.get("L") if diameter is not None and not sides else None,
        (*_further_bodies(products), *((height,) for height in heights)),
    )


def _without_product(match: re.Match[str]) -> str:
    """Return what a product leaves of the text: a pitch or height before it as it stands, and their label behind it."""
    if match["lead"] in {"P", "H"}:
        return match[0]
    after = match["after"].strip()
    return f" {after}" if after in {"H", "P", "PITCH"} else " "


def _further_bodies(products: list[tuple[re.Match[str], str]]) -> list[tuple[WrittenSize, ...]]:
    """Return the three sides of each product but the first, and the other end of a height: 7.3x7.3x4.5-30mm.

    Two numbers are a pad or a pocket as often as a body.
    """
    ends = (_OTHER_END.match(match.string, match.end("c")) for match, _ in products if match["c"])
    heights = [(_size(end["v"], end["u"]),) for end in ends if end is not None]
    return heights + [
        tuple(_size(match[k], match[f"u{k}"] or unit, match[f"t{k}"]) for k in "abc")
        for match, unit in products[1:]
        if match["c"] and match["tail"] != "P"
    ]


def _labels(text: str) -> tuple[dict[str, WrittenSize], list[WrittenSize], bool]:
    """Return the first number of each label, every labelled height, and whether one of them has a unit."""
    labels: dict[str, WrittenSize] = {}
    heights = []
    with_unit = False
    for match in _LABEL.finditer(text) if _has_label(shape(text)) else ():
        name, size = _labelled(match, labels)
        labels.setdefault(name, size)
        if name == "H":
            heights.append(size)
        with_unit = with_unit or bool(match["u"])
    labels.pop("", None)
    return labels, heights, with_unit


@lru_cache(maxsize=4096)
def _has_label(shaped: str) -> bool:
    return _LABEL.search(shaped) is not None


def _tall(text: str) -> WrittenSize | None:
    """Return the height before the word: 80TALL is 0.8 mm in hundredths and 8.0 mm in tenths."""
    match = _TALL.search(text) if "TALL" in text else None
    if match is None:
        return None
    size = _size(match["v"], match["u"] or "")
    if match["u"] or "." in match["v"] or size.value < _LEAST_BARE_HEIGHT:
        return size
    return WrittenSize(size.value / 10.0, Interval(size.value / 100.0, size.value / 10.0))


class _UsualPitch(Struct, frozen=True):
    """A pitch in common use; one that is written in full is not a rounded one."""

    pitch_mm: float
    source: str


USUAL_PITCHES_MM: Final = frozenset(row.pitch_mm for row in rows_of("usual_pitches", _UsualPitch))


def _pitch(size: WrittenSize) -> WrittenSize:
    """Return a pitch that is in common use to 0.005 mm; ``1.3`` may be 1.27 and keeps half its last digit."""
    if size.value in USUAL_PITCHES_MM and size.interval.low > 0:
        return WrittenSize(size.value, Interval(round(size.value - 0.005, 6), round(size.value + 0.005, 6)))
    return size


def _other_pitch(text: str) -> WrittenSize | None:
    """Return the pitch written as ``0.5mm pitch``, ``0.5P`` or in hundredths (``P65``)."""
    if "P" not in text:
        return None
    if match := _PITCH.search(text):
        return _pitch(_size(match["v"], match["u"] or "")) if "." in match["v"] or match["u"] else None
    if match := _HUNDREDTHS.search(text):
        value = float(match["v"]) / 100
        return WrittenSize(value, Interval(value - 0.005, value + 0.005))
    return None


_SAME: Final = {
    "LENGTH": "L",
    "WIDTH": "W",
    "HEIGHT": "H",
    "HT": "H",
    "THICKNESS": "T",
    "DIA": "D",
    "DIAMETER": "D",
    "Ø": "D",
    "BD": "D",
    **dict.fromkeys(("PITCH", "RASTER", "RASTERMASS", "PAS", "PASO", "PASSO"), "P"),
}


def _labelled(match: re.Match[str], before: dict[str, WrittenSize]) -> tuple[str, WrittenSize]:
    """Return the label in its short spelling with its number; an empty label where the text is no size.

    A letter alone before a whole number (``D5``, ``P10``, ``H6``) is a name more often than a size: it needs a
    decimal point, a unit, an equals sign, a colon, MAX or a word in full.
    """
    name, digits, unit = match["name"], match["v"], match["u"] or ""
    at_most = bool(match["max"] or match["max2"])
    size = _size(digits, unit, match["tol"], at_most=at_most)
    marked = at_most or "." in digits or unit or {"=", ":"} & set(match["gap"] or "")
    wire = name == "D" and "L" in before  # L4.9-...-D0.6 is the wire of a through-hole part
    sure = (marked or len(name) > 1 or name == "Ø") and not wire
    if size.value == 0 or size.value > _LARGEST_MM or not sure:
        return "", size
    return _SAME.get(name, name), size
