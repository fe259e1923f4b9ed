"""The published outline that a land-pattern name means, which gives only pins, pitch and the span over the leads."""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING, Final

from msgspec import Struct

from capcheck.model import LeadStyle
from capcheck.packages.names.outlines.package_name import PackageName
from capcheck.packages.names.outlines.published import by_key, by_word, known_keys, words
from capcheck.packages.names.outlines.read import published_candidate
from capcheck.packages.names.written_sizes import NO_SIZES
from capcheck.packages.tables import Family, Outline, family_table

if TYPE_CHECKING:
    from capcheck.packages.candidate import Candidate
    from capcheck.values import Interval

_EQUALLY_NEAR_MM: Final = 0.11
_SAME_SPAN_MM: Final = 0.45
_BY_NUMBER: Final = {
    Family.SOT: LeadStyle.GULL_WING,
    Family.SOTFL: LeadStyle.FLAT_LEAD,
    Family.DPAK: LeadStyle.GULL_WING,
}
"""Families whose outlines have numbers and no package word, and their lead style."""


def outline_by_span(
    family: Family,
    pins: int,
    pitch: Interval,
    span: Interval,
    *,
    span_second: Interval | None = None,
    height: Interval | None = None,
) -> Candidate | None:
    """Return the published body for a family of which a name gives only pins, pitch and span over the leads.

    An odd count is taken for one with an exposed pad where no outline has it. Several outlines give their hull; None
    if none fits. *height* only decides between outlines of equal body (a 1.2 mm from a 1.6 mm quad flat package).
    """
    asked = _Asked(pitch, span, span_second, height)
    # Libraries call flat leads SOT too, as in SOT50P160X60-6N.
    alike = (family, Family.SOTFL) if family is Family.SOT else (family,)
    for count in (pins, pins - 1):
        found = next(filter(None, (asked.fitting(_with_pins(one, count)) for one in alike)), ())
        if found:
            label = f"{'TO' if family is Family.DPAK else family.upper()}-{count}"
            return published_candidate(PackageName(label, label, None, found, count, NO_SIZES), found)
    return None


def _with_pins(family: Family, pins: int) -> list[Outline]:
    """Return the outlines with so many pins that a land-pattern name of a family may mean."""
    if family in _BY_NUMBER:
        return [o for o in _numbered(family) if o.pins == pins]
    table = family_table(family)
    return list(dict.fromkeys(o for word in table.by_span for o in by_word(words()[word], pins)))


@cache
def _numbered(family: Family) -> tuple[Outline, ...]:
    every = dict.fromkeys(o for key in sorted(known_keys()) for o in by_key(key))
    return tuple(o for o in every if o.lead_style is _BY_NUMBER[family] and o.family is family)


class _Asked(Struct, frozen=True):
    """What a land-pattern name gives of an outline: pitch, one or two spans, height."""

    pitch: Interval
    span: Interval
    second: Interval | None
    height: Interval | None

    def fitting(self, outlines: list[Outline]) -> tuple[Outline, ...]:
        """Return the outlines that agree; of several, those whose span is nearest."""
        found = [o for o in outlines if self._fits(o)]
        if len(found) > 1:
            away = [abs((o.span_mm or 0.0) - self.span.middle) for o in found]
            found = [o for o, d in zip(found, away, strict=True) if d <= min(away) + _EQUALLY_NEAR_MM]
        if self.height is not None and len(found) > 1:
            found = [o for o in found if not o.height_max_mm or o.height_max_mm >= self.height.low - 0.2] or found
        return tuple(found)

    def _fits(self, outline: Outline) -> bool:
        if not outline.has_pitch(self.pitch):
            return False
        if outline.span_second_mm is None or self.second is None:
            return outline.has_span(self.span)
        asked = sorted((self.span.middle, self.second.middle))
        mine = sorted((outline.span_mm or 0.0, outline.span_second_mm))
        return all(abs(a - b) <= _SAME_SPAN_MM for a, b in zip(asked, mine, strict=True))
