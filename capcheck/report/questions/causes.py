"""What a report gives cause to ask: each record, missing fact and finding with its type, before any is gathered."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from fnmatch import fnmatchcase
from typing import Final

from msgspec import Struct
from msgspec.structs import replace

from capcheck.checking import Report
from capcheck.engine import Finding
from capcheck.lexicon import plain_fact, sentence
from capcheck.model import Board, Body, Decision, Said, Severity, say
from capcheck.report.questions.question_types import NOBODY, OTHER, question_types
from capcheck.report.sentences import base_name, is_fact_of_the_shop, refs_of_types
from capcheck.values import Place, first_circuit, refs_of_subject, shortened

_PANEL: Final = "panel-from-us"
_RAILS: Final = "rails-from-us"
_OF_BUYING: Final = frozenset(
    {
        "part-number-missing",
        "part-number-generic",
        "number-in-question",
        "which-number",
        "two-part-numbers",
        "one-of-two",
        "merge-numbers",
    }
)
"""What nobody need ask of a part that the customer provides, or whose number board.toml states."""
_PASSES_LINE: Final = "board-passes-line"
_MISSING: Final = Severity.ASSUMED
_OF_BALLS: Final = frozenset({"part.ball_diameter", "part.has_balls"})
_OPEN_KIND: Final = frozenset({"part.lead_style", "part.mounting"})
"""Where one of these is missing too, nobody would ask for the balls of what may be a connector."""
_HANGING: Final = "part.hanging_load"
"""Mass over the area of the joints: a customer states the mass, and of the joints' area nothing."""
_ACROSS: Final = "part.across_parting_distance"
"""Of a part that is known to lie one way, only its exact size leaves it open."""
_SIZE: Final = say("missing.size")


class Cause(Struct, frozen=True):
    """One reason to ask: its type and group, the values of what is said, and the parts it is about.

    *part* is what the data call the part, where a record does so itself.
    """

    type: str
    group: Severity
    refs: tuple[str, ...] = ()
    values: Mapping[str, object] = {}
    said: Said | None = None
    part: str = ""
    side: str | None = None
    place: Place | None = None
    rule: str = ""
    """The rule whose finding it is."""
    fact: str = ""
    """The fact that is missing."""
    settle: str = ""
    """The line of board.toml that settles a reading."""


def causes(report: Report) -> Iterator[Cause]:
    """Yield every cause; what nobody is asked is left out."""
    found = [_no_answer(report), _decisions(report), _discrepancies(report), _notes(report), _bodies(report)]
    for some in (*found, _missing(report), _findings(report)):
        yield from (cause for cause in some if cause.type != NOBODY)


def _no_answer(report: Report) -> Iterator[Cause]:
    """Yield one cause where the run is no answer: a list without it would read as if nothing else were open."""
    if report.unanswered:
        yield Cause("files-incomplete", Severity.STOP)


def _decisions(report: Report) -> Iterator[Cause]:
    known = question_types()
    for decision in report.board.decisions:
        type_ = known.of_record(decision.choice, decision.topic)
        if not decision.open and not _is_confirmed(type_, decision):
            continue
        yield Cause(
            type_,
            Severity.STOP if decision.open else Severity.ASSUMED,
            _refs(decision.choice),
            _values_of(decision),
            _said(decision.choice),
            place=decision.place,
            settle=sentence(decision.settle),
        )


def _is_confirmed(type_: str, decision: Decision) -> bool:
    """Whether a settled reading is asked all the same; a type that names what else could be meant needs such."""
    if type_ not in question_types().types or not question_types().types[type_].confirm:
        return False
    return "other" not in question_types().types[type_].by or bool(sentence(decision.runner_up))


def _values_of(decision: Decision) -> dict[str, object]:
    """Return the values of a decision: those of its evidence, the next best as ``other_…``, and its choice."""
    other = {f"other_{name}": value for name, value in _flat(decision.runner_up).items()}
    named = {"chosen": _named(decision.choice), "other": _named(decision.runner_up)}
    return {**_flat(decision.evidence), **other, **_flat(decision.choice), **named}


def _named(said: Said | str) -> str:
    """Return what a statement names: a sheet of a file, or files."""
    values = _flat(said)
    names = values.get("names", values.get("file", ""))
    files = ", ".join(base_name(str(name)) for name in (names if isinstance(names, list | tuple) else [names]))
    return f"{files} [{values['sheet']}]" if values.get("sheet") else files


def stepped_refs(board: Board) -> frozenset[str]:
    """Return the references of a stepped panel; of a board as it is none: a stroke in them is the customer's own."""
    return frozenset() if board.manifest.panel is None else frozenset(board.placements.ref)


def _discrepancies(report: Report) -> Iterator[Cause]:
    waived = {f.subject.ref for f in report.findings if f.waived and f.subject.kind == "data"}
    board = report.board
    every, numbers = stepped_refs(board), board.manifest.part_numbers
    settled = {*board.provided, *(r for r in board.placements.ref for n in numbers if fnmatchcase(r, n))}
    for told in report.board.discrepancies:
        if told.about is None and (shortened(told.refs) or told.title) not in waived:
            values = _flat(told.said)
            type_ = question_types().of_record(told.said, told.topic)
            refs = tuple(told.refs)
            if type_ in _OF_BUYING:
                refs = tuple(ref for ref in refs if first_circuit(ref, every) not in settled)
            if told.refs and not refs:
                continue
            yield Cause(
                type_,
                told.severity,
                refs,
                values,
                _said(told.said),
                str(values.get("name", "")),
                place=told.place,
            )


def _notes(report: Report) -> Iterator[Cause]:
    for note in report.notes:
        if isinstance(note.said, Said) and note.said.key in question_types().said:
            type_ = question_types().said[note.said.key]
            yield Cause(type_, _MISSING, _refs(note.said), _flat(note.said), note.said, place=note.place)


def _bodies(report: Report) -> Iterator[Cause]:
    """Yield a cause for each doubt about a body; about its size only where a check waits for the answer.

    Of a size that can be read in several ways every check takes them all: where each of them passes, nobody need ask.
    """
    board, known = report.board, question_types()
    waiting = _waiting(report)
    for index, same in refs_of_types(board).items():
        for said in board.bodies[index].questions if index >= 0 else ():
            type_ = known.said.get(said.key, known.bodies)
            if type_ == known.bodies and waiting.isdisjoint(same):
                continue
            yield Cause(type_, _MISSING, tuple(same), _flat(said), said if said.key in known.said else _SIZE)
            for told in board.bodies[index].no_room:
                yield Cause(type_, _MISSING, tuple(same), said=told)


def _missing(report: Report) -> Iterator[Cause]:
    """Yield a cause for each fact that a finding lacks, of which the customer knows."""
    weighed, oriented = _weighed(report), _parts_with(report, lambda body: body.oriented)
    for finding in _live(report):
        if finding.undecided:
            for fact in finding.missing:
                if fact in _OF_BALLS and _OPEN_KIND.intersection(finding.missing):
                    continue
                if fact == _HANGING and finding.subject.ref in weighed:
                    continue
                if fact == _ACROSS and finding.subject.ref in oriented:
                    continue
                type_ = NOBODY if is_fact_of_the_shop(fact) else question_types().of_fact(fact)
                phrase = question_types().missing.get(fact)
                told = _of_finding(finding, type_, _MISSING, plain_fact(fact))
                yield replace(told, said=say(phrase) if phrase else None, fact=fact)


def _weighed(report: Report) -> set[str]:
    """Return the references of the parts whose mass is stated."""
    return _parts_with(report, lambda body: body.mass.proved.value.is_known)


def _parts_with(report: Report, holds: Callable[[Body], bool]) -> set[str]:
    board = report.board
    named = ((index, refs) for index, refs in refs_of_types(board).items() if index >= 0)
    return {ref for index, refs in named if holds(board.bodies[index]) for ref in refs}


def _findings(report: Report) -> Iterator[Cause]:
    waiting, bodies = _waiting(report), question_types().bodies
    asks = {rule.id: rule.entry.ask for rule in report.answers.rules}
    for finding in _live(report):
        if finding.undecided or finding.subject.kind == "data":
            continue
        type_, phrase = question_types().of_rule(finding.rule), question_types().missing.get(finding.rule)
        if type_ == bodies and not phrase and finding.subject.ref not in waiting:
            continue
        if report.in_panel is not None and finding.rule == _PASSES_LINE:
            panel = report.in_panel.panel
            sizes = {"rail": panel.rail_mm, "panel_length": panel.length_mm, "panel_width": panel.width_mm}
            values = {"across": panel.source.columns, "down": panel.source.rows, **sizes}
            single = panel.source.columns * panel.source.rows == 1
            yield Cause(_RAILS if single else _PANEL, Severity.ASSUMED, values=values)
            continue
        # A shop's own headline speaks to the shop: a customer hears only what its rule says for customers.
        text = asks.get(finding.rule, "") if type_ == OTHER else finding.title
        if text:
            told = _of_finding(finding, type_, _group_of(finding), text)
            yield replace(told, said=say(phrase), fact=finding.rule) if phrase else told


def _waiting(report: Report) -> set[str | None]:
    """Return the references of the parts with an undecided answer."""
    return {f.subject.ref for f in _live(report) if f.undecided}


def _group_of(finding: Finding) -> Severity:
    return Severity.STOP if finding.outcome == "fail" else Severity.ADVICE


def _of_finding(finding: Finding, type_: str, group: Severity, text: str) -> Cause:
    ref = finding.subject.ref
    refs = () if ref is None else tuple(refs_of_subject(ref)) if finding.subject.kind == "pair" else (ref,)
    return Cause(type_, group, refs, {"text": text}, side=finding.subject.side, place=finding.place, rule=finding.rule)


def _live(report: Report) -> Sequence[Finding]:
    return [f for f in report.findings if not f.waived]


def _said(said: Said | str) -> Said | None:
    return said if isinstance(said, Said) else None


def _refs(said: Said | str) -> tuple[str, ...]:
    found = _flat(said).get("refs", ())
    return tuple(map(str, found)) if isinstance(found, list | tuple) else ()


def _flat(said: Said | str) -> dict[str, object]:
    """Return the values of a statement, those of the statements within it below its own."""
    if isinstance(said, str):
        return {}
    within = [_flat(value) for value in said.values.values() if isinstance(value, Said)]
    return {name: value for values in (*within, said.values) for name, value in values.items()}
