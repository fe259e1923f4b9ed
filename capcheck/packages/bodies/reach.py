"""How far a part's outermost lead lies from its centre: what a turned part misses its land by."""

from __future__ import annotations

import math

from capcheck.model import Body
from capcheck.values import UNKNOWN_SIZE, Interval


def reach_of(body: Body) -> Interval:
    """Return the distance of the outermost lead from the centre, mm.

    It is half of the longest side at least, over the leads where that is known, and half of the diagonal at most.
    Typical sizes prove nothing and leave it open.
    """
    length, width, span = (m.proved.value for m in (body.length, body.width, body.span))
    if not length.is_known or not width.is_known:
        return UNKNOWN_SIZE
    across = span if span.is_known else width
    longest = max(length.high, across.high)
    return Interval(max(length.low, across.low) / 2, math.hypot(longest, max(width.high, across.high)) / 2)
