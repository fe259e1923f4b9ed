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

from capcheck.model import NOTHING, Basis, LeadStyle, Mounting, say
from capcheck.packages.candidate import Candidate, Column, Trust, hull_of
from capcheck.packages.names.part_kind import KIND_BY_PREFIX, NO_CHIP, chip_family, kind_in_words
from capcheck.packages.tables import Clash, Family, Size, System, families, meanings, part_words, rows_of, size_table
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
_WORD_BEFORE: Final = pattern(r"([A-Z]{2,})[-_]$")
_ANY_KIND: Final = "any"
_KIND_LETTERS: Final = {
    word: None if kind == _ANY_KIND else kind for word, kind in meanings("kind_before_code").items()
}
"""Letters that may stand directly before a code, and the kind they name."""
_PASSIVE: Final = frozenset(
    {"resistor", "capacitor", "inductor", "ferrite bead", "fuse", "led", "thermistor", "varistor", "diode", "tantalum"}
)
_CODED_BY_SERIES: Final = _PASSIVE - {"inductor"}
"""Kinds of which a maker's few letters may stand before a size code; a coil's series names sizes of its own so."""
_SEVERAL: Final = pattern(r"(?i)RGB|BI-?COLOU?R|TRI-?COLOU?R|(?<![A-Z])DUAL?(?![A-Z])|DUO")
"""Words for a lamp of more than one die, which has more than two terminals."""
_LONGEST_CHIP_LAMP_MM: Final = 3.3
"""Chip lamps are made to inch 1206 and 1210; a longer code of a lamp is in tenths of a millimetre; from memory."""
_MOST_CODES: Final = 8
"""A name holds one or two codes; a text with more is a list, and reading all of it would cost time for nothing."""
_PACKAGES: Final = frozenset(part_words()["no_chip"]["package"])
"""Package words whose digits name the sides of the body and no chip."""
_WORD: Final = pattern(r"[A-Z]+")
_NO_CHIP_WORDS: Final = frozenset(
    word for meaning in ("connector", "header", "switch") for word in part_words()["device"][meaning]
).union(meanings("box"))
"""Words for parts that come in no chip size, whatever number stands beside them."""
_UNITS_AFTER: Final = frozenset(part_words()["no_chip"]["unit"])


@cache
def _land_pattern_kinds() -> dict[str, str]:
    """Return the kind of part by the land-pattern word that may stand before a size code: CAPC0805."""
    kinds = {chip_family(kind): kind for kind in _PASSIVE}
    found = ((p.word, kinds.get(p.family)) for table in families() for p in table.land_patterns)
    # The words of plain chips end in C; CAPCWR and DIOCN are never written before a size code.
    return {word: kind for word, kind in found if kind is not None and word.endswith("C")}


def _land_pattern_kind(letters: str) -> str | None:
    """Return the kind that a land-pattern word names; the tables are read only where they may be one."""
    may_be_one = letters.endswith("C") and letters not in _KIND_LETTERS and len(letters) > 3
    return _land_pattern_kinds().get(letters) if may_be_one else None


class AgreedSystem(Struct, frozen=True):
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


def kind_meant(mention: Mention, kind: str | None, stated: str | None = None) -> str | None:
    """Return the kind of part that a code is about; *kind* is what other texts and the reference prefix say.

    What the BOM states counts most, then words. Where the letters before the code and *kind* name two different
    passives, the bounds of neither hold, except that an inductor has none that could be wrong.
    """
    if stated is not None and (mention.kind is None or mention.kind in _PASSIVE - {"tantalum"}):
        return stated
    letters = mention.letter_kind
    if mention.kind is not None or kind is None or letters is None:
        return mention.kind or kind or letters
    plain = {"resistor", "capacitor", "inductor"}
    if kind in plain and letters in plain and kind != letters:
        return "inductor" if "inductor" in (kind, letters) else None
    return kind


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


def _names_series(text: str, start: int) -> bool:
    """Whether the word before a number is that of a coil's series, which names sizes of its own: IHLP-5050."""
    word = _WORD_BEFORE.search(text, max(0, start - 16), start)
    return word is not None and word[1] not in _KIND_LETTERS and kind_in_words(word[1]) is None


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
        if size is None or one.system == "metric":
            continue
        for other in found:
            if other is not one and other.system != "inch" and table.chip_by_metric.get(other.code) is size:
                return (replace(one, system="inch", mark=f"{one.code} beside {other.code}"),)
    # A code with its own mark (1005Metric) outweighs one without.
    marked = [m for m in found if m.system]
    return tuple(marked or dict.fromkeys(found))


Meaning = tuple[Size, str]
"""A size that a code may stand for, and the system of the code in words."""


def sizes_of(mention: Mention, kind: str | None, agreed: AgreedSystem) -> tuple[tuple[Meaning, ...], str]:
    """Return the sizes that a code may stand for, each with its system, and why there is but one."""
    table = size_table()
    code = mention.code
    by_system = {"inch": table.chip_by_inch.get(code), "metric": table.chip_by_metric.get(code)}
    marked = by_system.get(mention.system or "")
    if marked is not None and mention.system is not None:
        return ((marked, mention.system),), mention.mark
    chips = tuple((size, system) for system, size in by_system.items() if size is not None)
    own = table.by_kind.get((kind or "", code))
    if own is not None and (kind == "crystal" or not chips):
        return ((own, f"tenths of a millimetre, as {kind} sizes are named"),), f"the part is a {kind}"
    clash = table.clashes.get(code)
    if clash is not None:
        return _sizes_of_clash(clash, mention, kind, agreed)
    if kind == "led" and chips and chips[0][0].nominal_length > _LONGEST_CHIP_LAMP_MM:
        return (), ""
    if chips:
        return chips[:1], f"the code exists as {'an inch' if by_system['inch'] else 'a metric'} code only"
    others = tuple((s, "metric") for (_, c), s in table.by_kind.items() if c == code)
    return others, "codes of crystals and LEDs are tenths of a millimetre"


def _sizes_of_clash(
    clash: tuple[Clash, ...], mention: Mention, kind: str | None, agreed: AgreedSystem
) -> tuple[tuple[Meaning, ...], str]:
    """Return the sizes of a code that exists in both systems: by the first ground that leaves one, else all."""
    left = tuple(c for c in clash if c.system == mention.system) or clash
    grounds = (
        ([c for c in left if kind is not None and kind in c.kinds], f"the part is a {kind}"),
        ([c for c in left if c.usual and not agreed.stated][:1], "the usual meaning of the code"),
        ([c for c in left if c.system == agreed.system], agreed.reason),
    )
    for found, why in grounds:
        if len(found) == 1:
            return ((found[0].size, found[0].system),), why
    metric = size_table().chip_by_metric.get(mention.code)
    if mention.family and metric is not None:
        return ((metric, "metric"),), f"land-pattern names such as {mention.family}… are metric"
    return tuple((c.size, c.system) for c in left), ""


class _Extent(Struct, frozen=True):
    """How far makers' inductors and beads of a size reach beyond a plain chip."""

    kind: str
    metric: str
    length_high_mm: float
    width_high_mm: float
    source: str


@cache
def _extents() -> dict[tuple[str, str], _Extent]:
    return {(row.kind, row.metric): row for row in rows_of("chip_extents", _Extent)}


def sized(name: Candidate, size: Size, system: str, kind: str | None) -> Candidate:
    """Return *name*, which says how a code was read, with the body of one size that the code may stand for."""
    length, width, scheme = size.length, size.width, name.scheme
    if (extent := _extents().get((kind or "", size.metric))) is not None:
        # Named by the code of the chip, a wound coil is wider.
        length = length.hull(Interval.exactly(extent.length_high_mm))
        width = width.hull(Interval.exactly(extent.width_high_mm))
        scheme = say("packages.sides as far as", scheme=scheme, table=extent.source)
    code = name.piece
    crystal = kind == "crystal" or size.family == "crystal"
    family = f"{kind or size.family} {size.metric or code}" if size.family != "chip" else _chip_name(size, code)
    lamp = size.family == "led"
    chip = LeadStyle.MOLDED if kind == "tantalum" else LeadStyle.CHIP
    return replace(
        name,
        scheme=scheme,
        length=length,
        width=width,
        height=size.height if system == "metric" and code == "4020" else None,
        nominal_length=Interval.exactly(size.nominal_length),
        nominal_width=Interval.exactly(size.nominal_width),
        pins=None if crystal or lamp or kind is None else 2,
        lead_style=LeadStyle.NO_LEAD if crystal else None if lamp else chip,
        family=family,
        family_key=Family.CRYSTAL if crystal else chip_family(kind),
        hidden_joints=None if crystal else False,
        polarised=True if kind in {"led", "tantalum"} else False if kind in {"resistor", "ferrite bead"} else None,
    )


def _chip_name(size: Size, code: str) -> str:
    if size.metric and size.inch:
        return f"chip {size.metric}M (inch {size.inch})"
    return f"chip {code}" + ("M" if size.metric else " inch")


def read_size_codes(
    text: str,
    column: Column,
    kind: str | None,
    agreed: AgreedSystem,
    *,
    name: bool,
    ref_prefix: str = "",
    stated: str | None = None,
) -> list[Candidate]:
    """Return a candidate for each size code in *text*; a code that stays ambiguous gives the hull of its sizes.

    *kind* is the kind of part as far as known, *stated* what the BOM states of it, *agreed* the system of the set of
    files. A reference of a class without chips lets a code count only where the BOM states a passive. Codes of
    arrays name one element, not the body, and give nothing.
    """
    if (ref_prefix.upper() in NO_CHIP and stated not in _PASSIVE) or _is_no_chip(text, ref_prefix.upper()):
        return []
    found: list[Candidate] = []
    name_of_code = Candidate(Basis.DECODED, Trust.SIZE_CODE, column, text, mounting=Mounting.SURFACE)
    several = _SEVERAL.search(text) is not None
    for mention in find_codes(text, kind, name=name):
        # The words of this very text outweigh what the other texts and the reference prefix suggest.
        own_kind = kind_meant(mention, kind, stated)
        if own_kind == "array" or (own_kind == "crystal" and ("crystal", mention.code) not in size_table().by_kind):
            continue  # a code of an array names one element; 0603 of a crystal is 6.0 x 3.5 mm with some makers
        meanings_of_code, why = sizes_of(mention, own_kind, agreed)
        if meanings_of_code:
            code = replace(name_of_code, piece=mention.code)
            read = _coded(code, own_kind, meanings_of_code, why)
            found.append(replace(read, pins=None) if several else read)
    if len({(c.length, c.width) for c in found}) > 1:
        # A land for either of two sizes, or a list: which of them is fitted, the text does not say.
        codes = [c.piece for c in found]
        question = say("packages.several size codes", column=column, text=text, codes=codes)
        return [hull_of(tuple(found), say("packages.size codes", codes=codes), question)]
    return found


def _is_no_chip(text: str, letters: str) -> bool:
    """Whether words name a connector, switch, module or transformer, and no letters of a chip's reference do not."""
    return letters not in KIND_BY_PREFIX and not _NO_CHIP_WORDS.isdisjoint(_WORD.findall(text.upper()))


def _coded(name: Candidate, kind: str | None, sizes: tuple[Meaning, ...], why: str) -> Candidate:
    """Return *name*, a text with a code in it, by the sizes that the code may stand for."""
    code = name.piece
    if len(sizes) == 1:
        size, system = sizes[0]
        because = say("packages.because", reason=why) if why else NOTHING
        scheme = say("packages.size code", code=code, system=system, why=because)
        return sized(replace(name, scheme=scheme), size, system, kind)
    parts = tuple(sized(name, size, system, kind) for size, system in sizes)
    question = say(
        "packages.size code of two systems",
        code=code,
        column=name.column,
        text=name.text,
        meanings=[say("packages.meaning of a size code", size=size.shown, system=system) for size, system in sizes],
        settle=say("packages.settle size codes"),
    )
    hull = hull_of(parts, say("packages.size code in either system", code=code), question)
    return replace(hull, pins=2, family=f"chip {code}, inch or metric")


def resistor_height(candidate: Candidate) -> Candidate | None:
    """Return the height of chip resistors of the size that *candidate* decoded, as a bound; None where none is known.

    Thick-film resistors by the makers' dimension tables; metal-strip resistors of the larger sizes are thicker.
    """
    length, width = candidate.nominal_length, candidate.nominal_width
    if candidate.family_key is not Family.CHIP_RESISTOR or length is None or width is None:
        return None
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
    scheme = say("packages.resistors of a size", code=candidate.piece)
    return Candidate(Basis.BOUND, Trust.BOUND, scheme=scheme, height=height, family_key=Family.CHIP_RESISTOR)
