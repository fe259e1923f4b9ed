"""How a part is mounted, where its texts say it in words, and what a column states."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING, Final

from capcheck.lexicon import fold, shape, vocabulary
from capcheck.model import Basis, Mounting, say
from capcheck.packages.candidate import Candidate, Column, Trust, texts_of
from capcheck.values import pattern

if TYPE_CHECKING:
    import re

    from capcheck.model import PartName

_COPPER: Final = pattern(r"(?<![A-Z])(?:PCB COPPER|COPPER ONLY|NO COMPONENT|NOT A (?:COMPONENT|PART))(?![A-Z])")
"""Words for a feature of the board itself, at which nothing is placed."""
_SURFACE: Final = pattern(
    lambda: (
        r"(?<![a-z0-9])(?:smd|smt)(?![a-z0-9])|(?<![a-z0-9])(?:smd|smt)(?=socket|holder)|surface[-_ ]?mount"
        rf"|{vocabulary().mountings.surface}"
    )
)
_DRILLED: Final = pattern(
    lambda: (
        rf"(?<![a-z0-9])th(?![a-z0-9])|through[-_ ]?hole|thru[-_ ]?hole|{vocabulary().mountings.drilled}"
        rf"|(?<!-){vocabulary().mountings.leads}"
    )
)
"""A co-axial plug and a 3-axial sensor have no axial leads."""
_JOINED: Final = pattern(
    lambda: rf"[a-z]{{0,6}}\W{{0,3}}(?:[/&+|]|{vocabulary().lists.conjunction}|{vocabulary().lists.choice})\W{{0,3}}"
)
_NOT_ITSELF: Final = pattern(lambda: str(vocabulary().mountings.not_itself))


def mountings_said(name: PartName) -> tuple[Candidate, ...]:
    """Return candidates that state the mounting alone for each text and each column that says it, texts first.

    A text that names both in one breath (``SMT and through-hole``) says both. One that says both elsewhere (a
    surface-mount connector with drilled pegs) says nothing, nor does one about another part or another way of
    soldering: ``THT alternative``, ``through hole reflow``.
    """
    found: list[Candidate] = []
    for column, text in texts_of(name):
        if text:
            found += _said_in(column, text)
    for cell, place in name.mountings:
        found += _stated(cell, place)
    return tuple(found)


def joints_said(name: PartName) -> tuple[Candidate, ...]:
    """Return a candidate for each file of fabrication that shows all joints in holes, or none.

    They say how a part is soldered, not whether one is: what goes onto lands may be a test cable.
    """
    return tuple(_joined(mounting, place) for mounting, place in name.joints)


@lru_cache(maxsize=4096)
def _joined(mounting: Mounting, place: str) -> Candidate:
    return Candidate(Basis.STATED, Trust.STATED, Column.STATED, place, mounting=mounting)


def says_no_part(name: PartName) -> bool:
    """Whether a text says in words that nothing is placed: whoever orders such a thing orders the board."""
    return any(_COPPER.search(text.upper()) for _, text in texts_of(name))


def says_surface(text: str) -> bool:
    """Whether a text says that the part is soldered on the surface, alone or beside drilled pegs."""
    return _SURFACE.search(fold(text)) is not None


def speaks_of_itself(text: str) -> bool:
    """Whether what a text says of mounting is about the part itself: ``replaces DIP-8`` is not."""
    return _NOT_ITSELF.search(fold(text)) is None


@lru_cache(maxsize=4096)
def _said_in(column: Column, text: str) -> tuple[Candidate, ...]:
    if len(text) < len("TH") or not may_say_mounting(shape(text)):
        return ()
    if (bare := _COPPER.search(text.upper())) is not None:
        return (_said(column, text, bare[0], Mounting.NONE),)
    folded = fold(text)
    flat, drilled = _SURFACE.search(folded), _DRILLED.search(folded)
    if flat and drilled:
        if not _in_one_breath(folded, flat, drilled):
            return ()
        # Each with its own words for a text: two meanings of one text would be no two sources.
        return (
            _said(column, flat[0].upper(), flat[0].upper(), Mounting.SURFACE),
            _said(column, drilled[0].upper(), drilled[0].upper(), Mounting.THROUGH_HOLE),
        )
    found = flat or drilled
    if found is None or not speaks_of_itself(text):
        return ()
    return (_said(column, text, found[0].upper(), Mounting.SURFACE if flat else Mounting.THROUGH_HOLE),)


@lru_cache(maxsize=4096)
def may_say_mounting(shaped: str) -> bool:
    """Whether a text of such a shape says anything of the mounting: none of the words has a digit."""
    folded = fold(shaped)
    said = _COPPER.search(shaped.upper()) or _SURFACE.search(folded) or _DRILLED.search(folded)
    return said is not None


def _in_one_breath(folded: str, flat: re.Match[str], drilled: re.Match[str]) -> bool:
    """Whether nothing but *and*, *or* or a stroke stands between the two: ``SMD/THT``, ``SMT and through-hole``."""
    first, second = sorted((flat, drilled), key=lambda found: found.start())
    return _JOINED.fullmatch(folded, first.end(), max(first.end(), second.start())) is not None


def _said(column: Column, text: str, words: str, mounting: Mounting) -> Candidate:
    scheme = say("packages.words", words=words)
    return Candidate(Basis.DECODED, Trust.FREE_TEXT, column, text, scheme, mounting=mounting)


@lru_cache(maxsize=4096)
def _stated(cell: str, place: str) -> tuple[Candidate, ...]:
    """Return what a cell of a column states: by the whole of it, else by the words in it."""
    words = vocabulary().mountings
    if cell in words.surface_alone or cell in words.surface:
        return (_in_column(cell, place, Mounting.SURFACE),)
    if cell in words.drilled_alone or cell in words.drilled:
        return (_in_column(cell, place, Mounting.THROUGH_HOLE),)
    said = [one for one in _said_in(Column.STATED, cell) if one.mounting in _PLACED]
    return tuple(_in_column(cell if len(said) == 1 else one.text, place, one.mounting) for one in said)


def _in_column(cell: str, place: str, mounting: Mounting | None) -> Candidate:
    return Candidate(Basis.STATED, Trust.STATED, Column.STATED, f'{place} "{cell}"', mounting=mounting)


_PLACED: Final = frozenset((Mounting.SURFACE, Mounting.THROUGH_HOLE))


def opposed(one: Candidate, other: Candidate) -> bool:
    """Whether the one is soldered on the surface and the other in holes."""
    return {one.mounting, other.mounting} == _PLACED
