"""Whether a head places accurately enough: the error that a joint allows against the head's stated accuracy.

Lengths are mm, angles degrees. Unknown numbers are intervals that span everything, and what they leave open stays open.
"""

from __future__ import annotations

import math
from typing import Final

from msgspec import Struct

from capcheck.machines import Head
from capcheck.planning.accuracy.joints import Joint, Missing
from capcheck.values import UNKNOWN_SIZE, Interval

CPK_CAPABLE: Final = 1.33
"""Capability at which a process is usually released (IPC-9850 reports at 1.33 and 2.00)."""


class Capability(Struct, frozen=True):
    """Cpk of a part on a head within bounds, with the numbers it was worked out from (mm)."""

    cpk: Interval
    allowed: Interval
    sigma: Interval
    rotation: Interval
    """Error at the outermost lead from rotation, taken off what is allowed."""
    missing: tuple[Missing, ...] = ()
    """What is not known and keeps the Cpk open."""

    def reaches(self, limit: float = CPK_CAPABLE) -> bool | None:
        """Whether the limit is reached: True or False where proved, else None."""
        if self.cpk.low >= limit:
            return True
        return False if self.cpk.high < limit else None


def capability_of(joint: Joint, head: Head) -> Capability:
    """Return the Cpk of a joint on a head: (allowed − rotation error at the outermost lead) / (3 sigma).

    One sigma of an accuracy stated as ±a at n sigma is a / n. The rotation error at the stated sigma is taken off in
    full (worst case). What the profile does not state leaves the Cpk open.
    """
    accuracy, at_sigma, angle = head.accuracy, head.accuracy_sigma, head.rotation_accuracy
    unknown = {
        Missing.ACCURACY: accuracy is None,
        Missing.SIGMA: at_sigma is None,
        Missing.ROTATION_ACCURACY: angle is None,
        Missing.LEAD_AND_LAND: not joint.allowed.is_known,
        Missing.REACH: not joint.reach.is_known,
    }
    sigma = UNKNOWN_SIZE if accuracy is None or at_sigma is None else Interval.exactly(accuracy / at_sigma)
    if angle == 0.0:
        rotation = Interval.exactly(0.0)
    elif angle is None or not joint.reach.is_known:
        rotation = UNKNOWN_SIZE
    else:
        rotation = joint.reach.scaled(math.sin(math.radians(angle)))
    low = max(joint.allowed.low - rotation.high, 0.0)
    high = max(joint.allowed.high - rotation.low, 0.0)
    least = _ratio(low, 3 * sigma.high)
    return Capability(
        cpk=Interval(least, max(least, _ratio(high, 3 * sigma.low))),
        allowed=joint.allowed,
        sigma=sigma,
        rotation=rotation,
        missing=tuple(name for name, absent in unknown.items() if absent),
    )


def _ratio(above: float, below: float) -> float:
    if above == 0 or math.isinf(below):
        return 0.0
    return math.inf if below == 0 or math.isinf(above) else above / below
