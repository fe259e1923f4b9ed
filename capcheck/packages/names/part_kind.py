"""What kind of part a name speaks of: resistor, capacitor, LED, crystal … from its words and its reference prefix.

The kind decides which size tables apply and which bounds hold. It is no evidence for inch or metric.
"""

from __future__ import annotations

from functools import lru_cache
from typing import Final

from capcheck.lexicon import reference_letters
from capcheck.packages.tables import Family
from capcheck.values import pattern

_WORDS: Final = (
    ("array", r"ARRAY|NETWORK|RESPACK|\b(?:RN|RA|RP|CN)_?\d{4}|(?<!\d)\dX\d{4}|\b\d{4}X[248]\b|\d{4}[-_]8P"),
    ("crystal", r"CRYSTAL|XTAL|OSCILLATOR|RESONATOR|TCXO|VCXO|\bOSC|(?<![A-Z])XO(?![A-Z])|QUARTZ"),
    ("melf", r"MELF|(?<![A-Z])MM[ABU](?![A-Z])"),
    ("led", r"(?<![A-Z])LED(?![A-Z])|(?<![A-Z])LEDS?[-_ ]?SMD"),
    ("tantalum", r"(?<![A-Z])(?:TANT|POL(?![A-Z]))|(?<![A-Z])CP_|(?<![A-Z])CPOL|(?<![A-Z])EIA[-_]?\d{4}[-_]\d{2}"),
    ("fuse", r"FUSE|(?<![A-Z])PTC(?![A-Z])|POLYSWITCH|(?<![A-Z])PPTC"),
    ("ferrite bead", r"FERRITE|BEAD"),
    ("thermistor", r"THERMISTOR|(?<![A-Z])NTC(?![A-Z])"),
    ("varistor", r"VARISTOR|(?<![A-Z])MOV(?![A-Z])"),
    ("inductor", r"INDUCTOR|(?<![A-Z])(?:IND|CHOKE|COIL)(?![A-Z])"),
    ("capacitor", r"CAPACITOR|(?<![A-Z])(?:CAP|MLCC)(?![A-Z])"),
    ("resistor", r"RESISTOR|(?<![A-Z])(?:RES|SHUNT)(?![A-Z])"),
    ("diode", r"DIODE|(?<![A-Z])(?:TVS|ZENER|SCHOTTKY)(?![A-Z])"),
)
_ANY_WORD: Final = pattern("|".join(f"(?P<k{n}>{pattern})" for n, (_, pattern) in enumerate(_WORDS)))
_KINDS: Final = tuple(kind for kind, _ in _WORDS)

KIND_BY_PREFIX: Final = {letters: known.chip for letters, known in reference_letters().items() if known.chip}
NO_CHIP: Final = frozenset(letters for letters, known in reference_letters().items() if known.no_chip)
"""Reference prefixes of parts that have no chip size code: connectors, switches, relays, batteries, test points."""


@lru_cache(maxsize=4096)
def kind_in_words(text: str) -> str | None:
    """Return the kind of part that *text* (upper case) names in words, or None."""
    best: int | None = None
    for match in _ANY_WORD.finditer(text):
        found = int((match.lastgroup or "k0")[1:])
        if best is None or found < best:
            best = found
    return None if best is None else _KINDS[best]


def kind_of(texts: tuple[str, ...], ref_prefix: str) -> str | None:
    """Return the kind of part that the texts name, or else the one its reference prefix stands for, or None."""
    for text in texts:
        if text:
            kind = kind_in_words(text.upper())
            if kind is not None:
                return kind
    return KIND_BY_PREFIX.get(ref_prefix.upper())


_ALONE: Final = {"tantalum": Family.TANTALUM, "crystal": Family.CRYSTAL, "melf": Family.MELF}


def chip_family(kind: str | None) -> Family:
    """Return the family of a part of this kind that a size code names."""
    if kind is None:
        return Family.CHIP
    return _ALONE.get(kind) or Family(f"chip {kind}")
