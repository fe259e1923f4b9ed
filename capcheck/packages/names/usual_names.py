"""The names by which packages are known once they are understood, and which of them a text means that is none.

A name has the pins and sizes of its part behind it (``TQFP-100``, ``QFN-42 3.5x9``), so that not all can be listed; and
a library gives names of its own.
"""

from __future__ import annotations

from functools import cache
from typing import Final

from capcheck.model import Family
from capcheck.packages.names.named_bodies import meanings_of
from capcheck.packages.names.outlines import words
from capcheck.packages.names.part_numbers import names_given
from capcheck.packages.tables import families, size_table
from capcheck.values import pattern

_WORD_AND_REST: Final = pattern(r"([A-Za-z]++)(.*+)")
_PINS_AND_SIDES: Final = pattern(r"[-_ ]?\d{1,4}( [\d.]+(x[\d.]+)?( mm)?)?|")
_FEW_PINS: Final = pattern(r"-?\d")
_LAND_PATTERN: Final = pattern(r"([A-Za-z]+)\d{3}")
_ALIKE: Final = 0.66
"""One letter of three that differs, or a letter more: common practice, no source."""
_OF_DEVICES: Final = ("bare land", "dual in-line package", "fiducial", "inductor", "LED", "through-hole part")
_LAND_PATTERNS: Final = ("CAPAE", "CAPMELF", "DIOMELF", "RESMELF")
_BEFORE_A_SIZE: Final = ("aluminium electrolytic can", "capacitor", "case", "link", "molded case", "resistor array")


@cache
def family_names() -> tuple[str, ...]:
    """Return the names that tables give, in order: package words and outlines, kinds of parts, and what schemes say.

    An outline that a package word names with its pins (``SOIC-8``) is left to the word.
    """
    outlines = {outline.name for table in families() for outline in table.outlines}
    names = {name for name in outlines if _word_of(name) not in words()}
    names |= {name for size in size_table().named for name in size.names}
    names |= {*map(str, Family), *words(), *names_given(), *_OF_DEVICES, *_BEFORE_A_SIZE}
    once = {name.casefold(): name for name in sorted(names, reverse=True)}  # BGA is a word, and bga its family
    return tuple(sorted(once.values(), key=str.casefold))


def name_meant(text: str) -> str | None:
    """Return the name that *text* may be meant for, ``TQFP-100`` for ``TQPF-100``; None where it is one itself.

    A text that comes near to none gives a blank. A size code alone (``0603``) means the name of its body.
    """
    if _is_name(text):
        return None
    if " or " in text:  # SOD-523 or SC-80 (SODFL1608): the land pattern stands behind
        meant = [name_meant(piece) for piece in text.partition(" (")[0].split(" or ")]
        return next((name for name in meant if name is not None), None)
    read = [str(candidate.family) for candidate in meanings_of(text) if candidate.family]
    if any(_bare(name).startswith(_bare(text)) for name in read) and not _bare(text).isdigit():
        return None
    return read[0] if read else _alike(text)


def _alike(text: str) -> str:
    import difflib  # only a name that is not known needs it

    known = {_bare(name): name for name in family_names()}
    match = _WORD_AND_REST.fullmatch(text.strip())
    if match is not None and _PINS_AND_SIDES.fullmatch(match[2]):
        close = difflib.get_close_matches(match[1].upper(), sorted(words()), n=1, cutoff=_ALIKE)
        if close:
            return f"{close[0]}{match[2]}"
    close = difflib.get_close_matches(_bare(text), sorted(known), n=1, cutoff=_ALIKE)
    return known[close[0]] if close else ""


def _is_name(text: str) -> bool:
    """Whether tables give *text* as a name; a blank asks whether any is given."""
    known = not text or _is_word_with_pins(text) or _is_land_pattern(text) or _has_size_behind(text)
    return known or _bare(text) in _bare_names()


def _is_word_with_pins(text: str) -> bool:
    match = _WORD_AND_REST.fullmatch(text.strip())
    if match is None:
        return False
    if match[1].upper() in words():
        return _PINS_AND_SIDES.fullmatch(match[2]) is not None
    return match[1].casefold() in set(Family) and _FEW_PINS.fullmatch(match[2]) is not None


def _is_land_pattern(text: str) -> bool:
    """Whether a word of land-pattern names stands before its digits, as in ``SOP65P640X120``."""
    match = _LAND_PATTERN.match(text)
    return match is not None and match[1].upper() in _land_pattern_words()


@cache
def _land_pattern_words() -> frozenset[str]:
    return frozenset((*_LAND_PATTERNS, *(row.word for table in families() for row in table.land_patterns)))


def _has_size_behind(text: str) -> bool:
    """Whether a name of a kind stands before a size, as in ``chip 2520M``."""
    first = next((at for at, sign in enumerate(text) if sign.isdigit()), 0)
    return " " in text[:first] and _bare(text[:first]) in map(_bare, (*Family, *_BEFORE_A_SIZE))


def _word_of(name: str) -> str:
    match = _WORD_AND_REST.fullmatch(name)
    return match[1].upper() if match else ""


@cache
def _bare_names() -> frozenset[str]:
    return frozenset(map(_bare, family_names()))


def _bare(text: str) -> str:
    """Return *text* as names are compared: without capitals, spaces and hyphens."""
    return "".join(text.casefold().split()).replace("-", "")
