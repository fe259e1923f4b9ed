"""The main job: a board and a line to a report."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from capcheck.board import read_board
from capcheck.engine.collect import choose, load_rules, rule_files, shipped_rules
from capcheck.engine.evaluate import Answers, answer
from capcheck.engine.finding import Finding
from capcheck.engine.rule import Rule
from capcheck.facts import FACTS, Catalogue, Session
from capcheck.machines.line import Line, line_of_machines, read_line
from capcheck.model import Board, InputFile, Note
from capcheck.report.model import Report


@dataclass(frozen=True, slots=True)
class Choice:
    """Which rules are answered, and how: folders beside the one that ships, ids or tags, limits changed."""

    folders: Sequence[Path] = ()
    select: Sequence[str] = ()
    ignore: Sequence[str] = ()
    limits: Mapping[str, Mapping[str, str | float]] = field(default_factory=dict)
    catalogue: Catalogue = FACTS


def chosen_rules(choice: Choice) -> list[Rule]:
    """Return the rules that ship and those of the choice's folders, less what is not chosen.

    Raises :class:`~capcheck.errors.InputError`.
    """
    files = rule_files([shipped_rules(), *choice.folders])
    return choose(load_rules(files, choice.catalogue, choice.limits), choice.select, choice.ignore)


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
) -> Report:
    """Return the report on a board, read from *path* or from the files named, against a line or single machines.

    Without a line and machines only the rules on the board's own data are answered. Raises
    :class:`~capcheck.errors.InputError` for anything that cannot be read.
    """
    rules = chosen_rules(choice or Choice())
    devices = _line(line, machines)
    board = read_board(path, placements=placements, bom=bom, outline=outline, libraries=libraries)
    catalogue = choice.catalogue if choice else FACTS
    return check_board(board, devices, rules, catalogue, strict=strict, rule_inputs=_rule_inputs(choice or Choice()))


def _line(line: str | Path | Line | None, machines: Sequence[str | Path]) -> Line | None:
    if isinstance(line, Line):
        return line
    if line is not None:
        return read_line(line)
    return line_of_machines([Path(m) for m in machines]) if machines else None


def _rule_inputs(choice: Choice) -> list[InputFile]:
    """Return the rule files of the shop; those that ship belong to the version of the program."""
    import hashlib

    return [
        InputFile(str(path), "rules", hashlib.sha256(path.read_bytes()).hexdigest())
        for path in rule_files(choice.folders)
    ]


def check_board(
    board: Board,
    line: Line | None,
    rules: Sequence[Rule],
    catalogue: Catalogue = FACTS,
    *,
    strict: bool = False,
    rule_inputs: Sequence[InputFile] = (),
) -> Report:
    """Return the report on a board that was read before; nothing is read here."""
    session = Session(catalogue, {"board": board, "line": line})
    missing = [name for name, there in _there(board, line).items() if not there]
    answers = answer(rules, session, missing)
    findings = sorted(answers.findings, key=_order)
    notes = [*(d.note() for d in board.decisions), *board.notes, *_skipped(answers)]
    inputs = [*board.inputs, *(line.inputs if line else ()), *rule_inputs]
    return Report(board, line, answers, findings, notes, inputs, session, strict)


def _there(board: Board, line: Line | None) -> dict[str, bool]:
    return {
        "line": line is not None,
        "outline": board.outline is not None or board.size.length.value.is_known,
        "bom": board.bom is not None,
    }


def _skipped(answers: Answers) -> list[Note]:
    """Return one note for each whole input that is missing, with the rules that it leaves unanswered."""
    remedy = {
        "line": "name a line or machines",
        "outline": "give an outline, or length and width in board.toml",
        "bom": "give the bill of materials",
    }
    notes = [
        Note(f"no {name} was given, so these rules are not answered: {', '.join(rules)}; {remedy[name]}")
        for name, rules in answers.skipped.items()
    ]
    notes += [Note(f'rule "{rule}" could not be answered: {error}') for rule, error in answers.broken_rules]
    return notes


def _order(finding: Finding) -> tuple[object, ...]:
    """Sort what fails first, then what warns, then what is undecided; within that by rule and place."""
    rank = 0 if finding.outcome == "fail" else 2 if finding.undecided else 1
    subject = finding.subject
    names = tuple(name or "" for name in (subject.machine, subject.head, subject.side))
    return (finding.waived, rank, finding.rule, finding.file or "", finding.row or 0, subject.ref or "", names)
