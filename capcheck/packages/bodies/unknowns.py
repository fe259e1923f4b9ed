"""What is still missing of a part's body: what a report lists, and what a library is to be filled in with."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

from capcheck.model import NOT_ON_THE_SURFACE, Basis, LeadStyle

if TYPE_CHECKING:
    from capcheck.model import Body, Measure

_FEW_LEADS: Final = frozenset((LeadStyle.CHIP, LeadStyle.MELF, LeadStyle.MOLDED, LeadStyle.CAN, LeadStyle.OTHER))


def unknown_fields(body: Body) -> tuple[str, ...]:
    """Return what a check of size, height, leads and mounting would need of *body* and nothing tells, proved.

    A part that is not placed on the surface needs nothing; two leads have no pitch that matters.
    """
    if body.mounting in NOT_ON_THE_SURFACE:
        return ()
    asked = ["length", "width", "height"]
    if body.lead_style not in _FEW_LEADS and body.pins != 2:
        asked.append("pitch")
    missing = [f for f in asked if not _is_proved(getattr(body, f))]
    return (*missing, *(f for f in ("lead_style", "mounting") if getattr(body, f) is None))


def _is_proved(measure: Measure) -> bool:
    return measure.basis not in {Basis.TYPICAL, Basis.UNKNOWN} and not math.isinf(measure.high)
