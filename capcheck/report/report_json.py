"""The report and the board as data for programs: schema ``capcheck-report/1``."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Any, TypeVar

from msgspec import UNSET, Struct
from msgspec.structs import asdict

from capcheck.checking import PartResult, Report
from capcheck.engine import FactValue, Finding, SubjectName
from capcheck.lexicon import cautions, sentence, sentence_of_decision
from capcheck.model import Board, Body, Kind, Measure, Note, OrderedPanel, PartName, Side
from capcheck.report.json_schema import (
    BoardJson,
    BodySize,
    BomLineJson,
    DecisionJson,
    DiscrepancyJson,
    FactJson,
    FindingJson,
    KnownJson,
    LineJson,
    MarginJson,
    NoteJson,
    PanelJson,
    PartJson,
    ReportJson,
    RuleJson,
    SetAsideJson,
    SubjectJson,
    WaitingJson,
)
from capcheck.report.rules_asked import rules_asked
from capcheck.shop import SCHEMA, Known
from capcheck.values import shown_unit

_Json = TypeVar("_Json", bound=Struct)


def report_fields(report: Report) -> dict[str, object]:
    """Return the whole report by the names of :class:`ReportJson`; what is long is an iterator, made as it is asked."""
    line = report.line
    fields: dict[str, object] = {
        **_read(report.board),
        "inputs": report.inputs,
        "verdict": report.verdict,
        "line": None if line is None else LineJson(line.name, [m.name for m in line.machines]),
        "counts": report.totals,
        "panel": UNSET if report.in_panel is None else _panel(report.in_panel.panel),
        "unanswered": [sentence(why) for why in report.unanswered] or UNSET,
        "notes": [_note(note) for note in report.notes],
        "parts": (PartJson(**part) for part in parts_json(report.board, report.row_results())),
        "findings": (_finding(f) for f in (*report.findings, *report.known) if f.waits_for is None),
        "waiting": (_finding(f) for f in report.findings if f.waits_for is not None),
        "rules": [
            _same(
                RuleJson,
                item.counts,
                rule=item.rule.id,
                title=item.rule.title,
                subject=item.rule.subject.name,
                level=item.rule.outcome,
                never_applied=item.never or None,
            )
            for item in rules_asked(report)
        ],
        "gone": [known_json(known) for known in report.gone] or UNSET,
    }
    return {name: fields[name] for name in ReportJson.__struct_fields__ if fields[name] is not UNSET}


def read_json(board: Board) -> dict[str, object]:
    """Return what was understood of the files, before any rule."""
    notes = [*(Note(sentence_of_decision(d), d.place) for d in board.decisions), *board.notes]
    notes += [Note(d.said, d.place) for d in board.discrepancies]
    return {**_read(board), "notes": [_note(note) for note in notes], "parts": list(parts_json(board))}


def _read(board: Board) -> dict[str, Any]:
    """Return the keys that a checked board and one that was only read have in common."""
    size = board.size
    return {
        "schema": SCHEMA,
        "inputs": board.inputs,
        "board": BoardJson(
            name=board.name,
            length_mm=_ends(size.length),
            width_mm=_ends(size.width),
            thickness_mm=_ends(size.thickness),
            mass_g=_ends(size.mass),
            placements=len(board.placements),
        ),
        "decisions": [
            _same(
                DecisionJson,
                decision,
                choice=sentence(decision.choice),
                evidence=sentence(decision.evidence),
                runner_up=sentence(decision.runner_up),
                settle=sentence(decision.settle),
                file=decision.place.file if decision.place else None,
            )
            for decision in board.decisions
        ],
        "discrepancies": [
            DiscrepancyJson(
                topic=told.title,
                severity=told.severity,
                message=sentence(told.said),
                refs=list(told.refs),
                file=told.place.file if told.place else None,
                row=told.place.row if told.place else None,
            )
            for told in board.discrepancies
        ],
        "bom": None
        if board.bom is None
        else [_same(BomLineJson, line, refs=list(line.refs), row=line.row or None) for line in board.bom],
        "cautions": cautions(),
        "set_aside": [
            SetAsideJson(file=row.place.file, row=row.place.row or 0, reason=sentence(row.reason), text=row.text)
            for row in board.set_aside
        ],
    }


def _same(kind: type[_Json], source: Struct, **others: object) -> _Json:
    """Return a struct of *kind* with the fields of *source* that bear the same names, and *others*."""
    same = {name: getattr(source, name) for name in kind.__struct_fields__ if name not in others}
    return kind(**same, **others)


def _panel(panel: OrderedPanel) -> PanelJson:
    return _same(PanelJson, panel, columns=panel.source.columns, rows=panel.source.rows)


def known_json(known: Known) -> KnownJson:
    """Return a finding of an earlier report."""
    return _same(KnownJson, known)


def parts_json(board: Board, results: Sequence[PartResult] | None = None) -> Iterator[dict[str, Any]]:
    """Yield every row of the placement data by the names of :class:`PartJson`.

    *results* are those of the rows, for outcome and heads.
    """
    placements = board.placements
    bodies = [*map(_body, board.bodies), _body(Body())]
    names = [*board.types, PartName()]
    for row, ref in enumerate(placements.ref):
        index, side = int(placements.part_type[row]), Side(int(placements.side[row]))
        part = {
            "ref": ref,
            "kind": str(Kind(int(placements.kind[row]))),
            "side": None if side is Side.UNKNOWN else str(side),
            "x_mm": float(placements.x_mm[row]),
            "y_mm": float(placements.y_mm[row]),
            "rotation_deg": float(placements.rotation_deg[row]),
            "fitted": bool(placements.fitted[row]),
            "part_number": names[index].part_number,
            "value": names[index].value,
            "footprint": names[index].footprint,
            **bodies[index],
            "file": placements.files[int(placements.file[row])],
            "row": int(placements.row[row]),
        }
        if results is not None:
            result = results[row]
            part |= {"outcome": result.outcome, "taken_by": list(result.taken_by)}
        yield part


def _body(body: Body) -> dict[str, Any]:
    sizes = {"length": body.length, "width": body.width, "height": body.height}
    return {
        "lead_style": body.lead_style,
        "family": body.family,
        "mounting": body.mounting,
        "pins": body.pins,
        "pitch_mm": _ends(body.pitch),
        "body_mm": BodySize(**{name: _ends(size) for name, size in sizes.items()}),
        "body_basis": {name: str(size.basis) for name, size in sizes.items()},
        "body_from": body.body_from,
    }


def _ends(measure: Measure) -> tuple[float, float]:
    return measure.low, measure.high


def _note(note: Note) -> NoteJson:
    place = note.place
    return NoteJson(sentence(note.said), place.file if place else None, place.row if place else None)


def _finding(finding: Finding) -> FindingJson:
    margin = finding.margin
    waited = finding.waits_for
    return _same(
        FindingJson,
        finding,
        waiver=finding.waiver if finding.waived else UNSET,
        baseline=finding.baseline or UNSET,
        part_type=finding.part_type or UNSET,
        statement=finding.text,
        subject=_subject(finding.subject),
        waits_for=UNSET if waited is None else WaitingJson(waited.rule, _subject(waited.subject)),
        file=finding.place.file if finding.place else None,
        row=finding.place.row if finding.place else None,
        facts={value.name: _fact(value) for value in finding.facts},
        margin=None
        if margin is None or not math.isfinite(margin.low)
        else MarginJson(margin.low, shown_unit(margin.dimension)),
    )


def _subject(subject: SubjectName) -> SubjectJson:
    named: dict[str, Any] = {key: text for key, text in asdict(subject).items() if text is not None}
    return SubjectJson(**named)


def _fact(value: FactValue) -> FactJson:
    note = UNSET if value.note is None else sentence(value.note)
    if value.dimension is None:
        return FactJson(value=value.text, source=str(value.source), note=note)
    return FactJson(low=value.low, high=value.high, unit=value.unit, source=str(value.source), note=note)
