"""Whether a cell names something: a dash, question marks and words for what is not given name nothing."""

from __future__ import annotations

from typing import Final

from capcheck.lexicon.sorts import vocabulary
from capcheck.lexicon.words import fold
from capcheck.values import pattern

_NOTHING: Final = pattern(
    lambda: rf"\s*+(?:|-+|\?+|~|x+|\*|{vocabulary().answers.unstated}|{vocabulary().answers.any_part})\s*"
)


def is_named(text: str) -> bool:
    """Whether a cell names something: neither blank nor a sign or word for what is not given, in any language."""
    return not _NOTHING.fullmatch(fold(text))
