"""How a part is mounted, where its texts say it in words, and what a column states."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING, Final

from capcheck.lexicon import fold, vocabulary
from capcheck.model import Basis, Mounting, say
from capcheck.packages.candidate import Candidate, Column, Trust, texts_of
from capcheck.values import pattern

if TYPE_CHECKING:
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
_NOT_ITSELF: Final = pattern(lambda: str(vocabulary().mountings.not_itself))


def mountings_said(name: PartName) -> tuple[Candidate, ...]:
    """Return a candidate that states the mounting alone for each text and each column that says it, texts first.

    A text that says both (a surface-mount connector with drilled pegs) says nothing, nor does one about another part or
    another way of soldering: ``THT alternative``, ``through hole reflow``.
    """
    texts = (_said_in(column, text) for column, text in texts_of(name))
    columns = (_stated(cell, place) for cell, place in name.mountings)
    return tuple(said for said in (*texts, *columns) if said is not None)


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
def _said_in(column: Column, text: str) -> Candidate | None:
    if len(text) < len("TH"):
        return None
    if (bare := _COPPER.search(text.upper())) is not None:
        return _said(column, text, bare[0], Mounting.NONE)
    folded = fold(text)
    flat, drilled = _SURFACE.search(folded), _DRILLED.search(folded)
    found = flat or drilled
    if found is None or (flat and drilled) or not speaks_of_itself(text):
        return None
    return _said(column, text, found[0].upper(), Mounting.SURFACE if flat else Mounting.THROUGH_HOLE)


def _said(column: Column, text: str, words: str, mounting: Mounting) -> Candidate:
    scheme = say("packages.words", words=words)
    return Candidate(Basis.DECODED, Trust.FREE_TEXT, column, text, scheme, mounting=mounting)


@lru_cache(maxsize=4096)
def _stated(cell: str, place: str) -> Candidate | None:
    """Return what a cell of a column states: by the whole of it, else by the words in it."""
    words = vocabulary().mountings
    if cell in words.surface_alone or cell in words.surface:
        mounting = Mounting.SURFACE
    elif cell in words.drilled_alone or cell in words.drilled:
        mounting = Mounting.THROUGH_HOLE
    elif (said := _said_in(Column.STATED, cell)) is not None and said.mounting in _PLACED:
        mounting = said.mounting
    else:
        return None
    return Candidate(Basis.STATED, Trust.STATED, Column.STATED, f'{place} "{cell}"', mounting=mounting)


_PLACED: Final = frozenset((Mounting.SURFACE, Mounting.THROUGH_HOLE))


def opposed(one: Candidate, other: Candidate) -> bool:
    """Whether the one is soldered on the surface and the other in holes."""
    return {one.mounting, other.mounting} == _PLACED
