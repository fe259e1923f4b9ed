"""Texts about what holds, cools or covers another part: the sizes and names in them are that part's, not its own."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING, Any, Final, Literal

from msgspec.structs import replace

from capcheck.lexicon import shape
from capcheck.packages.candidate import MEASURED, Trust
from capcheck.packages.tables import Family, part_words
from capcheck.values import pattern

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from capcheck.packages.candidate import Candidate

_CIRCUITS: Final = frozenset(("U", "IC", "Q", "VT", "TR"))
"""Letters of parts that may come with such a thing: a transistor with its heat sink is no heat sink."""
_WITH: Final = (
    r"(?<!WITH )(?<!WITHOUT )(?<!W/ )(?<!W/O )(?<!INCL )(?<!NO )(?<!MIT )(?<!OHNE )(?<!AVEC )(?<!AND )(?<!\+ )"
)


def _words(section: str) -> str:
    return "|".join(word.replace(" ", "[-_ ]?") for word in part_words()["holds another"][section])


_HOLDS: Final = pattern(lambda: rf"{_WITH}(?<![A-Z])(?:{_words('held')})[-_ ]?(?:CELL[-_ ]?)?(?:{_words('holder')})")
_CARRIES: Final = pattern(lambda: rf"{_WITH}(?<![A-Z])(?:{_words('around')})")
_FROM_THERE: Final = pattern(lambda: rf"(?<![A-Z])(?:{_words('for')})(?![A-Z])")
_NO_SIZE: Final[dict[str, Any]] = dict.fromkeys(MEASURED)


Held = Literal["holder", "around"]
"""A holder of a fuse, a cell or a lamp, whose texts state no size of its own; or what lies about another part."""


def holds_another(texts: Sequence[str], ref_prefix: str) -> Held | None:
    """Return how a part by its texts is about another one; None where it is a part like others."""
    if ref_prefix.upper() in _CIRCUITS:
        return None
    said = {_held_by(shape(text)) for text in texts if text}
    if not said - {None}:
        return None
    return "holder" if "holder" in said else "around"


@lru_cache(maxsize=4096)
def _held_by(text: str) -> Held | None:
    upper = text.upper()
    if _HOLDS.search(upper):
        return "holder"
    return "around" if _CARRIES.search(upper) else None


def speaks_of_another(text: str) -> bool:
    """Whether *text* says, behind a word such as ``for``, what another part is."""
    return _FROM_THERE.search(text.upper()) is not None


def own_words(text: str) -> str:
    """Return *text* as far as it speaks of the part itself: up to ``for`` what it is."""
    other = _FROM_THERE.search(text.upper())
    return text if other is None else text[: other.start()].rstrip()


def of_itself(found: Iterable[Candidate], held: Held) -> tuple[Candidate, ...]:
    """Return what a text about such a part says of the part itself: a package or a size code in it is another's.

    Nor are the sizes of a holder's own: ``fuse holder 5x20mm`` names the fuse.
    """
    if held == "around":
        return tuple(c for c in found if c.trust is Trust.FREE_TEXT and c.family_key is not Family.CONNECTOR)
    return tuple(replace(c, **_NO_SIZE) for c in found if c.family_key is Family.CONNECTOR)
