"""A height written out in a text of any language: ``height 12 mm``, ``max. 12 mm hoch``, ``高さ12mm``."""

from __future__ import annotations

import re
from functools import cache, lru_cache
from typing import TYPE_CHECKING, Final

from msgspec import Struct

from capcheck.lexicon.axes import TIMES
from capcheck.lexicon.sorts import Concept, vocabulary
from capcheck.lexicon.tolerances import above_by
from capcheck.lexicon.unit_table import mm_per, unit_named
from capcheck.lexicon.words import Words, fold, shape
from capcheck.values import pattern

if TYPE_CHECKING:
    from collections.abc import Iterator

_NUMBER: Final = r"(?P<a>[0-9]{1,3}(?:[.,][0-9]{1,3})?)"
_UNIT: Final = r"(?P<u>mm|cm|mils?|inch|in|\")"
_MOST: Final = r"(?:max(?:imum|imal)?|bis|up to|<|<=|≤)"
_LETTER: Final = rf"h(?![a-z]|\s?(?:{TIMES}|/)\s?[a-z])"
"""The letter for a height, where it does not begin an order of sides: h x w x d."""
_NO_MORE: Final = r"(?![0-9.,]*[0-9]|\s?(?:[a-z%°µω×*/\u3040-\u30ff\u4e00-\u9fff]|[0-9]))"
"""Behind a number without a unit: neither more of it nor what makes it another sort of number."""


def _least() -> str:
    return rf"(?:{vocabulary().lines.least}|>=?|≥)"


def _words() -> str:
    return rf"(?:{vocabulary().titles[Concept.HEIGHT]}|(?<![a-z0-9]){_LETTER})"


def _bound(name: str) -> str:
    """Return what says that the number beside it is a bound, as the group *name* or *name*_least."""
    return rf"(?:(?P<{name}>{_MOST})|(?P<{name}_least>{_least()}))\.?"


def _before(words: str, unit: str) -> str:
    return (
        rf"(?:{_bound('ahead')}\s?)?{words}"
        rf"(?:[\s(]{{0,3}}(?:{vocabulary().lines.reckoned}|{vocabulary().lines.overall})[^0-9,;]{{0,30}})?"
        r"[\s:=()._-]{0,4}(?:(?:is|ist|est|es|of|von|de|di)\s{1,3})?(?:ca\.?|approx\.?|~)?\s?"
        rf"(?:{_bound('between')})?[\s:=]{{0,3}}{_NUMBER}{unit}(?:\s?\(?{_bound('too')})?"
    )


_BEFORE: Final = pattern(lambda: _before(_words(), rf"\s?{_UNIT}(?![a-z0-9])"))
_WITHOUT_UNIT: Final = pattern(lambda: _before(str(vocabulary().titles[Concept.HEIGHT]), _NO_MORE))
_TALL_BEFORE: Final = pattern(lambda: _before(str(vocabulary().lines.tall), rf"\s?{_UNIT}(?![a-z0-9])"))
_STATURE_BEFORE: Final = pattern(lambda: _before(str(vocabulary().lines.stature), rf"\s?{_UNIT}(?![a-z0-9])"))
_STATURE_BEHIND: Final = pattern(
    lambda: (
        rf"(?:{_bound('ahead')}\s?)?(?<![0-9.,x×*-]){_NUMBER}\s?{_UNIT}"
        rf"[\s(]{{0,3}}(?:{_bound('too')})?[.\s(]{{0,3}}(?:in\s|de\s)?{vocabulary().lines.stature}"
    )
)
_SIDES: Final = pattern(lambda: rf"[0-9]\s?(?:mm\s?|\"\s?|in\s?)?{TIMES}\s?[0-9]")
_BEHIND: Final = pattern(
    lambda: (
        rf"(?:{_bound('ahead')}\s?)?(?<![0-9.,x×*-]){_NUMBER}\s?{_UNIT}"
        rf"[\s(_-]{{0,3}}(?:{_bound('too')})?[.\s(_]{{0,3}}(?:in\s|de\s|total\s|overall\s|seated\s)?"
        rf"(?:(?P<tall>{vocabulary().lines.tall})|{_words()}|(?<=mm){_LETTER})"
    )
)
_OVERALL: Final = pattern(lambda: _before(str(vocabulary().lines.overall), rf"\s?{_UNIT}(?![a-z0-9])"))


_ALONE: Final = pattern(r"(?<![a-z])h(?![a-z])|mmh(?![a-z])")


@cache
def _height_words() -> Words:
    lines = vocabulary().lines
    return vocabulary().titles[Concept.HEIGHT] + lines.tall + lines.stature + lines.overall


class WrittenHeight(Struct, frozen=True):
    """A height in mm, with the words that state it; *at_most* and *at_least* say that it is a bound."""

    mm: float
    at_most: bool
    text: str
    at_least: bool = False


@lru_cache(maxsize=8192)
def heights_in_words(text: str) -> tuple[WrittenHeight, ...]:
    """Return every height that *text* states in words, in the order of the text.

    ``high`` and its like belong to the number before them, the other words to the one behind them, if there is one.
    """
    if not any(map(str.isdigit, text)):
        return ()
    folded = fold(text[:_LONGEST])
    # The patterns hold words of all languages, and are built only for texts that may state a height.
    if not may_state_height(shape(folded)):
        return ()
    lines, titled = vocabulary().lines, vocabulary().titles[Concept.HEIGHT].may_stand_in(folded)
    tall, stands = lines.tall.may_stand_in(folded), lines.stature.may_stand_in(folded)
    named = titled or _ALONE.search(folded) is not None
    behind = list(_BEHIND.finditer(folded)) if named or tall else []
    found = [match for match in behind if match["tall"]]
    asked = ((_BEFORE, named), (_WITHOUT_UNIT, titled), (_TALL_BEFORE, tall))
    before = (way.finditer(folded) for way, may_be in asked if may_be)
    stature = (way.finditer(folded) for way in (_STATURE_BEFORE, _STATURE_BEHIND) if stands)
    # A measure of the whole part beside its sides is one more of them, which whoever reads the sides looks for.
    whole = lines.overall.may_stand_in(folded) and not _SIDES.search(folded)
    overall = _OVERALL.finditer(folded) if whole else iter(())
    for matches in (*before, behind, *stature, overall):
        found += [match for match in matches if not any(_share(match, other) for other in found)]
    return tuple(map(_height, sorted(found, key=re.Match.start)))


@lru_cache(maxsize=4096)
def may_state_height(shaped: str) -> bool:
    """Whether a folded text of this shape may state a height in words."""
    return _ALONE.search(shaped) is not None or _height_words().may_stand_in(shaped)


def height_in_words(text: str) -> WrittenHeight | None:
    """Return the first height that *text* states in words, or None."""
    return next(iter(heights_in_words(text)), None)


def heights_overall(text: str) -> Iterator[WrittenHeight]:
    """Yield the measures of the whole part, with a unit, that *text* states of no side: ``overall 32.5 mm``."""
    folded = fold(text[:_LONGEST])
    may_state = vocabulary().lines.overall.may_stand_in(folded)
    return map(_height, _OVERALL.finditer(folded)) if may_state else iter(())


def _share(one: re.Match[str], other: re.Match[str]) -> bool:
    return one.start() < other.end() and other.start() < one.end()


def _height(match: re.Match[str]) -> WrittenHeight:
    value = float(match["a"].replace(",", ".")) * mm_per()[unit_named(match.groupdict().get("u") or "mm") or "mm"]
    said = {group for group, found in match.groupdict().items() if found and group in _BOUNDS}
    at_least = any(group.endswith("_least") for group in said)
    text = match[0].strip()
    if not at_least and (above := above_by(match.string, match.end(), float(match["a"].replace(",", ".")))):
        value += above[0] * mm_per()[unit_named(match.groupdict().get("u") or "mm") or "mm"]
        said, text = {"too"}, f"{text}{match.string[match.end() : above[1]].rstrip()}"
    return WrittenHeight(float(f"{value:.9g}"), bool(said) and not at_least, text, at_least)


_BOUNDS: Final = frozenset(f"{place}{bound}" for place in ("ahead", "between", "too") for bound in ("", "_least"))
_LONGEST: Final = 2000
