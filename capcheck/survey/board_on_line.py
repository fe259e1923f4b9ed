"""A report to what a survey keeps of it: numbers and causes."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from functools import reduce

from msgspec.structs import replace

from capcheck.checking import Report, parts_by_outcome
from capcheck.engine import Comparison, FactValue, Finding, NumberFact, Rule, kept_off_by_one
from capcheck.facts import Catalogue
from capcheck.machines import chip_sides, chip_within
from capcheck.survey.results import Case, Cause, CauseKind, Demand, HeadChange, Limit, LineResult
from capcheck.values import LENGTH, Dimension, Interval

_DEVICE = ("head", "machine", "line")
"""Scopes of the facts that a profile or a line states."""
_CHIP = "head.smallest_chip"
_CHIP_SIDES = ("head.smallest_chip_length", "head.smallest_chip_width")
_PASSES = "board-passes-line"
"""The rule that tells which panel would have to be ordered."""


def line_result(report: Report) -> LineResult:
    """Return what comes out for a board on a line."""
    live = [finding for finding in report.findings if not finding.waived]
    parts = parts_by_outcome(report)
    needed, there = (report.session.numbers(f"line.feeder_slots{end}") for end in ("_needed", ""))
    return LineResult(
        verdict=report.verdict,
        parts=int(report.board.placements.is_part.sum()),
        proved=len(parts.proved),
        stopped=len(parts.stopped),
        undecided=len(parts.only_undecided),
        by_hand=len(parts.by_hand),
        slots_needed=Interval(float(needed.low[0]), float(needed.high[0])),
        slots=Interval(float(there.low[0]), float(there.high[0])),
        cases=tuple(_cases(report, live)),
        panel=None if report.in_panel is None else report.in_panel.said,
        head_changes=tuple(_head_changes(report, live)),
    )


def _head_changes(report: Report, live: list[Finding]) -> Iterator[HeadChange]:
    """Yield for each rule whose parts fail on several heads the heads that would take them all by one limit moved.

    A part is told on the head alone that comes closest to it; another head may be closer to all of them together.
    """
    failing = [f for f in live if f.outcome == "fail" and not f.undecided and f.subject.head is not None]
    refs: dict[str, set[str | None]] = {}
    heads: dict[str, set[tuple[str | None, str | None]]] = {}
    for finding in failing:
        refs.setdefault(finding.rule, set()).add(finding.subject.ref)
        heads.setdefault(finding.rule, set()).add((finding.subject.machine, finding.subject.head))
    several = {rule for rule, there in heads.items() if len(there) > 1}
    if not several:
        return
    rules = {rule.id: rule for rule in report.answers.rules}
    asked: dict[tuple[str, Limit], dict[str | None, Demand]] = {}
    for finding in kept_off_by_one(report.answers, report.session):
        if finding.rule not in several or finding.subject.ref not in refs[finding.rule]:
            continue
        passed = list(_passed_limits(finding, rules[finding.rule], report.session.catalogue))
        if len(passed) == 1 and (demand := passed[0][1]) is not None:
            of_part = asked.setdefault((finding.rule, passed[0][0]), {})
            own = of_part.get(finding.subject.ref)
            of_part[finding.subject.ref] = demand if own is None else own.joined(demand)
    for (rule, limit), of_part in asked.items():
        if of_part.keys() == refs[rule]:
            yield HeadChange(rule, limit, reduce(Demand.joined, of_part.values()))


def _cases(report: Report, live: list[Finding]) -> Iterator[Case]:
    """Yield each cause once: of several findings of one cause that which asks most of its limit."""
    rules = {rule.id: rule for rule in report.answers.rules}
    for said in report.unanswered:
        yield Case(Cause(CauseKind.UNANSWERED, said.key, said=said))
    found: dict[Cause, list[Case]] = {}
    for finding in live:
        if finding.waits_for is not None:
            continue
        for case in _of_finding(finding, rules[finding.rule], report.session.catalogue):
            found.setdefault(case.cause, []).append(case)
    for cause, cases in found.items():
        refs = tuple(dict.fromkeys(ref for case in cases for ref in case.refs))
        demands = [case.demand for case in cases if case.demand is not None]
        # Where one of them is no number, no value of the limit is known to cure all.
        yield Case(cause, refs, reduce(Demand.joined, demands) if len(demands) == len(cases) else None)


def _of_finding(finding: Finding, rule: Rule, catalogue: Catalogue) -> Iterator[Case]:
    refs = (finding.subject.ref,) if finding.subject.ref else ()
    if finding.undecided:
        # It asks for all that others wait for; what it settles besides its own facts follows from those.
        missing = [fact for fact in finding.missing if fact in rule.facts or fact not in rule.settles]
        for fact in missing or finding.missing or (finding.rule,):
            help_ = catalogue[fact].help if fact in catalogue else finding.title
            yield Case(Cause(CauseKind.UNDECIDED, fact, help_), refs)
        return
    if finding.rule == _PASSES and finding.outcome == "warn":
        yield Case(Cause(CauseKind.PANEL, finding.rule, finding.title, finding.remedy), refs)
        return
    if finding.outcome != "fail":
        return
    stops = Cause(CauseKind.STOPS, finding.rule, finding.title, finding.remedy)
    passed = list(_passed_limits(finding, rule, catalogue))
    yield from (Case(replace(stops, limit=limit), refs, demand) for limit, demand in passed)
    if not passed:
        yield Case(stops, refs)


def _passed_limits(finding: Finding, rule: Rule, catalogue: Catalogue) -> Iterator[tuple[Limit, Demand | None]]:
    """Yield each limit of a device that a failing finding passes, with what is asked of it if it is a number."""
    values = {value.name: value for value in finding.facts}
    found = list(_of_comparisons(finding, rule, values))
    if any(name in _CHIP_SIDES for name, _ in found):
        yield _limit(_CHIP, finding, catalogue, LENGTH), _chip_asked(values)
    for name, demand in found:
        if name not in _CHIP_SIDES:
            yield _limit(name, finding, catalogue), demand
    if not rule.comparisons:
        for name in values:
            if name.split(".")[0] in _DEVICE:
                yield _limit(name, finding, catalogue), None


def _of_comparisons(
    finding: Finding, rule: Rule, values: Mapping[str, FactValue]
) -> Iterator[tuple[str, Demand | None]]:
    """Yield the limit of each comparison that fails, by the fact that states it."""
    for comparison in rule.comparisons:
        limit, asked, upper = _limit_and_demand(comparison)
        value = values.get(limit) if limit.split(".")[0] in _DEVICE else None
        if value is None or value.low is None or value.low != value.high or not math.isfinite(value.low):
            continue
        needed = _needed(values.get(asked), finding, value.low, upper=upper)
        if needed is None:
            yield limit, None
        elif needed.low > value.low if upper else needed.high < value.low:  # else another of the comparisons fails
            yield limit, Demand(value.low, needed, upper)


def _chip_asked(values: Mapping[str, FactValue]) -> Demand | None:
    """Return by its length the smallest chip that a head would have to place: one entry states both of its sides.

    None where no chip that is sold is as small.
    """
    sides = [values.get(f"part.nominal_{side}") for side in ("length", "width")]
    code = chip_within(*(0.0 if side is None or side.low is None else side.low for side in sides))
    now = values.get(_CHIP_SIDES[0])
    if code is None or now is None or now.low is None:
        return None
    return Demand(now.low, Interval.exactly(chip_sides(code)[0]), upper=False)


def _limit(name: str, finding: Finding, catalogue: Catalogue, dimension: Dimension | None = None) -> Limit:
    fact, subject = catalogue[name], finding.subject
    head = subject.head if name.startswith("head.") else None
    machine = None if name.startswith("line.") else subject.machine
    own = fact.dimension if fact.kind == "number" else dimension
    return Limit(name, fact.help, own, machine, head)


def _limit_and_demand(comparison: Comparison) -> tuple[str, str, bool]:
    """Return the fact that is the limit, the one set against it ("" for a sum), and whether the limit is an upper one.

    Where both are facts of the line, the limit stands on the right, as every rule is written.
    """
    left = comparison.left.name if isinstance(comparison.left, NumberFact) else ""
    right = comparison.right.name if isinstance(comparison.right, NumberFact) else ""
    rising = comparison.operation in {"<", "<="}
    return (right, left, rising) if right.split(".")[0] in _DEVICE else (left, right, not rising)


def _needed(asked: FactValue | None, finding: Finding, now: float, *, upper: bool) -> Interval | None:
    """Return what the limit would have to be, by the fact set against it or else by the margin of the finding."""
    if asked is not None and asked.low is not None and asked.high is not None:
        return Interval(asked.low, asked.high)
    if finding.margin is None:
        return None
    low, high = finding.margin.low, finding.margin.high
    return Interval(now - high, now - low) if upper else Interval(now + low, now + high)
