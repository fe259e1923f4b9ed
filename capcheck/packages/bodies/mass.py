"""A part's mass estimated from its body's volume and its kind: an interval, typical and never a proof."""

from __future__ import annotations

import math
from typing import Final

from msgspec import Struct

from capcheck.model import Basis, Body, Family, LeadStyle, Measure
from capcheck.packages.tables import rows_of
from capcheck.values import Interval

_G_PER_MM3: Final = 1e-3
_LEAST_PART_OF_LIMIT: Final = 0.6
"""Where only an upper limit of the height is known, parts of the family are at least about so tall; from memory."""
_LEAST_PART_OF_WIDTH: Final = 0.3
"""Flat coils and crystals are at least so high in parts of their shorter side; from memory."""

_OF_NO_DENSITY: Final = frozenset(
    (
        Family.CONNECTOR,
        Family.PIN_HEADER,
        Family.SWITCH,
        Family.RELAY,
        Family.SHIELD,
        Family.SOUNDER,
        Family.TRANSFORMER,
        Family.MODULE,
        Family.TEST_POINT,
    )
)
"""Families whose bodies are hollow or made of many things."""


class _Density(Struct, frozen=True):
    """The density of parts of some families, or else of the lead style that *kind* is."""

    kind: str
    g_per_cm3: Interval
    source: str
    families: frozenset[Family] = frozenset()


def _density(body: Body) -> _Density | None:
    if body.family_key in _OF_NO_DENSITY:
        return None
    rows = rows_of("densities", _Density)
    by_family = (row for row in rows if body.family_key in row.families and body.lead_style is not LeadStyle.CAN)
    return next(by_family, None) or next((row for row in rows if row.kind == body.lead_style), None)


def estimate(body: Body) -> Measure | None:
    """Return the mass in gram of a part with this body; None where the body or its kind is not known."""
    sides = (body.length, body.width, body.height)
    row = _density(body)
    if row is None or not all(math.isfinite(m.high) and m.high > 0 for m in sides):
        return None
    density = row.g_per_cm3
    height = body.height
    low_height = height.low if height.low > 0 else height.high * _LEAST_PART_OF_LIMIT
    if height.basis is Basis.BOUND and height.high > body.width.high:
        # A bound by the longer side is far above flat parts of the size.
        low_height = min(low_height, body.width.low * _LEAST_PART_OF_WIDTH)
    low = body.length.low * body.width.low * low_height * density.low * _G_PER_MM3
    high = body.length.high * body.width.high * height.high * density.high * _G_PER_MM3
    value = Interval(float(f"{low:.2g}"), float(f"{max(low, high):.2g}"))
    return Measure(
        value,
        Basis.TYPICAL,
        f"body volume by the density of parts of the kind {row.kind}, "
        f"{density.low:g} to {density.high:g} g/cm³: {row.source}",
    )
