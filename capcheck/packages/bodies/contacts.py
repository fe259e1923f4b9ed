"""Whether as many contacts at their pitch find room on the sides of a body."""

from __future__ import annotations

import math
from typing import Final

from msgspec.structs import replace

from capcheck.model import UNKNOWN_MEASURE, Body, LeadStyle, say
from capcheck.packages.tables import Family

_BESIDE: Final = frozenset((LeadStyle.GULL_WING, LeadStyle.FLAT_LEAD, LeadStyle.J_LEAD, LeadStyle.NO_LEAD))
_IN_A_GRID: Final = frozenset((LeadStyle.BALL_GRID, LeadStyle.LAND_GRID, LeadStyle.COLUMN_GRID))
_ON_TWO_SIDES: Final = frozenset((Family.SOIC, Family.SOP, Family.TSOP, Family.SOJ, Family.SON, Family.DFN))
"""Families with two rows; any other may have contacts along all four sides."""
_IN_TWO_RINGS: Final = ("AQFN", "DRQFN", "DRMLF")
"""Words for no-lead bodies whose lands lie in two rings; common practice, no source."""
_ROOM: Final = 1.02
"""A pitch that is rounded, and an exposed pad that is counted, make a body no wrong one."""


def room_for_contacts(body: Body) -> Body:
    """Return *body* with its sides open and a question, where its contacts do not fit them.

    Ten leads at 0.5 mm in two rows need 2 mm, 32 on four sides 3.5 mm; a name that states 0.3 or 3 mm is misread, or
    wrong. A body with one side unknown is left as it is.
    """
    if body.pins is None or not (body.length.value.is_known and body.width.value.is_known and body.pitch.low > 0):
        return body
    long, short = (side / body.pitch.low + 1.0 for side in (body.length.high, body.width.high))
    if body.lead_style in _IN_A_GRID:
        most = long * short
    elif body.lead_style in _BESIDE:
        most = 2.0 * long if body.family_key in _ON_TWO_SIDES else 2.0 * (long + short)
        if (body.family or "").startswith(_IN_TWO_RINGS):
            most *= 2.0
    else:
        return body
    if body.pins - 1 <= _ROOM * most:
        return body
    question = say(
        "packages.no room for the contacts",
        pins=body.pins,
        pitch=body.pitch.low,
        fit=math.floor(most),
        origin=body.length.source,
    )
    return replace(body, length=UNKNOWN_MEASURE, width=UNKNOWN_MEASURE, questions=(*body.questions, question))
