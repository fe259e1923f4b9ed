"""A part's mass estimated from its body's volume and its kind: an interval, typical and never a proof."""

from __future__ import annotations

import math
from typing import Final

from msgspec import Struct

from capcheck.model import Basis, Body, LeadStyle, Measure
from capcheck.packages.tables import rows_of
from capcheck.values import Interval

_G_PER_MM3: Final = 1e-3
_LEAST_PART_OF_LIMIT: Final = 0.6
"""Where only an upper limit of the height is known, parts of the family are at least about so tall; from memory."""

_FAMILY_WORDS: Final = (
    ("resistor", "chip resistor"),
    ("capacitor", "chip capacitor"),
    ("inductor", "inductor"),
    ("ferrite", "inductor"),
    ("tantalum", "tantalum"),
    ("TO-2", "power"),
    ("DPAK", "power"),
    ("D2PAK", "power"),
    ("crystal", "crystal"),
    ("oscillator", "crystal"),
)
_MASSLESS: Final = ("connector", "switch", "shield", "pin header", "test point")


class _Density(Struct, frozen=True):
    """The density of parts of a kind, or of a lead style."""

    kind: str
    g_per_cm3: Interval
    source: str


def _kind(body: Body) -> str | None:
    family = body.family or ""
    if any(word in family for word in _MASSLESS):
        return None
    if body.lead_style is not LeadStyle.CAN:
        for word, kind in _FAMILY_WORDS:
            if word in family and not (kind == "chip capacitor" and body.lead_style is LeadStyle.MOLDED):
                return kind
    return body.lead_style


def estimate(body: Body) -> Measure | None:
    """Return the mass in gram of a part with this body; None where the body or its kind is not known."""
    kind = _kind(body)
    sides = (body.length, body.width, body.height)
    row = next((row for row in rows_of("densities", _Density) if row.kind == kind), None)
    if row is None or not all(math.isfinite(m.high) and m.high > 0 for m in sides):
        return None
    density = row.g_per_cm3
    height = body.height
    low_height = height.low if height.low > 0 else height.high * _LEAST_PART_OF_LIMIT
    low = body.length.low * body.width.low * low_height * density.low * _G_PER_MM3
    high = body.length.high * body.width.high * height.high * density.high * _G_PER_MM3
    value = Interval(float(f"{low:.2g}"), float(f"{max(low, high):.2g}"))
    return Measure(
        value,
        Basis.TYPICAL,
        f"body volume by the density of parts of the kind {row.kind}, "
        f"{density.low:g} to {density.high:g} g/cm³: {row.source}",
    )
