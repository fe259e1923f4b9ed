"""A height written out in a text of any language: ``height 12 mm``, ``max. 12 mm hoch``, ``高さ12mm``."""

from __future__ import annotations

from functools import lru_cache
from typing import Final

from msgspec import Struct

from capcheck.lexicon.sorts import Concept, vocabulary
from capcheck.lexicon.unit_table import mm_per, unit_named
from capcheck.lexicon.words import fold
from capcheck.values import pattern

_NUMBER: Final = r"(?P<{0}>[0-9]{{1,3}}(?:[.,][0-9]{{1,3}})?)"
_UNIT: Final = r"(?P<{0}>mm|cm|mils?|inch|in|\")"
_MOST: Final = r"(?:max(?:imum|imal)?|bis|up to|<|<=|≤)"


def _words() -> str:
    return f"(?:{vocabulary().titles[Concept.HEIGHT]}|{vocabulary().lines.tall}|(?<![a-z0-9])h(?![a-z]))"


_BEFORE: Final = pattern(
    lambda: (
        rf"{_words()}[\s:=().-]{{0,4}}(?:(?:is|ist|est|es|of|von|de|di)\s{{1,3}})?(?:ca\.?|approx\.?|~)?\s?"
        rf"(?P<most>{_MOST}\.?)?[\s:=]{{0,3}}{_NUMBER.format('a')}\s?{_UNIT.format('u')}(?![a-z0-9])"
        rf"(?P<too>\s?\(?{_MOST})?"
    )
)
_BEHIND: Final = pattern(
    lambda: (
        rf"(?:(?P<most>{_MOST})\.?\s?)?(?<![0-9.,x×*-]){_NUMBER.format('a')}\s?{_UNIT.format('u')}"
        rf"[\s(]{{0,3}}(?P<too>{_MOST})?[.\s(]{{0,3}}(?:in\s|de\s|total\s|overall\s|seated\s)?{_words()}"
    )
)


class WrittenHeight(Struct, frozen=True):
    """A height in mm, with the words that state it; *at_most* says that it is a bound."""

    mm: float
    at_most: bool
    text: str


@lru_cache(maxsize=8192)
def height_in_words(text: str) -> WrittenHeight | None:
    """Return the height that *text* states with a unit, or None."""
    if not any(map(str.isdigit, text)):
        return None
    folded = fold(text[:_LONGEST])
    match = _BEFORE.search(folded) or _BEHIND.search(folded)
    if match is None:
        return None
    value = float(match["a"].replace(",", ".")) * mm_per()[unit_named(match["u"]) or "mm"]
    return WrittenHeight(float(f"{value:.9g}"), bool(match["most"] or match["too"]), match[0].strip())


_LONGEST: Final = 2000
