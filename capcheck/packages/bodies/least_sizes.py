"""A body that is smaller than any part of the sort that its texts name: either may be right, so none is proved."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from capcheck.packages.bodies.disputes import Dispute
from capcheck.packages.candidate import Candidate, Trust
from capcheck.values import LENGTH, show, show_sides

if TYPE_CHECKING:
    from capcheck.model import Measure


def smaller_than_sold(measures: dict[str, Measure], size: Candidate | None, least: Candidate | None) -> Dispute | None:
    """Return the dispute between the body taken and the *least* one of its sort; None where it is large enough.

    The shop's own library has seen the part, and is believed.
    """
    if least is None or size is None or size.trust is Trust.LIBRARY or least.length is None or least.width is None:
        return None
    known = [measures[side].value for side in ("length", "width") if side in measures]
    highs = [value.high for value in known if math.isfinite(value.high)]
    if not highs:
        return None
    longer_too_small = len(highs) == 2 and max(highs) < least.length.low
    if not longer_too_small and not min(highs) < least.width.low:
        return None
    shown = show_sides(tuple(known), " x ") if len(known) == 2 else show(known[0].low, known[0].high, LENGTH)
    return Dispute("body", size, least, (shown, show_sides((least.length, least.width), " x ")), settled=False)
