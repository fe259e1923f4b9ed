"""What error of placement a part's joints allow, from its body and the class of product.

Only the part is known, not its land. A land is at least as wide as its termination (common practice, no source), so
the share of the width that the class lets hang over is allowed whatever the land; a wider land allows more.
Lengths are mm.
"""

from __future__ import annotations

import enum
from typing import Final

from msgspec import Struct

from capcheck.model import NOTHING, Body, Said, say
from capcheck.packages import reach_of
from capcheck.values import UNKNOWN_SIZE, Interval

MOST_OVERHANG_MM: Final = 0.5
"""Overhang of a lead is also limited to this (IPC-A-610 8.3.5 and 8.3.6)."""

MELF_SHARE: Final = 0.25
"""Share of its diameter by which a cylindrical end cap may hang over, in every class: IPC-A-610 8.3.3; from memory."""
BALL_SHARE: Final = 0.5 / 2 * 0.8
"""Share of a ball's diameter by which it may miss: half of what it centres itself from, on a land of 0.8 of the ball.

A ball is drawn in from half its land's diameter (common practice, no source); that half is halved as a margin for
planning; 0.8 is the land of component makers' notes, from memory.
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


class Missing(enum.StrEnum):
    """What keeps a Cpk open. The value is the phrase that reports use."""

    ACCURACY = "the head's accuracy"
    SIGMA = "the sigma at which the accuracy is stated"
    ROTATION_ACCURACY = "the head's rotation accuracy"
    LEAD_AND_LAND = "lead and land width"
    REACH = "the reach of the leads"
    CHIP_WIDTH = "the width of the chip"
    LEAD_WIDTH = "the width of the leads"
    BALL_DIAMETER = "the diameter of the balls"
    LEAD_STYLE = "the style of the leads"
    OVERHANG = "what overhang their style of joint allows"


class Joint(Struct, frozen=True):
    """The error that a part's joints allow, as numbers for a sum.

    *formula* is the sum; *reach* the distance from the part's centre to its outermost lead. *missing* says what is not
    known (the allowed error then spans everything), *assumed* what usual value stands in for it.
    """

    allowed: Interval
    reach: Interval
    formula: Said = NOTHING
    missing: Missing | None = None
    assumed: Said | None = None


def _product(one: Interval, other: Interval) -> Interval:
    return Interval(one.low * other.low, one.high * other.high)


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
            return Joint(UNKNOWN_SIZE, reach, missing=Missing.CHIP_WIDTH)
        return Joint(_product(width, share), reach, _share_of("planning.share of width", share, width))
    if style in {"gull wing", "flat lead", "J lead"}:
        return _lead_joint(body, share, reach)
    if style == "ball grid":
        ball = body.ball_diameter.proved.value
        if not ball.is_known:
            return Joint(UNKNOWN_SIZE, reach, missing=Missing.BALL_DIAMETER)
        return Joint(ball.scaled(BALL_SHARE), reach, say("planning.share of ball", share=BALL_SHARE, ball=ball))
    return Joint(UNKNOWN_SIZE, reach, missing=Missing.LEAD_STYLE if style is None else Missing.OVERHANG)


def _lead_joint(body: Body, share: Interval, reach: Interval) -> Joint:
    width, assumed = body.lead_width.proved.value, None
    if not width.is_known:
        usual = _usual_lead(body)
        if usual is None:
            return Joint(UNKNOWN_SIZE, reach, missing=Missing.LEAD_WIDTH)
        width, assumed = usual, say("planning.usual lead width", pitch=body.pitch.value.middle)
    allowed = _product(width, share)
    least = Interval(min(allowed.low, MOST_OVERHANG_MM), min(allowed.high, MOST_OVERHANG_MM))
    most = say("planning.at most", most=MOST_OVERHANG_MM) if allowed.high > MOST_OVERHANG_MM else NOTHING
    return Joint(least, reach, _share_of("planning.share of lead", share, width, most=most), assumed=assumed)


def _share_of(key: str, share: Interval, width: Interval, **more: object) -> Said:
    return say(key, share=share, class_open=not share.is_exact, width=width, **more)
