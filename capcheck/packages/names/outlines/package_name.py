"""A package name taken apart: the package word or outline number, the pins, the sizes, and the outlines it may mean."""

from __future__ import annotations

import re
from functools import cache, lru_cache
from itertools import islice
from typing import Final

from msgspec import Struct
from msgspec.structs import replace

from capcheck.model import LeadStyle
from capcheck.packages.names.outlines import published
from capcheck.packages.names.outlines.published import UNDER_THE_BODY
from capcheck.packages.names.outlines.stated_width import fitting
from capcheck.packages.names.written_sizes import WrittenSize, WrittenSizes, sizes_in
from capcheck.packages.tables import Family, Outline, Word, family_table
from capcheck.values import Interval, pattern

_LETTERS: Final = pattern(r"[A-Z]+")
_PREFIX_LETTERS: Final = frozenset("HPLTVWUXEFCSMNDRIAQ")
_SHORT_WORDS: Final = frozenset(("SO", "US", "CSP", "LCC", "MLP", "LLP", "SLP", "SOL", "SOM", "CFP", "CGA"))
_COUNTED: Final = pattern(r"(?<![\d.X])(\d{1,4})[-_ ]?(?:LD|LEADS?|PINS?|BALLS?)(?![A-Z])")
_LEADS_BEHIND_CODE: Final = pattern(r"(?<=\d)[-_](\d{1,3})L(?=[-_ )]|$)")
"""A count of leads behind the code of a body: MLP55-31L is 5 x 5 mm with 31."""
_AFTER: Final = pattern(
    r"(?:[-_ ]?II?(?=[-_ ])|[-_ ](?:\([A-Z]+\)|WIDE|NARROW|THIN|HR|EP)(?=[-_ ]))?[-_ (]{0,2}(?:N|ST|P)?"
    r"(\d{1,4})(?![\d.]|[X*]\d|\s?MM|\s?MIL|[A-KM-Z]\d)",
)
_LAST_VERSION: Final = 3
_JEDEC: Final = frozenset(("MO", "MS"))
_SOT_5X3: Final = pattern(r"SOT-?5X3(?:-([58])(?!\d)|-6(?!\d))?")
_SOT_BY_LEADS: Final = {"5": "SOT-553", "8": "SOT-583"}
_MAKERS_WORDS: Final = pattern(r"P(?:OWER)?PAK[-_ ]?(?:SO[-_ ]?8|1212)|SUPERSOT[-_ ]?\d")
_VARIATION: Final = pattern(r"(?<![A-Z])(M[SO])[-_ ]?(\d{3})[-_ ]([A-Z]{2,4})(?![A-Z])")
_NO_LEAD_VARIATION: Final = pattern(
    r"(?<![A-Z0-9])MO[-_ ]?(?:220|229|241)[-_ .,/A-Z0-9]*?(?<![A-Z])([LVWUX][B-N][B-N][B-E])(?![A-Z])"
)
_FROM_MEMORY_MM: Final = 0.2
_LETTERED_PINS: Final = pattern(r"[-_ ][A-Z]{1,3}([3-8])(?![\dA-Z.])")
_BEHIND_SIZE: Final = pattern(r"X[\d.]+(?:MM)?[-_ ](\d{1,3})(?:L|P|LD)?$")
_BEFORE: Final = pattern(r"(?<![\dA-Z.])(\d{1,4})[-_ ]?(?:LD|LEADS?|PINS?|L|P)?[-_ ]?$")
_LOOSE: Final = pattern(r"(?<![\dA-Z.])(?<!\d_)(\d{1,4})[PL](?![A-Z0-9])|_(\d{1,3})$")
_METRIC_CODE: Final = pattern(r"[-_ ]?(\d\d)(\d\d)(?!\d)(?:(?:[A-Z]{0,2}-|[-_P]?)(\d{1,2})(?!\d))?")
_SPAN_CODE: Final = pattern(r"(?<!\d)(\d{2,3})P(\d{3,4})(?!\d)")
_GENERAL: Final = frozenset(("BGA", "FBGA", "PBGA", "LGA"))
_MOST_PINS: Final = 3000
_LEAST_CODE: Final = 3
_MOST_WORDS: Final = 60
"""Words of a text that are looked at: no part is named behind so many."""
_MOST_SIDEWAYS: Final = 20
"""A code such as 1006 or 2510 names the sides in 0.1 mm; the second is rarely 2 mm more than the first."""
_CODED_FAMILIES: Final = frozenset((Family.SON, Family.DFN, Family.QFN))


class PackageName(Struct, frozen=True):
    """A package name taken apart: the word or the outlines it names, the pins, and what sizes stand in it."""

    text: str
    label: str
    word: Word | None
    outlines: tuple[Outline, ...]
    pins: int | None
    sizes: WrittenSizes
    confirmed: bool = False
    """Whether the name states the width of the body by a letter or in mil."""


@cache
def _leads() -> frozenset[str]:
    """Return what outline numbers begin with, such as SOT."""
    found = {m[0] for k in published.known_keys() if (m := re.match(r"D[23]PAK|[A-Z]+", k))}
    return frozenset(lead for lead in found if len(lead) > 1)


_WRITTEN_OTHERWISE: Final = ("PAK", "PACK", "SOT", "MO", "MS")
"""Letters of outline numbers that are brought into one spelling before they are looked for."""


@lru_cache(maxsize=4096)
def may_name_package(letters: tuple[str, ...]) -> bool:
    """Whether a normalised name with these runs of letters may hold a package word or an outline number.

    Neither is a single letter, as in C0805 or 100n: no table is read for those.
    """
    runs = [run for run in letters if len(run) > 1]
    return any(
        run in _leads() or any(other in run for other in _WRITTEN_OTHERWISE) or _word_of(run) is not None
        for run in runs
    )


@cache
def _number_pattern() -> re.Pattern[str]:
    """Return the pattern of outline numbers, made from the names in the table; the longest first."""
    longest_first = "|".join(sorted(_leads(), key=lambda w: (-len(w), w)))
    return re.compile(
        rf"(?<![A-Z0-9])(?:[A-Z]-)?({longest_first})[-_ ]?(\d{{0,4}})([A-Z]{{0,4}})(?:[-_ /](\d{{1,2}})(?![\d.]|X\d))?"
    )


_CHOICE: Final = pattern(r"(?<![A-Z])([A-Z]{2,8})[-_ ]?\d{0,4}(?:-\d{1,2})?\s?(?:/|,? OR )\s?([A-Z]{2,8})(?![A-Z])")


@lru_cache(maxsize=4096)
def offers_packages(text: str) -> bool:
    """Whether *text* names packages of which one is fitted, as a device is announced: ``in 2x2 mm SON/TSOT23``."""
    if "/" not in text and "OR" not in text.upper():
        return False
    return any(
        one != other and _is_package_word(one) and _is_package_word(other)
        for one, other in _CHOICE.findall(text.upper())
    )


def _is_package_word(letters: str) -> bool:
    return letters in published.words() or letters in _numbered_letters()


@cache
def _numbered_letters() -> frozenset[str]:
    """Return the letters of the outline numbers in the table, such as those of SOT-23."""
    return frozenset(m[0] for key in published.known_keys() if (m := re.match(r"[A-Z]{2,}", key)))


def by_number(name: str, text: str) -> PackageName | None:
    """Return what an outline number (JEDEC, EIAJ, SOT, TO, a vendor's grid code) in the name stands for."""
    if (varied := _no_lead_variation(name, text)) is not None:
        return varied
    name = name.replace("D-PAK", "DPAK").replace("DPACK", "DPAK").replace("D2PACK", "D2PAK")
    name = name.replace("SOT-23-THIN", "TSOT-23")
    if "5X3" in name:
        name = _SOT_5X3.sub(lambda m: _SOT_BY_LEADS.get(m[1], "SOT-563"), name)
    if "MO" in name or "MS" in name:
        name = _VARIATION.sub(r"\1\2\3", name)
    if "PAK" in name or "RSOT" in name:
        name = _MAKERS_WORDS.sub(lambda m: "".join(filter(str.isalnum, m[0])), name)
    first: PackageName | None = None
    for match in _number_pattern().finditer(name):
        word, number, letters, suffix = match[1], match[2], match[3], match[4]
        if not number and not word.endswith("PAK"):
            continue
        registered = published.open_family(word + number) if word in _JEDEC else None
        if registered and suffix is None and not (letters and published.by_key(f"{word}{number}{letters}")):
            return _of_open_family(name, text, f"{word}-{number}", registered)
        if word.endswith("PAK") and number and not suffix and not published.by_key(word + number):
            number, suffix = "", number
        if word in _JEDEC and letters and suffix and published.by_key(f"{word}{number}{letters}{suffix}"):
            letters, suffix = f"{letters}{suffix}", None  # MO-153 AB-1 is a variation of its own
        else:
            suffix = _suffix(name, match, suffix)
        if word.endswith("PAK") and suffix is None and (counted := _COUNTED.search(name, match.end())):
            suffix = counted[1]
        found = _numbered(name, text, (word, number, letters), suffix)
        if found is not None and found.outlines:
            return found
        first = first or found
    return first


def _suffix(name: str, match: re.Match[str], suffix: str | None) -> str | None:
    """Return the count of leads beside an outline number: after its hyphen, or before it."""
    if match[1] in _JEDEC and match[3] and suffix and _dash_number("".join(match.groups()[:3]), int(suffix)):
        return None
    if suffix is None and (before := _BEFORE.search(name, 0, match.start())) and len(before[1]) <= len("16"):
        suffix = before[1]
    if suffix is None and (lettered := _LETTERED_PINS.match(name, match.end())):
        suffix = lettered[1]  # SOT-23-OT5 has five leads, not three
    return suffix


def _numbered(name: str, text: str, parts: tuple[str, str, str], suffix: str | None) -> PackageName | None:
    """Return what one outline number with its letters and count stands for; None where the table has none such."""
    word, number, letters = parts
    pins = int(suffix) if suffix else None
    tries = (f"{word}{number}{letters}-{suffix}", f"{word}{number}-{suffix}") if suffix else ()
    found = next(filter(None, map(published.by_key, tries)), ())
    if not found:
        found = published.by_key(f"{word}{number}{letters}") or published.by_key(word + number)
        if word in _JEDEC and pins is None and (counted := _COUNTED.search(name)):
            pins = int(counted[1])
        if pins is not None and found and not {o.pins for o in found} & {pins, pins - 1, pins + 1}:
            if word not in {"SOT", "TSOT", "TO", "SC"}:
                return None
            if word == "SOT" and pins <= _LAST_VERSION and len(number) > len("23"):
                return _numbered(name, text, parts, None)  # SOT833-1 is a maker's version of a drawing
            return PackageName(text, f"{word}-{number}-{pins}", None, (), pins, sizes_in(name, whole=True))
        if pins is not None:
            found = tuple(o for o in found if abs(o.pins - pins) <= 1)
    if not found:
        return None
    counts = {o.pins for o in found}
    label = found[0].name if len(found) == 1 else f"{word}-{number}" + (f"-{pins}" if pins else "")
    count = counts.pop() if len(counts) == 1 else None
    return PackageName(text, label, None, found, count, sizes_in(name, whole=True))


def _dash_number(key: str, number: int) -> bool:
    """Whether the number behind a variation's letters is a dash number instead of a count of leads."""
    known = published.by_key(key)
    return bool(known) and not {o.pins for o in known} & {number, number - 1, number + 1}


def _of_open_family(name: str, text: str, label: str, word: Word) -> PackageName:
    """Return what an outline number of many bodies says: the family, and the outlines of the count beside it."""
    counted = _COUNTED.search(name)
    pins = int(counted[1]) if counted else None
    label = f"{label} ({word.word})" + ("" if pins is None else f"-{pins}")
    return PackageName(text, label, word, fitting(name, word, pins)[0], pins, sizes_in(name, whole=True))


def _no_lead_variation(name: str, text: str) -> PackageName | None:
    """Return what a variation of a no-lead outline says, such as MO-220 VHHD-2: 5 x 5 mm, 0.5 mm pitch."""
    match = _NO_LEAD_VARIATION.search(name) if "MO" in name else None
    found = published.no_lead_variation(match[1]) if match is not None else None
    if match is None or found is None:
        return None
    both = tuple(WrittenSize(s, Interval.about(s, _FROM_MEMORY_MM)) for s in (found.length_mm, found.width_mm))
    stated = sizes_in(name)
    sizes = WrittenSizes(
        sides=stated.sides or both,
        height=stated.height,
        pitch=WrittenSize(found.pitch_mm, Interval.about(found.pitch_mm, 0.005)),
        read=(f"variation {match[1]}",),
    )
    counted = _COUNTED.search(name)
    pins = int(counted[1]) if counted else None
    return PackageName(text, f"{found.word.word} of JEDEC variation {match[1]}", found.word, (), pins, sizes)


@lru_cache(maxsize=4096)
def _word_of(letters: str) -> Word | None:
    """Return the package word that *letters* are, or end with after one to four letters for housing and height."""
    table = published.words()
    if letters == "POWERSO":
        return None  # PowerSO-10, -20 and -36 are bodies of their own
    letters = letters.removeprefix("POWER")
    if letters in table:
        return table[letters]
    for cut in range(1, 5):
        rest = letters[cut:]
        if len(rest) < 3 or letters[cut - 1] not in _PREFIX_LETTERS:
            return None
        if rest in table and rest not in _SHORT_WORDS:
            return table[rest]
    return None


def by_word(name: str, text: str) -> PackageName | None:
    """Return what a package word (SOIC, LQFP, BGA …) in the name stands for, with its pins."""
    first: PackageName | None = None
    for match in islice(_LETTERS.finditer(name), _MOST_WORDS):
        word = _word_of(match[0])
        if word is not None and word.word == "LCC" and ("J-LEAD" in name or name[: match.start()].endswith("P-")):
            word = published.words()["PLCC"]
        if word is None:
            continue
        after = name[match.end() : match.end() + 2]
        if (
            word.word in _SHORT_WORDS
            and not re.match(r"[-_ ]?\d", after)
            and not re.search(r"\d[-_ ]?$", name[: match.start()])
        ):
            continue
        coded = _METRIC_CODE.match(name, match.end()) if word.family in _CODED_FAMILIES else None
        sizes = sizes_in(name, whole=True)
        if coded and _LEAST_CODE <= int(coded[2]) <= int(coded[1]) + _MOST_SIDEWAYS and not sizes.sides:
            both = tuple(WrittenSize(int(c) / 10, Interval.about(int(c) / 10, 0.05)) for c in (coded[1], coded[2]))
            sizes, pins = replace(sizes, sides=both), int(coded[3]) if coded[3] else None
        else:
            pins = _pins(name, match.start(), match.end(), word, 0 if coded is None else 3)
            if (code := _SPAN_CODE.search(name, match.end())) and sizes.pitch is None:
                pitch, span = int(code[1]) / 100, int(code[2]) / 100
                sizes = replace(
                    sizes,
                    pitch=WrittenSize(pitch, Interval.about(pitch, 0.006)),
                    span=WrittenSize(span, Interval.about(span, 0.05)),
                )
        if pins is not None:
            sizes = _third_as_pitch(sizes)
        if pins is None and not sizes.sides and match[0] not in {word.word, "LCC"}:
            continue  # letters that merely end in a package word (RDSON) need a count or a size beside them
        label = match[0] if pins is None else f"{match[0]}-{pins}"
        candidates, width = fitting(name, word, pins)
        if _may_be_grid(sizes, pins, word, candidates):
            sizes = replace(sizes, sides=())
        found = PackageName(text, label, word, candidates, pins, sizes, confirmed=width)
        if candidates or sizes.sides:
            return found
        first = first or found  # "10-TFSOP, 10-MSOP": another word of the same text may be tabled
    return first


_PITCH_FOR_CERTAIN_MM: Final = frozenset((0.4, 0.5, 0.65, 1.27))
_PITCH_OR_HEIGHT_MM: Final = frozenset((0.8, 1.0))
"""Pitches that are heights of no-lead bodies as well."""


def _third_as_pitch(sizes: WrittenSizes) -> WrittenSizes:
    """Return sizes whose third number, equal to a usual pitch, is the pitch beside a count of pins: QFN-20 4x4x0.5."""
    third = sizes.height
    if (
        third is None
        or not sizes.sides
        or sizes.pitch is not None
        or sizes.labels & {"H", "T"}
        or third.interval.low <= 0
    ):
        return sizes
    if third.value in _PITCH_FOR_CERTAIN_MM:
        return replace(sizes, height=None, pitch=WrittenSize(third.value, Interval.about(third.value, 0.005)))
    return replace(sizes, height=None) if third.value in _PITCH_OR_HEIGHT_MM else sizes


def _may_be_grid(sizes: WrittenSizes, pins: int | None, word: Word, candidates: tuple[Outline, ...]) -> bool:
    """Whether bare whole numbers count the columns and rows of a grid as likely as millimetres: BGA-256 16x16."""
    if (
        pins is None
        or not sizes.sides
        or sizes.unit
        or sizes.decimals
        or word.lead_style not in UNDER_THE_BODY - {LeadStyle.NO_LEAD}
    ):
        return False
    one, other = (side.value for side in sizes.sides)
    return one * other == pins and (word.word in _GENERAL or not any(o.has_sides(one, other) for o in candidates))


def _pins(name: str, start: int, end: int, word: Word, longest: int) -> int | None:
    """Return the pin count beside a package word; an exposed pad is not counted.

    ``32LD`` says so in full; else the number after the word, before it, or a loose ``10P`` counts.
    """
    most = family_table(word.family).most_pins or _MOST_PINS
    found = [
        _COUNTED.search(name),
        _LEADS_BEHIND_CODE.search(name, end),
        _AFTER.match(name, end),
        _BEFORE.search(name, 0, start),
        _BEHIND_SIZE.search(name),
        _LOOSE.search(name),
    ]
    for match in found:
        if match is None or (longest and len(match[1] or "") > longest):
            continue
        count = int(match[1] or match[2])
        if word.family in {Family.SOIC, Family.SOP} and count % 2 and count > 3:
            count -= 1
        if 1 < count <= most:
            return count
    return None
