"""Where two readings of a part exclude each other: one sentence with both, their sources, and which one is used."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from capcheck.model import Basis
from capcheck.packages.reading import Reading, Trust
from capcheck.units import LENGTH, show

if TYPE_CHECKING:
    from collections.abc import Sequence

    from capcheck.interval import Interval

_LEAST_SLACK: Final = 0.05
_SLACK_SHARE: Final = 0.05
_MOST_SLACK: Final = 0.25
_PITCH_SLACK: Final = 0.02

_PROSE: Final = ("description", "value")
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
    return any(agree(m.length, t.length) and agree(m.width, t.width) for m in mine for t in theirs)


def size_conflicts(used: Reading, other: Reading) -> list[str]:
    """Return the sentences about the body, pins and pitch that *other* states against *used*."""
    if not _may_contradict(used, other):
        return []
    sentences: list[str] = []
    if not same_body(used, other):
        sentences.append(_sentence("body", _size(used), used, _size(other), other))
    if other.trust is Trust.PACKAGE_NAME and other.source.startswith(_PROSE):
        # Prose says SOT-23 of every small transistor outline, with five leads or six.
        return sentences
    if used.pins is not None and other.pins is not None and abs(used.pins - other.pins) > 1:
        sentences.append(_sentence("pins", str(used.pins), used, str(other.pins), other))
    if used.pitch is not None and other.pitch is not None and not used.pitch.overlaps(other.pitch, _PITCH_SLACK):
        sentences.append(_sentence("pitch", _shown(used.pitch), used, _shown(other.pitch), other))
    return sentences


def height_conflicts(used: Reading, other: Reading) -> list[str]:
    """Return the sentence about the height that *other* states against *used*, if they exclude each other."""
    if used.height is None or other.height is None or not _may_contradict(used, other):
        return []
    if agree(used.height, other.height) or (other.trust is Trust.PACKAGE_NAME and other.source.startswith(_PROSE)):
        return []
    return [_sentence("height", _shown(used.height), used, _shown(other.height), other)]


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
    return f"{what}: {used.source} says {value}, {other.source} says {other_value}; {value} is used"


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
