"""Waivers: findings that a reviewer accepted, marked and counted; those that are over or unused are told.

Both become warnings and not notes, so that ``--strict`` in CI notices them: a waiver that nobody needs any more hides
the next deviation of the kind, and one that is over lets its finding count again.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from fnmatch import fnmatchcase
from functools import cache
from typing import TYPE_CHECKING, Final

from msgspec.structs import replace

from capcheck.engine import FactValue, Finding, Margin, SubjectName
from capcheck.values import Exponents, InputError, Place, Problem, counted, nearest, read_any_quantity

if TYPE_CHECKING:
    from capcheck.model import Board
    from capcheck.shop.configuration import Configuration
    from capcheck.shop.configuration_file import WaiverEntry

EXPIRED: Final = "waiver-expired"
UNUSED: Final = "waiver-unused"
_ROUNDING: Final = 1e-6


def refuse_unknown(waivers: Sequence[WaiverEntry], configuration: Configuration, rules: Sequence[str]) -> None:
    """Raise :class:`InputError` for a waiver of none of the *rules* there are: it would look like one in force."""
    problems = [
        Problem(
            configuration.where("waiver", index),
            f'the margin "{waiver.margin}" is no quantity',
            remedy='write it like the margin in the report: margin = "-2 mm"',
        )
        for index, waiver in enumerate(waivers)
        if waiver.margin is not None and _quantity(waiver.margin) is None
    ]
    problems += [
        Problem(
            configuration.where("waiver", index),
            f'there is no rule "{waiver.rule}" to waive',
            remedy=nearest(waiver.rule, rules) or "see: capcheck rules",
        )
        for index, waiver in enumerate(waivers)
        if not any(fnmatchcase(rule, waiver.rule) for rule in rules)
    ]
    if problems:
        raise InputError(problems)


def waived(
    findings: Sequence[Finding],
    board: Board,
    waivers: Sequence[WaiverEntry],
    configuration: Configuration,
    *,
    rules: Sequence[str],
    today: dt.date | None = None,
) -> list[Finding]:
    """Return *findings*, those that a waiver accepts marked so, and a warning for each waiver over or unused.

    *rules* are the ids that were answered: a waiver of another rule is not told unused. *today* is the day on which
    waivers are judged; its last day still counts.
    """
    today = today or dt.date.today()  # noqa: DTZ011  the shop's own calendar day
    numbers = _part_numbers(board)
    here = [(index, waiver) for index, waiver in enumerate(waivers) if fnmatchcase(board.name, waiver.board)]
    used: set[int] = set()
    marked = []
    for finding in findings:
        match = next(((i, w) for i, w in here if w.until >= today and _accepts(w, finding, numbers)), None)
        if match is None:
            marked.append(finding)
            continue
        used.add(match[0])
        waiver = match[1]
        text = f"{waiver.reason} ({waiver.who}, until {waiver.until})"
        marked.append(replace(finding, waived=True, waiver=text))
    for index, waiver in here:
        where = configuration.where("waiver", index)
        if waiver.until < today:
            accepted = sum(_accepts(waiver, f, numbers) for f in findings)
            marked.append(_expired(waiver, where, accepted))
        elif index not in used and any(fnmatchcase(rule, waiver.rule) for rule in rules):
            marked.append(_unused(waiver, where))
    return marked


def _part_numbers(board: Board) -> Mapping[str, frozenset[str]]:
    numbers: dict[str, frozenset[str]] = {}
    for ref, index in zip(board.placements.ref, board.placements.part_type.tolist(), strict=True):
        if index >= 0:
            numbers[ref] = numbers.get(ref, frozenset()) | {board.types[index].part_number}
    return numbers


def _accepts(waiver: WaiverEntry, finding: Finding, numbers: Mapping[str, frozenset[str]]) -> bool:
    subject = finding.subject
    part_numbers = numbers.get(subject.ref or "", frozenset())
    return (
        fnmatchcase(finding.rule, waiver.rule)
        and (waiver.part == "*" or (subject.ref is not None and fnmatchcase(subject.ref, waiver.part)))
        and (waiver.part_number == "*" or any(fnmatchcase(n, waiver.part_number) for n in part_numbers))
        and (waiver.machine == "*" or (subject.machine is not None and fnmatchcase(subject.machine, waiver.machine)))
        and (waiver.margin is None or _lies_within(finding.margin, waiver.margin))
    )


def _lies_within(margin: Margin | None, accepted: str) -> bool:
    """Whether a finding is no farther beyond its limit than was accepted; one without a margin is not."""
    least = _quantity(accepted)
    if margin is None or least is None or margin.dimension.exponents != least[1]:
        return False
    return margin.low >= least[0] - _ROUNDING


@cache
def _quantity(text: str) -> tuple[float, Exponents] | None:
    try:
        return read_any_quantity(text)
    except ValueError:
        return None


def _warning(waiver: WaiverEntry, place: Place, *, rule: str, title: str, template: str, remedy: str) -> Finding:
    limited = {
        "part": waiver.part,
        "part number": waiver.part_number,
        "machine": waiver.machine,
        "margin": waiver.margin or "*",
    }
    scope = ",".join(f"{word} {value}" for word, value in limited.items() if value != "*")
    values = {
        "waiver.rule": f"{waiver.rule} for {scope}" if scope else waiver.rule,
        "waiver.until": str(waiver.until),
        "waiver.who": waiver.who,
    }
    return Finding(
        rule=rule,
        title=title,
        outcome="warn",
        undecided=False,
        subject=SubjectName("waiver"),
        facts=(),
        margin=None,
        template=template,
        shown=tuple(FactValue(name, text=text) for name, text in values.items()),
        remedy=remedy,
        place=Place(place.file, place.row),
    )


def _expired(waiver: WaiverEntry, place: Place, accepted: int) -> Finding:
    again = "nothing needs it any more"
    if accepted:
        again = f"{counted(accepted, 'finding')} {'counts' if accepted == 1 else 'count'} again"
    return _warning(
        waiver,
        place,
        rule=EXPIRED,
        title="Waivers are in force",
        template=f"the waiver of {{waiver.rule}} ended on {{waiver.until}} ({{waiver.who}}); {again}",
        remedy="Mend the deviation, have it accepted again with a new date, or delete the waiver.",
    )


def _unused(waiver: WaiverEntry, place: Place) -> Finding:
    return _warning(
        waiver,
        place,
        rule=UNUSED,
        title="Waivers are needed",
        template="the waiver of {waiver.rule} ({waiver.who}, until {waiver.until}) matches no finding",
        remedy="Delete it, or correct what it names.",
    )
