"""Whether a head places accurately enough: the error a joint allows against the head's stated accuracy.

Lengths are mm, angles degree. Unknown numbers are intervals that span everything; what they leave open stays open.
"""

from __future__ import annotations

import math
from statistics import NormalDist
from typing import Final

from msgspec import Struct

from capcheck.values import UNKNOWN_SIZE, Interval

OVERHANG_SHARE: Final = {1: 0.5, 2: 0.5, 3: 0.25}
"""Share of the lead's (chip: of the lesser of lead's and land's) width that may hang over, by IPC-A-610 class."""

CPK_CAPABLE: Final = 1.33
"""Capability at which a process is usually released (IPC-9850 reports at 1.33 and 2.00)."""

SELF_CENTRING_SHARE: Final = 0.5
"""Share of the land's diameter by which a ball may miss and still be drawn in (common practice, no source)."""


def allowed_error(lead_width: float, land_width: float, ipc_class: int, *, chip: bool = False) -> float:
    """Return the largest centre error in mm at which the overhang stays acceptable.

    Overhang is A = |e| − (P − W)/2 for a lead W on a land P; it may be k·W (chip terminations: k·min(W, P)), with
    k = 0.5 for classes 1 and 2 and 0.25 for class 3. Derived from IPC-A-610. Zero where nothing is allowed.
    """
    width = min(lead_width, land_width) if chip else lead_width
    return max(OVERHANG_SHARE[ipc_class] * width + (land_width - lead_width) / 2, 0.0)


def allowed_error_within(lead: Interval, land: Interval, ipc_class: int, *, chip: bool = False) -> Interval:
    """Return the allowed error where lead and land width are known within bounds.

    The error grows with the land; with the lead it falls or (a chip wider than its land) falls too, so that the
    ends of the intervals give the bounds.
    """
    if not lead.is_known or not land.is_known:
        return UNKNOWN_SIZE
    low = allowed_error(lead.high, land.low, ipc_class, chip=chip)
    return Interval(low, max(low, allowed_error(lead.low, land.high, ipc_class, chip=chip)))


def allowed_ball_error(land_diameter: float, share: float = SELF_CENTRING_SHARE) -> float:
    """Return the error in mm that a ball grid draws out itself: a share of its land's diameter."""
    return share * land_diameter


def sigma(accuracy: float, at_sigma: float) -> float:
    """Return one sigma of an accuracy stated as ±a at n sigma: a / n."""
    if at_sigma <= 0:
        raise ValueError(f"an accuracy is stated at more than zero sigma, not {at_sigma:g}")
    return accuracy / at_sigma


def largest_sigma(allowed: float, cpk: float, bias: float = 0.0) -> float:
    """Return the largest sigma that reaches a Cpk: (allowed − |bias|) / (3·Cpk)."""
    return max(allowed - abs(bias), 0.0) / (3 * cpk)


def rotation_error(radius: float, angle: float) -> float:
    """Return the error in mm at a lead tip *radius* from the centre for a rotation error in degree."""
    return radius * math.sin(math.radians(angle))


def machine_share(allowed: float, other: float, *, worst_case: bool = False) -> float:
    """Return what board and part leave to the machine: by root of squares, or as the plain difference."""
    if worst_case:
        return max(allowed - other, 0.0)
    return math.sqrt(max(allowed * allowed - other * other, 0.0))


def ppm_outside(cpk: float) -> float:
    """Return parts per million outside both limits of a centred normal process."""
    return 2e6 * NormalDist().cdf(-3 * cpk)


_NO_REACH: Final = Interval.exactly(0.0)


class Capability(Struct, frozen=True):
    """Cpk of a part on a head within bounds, with the numbers it was worked out from (mm)."""

    cpk: Interval
    allowed: Interval
    sigma: Interval
    rotation: Interval
    """Error at the outermost lead from rotation, taken off what is allowed."""
    open_because: str = ""

    def reaches(self, limit: float = CPK_CAPABLE) -> bool | None:
        """Whether the limit is reached: True or False where proved, else None."""
        if self.cpk.low >= limit:
            return True
        return False if self.cpk.high < limit else None


def capability(
    allowed: Interval,
    accuracy: float | None,
    at_sigma: float | None,
    *,
    reach: Interval = _NO_REACH,
    rotation_accuracy: float | None = 0.0,
) -> Capability:
    """Return the Cpk of a placement: (allowed − rotation error at the outermost lead) / (3 sigma).

    *reach* is the distance from the part's centre to its outermost lead. The rotation error at the stated sigma is
    taken off in full (worst case). What the profile does not state leaves the Cpk open.
    """
    missing = [
        text
        for text, absent in (
            ("the head's accuracy", accuracy is None),
            ("the sigma at which the accuracy is stated", at_sigma is None),
            ("the head's rotation accuracy", rotation_accuracy is None),
            ("lead and land width", not allowed.is_known),
            ("the reach of the leads", not reach.is_known),
        )
        if absent
    ]
    spread = UNKNOWN_SIZE if accuracy is None or at_sigma is None else Interval.exactly(sigma(accuracy, at_sigma))
    if rotation_accuracy == 0.0:
        turned = Interval.exactly(0.0)
    elif rotation_accuracy is None or not reach.is_known:
        turned = UNKNOWN_SIZE
    else:
        turned = Interval(rotation_error(reach.low, rotation_accuracy), rotation_error(reach.high, rotation_accuracy))
    low = max(allowed.low - turned.high, 0.0)
    high = max(allowed.high - turned.low, 0.0)
    return Capability(
        Interval(_ratio(low, 3 * spread.high), max(_ratio(low, 3 * spread.high), _ratio(high, 3 * spread.low))),
        allowed,
        spread,
        turned,
        "; ".join(missing),
    )


def _ratio(above: float, below: float) -> float:
    if above == 0 or math.isinf(below):
        return 0.0
    return math.inf if below == 0 or math.isinf(above) else above / below
