"""Units as customers write them: one table of signs and factors, and the words that each language has for them."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Literal

import msgspec
from msgspec import Struct

from capcheck.lexicon.sorts import vocabulary
from capcheck.lexicon.words import Words, fold
from capcheck.values import own_table

Measure = Literal["length", "angle", "mass", "force"]


class Unit(Struct, frozen=True, forbid_unknown_fields=True, rename="kebab"):
    """A unit that is read."""

    measures: Measure
    factor: float
    """To mm, degree, gram or newton."""
    signs: Words
    shown: str = ""
    """How reports and board.toml write it, where that is not its name."""
    in_titles: bool = True
    """Whether its signs are a unit in a column's title."""


class Units(Struct, frozen=True, forbid_unknown_fields=True, rename="kebab"):
    """The table of units."""

    unit: Mapping[str, Unit]
    not_read: Mapping[Measure, Words]
    also_words: Words

    def of(self, measure: Measure) -> dict[str, Unit]:
        """Return the units of one measure by name."""
        return {name: unit for name, unit in self.unit.items() if unit.measures == measure}


@cache
def units() -> Units:
    """Return the table of units."""
    data = own_table(Path(__file__).with_name("units.toml"))
    return msgspec.convert(data, Units, dec_hook=lambda kind, text: kind(text))


@cache
def mm_per() -> Mapping[str, float]:
    """Return the millimetres in each unit of length, by its name and as reports show it."""
    lengths = units().of("length").items()
    return {name: unit.factor for key, unit in lengths for name in (key, unit.shown) if name}


def unit_named(text: str) -> str | None:
    """Return the name of the unit that *text* is, by its sign as it stands or a word in any language; None if none."""
    return _signs().get(text) or _words().get(fold(text))


def unit_in_title(word: str) -> str | None:
    """Return the name of the unit that a folded word of a title may be, or None."""
    return _in_titles().get(word)


def unit_words(*measures: Measure, alone: bool = False) -> Words:
    """Return the signs and words of units that may stand behind a number, or, *alone*, those that mean nothing else."""
    table = units()
    of_measure = [name for name, unit in table.unit.items() if unit.measures in measures and unit.in_titles]
    spellings = sorted({spelling for name in of_measure for spelling in _spellings(name)})
    return Words(", ".join(s for s in spellings if not alone or (s[0].isalpha() and s not in table.also_words)))


def _spellings(name: str) -> set[str]:
    signs = {fold(sign) for sign in units().unit[name].signs.listed}
    return signs | set(vocabulary().units.get(name, Words()).spelt)


@cache
def _signs() -> Mapping[str, str]:
    return {sign: name for name, unit in units().unit.items() for sign in unit.signs.listed}


@cache
def _words() -> Mapping[str, str]:
    return {word: name for name, words in vocabulary().units.items() for word in words.spelt}


@cache
def _in_titles() -> Mapping[str, str]:
    return {spelling: name for name, unit in units().unit.items() if unit.in_titles for spelling in _spellings(name)}
