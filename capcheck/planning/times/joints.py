"""What error of placement a part's joints allow, from its body and the class of product.

Only the part is known, not its land. A land is at least as wide as its termination (common practice, no source), so
the share of the width that the class lets hang over is allowed whatever the land; a wider land allows more.
Lengths are mm.
"""

from __future__ import annotations

from typing import Final

from msgspec import Struct

from capcheck.model import Body
from capcheck.packages import reach_of
from capcheck.planning.times.accuracy import SELF_CENTRING_SHARE
from capcheck.values import UNKNOWN_SIZE, Interval

MOST_OVERHANG_MM: Final = 0.5
"""Overhang of a lead is also limited to this (IPC-A-610 8.3.5 and 8.3.6)."""

MELF_SHARE: Final = 0.25
"""Share of its diameter by which a cylindrical end cap may hang over, in every class: IPC-A-610 8.3.3; from memory."""
BALL_SHARE: Final = SELF_CENTRING_SHARE / 2 * 0.8
"""Share of a ball's diameter by which it may miss: half of what it centres itself from, on a land of 0.8 of the ball.

The half is a margin for planning; 0.8 is the land of component makers' notes, from memory.
"""

USUAL_LEAD_MM: Final = {
    0.4: (0.13, 0.23),
    0.5: (0.17, 0.27),
    0.65: (0.19, 0.38),
    0.8: (0.3, 0.45),
    0.95: (0.3, 0.5),
    1.27: (0.31, 0.51),
    2.3: (0.6, 0.84),
}
"""Width of gull-wing leads by pitch: JEDEC MS-026, MO-153, TO-236, MS-012 and TO-261, from memory. No proof."""

_SAME_PITCH_MM: Final = 0.011


class Joint(Struct, frozen=True):
    """The error that a part's joints allow, as numbers for a sum.

    *formula* is the sum in words; *reach* the distance from the part's centre to its outermost lead. *missing* says
    what is not known (the allowed error then spans everything), *assumed* what usual value stands in for it.
    """

    allowed: Interval
    formula: str
    reach: Interval
    missing: str = ""
    assumed: str = ""


def _product(one: Interval, other: Interval) -> Interval:
    return Interval(one.low * other.low, one.high * other.high)


def _mm(value: Interval) -> str:
    ends = f"{value.low:.4g}" if value.is_exact else f"{value.low:.4g} to {value.high:.4g}"
    return f"{ends} mm"


def _share(value: Interval) -> str:
    return f"{value.low:g}" if value.is_exact else f"{value.low:g} to {value.high:g} (class of product not stated)"


def _usual_lead(body: Body) -> Interval | None:
    pitch = body.pitch.value
    if body.lead_style != "gull wing" or not pitch.is_known:
        return None
    near = [w for p, w in USUAL_LEAD_MM.items() if p - _SAME_PITCH_MM <= pitch.low and pitch.high <= p + _SAME_PITCH_MM]
    return Interval(*near[0]) if near else None


def joint_of(body: Body, share: Interval) -> Joint:
    """Return what a part's joints allow; *share* is the share of a width that the class lets hang over."""
    reach, style = reach_of(body), body.lead_style
    if style in {"chip", "melf"}:
        width = body.width.proved.value
        if style == "melf":
            share = Interval(min(share.low, MELF_SHARE), min(share.high, MELF_SHARE))
        if not width.is_known:
            return Joint(UNKNOWN_SIZE, "", reach, "the width of the chip")
        return Joint(_product(width, share), f"{_share(share)} × {_mm(width)} wide", reach)
    if style in {"gull wing", "flat lead", "J lead"}:
        return _lead_joint(body, share, reach)
    if style == "ball grid":
        ball = body.ball_diameter.proved.value
        if not ball.is_known:
            return Joint(UNKNOWN_SIZE, "", reach, "the diameter of the balls")
        return Joint(ball.scaled(BALL_SHARE), f"{BALL_SHARE:g} × {_mm(ball)} ball", reach)
    if style is None:
        return Joint(UNKNOWN_SIZE, "", reach, "the style of the leads")
    return Joint(UNKNOWN_SIZE, "", reach, "what overhang their style of joint allows")


def _lead_joint(body: Body, share: Interval, reach: Interval) -> Joint:
    width, assumed = body.lead_width.proved.value, ""
    if not width.is_known:
        usual = _usual_lead(body)
        if usual is None:
            return Joint(UNKNOWN_SIZE, "", reach, "the width of the leads")
        width, assumed = usual, f"the width of the leads, as usual for {body.pitch.value.middle:.3g} mm pitch"
    allowed = _product(width, share)
    least = Interval(min(allowed.low, MOST_OVERHANG_MM), min(allowed.high, MOST_OVERHANG_MM))
    most = f", at most {MOST_OVERHANG_MM:g} mm" if allowed.high > MOST_OVERHANG_MM else ""
    return Joint(least, f"{_share(share)} × {_mm(width)} lead{most}", reach, assumed=assumed)
