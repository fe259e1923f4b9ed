"""Where two readings of a part exclude each other: one sentence with both, their sources, and which one is used."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from capcheck.model import Basis
from capcheck.packages.candidate import Reading, Trust, sides
from capcheck.values import LENGTH, show

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from capcheck.values import Interval

_LEAST_SLACK: Final = 0.05
_SLACK_SHARE: Final = 0.05
_MOST_SLACK: Final = 0.25
_PITCH_SLACK: Final = 0.02

_PROSE: Final = ("description", "value")
_OF_THE_BOM: Final = ("BOM package", *_PROSE)
_PROVES_NOTHING: Final = frozenset({Basis.BOUND, Basis.TYPICAL, Basis.UNKNOWN})


def slack(value: Interval) -> float:
    """Return the gap in mm between two sizes that is no disagreement: makers round, and tolerances differ."""
    return min(_MOST_SLACK, _LEAST_SLACK + _SLACK_SHARE * (value.low if value.low > 0 else value.high))


def agree(one: Interval | None, other: Interval | None) -> bool:
    """Whether two sizes may be the same; what is not stated agrees with everything."""
    return one is None or other is None or one.overlaps(other, slack(one))


def same_body(one: Reading, other: Reading) -> bool:
    """Whether two readings may speak of one body; a hull does if one of its members does."""
    mine, theirs = one.members or (one,), other.members or (other,)
    return any(_agree_on_sides(m, t) for m in mine for t in theirs)


def _agree_on_sides(one: Reading, other: Reading) -> bool:
    if not one.oriented and not other.oriented:
        return agree(one.length, other.length) and agree(one.width, other.width)
    # One that says what lies along x may have its shorter side there.
    (long, short), (long2, short2) = _sorted_sides(one), _sorted_sides(other)
    return agree(long, long2) and agree(short, short2)


def _sorted_sides(reading: Reading) -> tuple[Interval | None, Interval | None]:
    if reading.length is None or reading.width is None:
        return reading.length, reading.width
    return sides(reading.length, reading.width)


def body_conflict(used: Reading, other: Reading) -> str | None:
    """Return the sentence about the body that *other* states against *used*, if they exclude each other."""
    if not _may_contradict(used, other) or same_body(used, other):
        return None
    return _sentence("body", _size(used), used, _size(other), other)


def field_conflict(field: str, used: Reading, other: Reading) -> str | None:
    """Return the sentence about *field* (``pins``, ``pitch``, ``height``) that *other* states against *used*."""
    mine, theirs = getattr(used, field), getattr(other, field)
    if mine is None or theirs is None or not _may_contradict(used, other):
        return None
    if other.trust is Trust.PACKAGE_NAME and other.source.startswith(_PROSE):
        # Prose says SOT-23 of every small transistor outline, with five leads or six, high or low.
        return None
    if _FIELDS_AGREE[field](mine, theirs) or (field == "pins" and _no_count_of_terminals(used, other)):
        return None
    show_field = str if field == "pins" else _shown
    return _sentence(field, show_field(mine), used, show_field(theirs), other)


def _no_count_of_terminals(used: Reading, other: Reading) -> bool:
    """Whether one of two pin counts is none: a size code only supposes two, a column may count pads and vias."""
    if Trust.SIZE_CODE in {used.trust, other.trust}:
        return True
    return other.trust is Trust.STATED and (other.pins or 0) > (used.pins or 0)


_FIELDS_AGREE: Final[dict[str, Callable[[Any, Any], bool]]] = {
    "pins": lambda one, other: abs(one - other) <= 1,  # an exposed pad may be counted or not
    "pitch": lambda one, other: one.overlaps(other, _PITCH_SLACK),
    "height": agree,
}


def _may_contradict(used: Reading, other: Reading) -> bool:
    """Whether a difference between two readings is a disagreement of two sources."""
    if other.basis in _PROVES_NOTHING or used.basis in _PROVES_NOTHING:
        return False
    if quoted(used.source) == quoted(other.source):
        # Two readings of one text are no two sources; a second size in a footprint's name is a pad as often as a body.
        return False
    # The outlines that a bare name such as DFN-8 fits are no complete list of what is sold under it.
    return not (other.members and other.trust is Trust.PACKAGE_NAME)


def quoted(source: str) -> str:
    """Return the text that a source quotes, or the source itself where it quotes none."""
    return source.partition('"')[2].partition('"')[0] or source


def _sentence(what: str, value: str, used: Reading, other_value: str, other: Reading) -> str:
    told = f"{what}: {used.source} says {value}, {other.source} says {other_value}"
    return f"{told}; {value} is used, as {_why_used(used, other)}"


def _why_used(used: Reading, other: Reading) -> str:
    """Return why one of two sources is believed, and what would change that."""
    pair = used.trust, other.trust
    if pair == (Trust.STATED, Trust.LIBRARY):
        return 'a stated size goes before the shop\'s library; to change that, set prefer = "library" in board.toml'
    if pair == (Trust.LIBRARY, Trust.STATED):
        return 'board.toml says prefer = "library"'
    if used.trust is Trust.STATED:
        return "a stated size goes before names; to change that, correct the column"
    if used.trust is Trust.LIBRARY:
        return "the shop's library goes before names; to change that, correct its row"
    if used.source.startswith("footprint") and other.source.startswith(_OF_THE_BOM):
        return 'footprints go before the BOM; to change that, set prefer = "bom" in board.toml'
    if used.source.startswith(_OF_THE_BOM) and other.source.startswith("footprint"):
        return 'board.toml says prefer = "bom"'
    return "it is the closer source; to change that, state the size in a column or in the shop's library"


def _shown(value: Interval) -> str:
    return show(value.low, value.high, LENGTH)


def _size(reading: Reading) -> str:
    members: Sequence[Reading] = reading.members or (reading,)
    shown = []
    for member in members:
        length = member.nominal_length or member.length
        width = member.nominal_width or member.width
        if length is not None and width is not None:
            shown.append(f"{_shown(length).removesuffix(' mm')} x {_shown(width)}")
        elif length is not None or width is not None:
            shown.append(_shown(length or width))  # type: ignore[arg-type]
    return " or ".join(dict.fromkeys(shown)) or "no size"
