"""A cell that states a size with a word or a mark beside it: ``~28``, ``0.9 (typ.)``, ``27 (max. 29)``, ``1 5/8"``."""

from __future__ import annotations

import enum
import math
from collections.abc import Sequence
from typing import Final

from msgspec import Struct

from capcheck.intake.tables.cells import CellError, normalise, read_measure
from capcheck.lexicon import fold, unit_named, vocabulary
from capcheck.values import LENGTH, NUMBER, Dimension, Interval, pattern


class How(enum.Enum):
    """How surely a size is stated."""

    AS_WRITTEN = "as written"
    ABOUT = "about"
    """A usual figure too: some of the parts are larger."""


class NotedSize(Struct, frozen=True):
    """The values that a cell leaves possible, and how it states them."""

    value: Interval
    how: How = How.AS_WRITTEN


_ROOM: Final = 0.25
"""What a size may be off that is said to be usual, or about so large, as a share; common practice, no source."""
_LONGEST: Final = 80
_SCALE: Final = pattern(
    r"[x×*]\s?10+(?!\d)|(?<![\d.,])10+\s?[x×*]|/\s?10+(?!\d)|(?<!\d)1/10+(?!\d)|(?<!\d)0[.,]0{0,3}1\s?mm|÷"
)
_PERCENT: Final = pattern(r"\D{0,4}(\d{1,2}(?:[.,]\d{1,2})?)\s?%")
_SIGNS: Final = pattern(r"(?:±|\+\s?/?\s?[-−–])\s?")
_ABOUT: Final = pattern(lambda: rf"[~≈∼～]|{vocabulary().lists.about}")
_TYPICAL: Final = pattern(lambda: str(vocabulary().lists.typical))
_BESIDE: Final = " ()[].:,;/"
_MOST: Final = pattern(r"(?<![^\W\d_])max(?![^\W\d_])|[(\[]")
"""Where the greatest size begins behind the usual one."""
_FRACTION: Final = pattern(
    r"(?:(?P<whole>\d{1,3})[\s-]+)?(?P<over>\d{1,3})/(?P<under>\d{1,3})\s*(?P<unit>[^\W\d_]+|\"|'')\.?"
)


def read_noted(text: str, dimension: Dimension, *, units: Sequence[str], decimal: str | None) -> NotedSize:
    """Return what a cell states; *units* are those that may be meant where the cell names none, all of them count.

    Raises :class:`CellError` where no measure can be read from it.
    """
    try:
        value = _measure(text, dimension, units, decimal)
        # Of "> 1.8" nobody knows how much more, and a name that ends there is no proof against it.
        return NotedSize(value, How.AS_WRITTEN if math.isfinite(value.high) else How.ABOUT)
    except CellError:
        noted = _noted(fold(normalise(text)), dimension, units, decimal) if len(text) <= _LONGEST else None
        if noted is None:
            raise
        return noted


def is_usual(title: str) -> bool:
    """Whether a title says that its column holds usual sizes: ``Height (typ.)``."""
    return _TYPICAL.search(fold(title)) is not None


def is_partial(title: str) -> bool:
    """Whether a title says that its column holds no greatest sizes: ``Height min``, ``Lead height``, ``H / 10``."""
    folded, lists = fold(title), vocabulary().lists
    if lists.scaled.search(folded) or _SCALE.search(folded):
        return True
    return any(words.search(folded) for words in (lists.partly, vocabulary().lines.least)) or is_tolerance(title)


def is_tolerance(title: str) -> bool:
    """Whether a title says by how much sizes may be off; a length *incl. tolerance* is the greatest."""
    folded = fold(title)
    return vocabulary().lists.tolerance.search(folded) is not None and not vocabulary().lines.reckoned.search(folded)


def with_tolerance(size: Interval, text: str, *, units: Sequence[str], decimal: str | None) -> Interval:
    """Return a size with what a cell lets it be off to both sides: ``0.1``, ``±0.1 mm``, ``10 %``.

    Raises :class:`CellError` where no tolerance can be read from it.
    """
    if share := _PERCENT.fullmatch(text.strip()):
        part = float(share[1].replace(",", ".")) / 100.0
        return Interval(size.low * (1.0 - part), size.high * (1.0 + part))
    most = _measure(_SIGNS.sub("", text.strip(), count=1), LENGTH, units, decimal).high
    return Interval(max(0.0, size.low - most), size.high + most)


def about(value: Interval) -> NotedSize:
    """Return a size that is said to be usual, or about so large, with the room that leaves."""
    return NotedSize(Interval(value.low * (1 - _ROOM), value.high * (1 + _ROOM)), How.ABOUT)


def _noted(text: str, dimension: Dimension, units: Sequence[str], decimal: str | None) -> NotedSize | None:
    if dimension is NUMBER:
        return None
    if fraction := _FRACTION.fullmatch(text):
        return _inches(fraction["whole"], fraction["over"], fraction["under"], fraction["unit"], dimension)
    for words in (_TYPICAL, _ABOUT):
        rest = words.sub(" ", text).strip(_BESIDE)
        if not words.search(text):
            continue
        try:
            value = _measure(rest, dimension, units, decimal)
        except CellError:
            continue
        return about(value)
    if begins := _MOST.search(text):
        usual = _TYPICAL.sub(" ", _ABOUT.sub(" ", text[: begins.start()])).strip(_BESIDE)
        most = text[begins.start() :].strip(_BESIDE)
        try:
            value = _measure(most, dimension, units, decimal)
            if "max" in most and _measure(usual, dimension, units, decimal).high <= value.high:
                return NotedSize(value)
        except CellError:
            return None
    return None


def _inches(whole: str | None, over: str, under: str, unit: str, dimension: Dimension) -> NotedSize | None:
    if unit_named(unit) != "in" or not int(under):
        return None
    inches = int(whole or 0) + int(over) / int(under)
    return NotedSize(read_measure(f"{inches:.6f} in", dimension, unit=None, decimal="."))


def _measure(text: str, dimension: Dimension, units: Sequence[str], decimal: str | None) -> Interval:
    """Return the hull of what a cell states in any of the units."""
    first, *others = [read_measure(text, dimension, unit=unit, decimal=decimal) for unit in units or (None,)]
    for other in others:
        first = first.hull(other)
    return first
