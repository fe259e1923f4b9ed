"""Chip size codes in names and texts: 0603, 1608, 01005, 0402 (1005 metric), R0402, CAP-0805.

A four-digit code means inch hundredths or metric tenths. Most codes exist in one system only; for the few that
exist in both, an explicit mark decides, then the kind of part where it fixes the system, then board.toml or what the
same files use elsewhere; else both readings stand and the interval spans them.
"""

from __future__ import annotations

from functools import cache
from typing import Final

from msgspec import Struct
from msgspec.structs import replace

from capcheck.model import NOTHING, Basis, LeadStyle, Mounting, say
from capcheck.packages.candidate import Candidate, Column, Trust, hull_of
from capcheck.packages.names.part_kind import KIND_BY_PREFIX, NO_CHIP, chip_family, kind_in_words
from capcheck.packages.names.size_code_mentions import PASSIVE, Mention, find_codes
from capcheck.packages.tables import Clash, Family, Size, System, meanings, part_words, rows_of, size_table
from capcheck.values import Interval, pattern

_SEVERAL: Final = pattern(r"(?i)RGB|BI-?COLOU?R|TRI-?COLOU?R|(?<![A-Z])DUAL?(?![A-Z])|DUO")
"""Words for a lamp of more than one die, which has more than two terminals."""
_LONGEST_CHIP_LAMP_MM: Final = 3.3
"""Chip lamps are made to inch 1206 and 1210; a longer code of a lamp is in tenths of a millimetre; from memory."""
_WORD: Final = pattern(r"[A-Z]+")
_NO_CHIP_WORDS: Final = frozenset(
    word for meaning in ("connector", "header", "switch") for word in part_words()["device"][meaning]
).union(meanings("box"))
"""Words for parts that come in no chip size, whatever number stands beside them."""
_MAY_BE_CHIPS: Final = frozenset(part_words()["chip_of_no_kind"]["letters"])
_SAYS_CHIP: Final = frozenset(meanings("chip_of_no_kind")) - _MAY_BE_CHIPS
_RUN: Final = pattern(r"[^\W\d_]+|\d+")


class AgreedSystem(Struct, frozen=True):
    """The system that codes of one set of files are in, as far as known, and how that is known.

    *stated* means that board.toml says so, which outweighs what is usual for a code.
    """

    system: System | None = None
    reason: str = ""
    stated: bool = False


def kind_meant(mention: Mention, kind: str | None, stated: str | None = None) -> str | None:
    """Return the kind of part that a code is about; *kind* is what other texts and the reference prefix say.

    What the BOM states counts most, then words. Where the letters before the code and *kind* name two different
    passives, the bounds of neither hold, except that an inductor has none that could be wrong.
    """
    if stated is not None and (mention.kind is None or mention.kind in PASSIVE - {"tantalum"}):
        return stated
    letters = mention.letter_kind
    if mention.kind is not None or kind is None or letters is None:
        return mention.kind or kind or letters
    plain = {"resistor", "capacitor", "inductor"}
    if kind in plain and letters in plain and kind != letters:
        return "inductor" if "inductor" in (kind, letters) else None
    return kind


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
    if clash is not None and (kind is None or any(not c.kinds or kind in c.kinds for c in clash)):
        return _sizes_of_clash(clash, mention, kind, agreed)
    if kind == "led" and chips and chips[0][0].nominal_length > _LONGEST_CHIP_LAMP_MM:
        return (), ""
    if chips:
        return chips[:1], f"the code exists as {'an inch' if by_system['inch'] else 'a metric'} code only"
    if kind in PASSIVE - {"led", "diode"}:
        return (), ""  # the code of a lamp or a crystal is no size of a coil
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
    coil = kind == "inductor" and size.nominal_length == size.nominal_width  # a square one is wound, and no chip
    chip = LeadStyle.MOLDED if kind == "tantalum" else LeadStyle.OTHER if coil else LeadStyle.CHIP
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
    files. A reference of a class without chips lets a code count only where the BOM states a passive; where nothing
    says what the part is, only a text of its own that names a chip or nothing but the size does. Codes of arrays name
    one element, not the body, and give nothing.
    """
    if (ref_prefix.upper() in NO_CHIP and stated not in PASSIVE) or _is_no_chip(text, ref_prefix.upper()):
        return []
    found: list[Candidate] = []
    name_of_code = Candidate(Basis.DECODED, Trust.SIZE_CODE, column, text, mounting=Mounting.SURFACE)
    several = _SEVERAL.search(text) is not None
    for mention in find_codes(text, kind, name=name):
        # The words of this very text outweigh what the other texts and the reference prefix suggest.
        own_kind = kind_meant(mention, kind, stated)
        if own_kind == "array":
            own_kind = _kind_of_one_chip(text) or own_kind
        if own_kind is None and not _is_plain_chip(text, mention.code, ref_prefix.upper()):
            continue
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


def _kind_of_one_chip(text: str) -> str | None:
    """Return the kind of chip that a name begins with: R0603 is the land of one, though another text says array."""
    if kind_in_words(text.upper()) == "array":
        return None
    first = next(iter(_RUN.findall(text.upper().rpartition(":")[2])), "")
    kind = meanings("kind_before_code").get(first)
    return kind if kind in PASSIVE else None


def _is_no_chip(text: str, letters: str) -> bool:
    """Whether words name a connector, switch, module or transformer, and no letters of a chip's reference do not."""
    return letters not in KIND_BY_PREFIX and not _NO_CHIP_WORDS.isdisjoint(_WORD.findall(text.upper()))


def _is_plain_chip(text: str, code: str, letters: str) -> bool:
    """Whether a code is a size under letters that stand for no kind of chip: 0805 and SMD0805 are, X-0805-7 is none."""
    if not letters or letters in _MAY_BE_CHIPS or letters in KIND_BY_PREFIX:
        return True
    runs = _RUN.findall(text.upper().rpartition(":")[2])
    said = [run for run in runs if not run.isdigit()]
    return not _SAYS_CHIP.isdisjoint(said) or (set(said) <= {"M"} and code in runs[:1])


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

    Thick-film resistors by data/size_codes.csv; metal-strip resistors of the larger sizes are thicker, from memory.
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
