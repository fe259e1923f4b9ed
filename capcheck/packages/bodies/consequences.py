"""What follows from a body that is settled: ball diameter, joints hidden or not, mass, and how the part is supplied."""

from __future__ import annotations

import math
from typing import Final

from msgspec import Struct
from msgspec.structs import replace

from capcheck.lexicon import sentence
from capcheck.model import NOT_ON_THE_SURFACE, QUAD_FLAT, Basis, Body, LeadStyle, Measure, Mounting, Packaging, say
from capcheck.packages.bodies import mass
from capcheck.packages.names import UNDER_THE_BODY
from capcheck.packages.tables import ball_diameter, rows_of, tape_for_body
from capcheck.values import Interval

_BESIDE_THE_BODY: Final = frozenset(
    (
        LeadStyle.GULL_WING,
        LeadStyle.FLAT_LEAD,
        LeadStyle.J_LEAD,
        LeadStyle.CHIP,
        LeadStyle.MELF,
        LeadStyle.MOLDED,
        LeadStyle.CAN,
    )
)
"""Lead styles whose joints are seen."""
_LEAST_STICK_PINS: Final = 14
"""Diodes and oscillators with two to eight J leads come on tape; common practice, no source."""


_SIDES: Final = ("length", "width", "height")


def _nothing() -> Measure:
    """Return the measure of a body where nothing is placed: copper, print or a hole."""
    return Measure(Interval.exactly(0.0), Basis.BOUND, sentence(say("packages.no body")))


class _Tray(Struct, frozen=True):
    """The side from which a kind of part comes in trays more often than on tape."""

    kind: str
    side_from_mm: float
    source: str


def with_consequences(body: Body) -> Body:
    """Return *body* with what is still unknown derived from it; nothing that is known is changed.

    A feature of the board has no body: nothing of it rises above the copper.

    Ball diameter, mass and tape are typical measures with their sources. A part that is not placed on the surface
    gets no tape.
    """
    if body.mounting is Mounting.NONE:
        return replace(body, **{side: _nothing() for side in _SIDES if _unknown(getattr(body, side))})
    changes: dict[str, object] = {}
    if body.hidden_joints is None and body.lead_style in UNDER_THE_BODY | _BESIDE_THE_BODY:
        changes["hidden_joints"] = body.lead_style in UNDER_THE_BODY
    on_balls = body.lead_style is LeadStyle.BALL_GRID and _unknown(body.ball_diameter) and not _unknown(body.pitch)
    if on_balls and math.isfinite(body.pitch.high) and (found := ball_diameter(body.pitch.value)) is not None:
        changes["ball_diameter"] = found
    if _unknown(body.mass) and (estimate := mass.estimate(body)) is not None:
        changes["mass"] = estimate
    if body.mounting not in NOT_ON_THE_SURFACE:
        if (tape := tape_for_body(body)) is not None:
            width, pitch = tape
            changes["tape_width"] = width if _unknown(body.tape_width) else body.tape_width
            changes["tape_pitch"] = pitch if _unknown(body.tape_pitch) else body.tape_pitch
        if body.supply is None and (usual := usual_packaging(body)) is not None:
            changes |= {"supply": usual, "supply_is_usual": True}
    return replace(body, **changes) if changes else body


def _unknown(measure: Measure) -> bool:
    return measure.basis is Basis.UNKNOWN


def usual_packaging(body: Body) -> Packaging | None:
    """Return what such a part usually comes in; None where the body is not known or the part is drilled."""
    if body.mounting in NOT_ON_THE_SURFACE:
        return None
    long, short = body.length, body.width
    if not (math.isfinite(long.high) and math.isfinite(short.high)):
        return None
    if body.lead_style is LeadStyle.J_LEAD and (body.pins is None or body.pins >= _LEAST_STICK_PINS):
        return Packaging.STICK
    is_quad = body.lead_style is LeadStyle.GULL_WING and body.family_key in QUAD_FLAT
    kind = "quad" if is_quad else body.lead_style or ""
    tray_from_mm = {row.kind: row.side_from_mm for row in rows_of("trays", _Tray)}
    most = tray_from_mm["any"]
    limit = tray_from_mm.get(kind, most)
    middle = long.value.middle
    if middle >= most or (middle >= limit - 0.2 and short.value.middle >= limit / 2):
        return Packaging.TRAY
    return Packaging.TAPE
