"""Which of the candidates of a part each field of its body is taken from, the most trusted first."""

from __future__ import annotations

from typing import Final

from capcheck.packages.bodies.conflicts import same_body
from capcheck.packages.candidate import KEYS, MEASURED, SAID, Candidate, Trust
from capcheck.packages.tables import Family


def chosen(candidates: list[Candidate]) -> dict[str, Candidate]:
    """Return the candidate that each field is taken from: the first that states it and fits the body taken."""
    taken: dict[str, Candidate] = {}
    used: Candidate | None = None
    counted = False  # a name of leads agrees with the column: a lesser one does not correct it
    for candidate in candidates:
        fits = used is None or same_body(used, candidate)
        for field in (*MEASURED, *SAID, *KEYS, "span_second"):
            # What a contradicted candidate says of another body must not complete this one.
            if getattr(candidate, field) is None or not fits:
                continue
            if field not in taken or (field == "pins" and not counted and _counts_pads(taken[field], candidate)):
                taken[field] = candidate
            counted = counted or (field == "pins" and candidate.trust in _COUNTING and _same_pins(taken, candidate))
        if used is None and (candidate.length is not None or candidate.width is not None):
            used = candidate
    return taken


def _counts_pads(taken: Candidate, named: Candidate) -> bool:
    """Whether the pin count taken is a column's count of pads, which a name's count of terminals corrects.

    A column in placement data counts an exposed pad, its vias and lugs too, so it may exceed the terminals.
    """
    if taken.trust is not Trust.STATED or taken.pins is None or named.pins is None:
        return False
    if named.trust is Trust.PART_NUMBER and named.family_key is Family.CONNECTOR:
        return named.pins < taken.pins <= named.pins + _MOST_TABS
    return named.trust in _COUNTING and named.pins < taken.pins


_MOST_TABS: Final = 4
"""Lands of a connector beside its positions: tabs that hold it to the board; common practice, no source."""
_COUNTING: Final = frozenset({Trust.LAND_PATTERN, Trust.PACKAGE_NAME})
"""Names that count terminals."""


def _same_pins(taken: dict[str, Candidate], named: Candidate) -> bool:
    return taken["pins"].pins == named.pins
