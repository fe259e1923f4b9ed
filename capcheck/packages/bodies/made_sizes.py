"""How far a size that a text states may be from the body that is delivered, for kinds of parts that vary widely."""

from __future__ import annotations

from functools import cache
from typing import Final

from msgspec import Struct
from msgspec.structs import replace

from capcheck.model import say
from capcheck.packages.candidate import Candidate, Trust
from capcheck.packages.tables import rows_of
from capcheck.values import Interval

_WRITTEN: Final = frozenset((Trust.FREE_TEXT, Trust.PACKAGE_NAME))


class _Made(Struct, frozen=True):
    """How far the sides of a kind of part reach below and above the size that is written of it."""

    kind: str
    under_share: float
    over_mm: float
    over_share: float
    source: str


@cache
def _by_kind() -> dict[str, _Made]:
    return {row.kind: row for row in rows_of("made_sizes", _Made)}


def as_made(found: list[Candidate], *kinds: str | None) -> list[Candidate]:
    """Return the candidates with the sizes that a text writes as parts of the first known of *kinds* are made."""
    made = next((row for kind in kinds if kind is not None and (row := _by_kind().get(kind)) is not None), None)
    return found if made is None else [_widened(candidate, made) for candidate in found]


def _widened(candidate: Candidate, made: _Made) -> Candidate:
    length, width = candidate.length, candidate.width
    if candidate.trust not in _WRITTEN or length is None or width is None or not candidate.states_size:
        return candidate
    return replace(
        candidate,
        length=_reach(length, made),
        width=_reach(width, made),
        scheme=say("packages.sides as far as", scheme=candidate.scheme, table=made.source),
    )


def _reach(side: Interval, made: _Made) -> Interval:
    high = side.high + min(made.over_mm, made.over_share * side.high)
    return Interval(round(side.low * (1.0 - made.under_share), 4), round(high, 4))
