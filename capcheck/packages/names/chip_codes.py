"""Chip size codes in names and texts: 0603, 1608, 01005, 0402_1005Metric, R0402, CAP-0805.

A four-digit code means inch hundredths or metric tenths. Most codes exist in one system only; for the few that
exist in both, an explicit mark decides, then the kind of part where it fixes the system, then board.toml or what the
same files use elsewhere; else both readings stand and the interval spans them.
"""

from __future__ import annotations

from functools import cache, lru_cache
from typing import Final

from msgspec import Struct
from msgspec.structs import replace

from capcheck.model import Basis
from capcheck.packages.candidate import Reading, Trust, hull_of
from capcheck.packages.names.part_kind import FAMILY_KEY, NO_CHIP, kind_in_words
from capcheck.packages.tables import Size, System, rows_of, size_table
from capcheck.values import Interval, pattern

_CODE: Final = pattern(
    r"(?<![\d.])(?P<code>\d{4,6})(?!\d)(?!\.\d)"
    r"(?P<metric>M(?![A-Z0-9])|[-_ ]?(?:METRIC|METR\b))?(?P<inch>[-_ ]?(?:INCH|IMPERIAL)|IN(?![A-Z]))?"
)
_PRODUCT_AFTER: Final = pattern(r"X(?![4-8][RSPTUV](?![A-Z]))\d")
"""A number times another; X7R behind a code is the dielectric of a capacitor."""
_SUFFIX_AFTER: Final = pattern(r"-?\d{2}(?!\d)")
_FOUR_DIGITS: Final = pattern(r"\d{4}")
_BEFORE: Final = pattern(r"([A-Z]+)$")
_AFTER: Final = pattern(r"([A-Z]+)")
_KIND_LETTERS: Final = {
    "R": "resistor",
    "RES": "resistor",
    "SMR": "resistor",
    "C": "capacitor",
    "CC": "capacitor",
    "CAP": "capacitor",
    "HC": "capacitor",
    "MLCC": "capacitor",
    "SMC": "capacitor",
    "L": "inductor",
    "IND": "inductor",
    "LED": "led",
    "D": "diode",
    "DIO": "diode",
    "DIODE": "diode",
    "F": "fuse",
    "FUSE": "fuse",
    "FB": "ferrite bead",
    "FER": "ferrite bead",
    "BEAD": "ferrite bead",
    "PTC": "fuse",
    "NTC": "thermistor",
    "TANT": "tantalum",
    "XTAL": "crystal",
    "OSC": "crystal",
    "RV": "varistor",
    "MOV": "varistor",
    "RESISTOR": "resistor",
    "CAPACITOR": "capacitor",
    "INDUCTOR": "inductor",
    "CHIPLED": "led",
    "LEDSMD": "led",
    "SMDLED": "led",
    "SMD": None,
    "SMT": None,
    "CHIP": None,
    "SM": None,
    "CASE": None,
    "SIZE": None,
    "PKG": None,
}
"""Letters that may stand directly before a code, and the kind they name."""
_PASSIVE: Final = frozenset(
    {"resistor", "capacitor", "inductor", "ferrite bead", "fuse", "led", "thermistor", "varistor", "diode", "tantalum"}
)
_CODED_BY_SERIES: Final = _PASSIVE - {"inductor"}
"""Kinds of which a maker's few letters may stand before a size code; a coil's series names sizes of its own so."""
_SEVERAL: Final = pattern(r"(?i)RGB|BI-?COLOU?R|TRI-?COLOU?R|(?<![A-Z])DUAL?(?![A-Z])|DUO")
"""Words for a lamp of more than one die, which has more than two terminals."""
_MOST_CODES: Final = 8
"""A name holds one or two codes; a text with more is a list, and reading all of it would cost time for nothing."""
_PACKAGES: Final = frozenset(
    {"DFN", "QFN", "SON", "LGA", "BGA", "TDFN", "UDFN", "WDFN", "XDFN", "WSON", "USON", "XSON", "UQFN"}
)
"""Package words whose digits name the sides of the body and no chip."""
_UNITS_AFTER: Final = frozenset(
    {
        "OHM",
        "OHMS",
        "R",
        "K",
        "MEG",
        "MHZ",
        "KHZ",
        "GHZ",
        "HZ",
        "UF",
        "NF",
        "PF",
        "UH",
        "NH",
        "V",
        "W",
        "A",
        "MA",
        "MW",
        "MM",
        "X",
        "PPM",
        "PCS",
        "MIL",
        "MAH",
        "VDC",
        "P",
        "PIN",
        "TH",
        "ST",
        "ND",
    }
)
_FAMILIES: Final = {
    "CAPC": "capacitor",
    "RESC": "resistor",
    "INDC": "inductor",
    "BEADC": "ferrite bead",
    "FUSC": "fuse",
    "LEDC": "led",
    "DIOC": "diode",
    "THRMC": "thermistor",
    "VARC": "varistor",
}

SETTLE: Final = 'set size_codes = "inch" or "metric" in board.toml, or state the length'


class Agreed(Struct, frozen=True):
    """The system that codes of one set of files are in, as far as known, and how that is known.

    *stated* means that board.toml says so, which outweighs what is usual for a code.
    """

    system: System | None = None
    reason: str = ""
    stated: bool = False


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


def kind_meant(mention: Mention, kind: str | None) -> str | None:
    """Return the kind of part that a code is about; *kind* is what other texts and the reference prefix say.

    Words count most. Where the letters before the code and *kind* name two different passives, the bounds of neither
    hold, except that an inductor has none that could be wrong.
    """
    letters = mention.letter_kind
    if mention.kind is not None or kind is None or letters is None:
        return mention.kind or kind or letters
    plain = {"resistor", "capacitor", "inductor"}
    if kind in plain and letters in plain and kind != letters:
        return "inductor" if "inductor" in (kind, letters) else None
    return kind


def plainly_named(mention: Mention) -> bool:
    """Whether a code stands alone or behind letters that name a kind of part, rather than in a maker's number."""
    return not mention.letters or mention.letters in _KIND_LETTERS or mention.letters in _FAMILIES


def _letters_allow(before: str, after: str, ref_kind: str | None, *, name: bool) -> tuple[bool, str | None]:
    """Whether a code between these letters may be a size code, and the kind of part they name.

    *name* says that the text is a footprint or package name; elsewhere a code must stand alone.
    """
    kind: str | None = None
    if before:
        if before in _FAMILIES:
            kind = _FAMILIES[before]
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


@lru_cache(maxsize=16384)
def find_codes(text: str, ref_kind: str | None, *, name: bool) -> tuple[Mention, ...]:
    """Return the size codes in *text*; *name* says that it is a footprint or package name rather than prose.

    Two codes of the same size beside each other (0402_1005, 0603(1608)) become one mention with its system settled.
    """
    if not _FOUR_DIGITS.search(text):
        return ()
    upper = text.upper()
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
        system: System | None = "metric" if match["metric"] else "inch" if match["inch"] else None
        family = before[1] if before and before[1] in _FAMILIES else ""
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
        if size is None or one.system == "metric":
            continue
        for other in found:
            if other is not one and other.system != "inch" and table.chip_by_metric.get(other.code) is size:
                return (replace(one, system="inch", mark=f"{one.code} beside {other.code}"),)
    # A code with its own mark (1005Metric) outweighs one without.
    marked = [m for m in found if m.system]
    return tuple(marked or dict.fromkeys(found))


def sizes_of(  # noqa: PLR0911  one exit for each ground, in their order
    mention: Mention, kind: str | None, agreed: Agreed
) -> tuple[tuple[tuple[Size, str], ...], str]:
    """Return the sizes that a code may stand for, each with the words for its reading, and why there is but one."""
    table = size_table()
    code = mention.code
    inch, metric = table.chip_by_inch.get(code), table.chip_by_metric.get(code)
    if mention.system == "inch" and inch is not None:
        return ((inch, "inch"),), mention.mark
    if mention.system == "metric" and metric is not None:
        return ((metric, "metric"),), mention.mark
    own = table.by_kind.get((kind or "", code))
    if own is not None and (kind == "crystal" or (inch is None and metric is None)):
        return ((own, f"tenths of a millimetre, as {kind} sizes are named"),), f"the part is a {kind}"
    clash = table.clashes.get(code)
    if clash is None:
        if inch is not None:
            return ((inch, "inch"),), "the code exists as an inch code only"
        if metric is not None:
            return ((metric, "metric"),), "the code exists as a metric code only"
        others = tuple((s, "metric") for (_, c), s in table.by_kind.items() if c == code)
        return others, "codes of crystals and LEDs are tenths of a millimetre"
    if mention.system is not None:
        clash = tuple(c for c in clash if c.system == mention.system) or clash
    of_kind = [c for c in clash if kind is not None and kind in c.kinds]
    if len(of_kind) == 1:
        return ((of_kind[0].size, of_kind[0].system),), f"the part is a {kind}"
    usual = [c for c in clash if c.usual]
    if usual and not agreed.stated:
        return ((usual[0].size, usual[0].system),), "the usual meaning of the code"
    settled = [c for c in clash if c.system == agreed.system]
    if len(settled) == 1:
        return ((settled[0].size, settled[0].system),), agreed.reason
    if mention.family and metric is not None:
        return ((metric, "metric"),), f"land-pattern names such as {mention.family}… are metric"
    return tuple((c.size, c.system) for c in clash), ""


@cache
def _extents() -> dict[tuple[str, str], tuple[float, float, str]]:
    """Return how far makers' inductors and beads of a size reach beyond a plain chip, by kind and metric code."""
    return {
        (r["kind"], r["metric"]): (float(r["length_high_mm"]), float(r["width_high_mm"]), r["source"])
        for r in rows_of("chip_extents")
    }


def _reading(size: Size, system: str, code: str, kind: str | None, source: str) -> Reading:
    length, width = size.length, size.width
    if (extent := _extents().get((kind or "", size.metric))) is not None:
        # Named by the code of the chip, a wound coil is wider.
        length, width = length.hull(Interval.exactly(extent[0])), width.hull(Interval.exactly(extent[1]))
        source = f"{source}; sides as far as {extent[2]}"
    key = FAMILY_KEY.get(kind or "", "chip")
    crystal = kind == "crystal" or size.family == "crystal"
    family = f"{kind or size.family} {size.metric or code}" if size.family != "chip" else _chip_name(size, code)
    small_led = size.family == "led"
    return Reading(
        source=source,
        basis=Basis.DECODED,
        trust=Trust.SIZE_CODE,
        length=length,
        width=width,
        height=size.height if system == "metric" and code == "4020" else None,
        nominal_length=Interval.exactly(size.nominal_length),
        nominal_width=Interval.exactly(size.nominal_width),
        pins=None if crystal or small_led or kind is None else 2,
        mounting="surface",
        lead_style="no lead" if crystal else None if small_led else "molded" if kind == "tantalum" else "chip",
        family=family,
        family_key="crystal" if crystal else key,
        hidden_joints=None if crystal else False,
        polarised=True if kind in {"led", "tantalum"} else False if kind in {"resistor", "ferrite bead"} else None,
        text=code,
    )


def _chip_name(size: Size, code: str) -> str:
    if size.metric and size.inch:
        return f"chip {size.metric}M (inch {size.inch})"
    return f"chip {code}" + ("M" if size.metric else " inch")


def read_size_codes(
    text: str, what: str, kind: str | None, agreed: Agreed, *, name: bool, ref_prefix: str = ""
) -> list[Reading]:
    """Return a reading for each size code in *text*; a code that stays ambiguous gives the hull of its sizes.

    *what* is the field (``footprint``), *kind* the kind of part as far as known, *agreed* the system of the set of
    files. Codes of arrays name one element, not the body, and give no reading.
    """
    if ref_prefix.upper() in NO_CHIP:
        return []
    readings: list[Reading] = []
    several = _SEVERAL.search(text) is not None
    for mention in find_codes(text, kind, name=name):
        # The words of this very text outweigh what the other texts and the reference prefix suggest.
        own_kind = kind_meant(mention, kind)
        if own_kind == "array" or (own_kind == "crystal" and ("crystal", mention.code) not in size_table().by_kind):
            continue  # a code of an array names one element; 0603 of a crystal is 6.0 x 3.5 mm with some makers
        sizes, why = sizes_of(mention, own_kind, agreed)
        if not sizes:
            continue
        because = f" ({why})" if why else ""
        if len(sizes) == 1:
            size, system = sizes[0]
            source = f'{what} "{text}" as size code {mention.code}, {system}{because}'
            found = _reading(size, system, mention.code, own_kind, source)
            readings.append(replace(found, pins=None) if several else found)
            continue
        parts = tuple(_reading(s, system, mention.code, own_kind, "") for s, system in sizes)
        meanings = " or ".join(f"{s.shown} as {_article(system)} {system} code" for s, system in sizes)
        question = f'size code {mention.code} in {what} "{text}" is {meanings}; {SETTLE}'
        hull = hull_of(parts, f'{what} "{text}" as size code {mention.code}, inch or metric', question)
        readings.append(replace(hull, pins=None if several else 2, family=f"chip {mention.code}, inch or metric"))
    if len({(r.length, r.width) for r in readings}) > 1:
        # A land for either of two sizes, or a list: which of them is fitted, the text does not say.
        codes = " or ".join(r.text for r in readings)
        question = f'{what} "{text}" names sizes {codes}; state which of them is fitted'
        return [hull_of(tuple(readings), f'{what} "{text}" as size code {codes}', question)]
    return readings


def _article(word: str) -> str:
    return "an" if word[0] in "aeiou" else "a"


def resistor_height(reading: Reading) -> Reading | None:
    """Return the height of chip resistors of the size that *reading* decoded, as a bound; None where none is known.

    Thick-film resistors by the makers' dimension tables; metal-strip resistors of the larger sizes are thicker.
    """
    if reading.family_key != "chip resistor" or reading.nominal_length is None or reading.nominal_width is None:
        return None
    length, width = reading.nominal_length, reading.nominal_width
    heights = [
        s.height
        for s in size_table().chip_by_inch.values()
        if s.height is not None
        and length.low <= s.nominal_length <= length.high
        and width.low <= s.nominal_width <= width.high
    ]
    if not heights:
        return None
    height = Interval(min(h.low for h in heights), max(h.high for h in heights))
    source = f"chip resistors of size {reading.text}, makers' dimension tables"
    return Reading(source, Basis.BOUND, Trust.BOUND, height=height, family_key="chip resistor")
