"""How a part is mounted, where its texts say it in words and no name of a package does."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from capcheck.model import Basis, Mounting, say
from capcheck.packages.candidate import Candidate, Column, Trust, texts_of
from capcheck.values import pattern

if TYPE_CHECKING:
    from capcheck.model import PartName

_COPPER: Final = pattern(r"(?<![A-Z])(?:PCB COPPER|COPPER ONLY|NO COMPONENT|NOT A (?:COMPONENT|PART))(?![A-Z])")
"""Words for a feature of the board itself, at which nothing is placed."""
_SURFACE: Final = pattern(
    r"(?<![A-Z0-9])(?:SMD|SMT)(?![A-Z0-9])|(?<![A-Z0-9])(?:SMD|SMT)(?=SOCKET|HOLDER)|SURFACE[-_ ]?MOUNT"
)
_DRILLED: Final = pattern(
    r"(?<![A-Z0-9])(?:THT|PTH|TH|THD)(?![A-Z0-9])|THROUGH[-_ ]?HOLE|THRU[-_ ]?HOLE|(?:RADIAL|AXIAL) LEADED"
)


def mounting_in_words(name: PartName) -> Candidate | None:
    """Return a candidate that states the mounting alone, from the first text that says it; None where none does.

    A text that says both (a surface-mount connector with drilled pegs) says nothing.
    """
    for column, text in texts_of(name):
        if len(text) < len("TH"):
            continue
        upper = text.upper()
        if (bare := _COPPER.search(upper)) is not None:
            return _said(column, text, bare[0], Mounting.NONE)
        flat, drilled = _SURFACE.search(upper), _DRILLED.search(upper)
        if flat is not None and drilled is None:
            return _said(column, text, flat[0], Mounting.SURFACE)
        if drilled is not None and flat is None:
            return _said(column, text, drilled[0], Mounting.THROUGH_HOLE)
    return None


def says_surface(text: str) -> bool:
    """Whether a text says that the part is soldered on the surface, alone or beside drilled pegs."""
    return _SURFACE.search(text.upper()) is not None


def _said(column: Column, text: str, words: str, mounting: Mounting) -> Candidate:
    scheme = say("packages.words", words=words)
    return Candidate(Basis.DECODED, Trust.FREE_TEXT, column, text, scheme, mounting=mounting)
