"""What one row of the first screen says no other says: unclear bodies, and what follows from unknown ones."""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from typing import Final

from msgspec.structs import replace

from capcheck.checking import Report
from capcheck.facts import marks_listed
from capcheck.lexicon import sentence
from capcheck.model import Body, Said
from capcheck.report.groups import Gap, Group
from capcheck.report.questions import Outlook
from capcheck.report.sentences import refs_of_types
from capcheck.values import shortened

SIZES: Final = "size-settled"
CONTRADICTIONS: Final[Mapping[str, Callable[[Body], Sequence[Said]]]] = {
    "part.fits_land": lambda body: body.misfits,
    "part.sources_agree": lambda body: body.conflicts_of_texts,
    "part.records_settled": lambda body: body.of_records,
}
"""What contradicts one another in a body, by the fact that asks for it."""
_OF_HEIGHTS: Final = frozenset({"passage.tallest_below", "passage.tallest_before"})
_ON_RAILS: Final = "board.panel_fiducials"
_OF_SIDE: Final = "side.fiducials"
_WIDTH: Final = 90
_MOST_REFS: Final = 6
_FEWEST: Final = 2
_MOST_BODIES: Final = 4


def unclear_bodies(groups: Iterable[Group], lacking: Collection[str]) -> list[Group]:
    """Return the first groups that say which body parts may have that lack something, each part in one."""
    found: list[Group] = []
    told: set[str] = set()
    for group in groups:
        of_body = group.rule == SIZES or any(value.name in CONTRADICTIONS for value in group.findings[0].facts)
        if of_body and told.isdisjoint(group.subjects) and all(ref in lacking for ref in group.subjects):
            told.update(group.subjects)
            found.append(group)
    return found[:_MOST_BODIES]


def follows_from_heights(report: Report, gap: Gap, told: Collection[str]) -> bool:
    """Whether a gap is only that parts of unknown height may be the tallest, and other rows name all of these."""
    bounds = [value.high for f in gap.findings for value in f.facts if value.name in _OF_HEIGHTS]
    if not bounds or None in bounds or not {name for name, _ in gap.missing} <= _OF_HEIGHTS:
        return False
    if any(math.isfinite(high) for high in bounds if high is not None):
        return False
    bodies = [*report.board.bodies, Body()]
    open_ = {
        ref
        for index, refs in refs_of_types(report.board).items()
        for ref in refs
        if bodies[index].mounting not in {"through hole", "none"} and not math.isfinite(bodies[index].height.high)
    }
    return open_ <= set(told)


def without_our_rails(report: Report, found: Iterable[Gap]) -> list[Gap]:
    """Return gaps without the fiducials on rails of a panel that we would order: its sides tell of them.

    Where the files list the board's own, the rails alone leave a side's open, and what it lacks as sent is told.
    """
    lacks = list(found)
    if report.in_panel is None:
        return lacks
    ours = {_ON_RAILS, _OF_SIDE} if marks_listed(report.board) else {_ON_RAILS}
    left = [replace(gap, missing=tuple(m for m in gap.missing if m[0] not in ours)) for gap in lacks]
    return [one for one, gap in zip(left, lacks, strict=True) if one.missing or not gap.missing]


def without_advice(found: Iterable[Gap], advised: Iterable[Group]) -> tuple[list[Gap], dict[str, tuple[str, ...]]]:
    """Return gaps without those that leave open one advice alone which other parts certainly call for.

    Beside them the parts of these, by the rule: its row names them too.
    """
    rules = {group.rule for group in advised if group.outcome == "warn"}
    kept: list[Gap] = []
    perhaps: dict[str, tuple[str, ...]] = {}
    for gap in found:
        if len(gap.rules) == 1 and rules.issuperset(gap.rules):
            perhaps[gap.rules[0]] = (*perhaps.get(gap.rules[0], ()), *gap.subjects)
        else:
            kept.append(gap)
    return kept, perhaps


def named_briefly(report: Report, subjects: Sequence[str]) -> str:
    """Return subjects for a row: what a record names one by one is cut where the names are long."""
    every = {shortened(told.refs): told.refs for told in report.board.discrepancies if told.refs}
    refs = tuple(ref for subject in subjects for ref in every.get(subject, (subject,)))
    cut = (shortened(refs, most) for most in range(_MOST_REFS, 0, -1))
    return next((text for text in cut if len(text) <= _WIDTH), shortened(refs, _FEWEST))


def open_readings(report: Report, outlook: Outlook) -> tuple[str, ...]:
    """Return the inferences that are open and not asked above, each with what else could be meant."""
    return tuple(
        f"{decision.topic}? {sentence(decision.choice)}"
        + (f"; or {sentence(decision.runner_up)}" if sentence(decision.runner_up) else "")
        for decision in report.board.decisions
        if decision.open and not outlook.settles(decision)
    )
