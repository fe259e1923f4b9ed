"""The words of land-pattern names, from the tables of families: which family each names, and in which layout."""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING

from capcheck.packages.tables import families

if TYPE_CHECKING:
    from capcheck.packages.tables import LandPattern, Layout


@cache
def _by_word() -> dict[str, LandPattern]:
    return {pattern.word: pattern for table in families() for pattern in table.land_patterns}


def land_pattern(word: str) -> LandPattern:
    """Return what a word such as SOIC or CAPC says."""
    return _by_word()[word]


def words_in(layout: Layout) -> str:
    """Return the words of one layout as alternatives of a pattern, the longest first."""
    words = (pattern.word for pattern in _by_word().values() if pattern.layout is layout)
    return "|".join(sorted(words, key=lambda word: (-len(word), word)))
