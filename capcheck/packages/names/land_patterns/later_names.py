"""Land-pattern names as later libraries write them: every side in hundredths, the count before the pitch.

``RESC160X80X55L30N`` is 1.6 x 0.8 x 0.55 mm; ``QFN32P50_500X500X100L40N`` has 32 leads on 0.5 mm under 5 x 5 mm;
``SOIC8P127_490X600X175L83N`` is 4.9 mm long and 6.0 mm over its leads. From memory of such names, no open source: each
is believed only where its numbers fit a chip size or a published outline, or where they are the body's two sides.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from msgspec.structs import replace

from capcheck.model import LeadStyle, say
from capcheck.packages.candidate import sides
from capcheck.packages.names.land_patterns.body_rules import body_below_span
from capcheck.packages.names.land_patterns.families import land_pattern
from capcheck.packages.names.land_patterns.numbers import height_of, hundredths, named_body, nominal_of, two_sides
from capcheck.packages.tables import Family, size_table
from capcheck.values import pattern

if TYPE_CHECKING:
    import re

    from capcheck.packages.candidate import Candidate
    from capcheck.packages.tables import Size

_START: Final = r"(?<![A-Z0-9])"
_THREE: Final = r"(?P<a>\d{2,4})X(?P<b>\d{2,4})X(?P<height>\d{2,4})"
_CHIP: Final = pattern(
    _START + r"(?P<family>CAPCP|CAPC|RESC|INDC|BEADC|FUSC|THRMC|VARC|LEDC|DIOC)(?P<a>\d{2,3})X(?P<b>\d{2,3})"
    r"X(?P<height>\d{2,3})(?![0-9X])"
)
_FLAT: Final = pattern(_START + r"(?P<family>P?QFN|P?SON|DFN)(?P<pins>\d{1,3})P(?P<pitch>\d{2,3})_" + _THREE)
_LEADED: Final = pattern(
    _START + r"(?P<family>SOIC|SOP|TSOP|SOTFL|SOT|SOJ)(?P<pins>\d{1,3})P(?P<pitch>\d{2,3})_" + _THREE
)
_ALL_SIDES: Final = say("packages.land pattern with all sides")
_NEAR_MM: Final = 0.11


def read_later_name(upper: str) -> Candidate | None:
    """Return *upper* (capitals) read as such a name, found anywhere in it; None if it is none."""
    for grammar, read in ((_CHIP, _chip), (_FLAT, _flat), (_LEADED, _leaded)):
        match = grammar.search(upper)
        if match is not None and (found := read(match)) is not None:
            return found
    return None


def _chip(match: re.Match[str]) -> Candidate | None:
    """Return a chip whose two sides are those of a size code."""
    longer, shorter = sides(nominal_of(match["a"]), nominal_of(match["b"]))

    def away(size: Size) -> tuple[float, bool]:
        # A code with its shorter side first is the same body with its ends on the long sides.
        off = max(abs(size.nominal_length - longer.low), abs(size.nominal_width - shorter.low))
        return round(off, 3), size.metric[:2] < size.metric[2:4]

    size = min(size_table().chip_by_metric.values(), key=away)
    if away(size)[0] > _NEAR_MM:
        return None
    pattern = land_pattern(match["family"])
    return replace(
        named_body(match[0], f"chip {size.metric}M", pattern.family, pattern.lead_style, _ALL_SIDES),
        length=size.length,
        width=size.width,
        nominal_length=longer,
        nominal_width=shorter,
        height=height_of(match["height"]),
        pins=2,
        hidden_joints=False,
    )


def _flat(match: re.Match[str]) -> Candidate:
    family = match["family"]
    pins = int(match["pins"])
    key = Family.QFN if family.endswith("QFN") else Family.SON
    return replace(
        named_body(match[0], f"{family}-{pins}", key, LeadStyle.NO_LEAD, _ALL_SIDES),
        **two_sides(match),
        pitch=hundredths(match["pitch"]),
        height=height_of(match["height"]),
        pins=pins,
        hidden_joints=True,
    )


def _leaded(match: re.Match[str]) -> Candidate | None:
    """Return the published outline whose span over the leads is one of two numbers and whose side is the other."""
    pattern, pins = land_pattern(match["family"]), int(match["pins"])
    base = replace(
        named_body(match[0], f"{pattern.word}-{pins}", pattern.family, pattern.lead_style, _ALL_SIDES),
        pitch=hundredths(match["pitch"]),
        height=height_of(match["height"]),
        pins=pins,
        hidden_joints=False,
    )
    for span, side in ((match["b"], match["a"]), (match["a"], match["b"])):
        found = body_below_span(replace(base, span=hundredths(span)))
        body = nominal_of(side)
        if found.states_size and any(
            drawn is not None and drawn.overlaps(body, _NEAR_MM) for drawn in (found.length, found.width)
        ):
            return found
    return None
