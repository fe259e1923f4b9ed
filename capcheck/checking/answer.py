"""The main job: a board and a line to a report."""

from __future__ import annotations

import datetime as dt
import math
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Final

from msgspec.structs import replace

from capcheck.checking.own_folders import findings_for_others
from capcheck.checking.prepared import Prepared, line_or_machines, prepare
from capcheck.checking.report import Report
from capcheck.checking.settled_board import read_prepared
from capcheck.engine import (
    Answers,
    FactValue,
    Finding,
    Rule,
    SubjectName,
    adopted,
    answer,
    folded,
    lengths_named,
    needed,
    with_derived,
)
from capcheck.facts import (
    FACTS,
    Catalogue,
    Session,
    columns_not_there,
    not_compared,
    titles_of_bom,
    travel_notes,
)
from capcheck.lexicon import sentence_of_decision
from capcheck.machines import Line
from capcheck.model import NOTHING, Board, InputFile, Note, say
from capcheck.shop import (
    Choice,
    Configuration,
    Settings,
    answered_of,
    answers_given,
    read_configuration,
    settle,
    waived,
)
from capcheck.values import LENGTH, InputError, Place

if TYPE_CHECKING:
    from capcheck.engine import PythonRule
    from capcheck.shop import GivenAnswer, Known

_MOST_GONE: Final = 5
_SEARCHED: Final = frozenset({"part.free_ring", "part.parting_distance", "part.across_parting_distance"})
"""Facts that are worked out near a part only."""


def check(
    path: str | Path | None = None,
    *,
    line: str | Path | Line | None = None,
    machines: Sequence[str | Path] = (),
    placements: Sequence[str | Path] = (),
    bom: str | Path | None = None,
    outline: str | Path | None = None,
    libraries: Sequence[str | Path] = (),
    choice: Choice | None = None,
    strict: bool = False,
    config: str | Path | Configuration | None = None,
    baseline: str | Path | None = None,
    new_only: bool = False,
    rules: Sequence[str | Path | PythonRule | Mapping[str, object]] = (),
    limits: Mapping[str, str | float] | None = None,
) -> Report:
    """Return the report on a board, read from *path* or from the files named, against a line or single machines.

    Without a line and machines only the rules on the board's own data are answered. *config* is a configuration file
    of the shop; what is given beside it wins, and none is looked for. *baseline* is an earlier report in JSON, whose
    findings are marked, and with *new_only* do not count. *rules* are answered beside those that ship: rule files and
    folders, functions under :func:`~capcheck.rule`, or the keys of a ``[[rule]]`` as a mapping. *limits* changes limits
    for this run: ``{"fiducial-count.least": 3}``. Raises :class:`~capcheck.values.InputError` for anything
    that cannot be read.
    """
    configuration = config if isinstance(config, Configuration) else read_configuration(config) if config else None
    settings = settle(
        configuration or Configuration(),
        board=path,
        line=None if isinstance(line, Line) else line,
        machines=bool(machines) or isinstance(line, Line),
        libraries=libraries,
        strict=strict,
        rules=[item for item in rules if isinstance(item, str | Path)],
        limits=_by_rule(limits or {}),
    )
    made = [item for item in rules if not isinstance(item, str | Path)]
    if choice is not None:
        if rules or limits:
            raise ValueError("rules and limits are part of a choice: give them there, or without one")
        settings = replace(settings, choice=choice)
    else:
        settings = replace(settings, choice=replace(settings.choice, made=made, limits_named="limits"))
    devices = line if isinstance(line, Line) else line_or_machines(settings.line, machines)
    return check_as_settled(
        settings, devices, placements=placements, bom=bom, outline=outline, baseline=baseline, new_only=new_only
    )


def _by_rule(limits: Mapping[str, str | float]) -> dict[str, dict[str, str | float]]:
    """Return limits by rule and name. Raises :class:`~capcheck.values.InputError` for a name without its rule."""
    found: dict[str, dict[str, str | float]] = {}
    for name, value in limits.items():
        rule, dot, limit = name.rpartition(".")
        if not dot:
            raise InputError.at("limits", f'"{name}" names no limit of a rule', remedy='write "fiducial-count.least"')
        found.setdefault(rule, {})[limit] = value
    return found


def check_as_settled(
    settings: Settings,
    devices: Line | None,
    *,
    placements: Sequence[str | Path] = (),
    bom: str | Path | None = None,
    outline: str | Path | None = None,
    baseline: str | Path | None = None,
    new_only: bool = False,
    every: Sequence[Rule] | None = None,
    answers: Sequence[GivenAnswer] = (),
) -> Report:
    """Return the report on the board that *settings* or the files name. Raises as :func:`check` does.

    *every* are the rules that :func:`~capcheck.shop.all_rules` read before, where many boards share them; *answers* are
    given in this run.
    """
    given = prepare(settings, devices, baseline=baseline, every=every, answers=answers)
    return check_prepared(given, placements=placements, bom=bom, outline=outline, new_only=new_only)


def check_prepared(
    given: Prepared,
    path: str | Path | None = None,
    *,
    placements: Sequence[str | Path] = (),
    bom: str | Path | None = None,
    outline: str | Path | None = None,
    new_only: bool = False,
) -> Report:
    """Return the report on the board in *path*, of the settings or of the files; nothing else is read.

    *given* is of this board. Raises as :func:`check` does.
    """
    board = read_prepared(given, path, placements=placements, bom=bom, outline=outline)
    return check_read(given, board, given.devices, new_only=new_only)


def check_read(
    given: Prepared, board: Board, line: Line | None, *, new_only: bool = False, as_sent: bool = False
) -> Report:
    """Return the report on a board that :func:`read_prepared` read, against a line; *given* is of this board."""
    settings = given.settings
    return check_board(
        board,
        line,
        given.rules,
        settings.choice.catalogue,
        strict=settings.strict,
        rule_inputs=given.inputs,
        settings=settings,
        baseline=given.baseline,
        new_only=new_only,
        as_sent=as_sent,
        answered=answered_of([*answers_given(settings, board.name), *given.answers], board.name),
    )


def check_board(
    board: Board,
    line: Line | None,
    rules: Sequence[Rule],
    catalogue: Catalogue = FACTS,
    *,
    strict: bool = False,
    rule_inputs: Sequence[InputFile] = (),
    settings: Settings | None = None,
    baseline: Sequence[Known] | None = None,
    new_only: bool = False,
    today: dt.date | None = None,
    as_sent: bool = False,
    answered: frozenset[tuple[str, str]] = frozenset(),
) -> Report:
    """Return the report on a board that was read before; nothing is read here.

    *settings* bring waivers and class of product, *baseline* the findings of an earlier report; *today* is the day on
    which waivers are judged. A board that the line does not take is judged in the panel that would be ordered, unless
    it is to be judged *as_sent*. *answered* are the questions that the customer need not be asked again.
    """
    settings = settings or Settings()
    missing = [name for name, there in _there(board, line).items() if not there]

    def answers_of(whole: Board, chosen: Sequence[Rule]) -> tuple[Session, Answers]:
        known = with_derived(catalogue, (rule.derived for rule in chosen))
        session = Session(
            known,
            whole,
            line,
            settings.product_class,
            settings.stencil_thickness,
            settings.customer,
            reach=neighbour_reach(chosen),
        )
        return session, answer(chosen, session, missing)

    session, answers = answers_of(board, rules)
    in_panel = None

    def live(found: Sequence[Finding]) -> list[Finding]:
        accepted = waived(found, board, settings.waivers, settings.configuration, rules=(), today=today)
        return [finding for finding in accepted if not finding.waived]

    if line is not None and not as_sent and any(f.outcome == "fail" for f in answers.findings):
        from capcheck.checking.ordered_panel import judged_in_panel

        in_panel = judged_in_panel(session, board, answers, answered=answers_of, live=live)
    catalogue = session.catalogue
    if in_panel is not None:
        answers = in_panel.answers
    answers.findings += _not_compared(answers, session) if settings.choice.select else ()
    findings: Sequence[Finding] = sorted(_needed(answers, catalogue), key=_order)
    if settings.waivers:
        decided = [r.id for r in rules if not any(r.id in skipped for skipped in answers.skipped.values())]
        marked = waived(findings, board, settings.waivers, settings.configuration, rules=decided, today=today)
        findings = sorted(adopted(marked, answers.whole_rules, catalogue), key=_order)
    notices = [*_of_configuration(settings.configuration), *_of_columns(board, rules)]
    notes = [
        *notices,
        *(Note(sentence_of_decision(d), d.place) for d in board.decisions),
        *board.notes,
        *(_by_line(session, board, line) if in_panel is None else _by_line(in_panel.session, in_panel.board, line)),
        *_skipped(answers),
    ]
    inputs = [*board.inputs, *(line.inputs if line else ()), *rule_inputs]
    report = Report(
        board=board,
        line=line,
        answers=answers,
        findings=findings,
        notes=notes,
        notices=notices,
        inputs=inputs,
        session=session,
        strict=strict,
        in_panel=in_panel,
        selected=settings.choice.select,
        documentation=settings.documentation,
        answered=answered,
        costs=settings.costs,
    )
    return _folded(report if baseline is None else _against(report, baseline, new_only=new_only))


def _needed(answers: Answers, catalogue: Catalogue) -> list[Finding]:
    """Return the findings without questions that nothing hangs on: their rules do not apply there."""
    if answers.broken_rules:
        # What a rule that raised would have asked for is not known.
        return answers.findings
    kept = needed(answers.findings, answers.whole_rules, catalogue)
    for rule, number in (Counter(f.rule for f in answers.findings) - Counter(f.rule for f in kept)).items():
        answers.counts[rule].undecided -= number
        answers.counts[rule].not_applicable += number
    return kept


def _folded(report: Report) -> Report:
    """Return the report with the answers that wait for another marked; the last step, as no waiver or baseline does."""
    found = folded(report.findings, report.answers.whole_rules, report.session.catalogue)
    return replace(report, findings=findings_for_others(replace(report, findings=found)))


def _not_compared(answers: Answers, session: Session) -> Iterator[Finding]:
    """Yield a finding for each part that cannot be compared with neighbours and each rule on pairs asked for by name.

    In a run of all rules those on parts ask about such a part, once and not for each pair.
    """
    skipped = {rule for rules in answers.skipped.values() for rule in rules}
    rules = [rule for rule in answers.rules if rule.subject.name == "pair" and rule.id not in skipped]
    names, types = session.texts("part.ref"), session.texts("part.type")
    for row in session.shared(not_compared).nonzero()[0].tolist() if rules else ():
        place = names.source(row)
        for rule in rules:
            answers.counts[rule.id].undecided += 1
            yield Finding(
                rule=rule.id,
                title=rule.title,
                outcome="warn",
                undecided=True,
                subject=SubjectName("part", names.value(row)),
                facts=(FactValue("part.length", dimension=LENGTH, low=0.0, high=math.inf),),
                margin=None,
                template=rule.message,
                remedy=rule.remedy,
                place=place if isinstance(place, Place) else None,
                missing=("part.length",),
                group=types.value(row) or "",
            )


def neighbour_reach(rules: Sequence[Rule]) -> float:
    """Return the largest length in mm that a rule on gaps or parting names, so that a shop's wider one is found."""
    searching = [r for r in rules if any(name.startswith("pair.") or name in _SEARCHED for name in r.facts)]
    return max((length for rule in searching for length in lengths_named(rule)), default=0.0)


def _against(report: Report, baseline: Sequence[Known], *, new_only: bool) -> Report:
    """Return the report with its findings marked; with *new_only* those that the baseline has are set aside."""
    from capcheck.shop import compared

    marked, gone = compared(report.findings, baseline)
    findings = adopted(marked, report.answers.whole_rules, report.session.catalogue)
    states = Counter(finding.baseline for finding in findings)
    said = say(
        "checking.compared",
        new=states["new"],
        worse=states["worse"],
        unchanged=states["unchanged"],
        gone=len(gone),
        first=[say("checking.is gone", rule=known.rule, subject=known.subject) for known in gone[:_MOST_GONE]],
        more=say("checking.more gone", count=len(gone) - _MOST_GONE) if len(gone) > _MOST_GONE else NOTHING,
    )
    kept: list[Finding] = []
    aside: list[Finding] = []
    for finding in findings:
        is_known = new_only and finding.baseline == "unchanged" and not finding.waived
        (aside if is_known else kept).append(finding)
    return replace(
        report,
        findings=kept,
        known=aside,
        gone=gone,
        notes=[Note(said), *report.notes],
        notices=[Note(said), *report.notices],
    )


def _of_configuration(configuration: Configuration) -> list[Note]:
    """Return notes on the configuration in force, and on those that were found and are not obeyed."""
    held = configuration.path
    in_force = [] if held is None else [Note(say("shop.in force", file=str(held)))]
    return [*in_force, *(Note(other.said) for other in configuration.not_obeyed)]


def _of_columns(board: Board, rules: Sequence[Rule]) -> Iterator[Note]:
    """Yield a note on each column that rules ask for and the BOM has not: a title may be spelled otherwise."""
    asked = {rule.id: (*rule.facts, *rule.message_facts) for rule in rules}
    for title in columns_not_there(board, [name for names in asked.values() for name in names]):
        asking = [rule for rule, names in asked.items() if title in columns_not_there(board, names)]
        yield Note(say("checking.no column", title=title, rules=asking, columns=titles_of_bom(board)))


def _there(board: Board, line: Line | None) -> dict[str, bool]:
    return {
        "line": line is not None,
        "outline": board.outline is not None or board.size.length.value.is_known,
        "bom": board.bom is not None,
    }


def _by_line(session: Session, board: Board, line: Line | None) -> list[Note]:
    """Return notes on how the board travels and which panel the line could take."""
    return [] if line is None else [*travel_notes(session, board, line), *_panel(session, board)]


def _panel(session: Session, board: Board) -> list[Note]:
    """Return a note on the panel that the line could take, for a single board that passes it; else a rule tells."""
    if board.outline is None or board.manifest.panel is not None:
        return []
    if session.numbers("line.machines_refusing_board").low[0] > 0:
        return []
    return [Note(say("checking.panel", proposal=session.texts("line.panel_proposal").value(0)))]


def _skipped(answers: Answers) -> list[Note]:
    """Return one note for each whole input that is missing, with the rules that it leaves unanswered."""
    notes = [Note(say(f"checking.no {name}", rules=rules)) for name, rules in answers.skipped.items()]
    return notes + [Note(say("checking.rule broken", rule=rule, error=error)) for rule, error in answers.broken_rules]


def _order(finding: Finding) -> tuple[object, ...]:
    """Sort what fails first, then what warns, then what is undecided; within that by rule and place."""
    rank = 0 if finding.outcome == "fail" else 2 if finding.undecided else 1
    subject = finding.subject
    names = tuple(name or "" for name in (subject.machine, subject.head, subject.side))
    file, row = (finding.place.file, finding.place.row or 0) if finding.place else ("", 0)
    return (finding.waived, rank, finding.rule, file, row, subject.ref or "", names)
