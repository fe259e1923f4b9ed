"""A reading that spans several bodies, reduced to those that the other readings of the same part leave possible."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec.structs import replace

from capcheck.packages.bodies.conflicts import quoted, same_body
from capcheck.packages.candidate import hull_of

if TYPE_CHECKING:
    from collections.abc import Iterable

    from capcheck.packages.candidate import Reading
    from capcheck.values import Interval


def narrowed(readings: list[Reading]) -> list[Reading]:
    """Return the readings, in their order, with each hull reduced by what the others say of the body's sides."""
    if not any(r.alternatives for r in readings):
        return readings
    found = []
    for reading in readings:
        kept = reading
        for other in readings:
            if other is not reading and kept.alternatives and not (other.length is None and other.width is None):
                kept = _among(kept, other) if kept.members else _within(kept, other)
        found.append(kept)
    return found


def against_dimensions(code: Reading, stated: Iterable[Reading]) -> Reading:
    """Return a size code's reading as it is, or the hull with dimensions in the same text that rule its size out.

    A name that says 0603 and 6.0 x 3.5 mm means one of the two, and does not say which.
    """
    for dimensions in stated:
        if dimensions.states_size() and code.states_size() and not same_body(code, dimensions):
            question = f"{code.source} gives another size than the dimensions beside it: state the length and width"
            both = hull_of((code, dimensions), f"{code.source}, or {dimensions.source}", question)
            return replace(both, mounting=code.mounting, family=code.family, members=())
    return code


def _among(hull: Reading, other: Reading) -> Reading:
    """Return *hull* as the hull of those of its members that *other* may be."""
    fitting = tuple(m for m in hull.members if same_body(m, other))
    if not fitting or len(fitting) == len(hull.members):
        return hull
    source = f"{hull.source}, narrowed by {other.source}"
    if len(fitting) > 1:
        return hull_of(fitting, source, *hull.questions[:1])
    return replace(fitting[0], source=source, trust=hull.trust, questions=(), members=(), alternatives=())


def _within(hull: Reading, other: Reading) -> Reading:
    """Return *hull* with the sides of *other*, where those lie inside what is possible and leave less open."""
    if other.alternatives or not (other.states_size() and hull.states_size()):
        return hull
    if quoted(other.source) == quoted(hull.source):
        return hull  # the text that leaves it open has been read with all that stands in it
    if not (_closer(other.length, hull.length) and _closer(other.width, hull.width)):
        return hull
    return replace(
        hull,
        length=other.length,
        width=other.width,
        nominal_length=other.nominal_length,
        nominal_width=other.nominal_width,
        source=f"{hull.source}, narrowed by {other.source}",
        questions=(),
        alternatives=(),
        oriented=other.oriented,
        basis=other.basis,
    )


def _closer(one: Interval | None, wide: Interval | None) -> bool:
    """Whether *one* lies inside *wide* and leaves at most half as much open."""
    if one is None or wide is None:
        return False
    return wide.low <= one.low and one.high <= wide.high and 2 * (one.high - one.low) <= wide.high - wide.low
