"""Whether boards pass the machines of a line, from their checks: what stops them, what is open, what only warns.

A plan answers for parts, slots and times. That a board passes a machine at all, and that the line has what it needs
beside placing, is asked by rules; a plan's verdict rests on their answers, too.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator, Sequence
from typing import Final

from msgspec.structs import replace

from capcheck.checking import Report
from capcheck.engine import Finding
from capcheck.facts import each_way, takes_one_way
from capcheck.model import NOTHING, Said, Side, say
from capcheck.planning.accepted_parts import without_accepted
from capcheck.planning.benches import with_benches
from capcheck.planning.cost_of_boards import with_costs
from capcheck.planning.plan_data import Plan
from capcheck.planning.set_up_hours import with_set_up_hours

_PASSAGE: Final = frozenset({"board on machine", "side on machine", "part on machine", "fiducial on machine"})
"""Subjects of the rules that ask whether a board passes through a machine."""

_PLANNED: Final = frozenset(
    {
        "feeder-slots",
        "tray-places",
        "bank-slots",
        "bank-trays",
        "line-length",
        "board-passes-line",
        "board-not-turned",
    }
)
"""Rules on the whole line that a plan answers itself, and more closely: by machine."""


def judged(found: Plan, reports: Sequence[Report], machines: Sequence[str] | None = None) -> Plan:
    """Return the plan with what the checks say of the boards in its machines and of its line.

    *machines* are the names by which the checks know the plan's machines, None: its own.

    What stops a board makes the verdict ``fail``: a plan for a line that stops the board is none. What is open or only
    warns makes it ``warn`` at least.
    """
    names = found.machines if machines is None else machines
    found = with_set_up_hours(with_costs(with_benches(without_accepted(found, reports), reports), reports))
    stopped = [say("planning.board stopped", why=why) for why in stops(reports, names)]
    stopped += [say("planning.line insufficient", why=why) for why in _line(reports, _fails)]
    stopped += [
        say("planning.without side", board=r.board.name, refs=refs) for r in reports if (refs := _without_side(r))
    ]
    unanswered_passages, accepted = _without_input(reports)
    one_way = {report.board.name: _one_way(report, names) for report in reports}
    stopped += [say("planning.board turned", board=board) for board, way in one_way.items() if way is False]
    warned = [
        *open_passages(reports, names),
        *_by_rule(_on_machines(reports, names, _warns)),
        *_line(reports, _warns),
        *_open_line(reports),
        *(say("planning.board perhaps turned", board=board) for board, way in one_way.items() if way is None),
        *unanswered_passages,
    ]
    if machines is None:  # else the checks are of a line with more machines, and their verdicts none on this plan
        stopped += [] if stopped or found.failed else _graver(reports, "fail")
        warned += [] if warned or found.warned else _graver(reports, "warn")
    unanswered = [
        say("planning.board unanswered", board=report.board.name, why=why)
        for report in reports
        for why in report.unanswered
    ]
    return in_panels(
        replace(
            found,
            failed=(*stopped, *found.failed),
            warned=(*warned, *found.warned),
            unanswered=tuple(unanswered),
            notes=(*found.notes, *accepted, *_by_hand_alone(found, reports)),
        ),
        reports,
    )


def _by_hand_alone(found: Plan, reports: Iterable[Report]) -> list[Said]:
    """Return which boards have no pass, since no head is asked about any of their parts."""
    planned = {one.board for one in found.job.passes}
    without = dict.fromkeys(r.board.name for r in reports if not r.unanswered and r.board.name not in planned)
    return [say("planning.nothing for heads", boards=list(without))] if without else []


def _graver(reports: Iterable[Report], verdict: str) -> list[Said]:
    """Return which checks come to a verdict for reasons that no plan asks about: check and plan must not differ."""
    return [
        say("planning.check graver", board=r.board.name, fails=verdict == "fail", titles=titles)
        for r in reports
        if r.verdict == verdict and (titles := dict.fromkeys(f.title for f in _live(r, lambda f: f.outcome == verdict)))
    ]


def stops(reports: Iterable[Report], machines: Collection[str] | None = None) -> list[Said]:
    """Return what stops the boards in the machines, each rule once for each board, with the machines it is about."""
    return _by_rule(_on_machines(reports, machines, _fails))


def stopping(reports: Iterable[Report]) -> set[str | None]:
    """Return the machines that stop one of the boards."""
    return {finding.subject.machine for _, finding in _on_machines(reports, None, _fails)}


def open_passages(reports: Iterable[Report], machines: Collection[str]) -> list[Said]:
    """Return which passages are not decided: board, machines, and what would decide them.

    Advice that the same answers would decide as a passage is not told beside it.
    """
    asked: dict[tuple[bool, str, str], dict[str, None]] = {}
    for report in reports:
        to_decide = _Asked(report)
        for _, finding in _on_machines([report], machines, _is_open):
            key = _is_advice(report, finding), report.board.name, finding.subject.machine or ""
            asked.setdefault(key, {}).update(dict.fromkeys(to_decide.of(finding)))
    for (advice, *of), missing in list(asked.items()):
        if advice and missing.keys() <= asked.get((False, of[0], of[1]), {}).keys():
            del asked[True, of[0], of[1]]
    alike: dict[tuple[bool, str, tuple[str, ...]], list[str]] = {}
    for (advice, board, machine), missing in asked.items():
        alike.setdefault((advice, board, tuple(missing)), []).append(machine)
    return [
        say("planning.advice open" if advice else "planning.passage open", board=board, machines=names, missing=missing)
        for (advice, board, missing), names in sorted(alike.items(), key=lambda item: item[0][0])
    ]


class _Asked:
    """Which facts would decide the findings of a report."""

    def __init__(self, report: Report) -> None:
        self._rules = {rule.id: rule for rule in report.answers.rules}
        self._missing = {(f.rule, f.subject): f.missing for f in report.findings if f.undecided}

    def of(self, finding: Finding) -> Sequence[str]:
        """Return what would decide a finding: in place of facts that a rule settles, those that the rule is about."""
        waits = finding.waits_for
        rule = None if waits is None else self._rules.get(waits.rule)
        if waits is None or rule is None:
            return finding.missing
        own = [name for name in self._missing.get((waits.rule, waits.subject), ()) if name in rule.facts]
        return [*own, *(name for name in finding.missing if name not in rule.settles)] if own else finding.missing


def _by_rule(found: Iterable[tuple[Report, Finding]]) -> list[Said]:
    """Return each rule once for each board: its first message, then how many parts and which machines more."""
    alike: dict[tuple[str, str], list[Finding]] = {}
    for report, finding in found:
        alike.setdefault((report.board.name, finding.rule), []).append(finding)
    return [
        say("planning.rule on board", board=board, message=same[0].message, besides=_besides(same))
        for (board, _), same in alike.items()
    ]


def _besides(same: Sequence[Finding]) -> Said:
    """Return how many parts more the findings are about, and which machines the first message does not name."""
    first = same[0]
    parts = {f.subject.ref for f in same} - {first.subject.ref, None}
    named = list(dict.fromkeys(f.subject.machine for f in same if f.subject.machine))
    others = [machine for machine in named if not (first.names_machine and machine == first.subject.machine)]
    told = [say("planning.more of the kind", number=len(parts))] if parts else []
    told += [say("planning.on machines", machines=others, also=len(others) < len(named))] if others else []
    return say("planning.besides", told=told) if told else NOTHING


def _without_side(report: Report) -> list[str]:
    """Return the references of the parts whose side nobody knows: no pass places them."""
    placed = report.board.placements
    return [placed.ref[row] for row in (placed.is_part & (placed.side == Side.UNKNOWN)).nonzero()[0].tolist()]


def _one_way(report: Report, machines: Collection[str]) -> bool | None:
    """Return whether the machines take the board the same way round; without a size nobody asks."""
    if report.line is None or not report.board.size.length.value.is_known:
        return True
    ways = zip(report.line.machines, report.carried.session.shared(each_way), strict=True)
    return takes_one_way(way for machine, way in ways if machine.name in machines)


def in_panels(found: Plan, reports: Sequence[Report]) -> Plan:
    """Return the plan with what it says of boards that go in an ordered panel: fiducials, counts, times are its own."""
    ordered = {r.board.name: (r.in_panel.said, r.carried.circuits > 1) for r in reports if r.in_panel is not None}
    told = [
        say("planning.in a panel", board=name, panel=panel, several=several)
        for name, (panel, several) in ordered.items()
    ]
    return replace(
        found,
        warned=(*told, *found.warned),
        panels={**found.panels, **{name: panel for name, (panel, _) in ordered.items()}},
    )


def _line(reports: Iterable[Report], asked: Callable[[Finding], bool]) -> list[Said]:
    found = (say("planning.rule on line", message=f.message) for f in _on_line(reports, asked))
    return list(dict.fromkeys(found))


def _open_line(reports: Iterable[Report]) -> list[Said]:
    found = (say("planning.line open", title=f.title, missing=f.missing) for f in _on_line(reports, _is_open))
    return list(dict.fromkeys(found))


def _without_input(reports: Iterable[Report]) -> tuple[list[Said], list[Said]]:
    """Return which rules on the passage are not answered at all, for want of a whole input; then where it is accepted.

    That the input lacks is a finding of the check: who accepts that, accepts that these rules are not answered.
    """
    out: tuple[list[Said], list[Said]] = [], []
    for report in reports:
        accepted = {finding.rule for finding in report.findings if finding.waived} - {
            finding.rule for finding in report.findings if not finding.waived
        }
        subjects = {rule.id: rule.subject.name for rule in report.answers.rules}
        for name, rules in report.answers.skipped.items():
            lost = [rule for rule in rules if subjects[rule] in _PASSAGE]
            if lost:
                told = say("planning.passage unanswered", board=report.board.name, input=name, rules=lost)
                out[f"{name}-given" in accepted].append(told)
    return out


def _on_machines(
    reports: Iterable[Report], machines: Collection[str] | None, asked: Callable[[Finding], bool]
) -> Iterator[tuple[Report, Finding]]:
    """Yield findings about the boards in the machines, None: in any."""
    for report in reports:
        for f in _live(report, asked):
            if f.subject.kind in _PASSAGE and (machines is None or f.subject.machine in machines):
                yield report, f


def _on_line(reports: Iterable[Report], asked: Callable[[Finding], bool]) -> Iterator[Finding]:
    """Yield findings about the line that no plan answers."""
    for report in reports:
        yield from (f for f in _live(report, asked) if f.subject.kind == "line" and f.rule not in _PLANNED)


def _live(report: Report, asked: Callable[[Finding], bool]) -> Iterator[Finding]:
    return (f for f in report.findings if not f.waived and asked(f))


def _fails(finding: Finding) -> bool:
    return finding.outcome == "fail"


def _warns(finding: Finding) -> bool:
    return finding.outcome == "warn" and not finding.undecided


def _is_open(finding: Finding) -> bool:
    return finding.undecided


def _is_advice(report: Report, finding: Finding) -> bool:
    """Whether a violation of the finding's rule would only warn."""
    return any(rule.id == finding.rule and rule.outcome == "warn" for rule in report.answers.rules)
