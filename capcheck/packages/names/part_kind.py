"""What kind of part a name speaks of: resistor, capacitor, LED, crystal … from its words and its reference prefix.

The kind decides which size tables apply and which bounds hold. It is no evidence for inch or metric.
"""

from __future__ import annotations

from functools import lru_cache
from typing import Final

from capcheck.lexicon import reference_letters, shape
from capcheck.packages.tables import Family
from capcheck.values import pattern

_WORDS: Final = (
    (
        "array",
        r"ARRAY|NETWORK|NETZWERK|RESPACK|排阻|(?<!\d)\d{1,2}P[248]R(?![A-Z0-9])|\b(?:RN|RA|RP|CN)_?\d{4}|(?<!\d)\dX\d{4}|\b\d{4}X[248]\b|\d{4}[-_]8P",
    ),
    ("crystal", r"CRYSTAL|XTAL|OSCILLATOR|RESONATOR|TCXO|VCXO|\bOSC|(?<![A-Z])XO(?![A-Z])|QUARTZ|晶振(?!负载)|水晶"),
    ("melf", r"MELF|(?<![A-Z])MM[ABU](?![A-Z])"),
    ("led", r"(?<![A-Z])LED(?![A-Z])|(?<![A-Z])LEDS?[-_ ]?SMD"),
    ("tantalum", r"(?<![A-Z])(?:TANT|POL(?![A-Z]))|(?<![A-Z])CP_|(?<![A-Z])CPOL|(?<![A-Z])EIA[-_]?\d{4}[-_]\d{2}"),
    (
        "fuse",
        (
            r"FUSE|(?<![A-Z])PTC(?![A-Z])|POLYSWITCH|(?<![A-Z])PPTC|(?<![A-Z])(?:FEIN|CHIP)?SICHERUNG(?![A-Z])|"
            r"保险丝(?![管]?[座夹])"
        ),
    ),
    ("ferrite bead", r"FERRITE|BEAD|FERRITPERLE|磁珠"),
    ("thermistor", r"THERMISTOR|(?<![A-Z])NTC(?![A-Z])|HEISSLEITER|热敏电阻"),
    ("varistor", r"VARISTOR|(?<![A-Z])MOV(?![A-Z])|压敏电阻"),
    (
        "inductor",
        (
            r"INDUCTOR|(?<![A-Z])(?:IND|CHOKE|COIL)(?![A-Z])|(?<![A-Z])(?:SPEICHER)?DROSSEL(?![A-Z])|"
            r"(?:贴片|功率)电感"
        ),
    ),
    (
        "capacitor",
        (
            r"CAPACITOR|(?<![A-Z])(?:CAP|MLCC|"
            r"KERKO|CONDENSATEUR|CONDENSADOR|CONDENSATORE|(?:KERAMIK)?KONDENSATOR)(?![A-Z])|(?:贴片|陶瓷)电容"
        ),
    ),
    ("resistor", r"RESISTOR|(?<![A-Z])(?:RES|SHUNT|(?:CHIP|SCHICHT)?WIDERSTAND)(?![A-Z])|贴片电阻"),
    ("diode", r"DIODE|(?<![A-Z])(?:TVS|ZENER|SCHOTTKY)(?![A-Z])"),
)
_ANY_WORD: Final = pattern("|".join(f"(?P<k{n}>{pattern})" for n, (_, pattern) in enumerate(_WORDS)))
_KINDS: Final = tuple(kind for kind, _ in _WORDS)
_ANY_SHAPE: Final = pattern("|".join(words.replace("[248]", "0").replace("]8P", "]0P") for _, words in _WORDS))
"""The same words in a text whose digits are all noughts."""

KIND_BY_PREFIX: Final = {letters: known.chip for letters, known in reference_letters().items() if known.chip}
NO_CHIP: Final = frozenset(letters for letters, known in reference_letters().items() if known.no_chip)
"""Reference prefixes of parts that have no chip size code: connectors, switches, relays, batteries, test points."""


@lru_cache(maxsize=4096)
def kind_in_words(text: str) -> str | None:
    """Return the kind of part that *text* (upper case) names in words, or None."""
    if not _may_name_kind(shape(text)):
        return None
    best: int | None = None
    for match in _ANY_WORD.finditer(text):
        found = int((match.lastgroup or "k0")[1:])
        if best is None or found < best:
            best = found
    return None if best is None else _KINDS[best]


@lru_cache(maxsize=4096)
def _may_name_kind(shaped: str) -> bool:
    return _ANY_SHAPE.search(shaped) is not None


def kind_of(texts: tuple[str, ...], ref_prefix: str) -> str | None:
    """Return the kind of part that the texts name, or else the one its reference prefix stands for, or None."""
    for text in texts:
        if text:
            kind = kind_in_words(text.upper())
            if kind is not None:
                return kind
    return KIND_BY_PREFIX.get(ref_prefix.upper())


_FORMS: Final = frozenset(("array", "crystal", "melf", "tantalum"))
"""Kinds that are a form of body at once: what a footprint says of them counts before what the part is."""
_CIRCUITS: Final = frozenset(("U", "IC"))
_UNITS: Final = pattern(
    r"(?<![A-Z\d])\d[\d.,]{0,12}+\s?(?:(?P<capacitor>[PNUµΜM]F)|(?P<inductor>[NUµΜM]H)|(?P<resistor>[KMR]?(?:OHMS?|Ω)))(?![A-Z])"
)
"""A value with a unit of one kind of part alone: 0.1uF, 4.7 µH, 0Ohm."""
_NO_OHMS: Final = pattern(r"(?<![A-Z\d.,])0R0{0,2}(?![A-Z\d])")
"""The value of a link, 0R: with other digits R may count rows, or be the end of a number."""
_IMPEDANCE: Final = frozenset(("inductor", "ferrite bead"))
"""Kinds whose ohms are an impedance."""


@lru_cache(maxsize=4096)
def stated_kind(description: str, value: str, ref_prefix: str) -> str | None:
    """Return the kind of part that the BOM's words or the unit of its value state; None where they state none.

    It counts before the letters of a reference and of a footprint, which name the land that was at hand. The words
    about a circuit tell what it drives: "LED driver" is no lamp.
    """
    prefix = ref_prefix.upper()
    if prefix in _CIRCUITS:
        return None
    by_words = next(filter(None, (kind_in_words(text.upper()) for text in (description, value) if text)), None)
    if by_words is not None:
        return by_words
    for text in (value, description):
        kind = _kind_of_unit(shape(text.upper())) if text else None
        if kind is None and "0R" in text.upper() and _NO_OHMS.search(text.upper()):
            kind = "resistor"
        if kind is not None:
            return None if kind == "resistor" and KIND_BY_PREFIX.get(prefix) in _IMPEDANCE else kind
    return None


_PINS_OF_ARRAY: Final = pattern(r"0000[-_]0P")


def may_say_by_digits(shaped: str) -> bool:
    """Whether digits decide which kind of part capitals of this shape state."""
    if "P0R" in shaped or ("0P" in shaped and _PINS_OF_ARRAY.search(shaped)):
        return True
    return "0R" in shaped and _NO_OHMS.search(shaped) is not None


@lru_cache(maxsize=4096)
def _kind_of_unit(shaped: str) -> str | None:
    """Return the kind of part whose value has the first such unit in capitals of this shape."""
    unit = _UNITS.search(shaped)
    return unit.lastgroup if unit is not None else None


def kind_among(stated: str | None, texts: tuple[str, ...], ref_prefix: str) -> str | None:
    """Return the kind of part by what is *stated* of it, else by the words of its texts, else by its reference.

    A form of body that the texts name, such as an array, counts before the kind that is stated.
    """
    named = kind_of(texts, ref_prefix)
    if named not in _FORMS and ref_prefix.upper() in _CIRCUITS:
        return None
    return named if named in _FORMS or stated is None else stated


_ALONE: Final = {"tantalum": Family.TANTALUM, "crystal": Family.CRYSTAL, "melf": Family.MELF}


def chip_family(kind: str | None) -> Family:
    """Return the family of a part of this kind that a size code names."""
    if kind is None:
        return Family.CHIP
    return _ALONE.get(kind) or Family(f"chip {kind}")
