"""Which layer of a board a file is, as its name tells: a table of ends of names, whole names and words."""

from __future__ import annotations

import re
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Final

import msgspec
from msgspec import Struct

from capcheck.lexicon.words import fold
from capcheck.values import own_table

_FILE: Final = Path(__file__).resolve().parent / "layer_names.toml"
_SPLIT: Final = "(?<=[a-z0-9])(?=[A-Z])|[^A-Za-z0-9]+"
_SHORT: Final = 3
"""A word of fewer letters counts only where it stands alone."""


class _Table(Struct, frozen=True, forbid_unknown_fields=True):
    ends: Mapping[str, str]
    whole: Mapping[str, str]
    words: Mapping[str, str]
    sides: Mapping[str, str]


@cache
def _table() -> _Table:
    return msgspec.convert(own_table(_FILE), _Table)


@cache
def _listed(text: str) -> tuple[str, ...]:
    return tuple(dict.fromkeys(word.strip() for word in text.split(",")))


def layer_by_name(name: str) -> tuple[str, str]:
    """Return what layer a file of this name is and its side: ``mask``, ``top``; blank where the name does not tell.

    What is no layer with lands is ``other``.
    """
    table = _table()
    stem, _, end = name.rpartition(".")
    for key, told in ((fold(end), table.ends), (fold(stem or name), table.whole)):
        if key in told:
            sort, _, side = told[key].partition(" ")
            return sort, side
    words = [fold(word) for word in re.split(_SPLIT, stem or name) if word]
    sort = _named(words, table.words)
    return (sort, _named(words, table.sides)) if sort else ("", "")


def _named(words: list[str], told: Mapping[str, str]) -> str:
    """Return the first sort with a word that stands alone in the name; else that begins or ends one of its words."""
    for is_told in (str.__eq__, _joined_to):
        for sort, listed in told.items():
            if any(is_told(word, known) for known in _listed(listed) for word in words):
                return sort
    return ""


def _joined_to(word: str, known: str) -> bool:
    return len(known) >= _SHORT and (word.startswith(known) or word.endswith(known))
