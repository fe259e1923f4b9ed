"""Facts about what stands on the board when a machine carries parts over it, on the machines that are of use.

A line may leave a machine empty, and a part may wait for a later machine that takes it, too. So a machine whose room
is too low counts only where something has to be placed there although what is higher has to stand before.
"""

from __future__ import annotations

import numpy as np

from capcheck.facts.catalogue import Catalogue, Session
from capcheck.facts.columns import Numbers
from capcheck.facts.head import heads_of
from capcheck.facts.place import heights, soldered_on
from capcheck.machines import Line
from capcheck.model import Codes, Flags, Floats
from capcheck.values import LENGTH

facts = Catalogue()


@facts.number("passage.tallest_before", LENGTH, "tallest part on the side facing up that may be placed before another")
def _tallest_before(session: Session, line: Line, able: Codes | None) -> list[Numbers]:
    """Bounds for each machine and side: the least that any plan has there, and the most that one proved to do has.

    Without machines enough that are proved to take the parts, all count that a head up to there may place.
    """
    low, high = session.shared(heights)
    may, sure, reach = _takes(line, able, low, high)
    rooms = [m.room_above for m in line.machines]
    highest = np.array([np.inf if room is None else room.high for room in rooms])
    lowest = np.array([np.inf if room is None else room.low for room in rooms])
    ends = np.empty((2, len(line.machines), 2))
    for side, here in enumerate(session.shared(soldered_on)):
        certain, possible = here.yes & may.any(axis=1), ~here.no & may.any(axis=1)
        least, _ = _before(may[certain], low[certain], highest)
        proved = possible & sure.any(axis=1)
        most, there_is_one = _before(sure[proved], high[proved], lowest)
        left = possible & ~proved if there_is_one else possible
        up_to = np.logical_or.accumulate(may, axis=1) & left[:, None]
        open_ = np.minimum(np.where(up_to, high[:, None], 0.0).max(axis=0, initial=0.0), reach)
        ends[0, :, side] = least
        ends[1, :, side] = np.maximum(np.maximum(most if there_is_one else 0.0, open_), least)
    return [Numbers(ends[0, m], ends[1, m]) for m in range(len(line.machines))]


def _takes(line: Line, able: Codes | None, low: Floats, high: Floats) -> tuple[Flags, Flags, Floats]:
    """Return which machines may take each part, which are proved to, and the height up to which heads so far reach.

    *able* are the heads' answers by part; where nobody asked them their reach alone tells.
    """
    machine = np.array([index for index, _ in heads_of(line)], dtype=np.int64)
    limits = np.array([np.inf if h.max_part_height is None else h.max_part_height for _, h in heads_of(line)])
    states = able
    if states is None:
        states = np.where(low > limits[:, None], -1, np.where(high <= limits[:, None], 1, 0)).astype(np.int8)
    best = np.full((len(line.machines), len(low)), -1, dtype=np.int8)
    np.maximum.at(best, machine, states)
    reach = np.zeros(len(line.machines))
    np.maximum.at(reach, machine, limits)
    return (best >= 0).T, (best > 0).T, np.maximum.accumulate(reach)


def _before(takes: Flags, height: Floats, room: Floats) -> tuple[Floats, bool]:
    """Return the tallest part before each machine that is of use, and whether these take all parts within their room.

    Each part (rows) waits for the last machine in use that takes it. One that then carries over too tall a part is of
    no use in any plan: that part has no later machine to wait for. If in the end a part has none at all, no plan holds
    the heights, and what all machines have before them is returned.
    """
    used = np.ones(len(room), dtype=np.bool_)
    first: Floats | None = None
    while True:
        here = takes & used
        last = np.where(here.any(axis=1), len(room) - 1 - here[:, ::-1].argmax(axis=1), len(room))
        before = last[:, None] < np.arange(len(room))
        tallest: Floats = np.where(before, height[:, None], 0.0).max(axis=0, initial=0.0)
        first = tallest if first is None else first
        too_low = used & (tallest > room)
        if not here.any(axis=1).all():
            return first, False
        if not too_low.any():
            return np.where(used, tallest, 0.0), True
        used &= ~too_low
