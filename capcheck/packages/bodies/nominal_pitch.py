"""The pitch of leads as drawings state it: one that a name rounds is the usual one, with no tolerance of its own."""

from __future__ import annotations

import math
from typing import Final

from msgspec.structs import replace

from capcheck.model import Basis, Measure
from capcheck.packages.names import USUAL_PITCHES_MM
from capcheck.values import Interval

_ROUNDED_MM: Final = 0.0101
"""How wide a pitch is that a name gives in hundredths of a millimetre."""


def nominal_pitch(measure: Measure) -> Measure:
    """Return a pitch that a name gives in hundredths as the usual one that it is; any other as it stands, in mm.

    ``P50`` is 0.5 mm, as a head's limit of 0.5 mm is, and not 0.495 mm. ``P64`` stays open: 0.635 mm is written so too.
    A pitch that somebody states with a tolerance keeps it.
    """
    value = measure.value
    if measure.basis is not Basis.DECODED or value.is_exact or value.high - value.low > _ROUNDED_MM:
        return measure
    usual = [pitch for pitch in USUAL_PITCHES_MM if abs(pitch - value.middle) <= _ROUNDED_MM / 2]
    is_usual = len(usual) == 1 and math.isclose(usual[0], value.middle)
    return replace(measure, value=Interval.exactly(usual[0])) if is_usual else measure
