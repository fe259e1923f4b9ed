"""From the digits of a land-pattern name to a body: tenths run together, diodes named by span or body, spans.

A span over the leads bounds the body from above, and the row of leads bounds it from below; the published outline
with the same pins, pitch and span narrows it where there is one.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from msgspec import Struct
from msgspec.structs import replace

from capcheck.model import LeadStyle, say
from capcheck.packages.candidate import sides
from capcheck.packages.names.outlines import outline_by_span
from capcheck.packages.tables import Family, family_table, size_table
from capcheck.values import Interval

if TYPE_CHECKING:
    from capcheck.packages.candidate import Candidate
    from capcheck.packages.tables import Size

_OUTLINE_SLACK: Final = 0.15
"""How far the nominal span and width of a published SOD may lie from those of a name that means it, in mm."""
_BENT_SODS: Final = frozenset({"SOD-123", "SOD-323", "SMA", "SMB", "SMC"})
_FLAT_SODS: Final = frozenset({"SOD-123F", "SOD-323F", "SMF"})
"""Outlines that only a name for the other form of lead can mean."""
_SPAN_SLACK: Final = 0.12
"""How far a leaded outline's span may lie from that of a name that means it, in mm."""
_FREE_SPANS: Final = frozenset({Family.DPAK, Family.SOT, Family.SOTFL})


class DigitBody(Struct, frozen=True):
    """A body read from digits: *raw_…* is what the digits leave possible, the rest with the tolerance of the size."""

    length: Interval
    width: Interval
    nominal_length: Interval
    nominal_width: Interval
    raw_length: Interval
    raw_width: Interval


def _tenths(digits: str) -> Interval:
    """Return the values that a number in tenths stands for, rounded or truncated: 12 may be 1.15 and 1.29."""
    value = int(digits) / 10
    return Interval(round(max(0.0, value - 0.05), 6), round(value + 0.1, 6))


def _split(digits: str) -> tuple[str, str, int] | None:
    """Return the two sides' digits and how many of them make a millimetre."""
    fields = {4: (2, 10), 5: (3, 10), 6: (3, 10), 8: (4, 100)}.get(len(digits))
    if fields is None:
        return None
    return digits[: fields[0]], digits[fields[0] :], fields[1]


def _known_size(digits: str, *, molded: bool) -> Size | None:
    if molded:
        return next((s for s in size_table().tantalum if s.metric.startswith(digits)), None)
    return size_table().chip_by_metric.get(digits)


def _with_tolerance(side: Interval) -> Interval:
    """Return a side of a size that no table lists, widened by the least tolerance of such bodies (from memory)."""
    slack = 0.05 if side.low >= 1 else 0.0
    return Interval(round(side.low - slack, 6), round(side.high + slack, 6))


def chip_body(digits: str, *, melf: bool = False, molded: bool = False) -> DigitBody | None:
    """Return the body that the digits of a two-terminal family give; None where they cannot be split.

    Four digits are tenths, two a side; five and six have a side of 10 mm or more; eight are hundredths. A size that
    is also a chip size code gets that code's nominal size and tolerance: 2012 is 2.0 x 1.25 mm.
    """
    parts = _split(digits)
    if parts is None:
        return None
    if melf and len(digits) == 6:
        parts = (digits[:3], digits[3:], 100)
    if digits[0] == "0" and len(digits) == 5:
        return _leading_zero_body(digits)
    one, other, per_mm = parts
    raw = (_tenths(one), _tenths(other))
    if per_mm != 10:
        raw = (Interval.about(int(one) / per_mm, 0.005), Interval.about(int(other) / per_mm, 0.005))
    nominal = (int(one) / per_mm, int(other) / per_mm)
    if min(nominal) <= 0:
        return None
    size = None if melf or len(digits) > 4 else _known_size(digits, molded=molded)
    longer, shorter = sides(*raw)
    if size is None:
        exact = Interval.exactly(max(nominal)), Interval.exactly(min(nominal))
        return DigitBody(_with_tolerance(longer), _with_tolerance(shorter), *exact, *raw)
    exact = Interval.exactly(size.nominal_length), Interval.exactly(size.nominal_width)
    return DigitBody(size.length.hull(longer), size.width.hull(shorter), *exact, *raw)


def _leading_zero_body(digits: str) -> DigitBody | None:
    """Return the body of a five-digit name below 1 mm: two digits in tenths for the length, three in hundredths."""
    size = size_table().chip_by_metric.get(digits)
    raw = _tenths(digits[:2]), Interval.about(int(digits[2:]) / 100, 0.005)
    nominal = int(digits[:2]) / 10, int(digits[2:]) / 100
    if min(nominal) <= 0:
        return None
    longer, shorter = sides(*raw)
    if size is not None:
        longer, shorter = size.length.hull(longer), size.width.hull(shorter)
    return DigitBody(longer, shorter, Interval.exactly(max(nominal)), Interval.exactly(min(nominal)), *raw)


def diode_body(name: Candidate, digits: str) -> Candidate:
    """Return a molded diode with both meanings of its first number: libraries write the span or the molded body.

    The DO-214 outline of this width that fits the number as a span gives the shorter body.
    """
    if len(digits) != 4 or name.length is None or name.width is None:
        return name
    first = _tenths(digits[:2])
    width = _tenths(digits[2:])
    fits = [
        s
        for s in size_table().named
        if s.family == "do-214" and s.span is not None and s.span.overlaps(first) and s.width.overlaps(width)
    ]
    body_fits = [
        s for s in size_table().named if s.family == "do-214" and s.length.overlaps(first) and s.width.overlaps(width)
    ]
    if body_fits and not fits:
        return replace(name, family=f"{body_fits[0].names[0]} ({name.family})", lead_style=LeadStyle.J_LEAD)
    if not fits:
        question = say("packages.span or body", name=name.piece)
        low = max(name.width.low, round(0.7 * first.low, 6))
        return replace(name, length=Interval(low, name.length.high), questions=(question,), nominal_length=None)
    low = min(s.length.low for s in fits)
    names = tuple(s.names[0] for s in fits)
    return replace(
        name,
        length=Interval(low, name.length.high),
        nominal_length=None,
        span=first,
        lead_style=LeadStyle.J_LEAD,
        family=f"{' or '.join(names)} ({name.family})",
        alternatives=(f"{first.middle:.1f} mm over the leads", f"{first.middle:.1f} mm body"),
    )


def is_size_code(digits: str) -> bool:
    """Whether the digits of a name are a chip size code in either system."""
    table = size_table()
    return digits in table.chip_by_inch or digits in table.chip_by_metric


def inch_body(name: Candidate, digits: str) -> Candidate | None:
    """Return the same name read as an inch code, where its height rules the metric size out.

    No chip is clearly higher than it is wide: CAPC0805X125 is no 0.8 x 0.5 mm chip.
    """
    size = size_table().chip_by_inch.get(digits)
    if size is None or name.height is None or name.width is None:
        return None
    if name.height.low <= 1.2 * name.width.high:
        return None
    return replace(
        name,
        length=size.length,
        width=size.width,
        nominal_length=Interval.exactly(size.nominal_length),
        nominal_width=Interval.exactly(size.nominal_width),
    )


def sod_body(name: Candidate) -> Candidate:
    """Return a SOD named by span and width with the body of the published SOD outline that has both."""
    span, width = name.span, name.width
    if span is None or width is None:
        return name
    fits = [
        s
        for s in size_table().named
        if s.span is not None
        and s.names[0] not in (_BENT_SODS if name.lead_style is LeadStyle.FLAT_LEAD else _FLAT_SODS)
        and span.overlaps(Interval.exactly(s.span.middle), _OUTLINE_SLACK)
        and width.overlaps(Interval.exactly(s.nominal_width), _OUTLINE_SLACK)
    ]
    if not fits:
        return name
    first, *others = fits
    length, sidewise = first.length, first.width
    for other in others:
        length, sidewise = length.hull(other.length), sidewise.hull(other.width)
    names = tuple(s.names[0] for s in fits)
    return replace(
        name,
        length=length,
        width=sidewise,
        alternatives=names if others else (),
        family=f"{' or '.join(names)} ({name.family})",
        scheme=say("packages.body by the outline", scheme=name.scheme, names=names),
    )


def exposed_pad_counted(pins: int, sided: int, rest: str) -> bool:
    """Whether the pin count of a name includes an exposed pad: an odd one, as leads on two or four sides come in pairs.

    A count below one lead a side and the pad is a real one; so is one that the convention's T field does not follow
    and that no row of leads gives.
    """
    return pins % 2 == 1 and (pins > sided or rest[:1] == "T")


def body_below_span(name: Candidate) -> Candidate:
    """Return a leaded package with its body: the published outline's, or what span and lead rows leave possible."""
    published = _published(name)
    if published is not None:
        return published
    span, pins, pitch = name.span, name.pins, name.pitch
    if span is None or pins is None or pitch is None or name.family_key is None:
        return name
    if family_table(name.family_key).sides_with_leads == 4:
        second = name.span_second or span
        row = max(0.0, (pins / 4 - 1) * pitch.low)
        low = row if name.span_second is None or name.span_second.overlaps(span) else row * 0.5
        return replace(name, length=Interval(low, span.high), width=Interval(min(low, second.low), second.high))
    row = max(0.0, (pins / 2 - 1) * pitch.low) if pins % 2 == 0 else 0.0
    # The body lies between the leads on one axis; along the rows it holds them all, and no rule bounds it above.
    return replace(name, width=Interval(0.0, span.high), length=Interval(row, float("inf")))


def _same_span(published: Interval, named: Interval, family: Family | None) -> bool:
    """Whether a span over the leads is that of an outline; makers bend the leads of power packages as they like."""
    if family in _FREE_SPANS and published.overlaps(named):
        return True
    return abs(published.middle - named.middle) <= _SPAN_SLACK


def _published(name: Candidate) -> Candidate | None:
    """Return *name* narrowed by the published outline with its pins, pitch and span; None where none is known."""
    if name.family_key is None or name.pins is None or name.pitch is None or name.span is None:
        return None
    outline = outline_by_span(
        name.family_key, name.pins, name.pitch, name.span, span_second=name.span_second, height=name.height
    )
    if outline is None or outline.length is None or outline.width is None:
        return None
    if outline.span is not None and not _same_span(outline.span, name.span, outline.family_key):
        # An outline with another span over the leads has another body too, however near it is.
        return None
    names = outline.alternatives or ((outline.family,) if outline.family else ())
    return replace(
        name,
        length=outline.length,
        width=outline.width,
        nominal_length=outline.nominal_length,
        nominal_width=outline.nominal_width,
        height=name.height or outline.height,
        alternatives=names if len(names) > 1 else (),
        family=outline.family or name.family,
        scheme=say("packages.body by the published outline", scheme=name.scheme, names=names),
    )
