"""Where two candidates of a part exclude each other: a statement with both, their sources, and which one is used."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final, NamedTuple

from capcheck.model import Basis, LeadStyle, Mounting, say
from capcheck.packages.bodies.lead_counts import FEW_LEADS, counts_leads, same_count
from capcheck.packages.bodies.sorts import other_sort
from capcheck.packages.candidate import PROSE, Candidate, Column, Trust, measured_in, sides
from capcheck.packages.names import opposed, says_surface, speaks_of_itself
from capcheck.values import LENGTH, Interval, show, show_sides

if TYPE_CHECKING:
    from collections.abc import Sequence

    from capcheck.model import Said

_NO_SIZE: Final = "no size"
_LEAST_SLACK: Final = 0.05
_SLACK_SHARE: Final = 0.05
_MOST_SLACK: Final = 0.25
_PITCH_SLACK: Final = 0.02
_MASS_SHARE: Final = 0.1
"""Masses that differ by no more are one: makers weigh lots, and round."""
_FINE: Final = frozenset({"pitch", "ball_diameter", "lead_width"})

_WRITTEN: Final = frozenset({Trust.STATED, Trust.LIBRARY, Trust.FREE_TEXT})
"""Where somebody wrote a size, and no code or name stands for it."""
DISPUTED_FIELDS: Final = (
    "pins",
    "pitch",
    "height",
    "span",
    "ball_diameter",
    "lead_width",
    "mass",
    "mounting",
    "lead_style",
)
"""Fields of one body on which two sources may exclude each other."""

_NAMED: Final = frozenset({"pins", "lead_style"})
_LANDS_OF: Final = {
    LeadStyle.GULL_WING: "outside the body",
    LeadStyle.J_LEAD: "around the body",
    LeadStyle.NO_LEAD: "along the edge",
    LeadStyle.BALL_GRID: "under the body",
    LeadStyle.COLUMN_GRID: "under the body",
}
"""Where the lands of a style of leads lie: parts of two of them do not go on one land pattern. The rest is left out:
flat leads are called no leads as often, and lands in a grid may be a row along the edge."""

_OF_CHIPS: Final = frozenset({LeadStyle.CHIP, LeadStyle.MELF})
_BENT: Final = frozenset({LeadStyle.GULL_WING, LeadStyle.J_LEAD, LeadStyle.CAN})
_NEVER_MADE_AS: Final = {
    LeadStyle.CHIP: _BENT | {LeadStyle.MELF},
    LeadStyle.MELF: _BENT | {LeadStyle.CHIP},
    **dict.fromkeys(_BENT, _OF_CHIPS),
}
"""Styles of which no part is made in both: a size code of a chip is another body than SOD-123, whatever lands fit."""

_PROVES_NOTHING: Final = frozenset({Basis.BOUND, Basis.TYPICAL, Basis.UNKNOWN})


def slack(value: Interval) -> float:
    """Return the gap in mm between two sizes that is no disagreement: makers round, and tolerances differ."""
    return min(_MOST_SLACK, _LEAST_SLACK + _SLACK_SHARE * (value.low if value.low > 0 else value.high))


def agree(one: Interval | None, other: Interval | None) -> bool:
    """Whether two sizes may be the same; what is not stated agrees with everything."""
    return one is None or other is None or one.overlaps(other, slack(one))


def same_body(one: Candidate, other: Candidate) -> bool:
    """Whether two candidates may speak of one body; a hull does if one of its members does, a list if each does.

    A part number of another sort of part than the other source names speaks of another body, whatever its size.
    """
    if other_sort(one, other):
        return False
    for several, beside in ((one, other), (other, one)):
        if several.all_stated:
            return all(same_body(member, beside) for member in several.members)
    mine, theirs = one.members or (one,), other.members or (other,)
    return any(_agree_on_sides(m, t) or _with_leads(m, t) or _with_leads(t, m) for m in mine for t in theirs)


def _with_leads(bare: Candidate, over_leads: Candidate) -> bool:
    """Whether *over_leads* states the sides of *bare* with its leads: the span instead of one side, or of both.

    Only a written size may be meant so: the body of a named family is without leads.
    """
    if bare.span is None or over_leads.trust not in _WRITTEN or not (bare.states_size and over_leads.states_size):
        return False
    outer = sides(over_leads.length, over_leads.width) if over_leads.length and over_leads.width else None
    others = (bare.length, bare.width, bare.span_second or bare.span)
    return outer is not None and any(
        agree(longer, outer[0]) and agree(shorter, outer[1])
        for longer, shorter in (sides(bare.span, other) for other in others if other is not None)
    )


_BY_CODE: Final = frozenset({Trust.LAND_PATTERN, Trust.SIZE_CODE, Trust.PART_NUMBER})
"""Where the size of a chip is one of a series, and no measure."""


def _next_in_series(one: Candidate, other: Candidate) -> bool:
    """Whether two codes of chips name two sizes of the series: their tolerances meet, no chip is of both."""
    if not all(c.trust in _BY_CODE and c.lead_style is LeadStyle.CHIP for c in (one, other)):
        return False
    pairs = ((one.nominal_length, other.length), (other.nominal_length, one.length))
    return all(nominal is not None and side is not None and not nominal.overlaps(side) for nominal, side in pairs)


def _agree_on_sides(one: Candidate, other: Candidate) -> bool:
    if _next_in_series(one, other):
        return False
    if not one.oriented and not other.oriented:
        return _agree_on_side(_length(one), _length(other)) and _agree_on_side(_width(one), _width(other))
    # One that says what lies along x may have its shorter side there.
    return all(map(_agree_on_side, _sorted_sides(one), _sorted_sides(other)))


class _Side(NamedTuple):
    """A side as a candidate states it, and the nominal value, where there is one."""

    value: Interval | None
    nominal: Interval | None


def _length(candidate: Candidate) -> _Side:
    return _Side(candidate.length, candidate.nominal_length)


def _width(candidate: Candidate) -> _Side:
    return _Side(candidate.width, candidate.nominal_width)


def _agree_on_side(one: _Side, other: _Side) -> bool:
    """Whether two sides may be the same: they meet, and the nominal value of one is possible for the other.

    Tolerances bring a coil of 3 mm and one of 4 mm close to each other, and yet no part is both.
    """
    meet = agree(one.value, other.value)
    if one.nominal is None or other.nominal is None or not (one.nominal.is_exact and other.nominal.is_exact):
        return meet
    return meet and (agree(one.value, other.nominal) or agree(other.value, one.nominal))


def _sorted_sides(candidate: Candidate) -> tuple[_Side, _Side]:
    length, width = _length(candidate), _width(candidate)
    if length.value is None or width.value is None:
        return length, width
    nominal = (
        sides(length.nominal, width.nominal)
        if length.nominal is not None and width.nominal is not None
        else (None, None)
    )
    longer, shorter = map(_Side, sides(length.value, width.value), nominal)
    return longer, shorter


def body_conflict(used: Candidate, other: Candidate) -> tuple[str, str] | None:
    """Return the bodies that *used* and *other* state, as a reader is shown them; None where they may be one."""
    if not _may_contradict(used, other) or same_body(used, other):
        return None
    if other_sort(used, other):
        return _sort_and_size(used), _sort_and_size(other)
    return _size(used), _size(other)


def field_conflict(used: Candidate, other: Candidate, field: str) -> tuple[str, str] | None:
    """Return what *used* and *other* say of *field*, one of :data:`DISPUTED_FIELDS`; None where they may agree."""
    mine, theirs = getattr(used, field), getattr(other, field)
    if mine is None or theirs is None or not _are_two_sources(used, other, field):
        return None
    if field == "mounting" and opposed(used, other):
        return None if _is_loose(used) or _is_loose(other) else (str(mine), str(theirs))
    if not _may_contradict(used, other, field):
        return None
    written = field == "height" and other.basis is Basis.DECODED
    loose = other.trust is Trust.PACKAGE_NAME and other.column in PROSE and field != "lead_style" and not written
    if loose and not (field == "pins" and counts_leads(other)):
        # Prose says SOT-23 of every small transistor outline, with five leads or six, high or low.
        return None
    if field in {"pins", "mounting", "lead_style"}:
        return (str(mine), str(theirs)) if _excludes(used, other, field) else None
    dimension = measured_in(field)
    far = field == "height" and other.trust is Trust.FREE_TEXT and far_above(mine, theirs)
    doubled = field == "pitch" and _three_leads(used, other) and (_doubled(mine, theirs) or _doubled(theirs, mine))
    if doubled or (mine.overlaps(theirs, _field_slack(field, mine)) and not far):
        return None
    return show(mine.low, mine.high, dimension), show(theirs.low, theirs.high, dimension)


def _excludes(used: Candidate, other: Candidate, field: str) -> bool:
    """Whether two candidates exclude each other in a field that is no length."""
    if field == "pins":
        return not same_count(used, other)
    mine, theirs = getattr(used, field), getattr(other, field)
    return mine is not theirs if field == "mounting" else other_leads(used, other)


def other_leads(one: Candidate, other: Candidate) -> bool:
    """Whether no part has the leads of both: they lie on other lands, or none is made so."""
    mine, theirs = one.lead_style, other.lead_style
    if mine is None or theirs is None:
        return False
    lands = _LANDS_OF.get(mine, ""), _LANDS_OF.get(theirs, "")
    return (all(lands) and lands[0] != lands[1]) or theirs in _NEVER_MADE_AS.get(mine, ())


def _is_loose(candidate: Candidate) -> bool:
    """Whether a package's name tells the mounting of another part: ``replaces DIP-8``, ``SMD version of TO-220``."""
    if candidate.trust is not Trust.PACKAGE_NAME or candidate.column is Column.FOOTPRINT:
        return False
    drilled = candidate.mounting is Mounting.THROUGH_HOLE
    return not speaks_of_itself(candidate.text) or (drilled and says_surface(candidate.text))


def far_above(mine: Interval, theirs: Interval) -> bool:
    """Whether a text bounds the height so far above the body taken that it speaks of another one: max. 12 mm of 1.2."""
    return theirs.low <= 0 and theirs.high > _FAR * mine.high


_FAR: Final = 2.0


def _field_slack(field: str, value: Interval) -> float:
    if field == "mass":
        return _MASS_SHARE * (value.low if value.low > 0 else value.high)
    return _PITCH_SLACK if field in _FINE else slack(value)


def same_leads(one: Candidate, other: Candidate) -> bool:
    """Whether count and pitch of the leads of two candidates may be the same; what is not stated agrees."""
    if one.pins is not None and other.pins is not None and not (same_count(one, other) or same_count(other, one)):
        return False
    if one.pitch is None or other.pitch is None or one.pitch.overlaps(other.pitch, _PITCH_SLACK):
        return True
    return _three_leads(one, other) and (_doubled(one.pitch, other.pitch) or _doubled(other.pitch, one.pitch))


def _three_leads(used: Candidate, other: Candidate) -> bool:
    return FEW_LEADS in {used.pins, other.pins}


def _doubled(pitch: Interval, other: Interval) -> bool:
    """Whether one pitch of three leads is that between the two on one side, the other that to the third across."""
    return pitch.overlaps(Interval(2 * other.low, 2 * other.high), _PITCH_SLACK)


def _may_contradict(used: Candidate, other: Candidate, field: str = "body") -> bool:
    """Whether a difference between two candidates in a field is a disagreement of two sources."""
    if not _are_two_sources(used, other, field):
        return False
    # The outlines that a bare name such as DFN-8 fits are no complete list of what is sold under it.
    return not (other.members and other.trust is Trust.PACKAGE_NAME) or _holds_for_all(other, field)


def _are_two_sources(used: Candidate, other: Candidate, field: str = "body") -> bool:
    """Whether both state something, in two texts.

    The sizes of a bare name such as QFN-8 are no more than typical; where its leads lie and how many, it states. Two
    meanings of one text are no two sources; a second size in a footprint's name is a pad as often as a body.
    """
    stated = all(
        c.basis not in _PROVES_NOTHING
        or (field in _NAMED and c.basis is Basis.TYPICAL and c.trust is Trust.PACKAGE_NAME)
        for c in (used, other)
    )
    return stated and used.text != other.text


def _holds_for_all(hull: Candidate, field: str) -> bool:
    """Whether a bare name such as SOIC-16 says a field of every outline that is sold under it.

    The letters say where the leads lie, the number how many there are. The pitch and the body they say of leads bent
    outside the body alone: QFN-32 has any.
    """
    if field == "lead_style" or (field == "body" and hull.lead_style is LeadStyle.GULL_WING):
        return True
    one_value = all(getattr(member, field, None) == getattr(hull, field, None) for member in hull.members)
    return one_value and (field == "pins" or (field == "pitch" and hull.lead_style is LeadStyle.GULL_WING))


def are_two_keepers(one: Candidate, other: Candidate) -> bool:
    """Whether one figure stands in the shop's store, the other in a list of its bodies or in a kept board's files."""
    both = one.trust is Trust.LIBRARY and other.trust is Trust.LIBRARY
    return both and (one.is_of_store != other.is_of_store or one.is_unsettled != other.is_unsettled)


def conflict_said(
    field: str, used: Candidate, others: Sequence[Candidate], values: tuple[str, str], *, settled: bool
) -> Said:
    """Return the statement of a disagreement: both sides with what they say, which counts, and what changes that.

    *values* are what *used* says and what all of *others* say.
    """
    value, other_value = values
    return say(
        "packages.conflict" if settled else "packages.conflict open",
        field=field.replace("_", " "),
        used=used.origin,
        value=value,
        others=tuple(other.origin for other in others),
        other_value=other_value,
        reason=_why_used(used, others[0]) if settled else _what_settles(field, used, others[0]),
    )


def _why_used(used: Candidate, other: Candidate) -> Said:
    """Return why one of two sources is believed, and what would change that."""
    if are_two_keepers(used, other):
        return say("packages.keeper preferred", keeper="store" if used.is_of_store else "library")
    if used.trust is Trust.LIBRARY:
        return say("packages.library preferred" if other.trust is Trust.STATED else "packages.library before names")
    return say("packages.footprint preferred" if used.column is Column.FOOTPRINT else "packages.BOM preferred")


def _what_settles(field: str, used: Candidate, other: Candidate) -> Said:
    """Return what would settle which of two sources counts."""
    if field == "mounting":
        return say("packages.mounting settles")
    if used.is_unsettled or other.is_unsettled:
        return say("packages.offer settles")
    if are_two_keepers(used, other):
        return say("packages.one keeper settles")
    if Trust.LIBRARY in {used.trust, other.trust}:
        return say("packages.library settles")
    if used.trust is Trust.STATED and other.column is Column.FOOTPRINT:
        return say("packages.column settles")
    if used.trust is Trust.STATED:
        return say("packages.stated settles")
    if Column.FOOTPRINT in {used.column, other.column} and used.column is not other.column:
        return say("packages.preference settles")
    return say("packages.closer source settles")


def _shown(value: Interval) -> str:
    return show(value.low, value.high, LENGTH)


def _sort_and_size(candidate: Candidate) -> str:
    size = _size(candidate)
    return str(candidate.family_key) if size == _NO_SIZE else f"{candidate.family_key} {size}"


def _size(candidate: Candidate) -> str:
    """Return the sides of a body, of a hull those of each member, as a reader is shown them."""
    shown = []
    for member in candidate.members or (candidate,):
        length, width = member.nominal_length or member.length, member.nominal_width or member.width
        if length is not None and width is not None:
            shown.append(show_sides((length, width), " x "))
        elif (side := length or width) is not None:
            shown.append(_shown(side))
    return " or ".join(dict.fromkeys(shown)) or _NO_SIZE
