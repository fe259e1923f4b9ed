"""Whether boards pass the machines of a line, from their checks: what stops them, what is open, what only warns.

A plan answers for parts, slots and times. That a board passes a machine at all, and that the line has what it needs
beside placing, is asked by rules; a plan's verdict rests on their answers, too.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import Final

from msgspec.structs import replace

from capcheck.checking import Report
from capcheck.engine import Finding
from capcheck.planning.results import Plan

_PASSAGE: Final = frozenset({"board on machine", "side on machine", "part on machine", "fiducial on machine"})
"""Subjects of the rules that ask whether a board passes through a machine."""

_PLANNED: Final = frozenset({"feeder-slots", "tray-places", "line-length", "board-passes-line"})
"""Rules on the whole line that a plan answers itself, and more closely: by machine."""

_FEW: Final = 6


def judged(found: Plan, reports: Sequence[Report], machines: Sequence[str] | None = None) -> Plan:
    """Return the plan with what the checks say of the boards in its machines and of its line.

    *machines* are the names by which the checks know the plan's machines, None: its own.

    What stops a board makes the verdict ``fail``: a plan for a line that stops the board is none. What is open or only
    warns makes it ``warn`` at least.
    """
    names = found.machines if machines is None else machines
    stopped = [f"the board does not pass: {text}" for text in stops(reports, names)]
    stopped += [f"the line does not suffice: {text}" for text in _line(reports, _fails)]
    warned = [*open_passages(reports, names), *_by_rule(_on_machines(reports, names, _warns))]
    warned += [*_line(reports, _warns), *_open_line(reports), *_unanswered(reports)]
    if not stopped and not warned:
        return found
    verdict = "fail" if stopped or found.verdict == "fail" else "warn"
    failed, others = found.why[: found.fails], found.why[found.fails :]
    return replace(found, verdict=verdict, why=(*stopped, *failed, *warned, *others), fails=len(stopped) + found.fails)


def stops(reports: Iterable[Report], machines: Sequence[str] | None = None) -> list[str]:
    """Return what stops the boards in the machines, each rule once for each board, with the machines it is about."""
    return _by_rule(_on_machines(reports, machines, _fails))


def stopping(reports: Iterable[Report]) -> set[str | None]:
    """Return the machines that stop one of the boards."""
    return {finding.subject.machine for _, finding in _on_machines(reports, None, _fails)}


def open_passages(reports: Sequence[Report], machines: Sequence[str]) -> list[str]:
    """Return which passages are not decided: board, machines, rules, and what would decide them."""
    asked: dict[tuple[bool, str, str], tuple[dict[str, None], dict[str, None]]] = {}
    for report, finding in _on_machines(reports, machines, _is_open):
        key = _level(report, finding) != "fail", report.board.name, finding.subject.machine or ""
        rules, missing = asked.setdefault(key, ({}, {}))
        rules[finding.rule] = None
        missing.update(dict.fromkeys(finding.missing))
    alike: dict[tuple[bool, str, str], list[str]] = {}
    for (advice, board, machine), (rules, missing) in asked.items():
        told = f"{', '.join(rules)}; what would decide it: {_few(missing)}"
        alike.setdefault((advice, board, told), []).append(machine)
    return [
        f"advice for {board} on {_few(names)} is open: {told}"
        if advice
        else f"not decided whether {board} passes {_few(names)}: {told}"
        for (advice, board, told), names in sorted(alike.items(), key=lambda item: item[0][0])
    ]


def _by_rule(found: Iterable[tuple[Report, Finding]]) -> list[str]:
    """Return each rule once for each board: its first message, then how many parts and which machines more."""
    alike: dict[tuple[str, str], list[Finding]] = {}
    for report, finding in found:
        alike.setdefault((report.board.name, finding.rule), []).append(finding)
    return [f"{board}, {rule}: {same[0].message}{_besides(same)}" for (board, rule), same in alike.items()]


def _besides(same: Sequence[Finding]) -> str:
    first = same[0]
    parts = {f.subject.ref for f in same} - {first.subject.ref, None}
    named = list(dict.fromkeys(f.subject.machine for f in same if f.subject.machine))
    others = [m for m in named if not (first.names_machine and m == first.subject.machine)]
    also = "also on " if len(others) < len(named) else "on "
    told = [f"{len(parts)} more of the kind"] if parts else []
    told += [f"{also}{_few(others)}"] if others else []
    return f" ({', '.join(told)})" if told else ""


def _line(reports: Iterable[Report], asked: Callable[[Finding], bool]) -> list[str]:
    return list(dict.fromkeys(f"{f.rule}: {f.message}" for _, f in _live(reports, asked) if _is_of_line(f)))


def _open_line(reports: Iterable[Report]) -> list[str]:
    return list(
        dict.fromkeys(
            f"{f.rule} is not decided; what would decide it: {_few(f.missing)}"
            for _, f in _live(reports, _is_open)
            if _is_of_line(f)
        )
    )


def _unanswered(reports: Iterable[Report]) -> list[str]:
    """Return which rules on the passage are not answered at all, for want of a whole input."""
    out = []
    for report in reports:
        subjects = {rule.id: rule.subject.name for rule in report.answers.rules}
        for name, rules in report.answers.skipped.items():
            lost = [rule for rule in rules if subjects[rule] in _PASSAGE]
            if lost:
                out.append(f"{report.board.name} has no {name}, so these rules are not answered: {_few(lost)}")
    return out


def _live(reports: Iterable[Report], asked: Callable[[Finding], bool]) -> Iterator[tuple[Report, Finding]]:
    return ((report, f) for report in reports for f in report.findings if not f.waived and asked(f))


def _on_machines(
    reports: Iterable[Report], machines: Sequence[str] | None, asked: Callable[[Finding], bool]
) -> Iterator[tuple[Report, Finding]]:
    """Yield findings about the boards in the machines, None: in any."""
    for report, finding in _live(reports, asked):
        if finding.subject.kind in _PASSAGE and (machines is None or finding.subject.machine in machines):
            yield report, finding


def _is_of_line(finding: Finding) -> bool:
    return finding.subject.kind == "line" and finding.rule not in _PLANNED


def _fails(finding: Finding) -> bool:
    return finding.outcome == "fail"


def _warns(finding: Finding) -> bool:
    return finding.outcome == "warn" and not finding.undecided


def _is_open(finding: Finding) -> bool:
    return finding.undecided


def _level(report: Report, finding: Finding) -> str:
    """Return what a violation of the finding's rule would be: ``fail`` or ``warn``."""
    return next((rule.outcome for rule in report.answers.rules if rule.id == finding.rule), "fail")


def _few(names: Iterable[str]) -> str:
    listed = list(names)
    more = f" and {len(listed) - _FEW} more" if len(listed) > _FEW else ""
    return ", ".join(listed[:_FEW]) + more
