"""Where size codes stand in names and texts, and what their own letters and marks say: 0402 (1005 metric), R0402."""

from __future__ import annotations

import re
from functools import cache, lru_cache
from typing import Final

from msgspec import Struct
from msgspec.structs import replace

from capcheck.packages.names.part_kind import chip_family, kind_in_words
from capcheck.packages.tables import System, families, meanings, part_words, size_table
from capcheck.values import pattern

_CODE: Final = pattern(
    r"(?<![\d.])(?P<code>\d{4,6})(?!\d)(?!\.\d)"
    r"(?P<metric>M(?![A-Z0-9])|[-_ ]?(?:METRIC|METR\b))?(?P<inch>[-_ ]?(?:INCH|IMPERIAL)|IN(?![A-Z]))?"
)
_WITHOUT_ZERO: Final = pattern(
    r"(?:(?P<letters>(?<![A-Z])[A-Z]{1,4})[-_ ]?|^)(?P<code>402|603|805)(?=[-_ ]|$)(?![-_ ]?\d)"
)
"""An inch code as a spreadsheet leaves it, which takes 0603 for a number."""
_LETTER_FOR_ZERO: Final = pattern(
    r"(?<![A-Z])(?P<letters>[A-Z]{0,8}?)(?P<joint>[-_ ]?)O(?P<code>201|402|603|805)(?!\d)"
)
"""An inch code that begins with the letter O."""
_SERIES_LETTERS: Final = 2
"""Letters of a maker's series that may stand before a size code: RC0603, CR0402."""
_PRODUCT_AFTER: Final = pattern(r"X(?![4-8][RSPTUV](?![A-Z]))\d")
"""A number times another; X7R behind a code is the dielectric of a capacitor."""
_SUFFIX_AFTER: Final = pattern(r"-?\d{2}(?!\d)")
_FOUR_DIGITS: Final = pattern(r"\d{4}")
_BEFORE: Final = pattern(r"([A-Z]+)$")
_AFTER: Final = pattern(r"([A-Z]+)")
_WORD_BEFORE: Final = pattern(r"([A-Z]{2,})[-_]$")
_ANY_KIND: Final = "any"
_KIND_LETTERS: Final = {
    word: None if kind == _ANY_KIND else kind for word, kind in meanings("kind_before_code").items()
}
"""Letters that may stand directly before a code, and the kind they name."""
PASSIVE: Final = frozenset(
    {"resistor", "capacitor", "inductor", "ferrite bead", "fuse", "led", "thermistor", "varistor", "diode", "tantalum"}
)
_CODED_BY_SERIES: Final = PASSIVE - {"inductor"}
"""Kinds of which a maker's few letters may stand before a size code; a coil's series names sizes of its own so."""
_MOST_CODES: Final = 8
"""A name holds one or two codes; a text with more is a list, and reading all of it would cost time for nothing."""
_PACKAGES: Final = frozenset(part_words()["no_chip"]["package"])
"""Package words whose digits name the sides of the body and no chip."""
_UNITS_AFTER: Final = frozenset(part_words()["no_chip"]["unit"])


@cache
def _land_pattern_kinds() -> dict[str, str]:
    """Return the kind of part by the land-pattern word that may stand before a size code: CAPC0805."""
    kinds = {chip_family(kind): kind for kind in PASSIVE}
    found = ((p.word, kinds.get(p.family)) for table in families() for p in table.land_patterns)
    # The words of plain chips end in C; CAPCWR and DIOCN are never written before a size code.
    return {word: kind for word, kind in found if kind is not None and word.endswith("C")}


def _land_pattern_kind(letters: str) -> str | None:
    """Return the kind that a land-pattern word names; the tables are read only where they may be one."""
    may_be_one = letters.endswith("C") and letters not in _KIND_LETTERS and len(letters) > 3
    return _land_pattern_kinds().get(letters) if may_be_one else None


class Mention(Struct, frozen=True):
    """A size code found in a text, with the system if the text itself marks it."""

    code: str
    system: System | None
    kind: str | None
    mark: str = ""
    letter_kind: str | None = None
    """The kind that the letters before the code stand for: weaker than words, as R_0402 is used for a ferrite too."""
    letters: str = ""
    """The letters that stand directly before the code."""
    family: str = ""
    """The land-pattern family that stands before the code (CAPC0402), whose convention is metric."""


def plainly_named(mention: Mention) -> bool:
    """Whether a code stands alone or behind letters that name a kind of part, rather than in a maker's number."""
    letters = mention.letters
    return not letters or letters in _KIND_LETTERS or _land_pattern_kind(letters) is not None


def _letters_allow(before: str, after: str, ref_kind: str | None, *, name: bool) -> tuple[bool, str | None]:
    """Whether a code between these letters may be a size code, and the kind of part they name.

    *name* says that the text is a footprint or package name; elsewhere a code must stand alone.
    """
    kind: str | None = None
    if before:
        if land_pattern := _land_pattern_kind(before):
            kind = land_pattern
        elif before in _KIND_LETTERS:
            kind = _KIND_LETTERS[before]
        elif before in _PACKAGES or not (name and len(before) <= 4 and ref_kind in _CODED_BY_SERIES):
            return False, None
    if after and not name and after in _UNITS_AFTER:
        return False, None
    return not (name and after == "MM"), kind


def _standing_alone(text: str, start: int, end: int) -> bool:
    """Whether nothing but letters that name a part touches the code: 1X1206, 3216-18 and C2012X110 are no codes."""
    if _PRODUCT_AFTER.match(text, end) or (start > 1 and text[start - 1] == "X" and text[start - 2].isdigit()):
        return False
    return _SUFFIX_AFTER.match(text, end) is None


def _with_zero(match: re.Match[str]) -> str:
    letters = match["letters"]
    if letters and letters not in _KIND_LETTERS:
        return match[0]
    return f"{match[0][: match.start('code') - match.start()]}0{match['code']}"


def _with_digit(match: re.Match[str]) -> str:
    letters = match["letters"]
    if (len(letters) > _SERIES_LETTERS and letters not in _KIND_LETTERS) or (
        not match["joint"] and f"{letters}O" in _KIND_LETTERS
    ):
        return match[0]  # the letters of another word, or of a diode before a code without its zero
    return f"{letters}{match['joint']}0{match['code']}"


def _names_series(text: str, start: int) -> bool:
    """Whether the word before a number is that of a coil's series, which names sizes of its own: XYZ-5050."""
    word = _WORD_BEFORE.search(text, max(0, start - 16), start)
    return word is not None and word[1] not in _KIND_LETTERS and kind_in_words(word[1]) is None


def find_codes(text: str, ref_kind: str | None, *, name: bool) -> tuple[Mention, ...]:
    """Return the size codes in *text*; *name* says that it is a footprint or package name rather than prose.

    Two codes of the same size beside each other (0402_1005, 0603(1608)) become one mention with its system settled.
    """
    zeros_count = name and ref_kind in PASSIVE
    return _codes_in(text, ref_kind, name) if zeros_count or _FOUR_DIGITS.search(text) else ()


@lru_cache(maxsize=4096)
def _codes_in(text: str, ref_kind: str | None, name: bool) -> tuple[Mention, ...]:
    upper = text.upper()
    if name and ref_kind in PASSIVE:
        upper = _LETTER_FOR_ZERO.sub(_with_digit, upper) if "O" in upper else upper
        upper = _WITHOUT_ZERO.sub(_with_zero, upper)
    if not _FOUR_DIGITS.search(upper):
        return ()
    table = size_table()
    found: list[Mention] = []
    for match in _CODE.finditer(upper):
        code = match["code"]
        by_kind = any((k, code) in table.by_kind for k in ("crystal", "led"))
        if not (code in table.chip_by_inch or code in table.chip_by_metric or code in table.clashes or by_kind):
            continue
        before = _BEFORE.search(upper, max(0, match.start() - 12), match.start())
        after = _AFTER.match(upper, match.end())
        allowed, kind = _letters_allow(before[1] if before else "", after[1] if after else "", ref_kind, name=name)
        if not allowed or not _standing_alone(upper, match.start(), match.end()):
            continue
        chip = code in table.chip_by_inch or code in table.chip_by_metric
        of_a_series = before is not None and before[1] not in _KIND_LETTERS and not chip
        if of_a_series and ref_kind != "led" and kind_in_words(upper) is None:
            continue  # the digits of a device behind its maker's letters; only a lamp's series names a lamp's size
        if ref_kind == "inductor" and not before and _names_series(upper, match.start()):
            continue
        system: System | None = "metric" if match["metric"] else "inch" if match["inch"] else None
        family = before[1] if before and _land_pattern_kind(before[1]) else ""
        found.append(
            Mention(
                code,
                system,
                kind_in_words(upper),
                mark=match[0] if system else "",
                letter_kind=kind,
                letters=before[1] if before else "",
                family=family,
            )
        )
        if len(found) == _MOST_CODES:
            break
    return _paired(found)


def _paired(found: list[Mention]) -> tuple[Mention, ...]:
    table = size_table()
    for one in found:
        size = table.chip_by_inch.get(one.code)
        if size is None:
            continue
        for other in found:
            if other is one or other.system == "inch" or table.chip_by_metric.get(other.code) is not size:
                continue
            # "metric" between the two, as in 0603 metric 1608, is said of the second.
            if one.system != "metric" or other.system is None:
                return (replace(one, system="inch", mark=f"{one.code} beside {other.code}"),)
    marked = [m for m in found if m.system]
    metric = [m for m in marked if m.system == "metric"]
    if len(metric) == 1 and any(not m.system and m.code in table.chip_by_inch and plainly_named(m) for m in found):
        return tuple(found)  # 0402 beside 1608 metric: the one or the other is wrong
    # A code with its own mark (1005 metric) outweighs one without.
    return tuple(marked or dict.fromkeys(found))
