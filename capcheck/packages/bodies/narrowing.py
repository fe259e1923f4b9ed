"""A candidate that spans several bodies, reduced to those that the others of the same part leave possible."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec.structs import replace

from capcheck.model import Basis, Said, say
from capcheck.packages.bodies.conflicts import other_leads, same_body, same_leads
from capcheck.packages.candidate import MEASURED, Trust, hull_of

if TYPE_CHECKING:
    from collections.abc import Iterable

    from capcheck.packages.candidate import Candidate
    from capcheck.values import Interval


def narrowed(candidates: list[Candidate]) -> list[Candidate]:
    """Return the candidates, in their order, with each hull reduced by what the others say of the body's sides.

    What reduces one may reduce another again: a number whose letters stand for four packages is one of them by the
    count of a footprint, whose own body it then tells. Typical sides give way to those that another source states.
    """
    once = _narrowed_once(candidates)
    return [_typical_beside(c, once) for c in (once if once is candidates else _narrowed_once(once))]


def _typical_beside(candidate: Candidate, others: list[Candidate]) -> Candidate:
    """Return a candidate whose sides are only typical without them, where a number of the same leads has its own."""
    if candidate.basis is not Basis.TYPICAL or not any(
        o.trust is Trust.PART_NUMBER
        and o.basis is not Basis.TYPICAL
        and o.states_size
        and o.pins == candidate.pins
        and not other_leads(candidate, o)
        for o in others
    ):
        return candidate
    return replace(candidate, **dict.fromkeys(MEASURED), questions=())


def _narrowed_once(candidates: list[Candidate]) -> list[Candidate]:
    if not any(c.alternatives for c in candidates):
        return candidates
    found = []
    for candidate in candidates:
        kept = candidate
        # A text that names other leads speaks of another body: it says nothing of this one's sides.
        apart = {other.text for other in candidates if other_leads(candidate, other)} if candidate.alternatives else ()
        for other in () if candidate.all_stated else (c for c in candidates if c.text not in apart):
            if other is not candidate and kept.alternatives and not (other.length is None and other.width is None):
                kept = _among(kept, other) if kept.members else _within(kept, other)
        found.append(kept)
    return found


def against_dimensions(code: Candidate, stated: Iterable[Candidate]) -> Candidate:
    """Return a size code's candidate as it is, or the hull with dimensions in the same text that rule its size out.

    A name that says 0603 and 6.0 x 3.5 mm means one of the two, and does not say which.
    """
    for dimensions in stated:
        if dimensions.states_size and code.states_size and not same_body(code, dimensions):
            question = say("packages.another size beside it", origin=code.origin)
            scheme = say("packages.or other dimensions", scheme=code.scheme, other=dimensions.origin)
            both = hull_of((code, dimensions), scheme, question)
            return replace(both, mounting=code.mounting, family=code.family, members=())
    return code


def _among(hull: Candidate, other: Candidate) -> Candidate:
    """Return *hull* as the hull of those of its members that *other* may be."""
    fitting = tuple(m for m in hull.members if same_body(m, other) and same_leads(m, other))
    if not fitting or len(fitting) == len(hull.members):
        return hull
    first, *others = fitting
    if others:
        narrower = hull_of(fitting, hull.scheme, *hull.questions[:1])
    else:
        narrower = _within(replace(first, trust=hull.trust, questions=(), members=(), alternatives=()), other)
    return replace(
        narrower,
        column=hull.column,
        text=hull.text,
        scheme=_narrowed_by(other, hull),
        narrowed_by=(*hull.narrowed_by, _whence(other)),
    )


def _within(hull: Candidate, other: Candidate) -> Candidate:
    """Return *hull* with the sides of *other*, where those lie inside what is possible and leave less open."""
    if other.alternatives or not (other.states_size and hull.states_size):
        return hull
    if other.text == hull.text:
        return hull  # the text that leaves it open has been read with all that stands in it
    if not (_closer(other.length, hull.length) and _closer(other.width, hull.width)):
        return hull
    return replace(
        hull,
        length=other.length,
        width=other.width,
        nominal_length=other.nominal_length,
        nominal_width=other.nominal_width,
        pitch=other.pitch if _inside(other.pitch, hull.pitch) else hull.pitch,
        scheme=_narrowed_by(other, hull),
        narrowed_by=(*hull.narrowed_by, _whence(other)),
        questions=(),
        alternatives=(),
        oriented=other.oriented,
        basis=other.basis,
    )


def _narrowed_by(other: Candidate, hull: Candidate) -> Said:
    return say("packages.narrowed", scheme=hull.scheme, other=_whence(other))


def _whence(candidate: Candidate) -> Said:
    """Return where a candidate comes from, without what narrowed it in turn: that may be the one that it narrows."""
    scheme = candidate.scheme
    while scheme.key == "packages.narrowed" and isinstance(inner := scheme.values["scheme"], Said):
        scheme = inner
    return replace(candidate, scheme=scheme).origin


def _inside(one: Interval | None, wide: Interval | None) -> bool:
    return one is not None and wide is not None and wide.low <= one.low and one.high <= wide.high


def _closer(one: Interval | None, wide: Interval | None) -> bool:
    """Whether *one* lies inside *wide* and leaves at most half as much open."""
    if one is None or wide is None or not _inside(one, wide):
        return False
    return 2 * (one.high - one.low) <= wide.high - wide.low
