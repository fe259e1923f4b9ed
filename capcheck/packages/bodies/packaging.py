"""What follows from a body that is settled: ball diameter, joints hidden or not, mass, and how the part is supplied."""

from __future__ import annotations

import math
from functools import cache
from typing import Final

from msgspec.structs import replace

from capcheck.model import Basis, Body, Measure
from capcheck.packages.bodies import mass
from capcheck.packages.names import HIDDEN
from capcheck.packages.tables import ball_diameter, rows_of, tape_for_body

_VISIBLE: Final = frozenset(("gull wing", "flat lead", "J lead", "chip", "melf", "molded", "can"))
_STICK_STYLES: Final = frozenset(("J lead",))
_LEAST_STICK_PINS: Final = 14
"""Diodes and oscillators with two to eight J leads come on tape; common practice, no source."""


def complete(body: Body) -> Body:
    """Return *body* with what is still unknown derived from it; nothing that is known is changed.

    Ball diameter, mass and tape are typical measures with their sources. A part that is not placed on the surface
    gets no tape.
    """
    changes: dict[str, object] = {}
    if body.hidden_joints is None and body.lead_style is not None:
        hidden = body.lead_style in HIDDEN
        if hidden or body.lead_style in _VISIBLE:
            changes["hidden_joints"] = hidden
    if (
        body.lead_style == "ball grid"
        and _unknown(body.ball_diameter)
        and not _unknown(body.pitch)
        and math.isfinite(body.pitch.high)
    ):
        found = ball_diameter(body.pitch.value)
        if found is not None:
            changes["ball_diameter"] = found
    if _unknown(body.mass) and (estimate := mass.estimate(body)) is not None:
        changes["mass"] = estimate
    if body.mounting in {"through hole", "none"}:
        return replace(body, **changes) if changes else body
    if _unknown(body.tape_width) or _unknown(body.tape_pitch):
        found_tape = tape_for_body(body)
        if found_tape is not None:
            width, pitch = found_tape
            if _unknown(body.tape_width):
                changes["tape_width"] = width
            if _unknown(body.tape_pitch):
                changes["tape_pitch"] = pitch
    if body.supply is None and (form := form_of(body)) is not None:
        changes["supply"] = form
    return replace(body, **changes) if changes else body


@cache
def _tray_from_mm() -> dict[str, float]:
    """Return the side in mm from which a kind of part comes in trays more often than on tape."""
    return {r["kind"]: float(r["side_from_mm"]) for r in rows_of("trays")}


def _unknown(measure: Measure) -> bool:
    return measure.basis is Basis.UNKNOWN


def form_of(body: Body) -> str | None:
    """Return ``tape``, ``tray`` or ``stick`` as such a part usually comes; None where the body is not known."""
    if body.mounting in {"through hole", "none"}:
        return None
    long, short = body.length, body.width
    if not (math.isfinite(long.high) and math.isfinite(short.high)):
        return None
    if body.lead_style in _STICK_STYLES and (body.pins is None or body.pins >= _LEAST_STICK_PINS):
        return "stick"
    family = (body.family or "").upper()
    kind = "quad" if body.lead_style == "gull wing" and "QF" in family else body.lead_style or ""
    most = _tray_from_mm()["any"]
    limit = _tray_from_mm().get(kind, most)
    middle = long.value.middle
    if middle >= most or (middle >= limit - 0.2 and short.value.middle >= limit / 2):
        return "tray"
    return "tape"
