"""Where two candidates of a part exclude each other: a statement with both, their sources, and which one is used."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from msgspec.structs import replace

from capcheck.model import Basis, say
from capcheck.packages.candidate import MEASURED, OF_THE_BOM, PROSE, SAID, Candidate, Column, Trust, sides
from capcheck.packages.names import chip_family
from capcheck.packages.tables import Family
from capcheck.values import LENGTH, Interval, show, show_sides

if TYPE_CHECKING:
    from capcheck.model import Said

_NO_SIZE: Final = "no size"
_LEAST_SLACK: Final = 0.05
_SLACK_SHARE: Final = 0.05
_MOST_SLACK: Final = 0.25
_PITCH_SLACK: Final = 0.02
_FEW_LEADS: Final = 3

_SORTS: Final = {
    family: sort
    for sort, families in (
        ("resistor", (Family.CHIP_RESISTOR, Family.MOLDED_RESISTOR)),
        (
            "capacitor",
            (
                Family.CHIP_CAPACITOR,
                Family.CHIP_POLARISED_CAPACITOR,
                Family.MOLDED_CAPACITOR,
                Family.TANTALUM,
                Family.CAN_CAPACITOR,
            ),
        ),
        ("coil", (Family.CHIP_INDUCTOR, Family.CHIP_FERRITE_BEAD, Family.MOLDED_INDUCTOR)),
        ("diode", (Family.CHIP_DIODE, Family.CHIP_LED, Family.MOLDED_LED, Family.MOLDED_DIODE, Family.SOD)),
        ("crystal", (Family.CRYSTAL, Family.OSCILLATOR)),
    )
    for family in families
}
"""Families of which no part is put in the place of another sort; a bead may stand where a coil does."""

_KINDS: Final = frozenset({"resistor", "capacitor", "inductor", "ferrite bead", "diode", "led", "tantalum", "crystal"})
"""Kinds of which every part is of one of the sorts."""
_NOTHING_STATED: Final[dict[str, Any]] = dict.fromkeys((*MEASURED, *SAID, "span_second", "family_key"))

_PROVES_NOTHING: Final = frozenset({Basis.BOUND, Basis.TYPICAL, Basis.UNKNOWN})


def slack(value: Interval) -> float:
    """Return the gap in mm between two sizes that is no disagreement: makers round, and tolerances differ."""
    return min(_MOST_SLACK, _LEAST_SLACK + _SLACK_SHARE * (value.low if value.low > 0 else value.high))


def agree(one: Interval | None, other: Interval | None) -> bool:
    """Whether two sizes may be the same; what is not stated agrees with everything."""
    return one is None or other is None or one.overlaps(other, slack(one))


def same_body(one: Candidate, other: Candidate) -> bool:
    """Whether two candidates may speak of one body; a hull does if one of its members does.

    A part number of another sort of part than the other source names speaks of another body, whatever its size.
    """
    if other_sort(one, other):
        return False
    mine, theirs = one.members or (one,), other.members or (other,)
    return any(_agree_on_sides(m, t) for m in mine for t in theirs)


def other_sort(one: Candidate, other: Candidate) -> bool:
    """Whether a part number and another source name two sorts of part, such as a resistor and a capacitor."""
    if Trust.PART_NUMBER not in {one.trust, other.trust}:
        return False
    mine, theirs = _sort_of(one), _sort_of(other)
    return mine is not None and theirs is not None and mine != theirs


def against_kind(
    numbers: tuple[Candidate, ...], found: list[Candidate], ref_prefix: str, kind: str | None
) -> list[Candidate]:
    """Return the part numbers' candidates; where the *kind* of the other texts alone contradicts them, as contradicted.

    A resistor's number at reference C is one of two mistakes, and nothing says which, unless a footprint does.
    """
    mine = _SORTS.get(chip_family(kind)) if kind in _KINDS else None
    if mine is None or any(c.family_key in _SORTS for c in found):
        return list(numbers)
    return [_contradicted(n, ref_prefix, kind) if _sort_of(n) not in {None, mine} else n for n in numbers]


def _sort_of(candidate: Candidate) -> str | None:
    return None if candidate.family_key is None else _SORTS.get(candidate.family_key)


def _contradicted(number: Candidate, ref_prefix: str, kind: str | None) -> Candidate:
    said = say("packages.conflict of kind", number=number.origin, sort=_sort_of(number), letters=ref_prefix, kind=kind)
    return replace(number, contradicted=said, **_NOTHING_STATED)


def _agree_on_sides(one: Candidate, other: Candidate) -> bool:
    if not one.oriented and not other.oriented:
        return agree(one.length, other.length) and agree(one.width, other.width)
    # One that says what lies along x may have its shorter side there.
    (long, short), (long2, short2) = _sorted_sides(one), _sorted_sides(other)
    return agree(long, long2) and agree(short, short2)


def _sorted_sides(candidate: Candidate) -> tuple[Interval | None, Interval | None]:
    if candidate.length is None or candidate.width is None:
        return candidate.length, candidate.width
    return sides(candidate.length, candidate.width)


def body_conflict(used: Candidate, other: Candidate) -> Said | None:
    """Return what is to be said of the body that *other* states against *used*, if they exclude each other."""
    if not _may_contradict(used, other) or same_body(used, other):
        return None
    if other_sort(used, other):
        return _conflict("body", _sort_and_size(used), used, _sort_and_size(other), other)
    return _conflict("body", _size(used), used, _size(other), other)


def field_conflict(used: Candidate, other: Candidate, field: str) -> Said | None:
    """Return what is to be said of *field* (``pins``, ``pitch``, ``height``) that *other* states against *used*."""
    if not _may_contradict(used, other):
        return None
    if other.trust is Trust.PACKAGE_NAME and other.column in PROSE:
        # Prose says SOT-23 of every small transistor outline, with five leads or six, high or low.
        return None
    if field == "pins":
        if used.pins is None or other.pins is None or _same_count(used, other):
            return None
        return _conflict(field, str(used.pins), used, str(other.pins), other)
    mine, theirs = (used.pitch, other.pitch) if field == "pitch" else (used.height, other.height)
    if mine is None or theirs is None or mine.overlaps(theirs, _PITCH_SLACK if field == "pitch" else slack(mine)):
        return None
    if field == "pitch" and _three_leads(used, other) and (_doubled(mine, theirs) or _doubled(theirs, mine)):
        return None
    return _conflict(field, _shown(mine), used, _shown(theirs), other)


def _same_count(used: Candidate, other: Candidate) -> bool:
    """Whether two pin counts agree, or one of them is none.

    An exposed pad may be counted or not, a size code only supposes two, a column may count pads and vias.
    """
    mine, theirs = used.pins or 0, other.pins or 0
    if abs(mine - theirs) <= 1 or Trust.SIZE_CODE in {used.trust, other.trust}:
        return True
    return other.trust is Trust.STATED and theirs > mine


def _three_leads(used: Candidate, other: Candidate) -> bool:
    return _FEW_LEADS in {used.pins, other.pins}


def _doubled(pitch: Interval, other: Interval) -> bool:
    """Whether one pitch of three leads is that between the two on one side, the other that to the third across."""
    return pitch.overlaps(Interval(2 * other.low, 2 * other.high), _PITCH_SLACK)


def _may_contradict(used: Candidate, other: Candidate) -> bool:
    """Whether a difference between two candidates is a disagreement of two sources."""
    if other.basis in _PROVES_NOTHING or used.basis in _PROVES_NOTHING:
        return False
    if used.text == other.text:
        # Two meanings of one text are no two sources; a second size in a footprint's name is a pad as often as a body.
        return False
    # The outlines that a bare name such as DFN-8 fits are no complete list of what is sold under it.
    return not (other.members and other.trust is Trust.PACKAGE_NAME)


def _conflict(field: str, value: str, used: Candidate, other_value: str, other: Candidate) -> Said:
    return say(
        "packages.conflict",
        field=field,
        used=used.origin,
        value=value,
        other=other.origin,
        other_value=other_value,
        reason=_why_used(used, other),
    )


def _why_used(used: Candidate, other: Candidate) -> Said:
    """Return why one of two sources is believed, and what would change that."""
    pair = used.trust, other.trust
    if pair == (Trust.STATED, Trust.LIBRARY):
        return say("packages.stated before library")
    if pair == (Trust.LIBRARY, Trust.STATED):
        return say("packages.library preferred")
    if used.trust is Trust.STATED:
        return say("packages.stated before names")
    if used.trust is Trust.LIBRARY:
        return say("packages.library before names")
    if used.column is Column.FOOTPRINT and other.column in OF_THE_BOM:
        return say("packages.footprint before BOM")
    if used.column in OF_THE_BOM and other.column is Column.FOOTPRINT:
        return say("packages.BOM preferred")
    return say("packages.closer source")


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
