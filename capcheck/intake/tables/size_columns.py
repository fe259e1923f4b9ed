"""Columns of sizes: told from masses and packages of the same title, and found where no title speaks of them."""

from __future__ import annotations

from collections.abc import Container, Sequence
from typing import Final

from capcheck.intake.tables.content import Content
from capcheck.intake.tables.header_words import Role, Title
from capcheck.lexicon import Concept

_LENGTHS: Final = frozenset({"mm", "cm", "um", "mil", "in"})
_MOSTLY: Final = 0.5
_LESS: Final = -0.6
"""What puts one of two meanings behind the other."""
_OTHER_LENGTHS: Final = frozenset(
    {
        Concept.OTHER,
        Concept.MONEY,
        Concept.ADDRESS,
        Concept.PAD,
        Concept.PIN,
        Concept.PITCH,
        Concept.ORIGIN,
        Concept.CENTRE,
        Concept.POSITION,
        Concept.X,
        Concept.Y,
        Concept.ROTATION,
        Concept.QUANTITY,
    }
)
"""Titles with one of these speak of something else than a body."""


def size_or_not(role: Role, title: Title, content: Content) -> float:
    """Return what the cells add where a title may speak of sizes or of a mass, or of sizes or of a package."""
    if len(title.claims) == 1 or Role.SIZE not in title.claims:
        return 0.0
    if role is Role.SIZE:
        if content.product or title.axes or title.unit in _LENGTHS:
            return 0.0
        return _LESS - (Role.MASS in title.claims)
    return _LESS if role is Role.MASS and (content.product >= _MOSTLY or title.unit in _LENGTHS) else 0.0


def bare_figures(titles: Sequence[Title], contents: Sequence[Content], used: Container[int]) -> tuple[int, ...]:
    """Return the columns besides those *used* that hold numbers alone, under titles that may speak of a body."""
    return tuple(
        i
        for i, (title, content) in enumerate(zip(titles, contents, strict=True))
        if i not in used and content.number >= _MOSTLY and not title.concepts & _OTHER_LENGTHS - {Concept.OTHER}
    )


def untitled_lengths(
    titles: Sequence[Title], contents: Sequence[Content], used: Container[int]
) -> tuple[list[int], tuple[int, ...]]:
    """Return the columns besides those *used* that hold sizes, and those of lengths of which nobody says what they are.

    A column whose title speaks of something else, such as pads or prices, is neither.
    """
    sizes: list[int] = []
    unclear: list[int] = []
    for i, (title, content) in enumerate(zip(titles, contents, strict=True)):
        if i in used or not content.texts or title.concepts & _OTHER_LENGTHS:
            continue
        if content.product >= _MOSTLY:
            sizes.append(i)
        elif title.claims:
            continue
        elif content.with_length >= _MOSTLY or (title.unit in _LENGTHS and content.number >= _MOSTLY):
            unclear.append(i)
    return sizes, tuple(unclear)
