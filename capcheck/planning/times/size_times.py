"""What a part takes longer for its size: ranges of a head, by the longer side of the body, state times of their own.

A body that may lie in several ranges takes the longest of them at the slow end and the shortest at the fast one; one
that may be larger than all of them, or of which no size is known, takes the longest that there is.
"""

from __future__ import annotations

from msgspec import Struct

from capcheck.machines import Head, MachineProfile, spans_of
from capcheck.values import Interval


class SizeTime(Struct, frozen=True):
    """A range of the longer side, mm, and the seconds that one part of it takes longer than others on the head.

    *pick* and *place* count where seconds are a sum of the profile's times, *rated* where they are those of a rated
    speed: from its fast to its slow end. Of a stroke that picks several at once the longest time counts: at the fast
    end *gang* counts no longer pick.
    """

    over: float
    up_to: float
    pick: float = 0.0
    place: float = 0.0
    rated: Interval = Interval.exactly(0.0)
    gang: bool = False

    @property
    def slow(self) -> float:
        """Seconds longer at the slow end."""
        return self.pick + self.place + self.rated.high

    @property
    def fast(self) -> float:
        """Seconds longer at the fast end."""
        return (0.0 if self.gang else self.pick) + self.place + self.rated.low


def times_by_size(machine: MachineProfile, head: Head) -> tuple[SizeTime, ...]:
    """Return what parts of each range of a head take longer; nothing where its ranges state no time.

    The profile is one without faults: ranges are never faster than the head, and state what its seconds are made of.
    """
    ranges = head.range or ()
    if not any(one.pick or one.place or one.rated for one in ranges):
        return ()
    timing, summed, found = machine.timing, machine.sums(head), []
    low, high = timing.derate or (1.0, 1.0)
    for one, (over, up_to) in zip(ranges, spans_of(ranges), strict=True):
        rated = 0.0
        if not summed and one.rated and head.rated:
            rated = (3600.0 / one.rated - 3600.0 / head.rated) * machine.slower_together
        found.append(
            SizeTime(
                over,
                up_to,
                pick=one.pick - (timing.pick or 0.0) if summed and one.pick else 0.0,
                place=one.place - (timing.place or 0.0) if summed and one.place else 0.0,
                rated=Interval(rated / high, rated / low),
                gang=timing.gang_pick,
            )
        )
    return tuple(found)


def size_of(length: Interval, sizes: tuple[SizeTime, ...], *, fast: bool = False) -> int | None:
    """Return which of the ranges counts for a body with this longer side; None where it takes no longer than others."""
    may = [k for k, one in enumerate(sizes) if length.high > one.over and length.low <= one.up_to]
    if fast:
        return min(may, key=lambda k: sizes[k].fast, default=None)
    if not may or length.high > sizes[-1].up_to:
        may = list(range(len(sizes)))
    return max(may, key=lambda k: sizes[k].slow, default=None)
