"""Which way a board travels: along its own x or y, by what the conveyors take and what is wished."""

from __future__ import annotations

import enum
from collections.abc import Sequence

from msgspec import Struct
from msgspec.structs import replace

from capcheck.geometry.edges import BoxSide
from capcheck.model import Said, say
from capcheck.values import UNKNOWN_SIZE, Interval


class TransportLimits(Struct, frozen=True):
    """The board sizes that a conveyor takes, along and across the way of travel, in mm; *name* is the lane mode."""

    along: Interval = UNKNOWN_SIZE
    across: Interval = UNKNOWN_SIZE
    name: str = ""


class TravelReason(enum.StrEnum):
    """Why a board travels the way it does; the value is the key of its sentence."""

    FITS_NO_WAY = "geometry.fits no way"
    DOES_NOT_FIT = "geometry.does not fit"
    RAILS_CARRIED = "geometry.rails carried"
    STATED = "geometry.way stated"
    SUITS_ALL_MACHINES = "geometry.way of all machines"
    UNWISHED_ONLY_WAY = "geometry.only way, unwished"
    """Only this way fits, though the rails then run ahead and behind."""
    ONLY_WAY = "geometry.only way"
    LONG_EDGE_FIRST = "geometry.long edge first"
    LONG_EDGE = "geometry.long edge"


class Travel(Struct, frozen=True):
    """One way for a board to travel: *turned* if along its own y. *fits* is None where the sizes do not decide it."""

    turned: bool
    along: Interval
    across: Interval
    fits: bool | None = None
    mode: str = ""
    because: TravelReason = TravelReason.LONG_EDGE

    @property
    def transported(self) -> tuple[BoxSide, BoxSide]:
        """The sides of the board, in its own frame, that lie on the rails."""
        return ("left", "right") if self.turned else ("bottom", "top")

    @property
    def leading(self) -> tuple[BoxSide, BoxSide]:
        """The sides that run ahead and behind; which is which depends on the line, so both must serve."""
        return ("bottom", "top") if self.turned else ("left", "right")

    @property
    def short_edge_first(self) -> bool:
        """Whether the shorter edge is proved to lie along the conveyor."""
        return self.along.high < self.across.low

    @property
    def reason(self) -> Said:
        """Why it travels this way, as a statement."""
        reason = say(self.because, short=self.short_edge_first)
        return say("geometry.not proved to fit", reason=reason) if self.fits is None else reason


class Wish(Struct, frozen=True):
    """The way that a board is meant to travel: *turned* if along its own y; *only* if no other way is allowed."""

    turned: bool
    because: TravelReason = TravelReason.RAILS_CARRIED
    only: bool = False


def _holds(size: Interval, limit: Interval) -> bool | None:
    if limit.low <= size.low and size.high <= limit.high:
        return True
    return None if size.overlaps(limit) else False


def ways(
    length: Interval, width: Interval, limits: Sequence[TransportLimits] = (), wish: Wish | None = None
) -> tuple[Travel, ...]:
    """Return every way to travel, best first: proved to fit, then undecided; then as wished, else the long edge along.

    *length* lies along the board's x, *width* along its y. Every way is tried with every lane mode in *limits*, whose
    order is a preference too. Without limits both ways fit. A *wish* for one way only leaves no other.
    """
    found: list[Travel] = []
    for mode in limits or (TransportLimits(),):
        for turned in (False, True) if wish is None or not wish.only else (wish.turned,):
            along, across = (width, length) if turned else (length, width)
            parts = (_holds(along, mode.along), _holds(across, mode.across))
            fits = False if False in parts else None if None in parts else True
            found.append(Travel(turned, along, across, fits, mode.name))
    rank = {True: 0, None: 1, False: 2}
    unwished = {False: False, True: False} if wish is None else {wish.turned: False, not wish.turned: True}
    return tuple(sorted(found, key=lambda w: (rank[w.fits], unwished[w.turned], w.short_edge_first, w.turned)))


def choose_travel(
    length: Interval, width: Interval, limits: Sequence[TransportLimits] = (), wish: Wish | None = None
) -> Travel:
    """Return the way a board travels through one machine, with the reason."""
    best, *others = ways(length, width, limits, wish)
    return replace(best, because=_reason(best, others, wish))


def _reason(best: Travel, others: Sequence[Travel], wish: Wish | None) -> TravelReason:
    other_ways = [w for w in others if w.turned != best.turned]
    if best.fits is False:
        return TravelReason.FITS_NO_WAY if other_ways else TravelReason.DOES_NOT_FIT
    if wish is not None:
        return wish.because if wish.turned == best.turned else TravelReason.UNWISHED_ONLY_WAY
    if best.short_edge_first:
        return TravelReason.ONLY_WAY
    if any(w.fits is True for w in other_ways):
        return TravelReason.LONG_EDGE_FIRST
    return TravelReason.LONG_EDGE
