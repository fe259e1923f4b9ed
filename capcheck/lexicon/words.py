"""Lists of words as customers' files spell them: which spellings count as one word, and how to look for them in a text.

A list is one line of TOML with commas between the words. In it

================  ==================================================================================
``dessus``        stands alone, with no letter before or behind it
``gesamt*``       more letters may follow; ``*rand`` may have some before it
``not fitted``    words of a phrase may be run together or parted by a blank, a hyphen or an underscore
``no fit|load``   says ``no fit`` and ``no load``
================  ==================================================================================

Case and accents never count; ``ü`` may be written ``u`` or ``ue``.
"""

from __future__ import annotations

import re
import unicodedata
from collections import defaultdict
from collections.abc import Iterable, Sequence
from functools import cached_property, lru_cache
from itertools import product
from typing import Final, TypeAlias

from capcheck.values import pattern

_CJK: Final = "\u3040-\u30ff\u4e00-\u9fff"
"""Kana and the ideographs in use."""
_GAP: Final = pattern(r"[\s_-]+")
_UMLAUTS: Final = str.maketrans({"ä": "ae", "ö": "oe", "ü": "ue"})
DIGITS_ALIKE: Final = str.maketrans("123456789", "0" * 9)
"""The table by which :func:`shape` is made."""
_BEGINNING: Final = 3
"""Letters of a word by which those are found that might stand in a text."""
_FEW: Final = 16
"""Words of a list that are asked for one by one."""
_SHORT: Final = 200
"""Letters of a text of which that is worth it, and kept."""
_ACCENTS: Final = range(0x300, 0x370)
"""Combining marks of Latin letters; the voicing marks of kana make other letters."""

_Mark: TypeAlias = tuple[str, tuple[str, ...]]
"""The longest part of a word, and its further ones."""


def fold(text: str) -> str:
    """Return *text* as words are compared: small letters, no accents, one form for full and half width."""
    return text.lower() if text.isascii() else unaccented(text.casefold()).casefold()


def unaccented(text: str) -> str:
    """Return *text* without accents, in one form for full and half width."""
    marked = unicodedata.normalize("NFKD", text).replace("ı", "i")  # the same letter as its capital, but in Turkish
    return unicodedata.normalize("NFC", "".join(c for c in marked if ord(c) not in _ACCENTS))


@lru_cache(maxsize=8192)
def shape(text: str) -> str:
    """Return *text* with a nought for each digit: what asks for letters alone is asked once for all numbers."""
    return text.translate(DIGITS_ALIKE)


def is_ideographic(text: str) -> bool:
    """Whether *text* has characters of Chinese or Japanese, which write no blanks between words."""
    return not text.isascii() and any("\u3040" <= c <= "\u30ff" or "\u4e00" <= c <= "\u9fff" for c in text)


def _any_stands_in(marks: Sequence[_Mark], text: str) -> bool:
    for mark, further in marks:  # noqa: SIM110 - any() would make a generator for each text and list
        if mark in text and all(map(text.__contains__, further)):
            return True
    return False


class Words:
    """The words of one sort; ``f"{words}"`` is the source of a regular expression for folded text, without groups."""

    def __init__(self, listed: str = "") -> None:
        self._listed = listed

    def __add__(self, other: Words) -> Words:
        return Words(
            f"{self._listed}, {other._listed}" if self._listed and other._listed else self._listed + other._listed
        )

    @cached_property
    def listed(self) -> tuple[str, ...]:
        """Each word and phrase as the file has it, with its stars, alternatives written out."""
        found: list[str] = []
        for entry in filter(None, map(str.strip, self._listed.split(","))):
            alternatives = product(*(part.split("|") for part in entry.split())) if "|" in entry else (entry.split(),)
            found += map(" ".join, alternatives)
        return tuple(dict.fromkeys(found))

    @cached_property
    def spelt(self) -> frozenset[str]:
        """Every spelling, folded, blanks and hyphens taken out."""
        return frozenset(_together(spelling.strip("*")) for spelling in self._spellings)

    @cached_property
    def _spellings(self) -> frozenset[str]:
        found = set(map(fold, self.listed))
        if not self._listed.isascii():
            found |= {fold(word.lower().translate(_UMLAUTS)) for word in self.listed if not word.isascii()}
        return frozenset(found)

    def __contains__(self, text: str) -> bool:
        """Whether *text* as a whole is one of the words."""
        return _together(fold(text).strip()) in self.spelt

    def may_stand_in(self, folded: str) -> bool:
        """Whether one of the words could stand in *folded* text: a look that costs less than the expression does.

        Each word is asked for by its parts, whatever stands around them; so only a yes needs the expression.
        """
        if len(folded) > _SHORT or len(self._marks) <= _FEW:
            return _any_stands_in(self._marks, folded)
        short, of = self._marks_by_beginning
        return _any_stands_in(short, folded) or any(
            _any_stands_in(of[beginning], folded) for beginning in of.keys() & _beginnings(folded)
        )

    def may_stand_in_shape(self, shaped: str) -> bool:
        """Whether one of the words could stand in a folded text of this :func:`shape`."""
        return _any_stands_in(self._shaped_marks, shaped)

    def search(self, folded: str) -> re.Match[str] | None:
        """Return the first of the words in *folded* text; the expression is made where one may stand there."""
        return self._expression.search(folded) if self.may_stand_in(folded) else None

    @cached_property
    def _expression(self) -> re.Pattern[str]:
        return re.compile(self._source)

    @cached_property
    def _shaped_marks(self) -> tuple[_Mark, ...]:
        """The parts of each word, of the shape in which a text of that shape has them."""
        return tuple(dict.fromkeys((shape(mark), tuple(map(shape, further))) for mark, further in self._marks))

    @cached_property
    def _marks(self) -> tuple[_Mark, ...]:
        """The parts of each word, the longest of them first."""
        parts = {tuple(sorted(spelling.strip("*").split(), key=len, reverse=True)) for spelling in self._spellings}
        return tuple((longest, tuple(further)) for longest, *further in parts)

    @cached_property
    def _marks_by_beginning(self) -> tuple[list[_Mark], dict[str, list[_Mark]]]:
        """The marks by their first letters, so that a text is asked for those alone that might begin in it.

        Those with fewer letters stand apart.
        """
        short: list[_Mark] = []
        found: dict[str, list[_Mark]] = defaultdict(list)
        for mark, further in self._marks:
            (found[mark[:_BEGINNING]] if len(mark) >= _BEGINNING else short).append((mark, further))
        return short, dict(found)

    @cached_property
    def _source(self) -> str:
        alike: dict[tuple[str, str], list[str]] = defaultdict(list)
        for spelling in sorted(self._spellings, key=lambda spelling: (-len(spelling), spelling)):
            alike[_edges(spelling)].append("[ _-]?".join(map(re.escape, spelling.strip("*").split())))
        parts = [f"{before}(?:{'|'.join(same)}){behind}" for (before, behind), same in alike.items()]
        return f"(?:{'|'.join(parts) or '(?!)'})"

    def __str__(self) -> str:
        return self._source


def numbered(lists: Iterable[Words]) -> Words:
    """Return the words of all *lists* that have a digit, which the shape of a text does not tell."""
    return Words(", ".join(word for words in lists for word in words.listed if any(map(str.isdigit, word))))


@lru_cache(maxsize=4096)  # many lists are asked of the same text
def _beginnings(folded: str) -> frozenset[str]:
    """Return all runs of as many letters as marks are sorted by."""
    return frozenset({folded[at : at + _BEGINNING] for at in range(len(folded))})


def _together(spelling: str) -> str:
    return spelling if spelling.isalnum() else _GAP.sub("", spelling) or spelling


def _edges(spelling: str) -> tuple[str, str]:
    """Return what a pattern demands before and behind a word."""
    bare = spelling.strip("*")
    if is_ideographic(bare):
        return (f"(?<![{_CJK}])", f"(?![{_CJK}])") if len(bare) == 1 else ("", "")
    before = "" if spelling.startswith("*") or not bare[0].isalpha() else "(?<![a-z])"
    behind = r"[^\W\d_]*" if spelling.endswith("*") else "(?![a-z])" if bare[-1].isalpha() else ""
    return before, behind
