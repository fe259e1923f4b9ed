"""Every candidate of one part, which of them each number was taken from, and why: the detail behind a body."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any, Final, Literal, TypedDict

from capcheck.lexicon import sentence
from capcheck.packages.bodies.disputes import Prefer
from capcheck.packages.bodies.size_code_evidence import agreed_system
from capcheck.packages.bodies.unknowns import unknown_fields
from capcheck.packages.bodies.weighing import Weighed, weigh
from capcheck.packages.candidate import MEASURED, SAID, Candidate, Trust, measured_in, stated_fields
from capcheck.values import show

if TYPE_CHECKING:
    from collections.abc import Sequence

    from capcheck.model import PartName
    from capcheck.packages.library_entries import Library
    from capcheck.values import Interval

_MEASURES: Final = MEASURED
_FIELDS: Final = (*MEASURED, *SAID)
_WHY: Final = {
    Trust.STATED: "a column of the data states it",
    Trust.LIBRARY: "the shop's library goes before names",
    Trust.LAND_PATTERN: "a land-pattern name goes before other names in the same text",
    Trust.SIZE_CODE: "a size code goes before package names in the same text",
    Trust.PACKAGE_NAME: "a package name goes before loose dimensions",
    Trust.PART_NUMBER: "no name states it, and the part number does",
    Trust.FREE_TEXT: "no better reading states it",
    Trust.BOUND: "nothing states it, and the family bounds it",
}


class Options(TypedDict):
    """What settles a body beside the texts of its part: the options of :func:`explain`."""

    types: Sequence[PartName]
    size_codes: Literal["inch", "metric"] | None
    library: Library | None
    prefer: Prefer | None


def explain(
    name: PartName,
    *,
    types: Sequence[PartName] = (),
    size_codes: Literal["inch", "metric"] | None = None,
    library: Library | None = None,
    prefer: Prefer | None = None,
) -> list[str]:
    """Return lines that tell every candidate of *name*, what was taken from which, and why.

    *types* are the part types of the same files, whose names help to settle ambiguous size codes. The other options
    are those of :func:`capcheck.packages.bodies.weighing.bodies_of`.
    """
    agreed = agreed_system(types or (name,), size_codes)
    weighed = weigh(name, agreed, library, prefer)
    lines = ["taken:", *_taken_lines(weighed)]
    if missing := unknown_fields(weighed.body):
        lines.append(f"not known: {', '.join(map(_words, missing))}")
    lines.extend(f"conflict: {sentence(conflict)}" for conflict in weighed.body.conflicts)
    lines.extend(f"open: {sentence(question)}" for question in weighed.body.questions)
    lines.append(f"size codes: {agreed.system}, {agreed.reason}" if agreed.system else "size codes: system not settled")
    lines.append("candidates, best first:")
    if not weighed.candidates:
        lines.append("  none: no text or column of the data names a body that capcheck knows")
    for number, candidate in enumerate(weighed.candidates, start=1):
        lines.append(f"  {number}. {candidate.source} ({candidate.basis}): {_states(candidate)}")
        if candidate.alternatives:
            lines.append(f"     may be: {', '.join(candidate.alternatives)}")
        lines.extend(f"     note: {sentence(note)}" for note in candidate.notes)
    return lines


def explain_data(
    name: PartName,
    *,
    types: Sequence[PartName] = (),
    size_codes: Literal["inch", "metric"] | None = None,
    library: Library | None = None,
    prefer: Prefer | None = None,
) -> dict[str, Any]:
    """Return what :func:`explain` tells, as data for JSON: intervals are pairs, an open end is None.

    Lengths are mm, mass gram. A taken field names its candidate by ``candidate``, counted from 1; None where the
    field is worked out from the rest of the body. The arguments are those of :func:`explain`.
    """
    agreed = agreed_system(types or (name,), size_codes)
    weighed = weigh(name, agreed, library, prefer)
    return {
        "size_codes": {"system": agreed.system, "reason": agreed.reason},
        "candidates": [_candidate(candidate) for candidate in weighed.candidates],
        "taken": {field: _taken(weighed, field) for field in _FIELDS if _is_taken(weighed, field)},
        "unknown": list(unknown_fields(weighed.body)),
        "conflicts": [sentence(said) for said in weighed.body.conflicts],
        "questions": [sentence(said) for said in weighed.body.questions],
    }


def _is_taken(weighed: Weighed, field: str) -> bool:
    if field in weighed.taken:
        return True
    value = getattr(weighed.body, field)
    return bool(value.source) if field in _MEASURES else value is not None


def _why(weighed: Weighed, field: str) -> str:
    winner = weighed.taken.get(field)
    return _WHY[winner.trust] if winner is not None else "worked out from the rest of the body"


def _number(weighed: Weighed, field: str) -> int | None:
    """Return the candidate, counted from 1, that a field was taken from as it stands."""
    winner = weighed.taken.get(field)
    # By identity: two texts may give equal candidates, and the first of them won.
    number = next((n for n, r in enumerate(weighed.candidates, start=1) if r is winner), None)
    if number is None or winner is None or field not in _MEASURES:
        return number
    return number if weighed.measured.get(field) is winner else None


def _taken_lines(weighed: Weighed) -> list[str]:
    """Return a line for each source of the numbers taken, with all that was taken from it."""
    groups: dict[str, list[str]] = {}
    for field in _FIELDS:
        value, number = getattr(weighed.body, field), _number(weighed, field)
        if not _is_taken(weighed, field) or (field in _MEASURES and value.low <= 0 and math.isinf(value.high)):
            continue
        shown = _shown(field, value.value) if field in _MEASURES else _said(value)
        if number is not None:
            origin = f"from {number} ({_why(weighed, field)})"
        elif field in _MEASURES:
            origin = f"from {value.source} ({value.basis})"
        else:
            origin = "worked out from the rest of the body"
        groups.setdefault(origin, []).append(f"{_words(field)} {shown}")
    return [f"  {', '.join(said)}: {origin}" for origin, said in groups.items()] or ["  nothing"]


def _taken(weighed: Weighed, field: str) -> dict[str, Any]:
    value, winner = getattr(weighed.body, field), weighed.taken.get(field)
    measured = field in _MEASURES
    origin = value if measured else winner
    return {
        "value": _ends(value.value) if measured else value,
        "basis": None if origin is None else str(origin.basis),
        "source": "" if origin is None else origin.source,
        "candidate": next((n for n, r in enumerate(weighed.candidates, start=1) if r is winner), None),
        "why": _why(weighed, field),
    }


def _candidate(candidate: Candidate) -> dict[str, Any]:
    values = {field: getattr(candidate, field) for field in stated_fields(candidate)}
    return {
        "source": candidate.source,
        "basis": str(candidate.basis),
        "states": {field: _ends(value) if field in _MEASURES else value for field, value in values.items()},
        "may_be": list(candidate.alternatives),
        "notes": [sentence(note) for note in candidate.notes],
        "questions": [sentence(question) for question in candidate.questions],
    }


def _ends(value: Interval) -> list[float | None]:
    return [None if math.isinf(end) else round(end, 6) for end in (value.low, value.high)]


def _said(value: object) -> str:
    return "yes" if value is True else "no" if value is False else "open" if value is None else str(value)


def _words(field: str) -> str:
    return field.replace("_", " ")


def _shown(field: str, value: Interval) -> str:
    return show(value.low, value.high, measured_in(field))


def _states(candidate: Candidate) -> str:
    parts = []
    for field in stated_fields(candidate):
        value = getattr(candidate, field)
        parts.append(f"{_words(field)} {_shown(field, value) if field in _MEASURES else _said(value)}")
    return ", ".join(parts) or "nothing of the body"
