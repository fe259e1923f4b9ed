"""Which side of the board a word names, in every language of the lexicon."""

from __future__ import annotations

from functools import cache
from typing import Final

from capcheck.intake.tables.header_words import CAMEL
from capcheck.lexicon import Concept, fold, vocabulary
from capcheck.model import Side
from capcheck.values import pattern

_WORD: Final = pattern(r"[^\W\d_]+")
_WRITTEN_OUT: Final = pattern(
    lambda: f"{vocabulary().titles[Concept.MOUNTING]}|({vocabulary().sides.top})|({vocabulary().sides.bottom})"
)
"""Words for surface mounting come first: in Japanese they hold the word for the top surface."""


def side_of_word(text: str) -> Side | None:
    """Return the side that a label names by a word, or None: ``T``, ``B.Cu``, ``L8-BOTTOM``, ``Oben``, ``部品面``."""
    words = {fold(word) for word in _WORD.findall(CAMEL.sub(" ", text))}
    whole = fold("".join(_WORD.findall(text)))
    # "Bottom T" or "B (top view)": only a word written out decides.
    for found in ({whole}, words, {word for word in words if len(word) > 2}):
        top, bottom = (not found.isdisjoint(labels) for labels in _labels())
        if top != bottom:
            return Side.TOP if top else Side.BOTTOM
    return None


def is_side_label(cell: str) -> bool:
    """Whether a cell is a label of a side and nothing else, as in a column of sides that has no title."""
    bare = "" if any(map(str.isdigit, cell)) else fold("".join(_WORD.findall(cell)))
    return any(bare in labels for labels in (*_labels(), *label_pairs()))


@cache
def _labels() -> tuple[frozenset[str], frozenset[str]]:
    sides = vocabulary().sides
    return sides.top.spelt | sides.top_labels.spelt, sides.bottom.spelt | sides.bottom_labels.spelt


@cache
def label_pairs() -> tuple[tuple[str, ...], ...]:
    """Return the labels, folded, that mean top and bottom only beside each other."""
    return tuple(tuple(pair.split()) for pair in vocabulary().sides.pairs.listed)


def named_sides(folded: str) -> set[Side]:
    """Return the sides that a folded text names in words that mean nothing else."""
    sides = vocabulary().sides
    if not (sides.top.may_stand_in(folded) or sides.bottom.may_stand_in(folded)):
        return set()
    return {Side.TOP if match[1] else Side.BOTTOM for match in _WRITTEN_OUT.finditer(folded) if match.lastindex}
