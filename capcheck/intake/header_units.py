"""Units of length in a title that capcheck does not read, told from remarks such as ``[centre]``."""

from __future__ import annotations

from functools import lru_cache
from typing import Final

from capcheck.intake.header_words import read_title
from capcheck.patterns import pattern

_BRACKETED: Final = pattern(r"[(\[{<（［]\s*([^\W\d_]{1,20})\.?\s*[)\]}>）］]")
_FACTOR: Final = pattern(r"[(\[{<（［]\s*(\d+(?:\s*/\s*\d+|[.,]\d+)?)\s*[*x×]?\s*([^\W\d_]{1,6})\s*[)\]}>）］]")
"""A number before the unit: ``[1/10 mm]`` counts in tenths, and must not be read as mm."""


@lru_cache(maxsize=256)
def unknown_length_unit(title: str) -> str | None:
    """Return the unit of length that stands in brackets in *title* and is none of capcheck's, or None.

    pint's own list of units, and nothing of its arithmetic, says what a unit of length is.
    """
    factor = _FACTOR.search(title)
    if factor is not None and factor[1] != "1" and read_title(title).claims and _is_length(factor[2]):
        return f"{factor[1]} {factor[2]}"
    read = read_title(title)
    if read.unit or not read.claims:
        return None
    for word in _BRACKETED.findall(title):
        if word.casefold() != "pin" and _is_length(word):
            return str(word)
    return None


def _is_length(word: str) -> bool:
    import pint  # costs 0.2 s, and few titles hold a word in brackets that is no unit

    units: pint.UnitRegistry[float] = pint.UnitRegistry(cache_folder=None)
    spellings = {word, word.lower()} if len(word) > 1 else {word}
    return any(units.parse_unit_name(s) and units.get_dimensionality(s) == {"[length]": 1} for s in spellings)
