"""Every reading of one part, which of them each number was taken from, and why: the detail behind a body."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final, Literal

from capcheck.packages.reading import MEASURED, Reading, Trust, stated_fields
from capcheck.packages.resolve import Prefer, weigh
from capcheck.packages.size_code_evidence import agreed_system
from capcheck.units import LENGTH, MASS, show

if TYPE_CHECKING:
    from collections.abc import Sequence

    from capcheck.interval import Interval
    from capcheck.model import PartName
    from capcheck.packages.library import Library

_WHY: Final = {
    Trust.STATED: "a column of the data states it",
    Trust.LIBRARY: "the shop's library goes before names",
    Trust.LAND_PATTERN: "a land-pattern name goes before other names in the same text",
    Trust.SIZE_CODE: "a size code goes before package names in the same text",
    Trust.PACKAGE_NAME: "a package name goes before loose dimensions",
    Trust.FREE_TEXT: "no better reading states it",
    Trust.BOUND: "nothing states it, and the family bounds it",
}


def explain(
    name: PartName,
    *,
    types: Sequence[PartName] = (),
    size_codes: Literal["inch", "metric"] | None = None,
    library: Library | None = None,
    prefer: Prefer = "footprint",
) -> list[str]:
    """Return lines that tell every candidate reading of *name*, what was taken from which, and why.

    *types* are the part types of the same files, whose names help to settle ambiguous size codes. The other options
    are those of :func:`capcheck.packages.resolve.resolve`.
    """
    agreed = agreed_system(types or (name,), size_codes)
    weighed = weigh(name, agreed, library, prefer)
    lines = [f"size codes: {agreed.system}, {agreed.reason}" if agreed.system else "size codes: system not settled"]
    lines.append("candidates, best first:")
    if not weighed.readings:
        lines.append("  none: no text or column of the data names a body that capcheck knows")
    for number, reading in enumerate(weighed.readings, start=1):
        lines.append(f"  {number}. {reading.source} ({reading.basis}): {_states(reading)}")
        lines.extend(f"     may be: {alternative}" for alternative in reading.alternatives)
        lines.extend(f"     note: {note}" for note in reading.notes)
    lines.append("taken:")
    for field in MEASURED:
        measure = getattr(weighed.body, field)
        winner = weighed.winners.get(field)
        if measure.source or winner is not None:
            why = _WHY[winner.trust] if winner is not None else "worked out from the rest of the body"
            lines.append(f"  {_words(field)}: {_shown(field, measure.value)} from {measure.source} ({why})")
    lines.extend(f"conflict: {sentence}" for sentence in weighed.body.conflicts)
    lines.extend(f"open: {sentence}" for sentence in weighed.body.questions)
    return lines


def _words(field: str) -> str:
    return field.replace("_", " ")


def _shown(field: str, value: Interval) -> str:
    return show(value.low, value.high, MASS if field == "mass" else LENGTH)


def _states(reading: Reading) -> str:
    parts = []
    for field in stated_fields(reading):
        value = getattr(reading, field)
        text = (
            _shown(field, value) if field in MEASURED else "yes" if value is True else "no" if value is False else value
        )
        parts.append(f"{_words(field)} {text}")
    return ", ".join(parts) or "nothing of the body"
