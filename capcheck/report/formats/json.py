"""The report and the board as JSON, for programs: schema ``capcheck-report/1``."""

from __future__ import annotations

import json
import math
from typing import Any, Final

from capcheck.checking import PartResult, Report
from capcheck.engine import FactValue, Finding
from capcheck.lexicon import sentence, sentence_of_decision
from capcheck.model import Board, Body, Kind, Measure, Note, Side
from capcheck.shop import Known
from capcheck.values import Interval

SCHEMA: Final = "capcheck-report/1"


def _end(value: float | None) -> float | None:
    """Return an end of an interval without noise beyond nanometres; an open end is null."""
    if value is None or math.isinf(value) or math.isnan(value):
        return None
    return round(value, 6) + 0.0


def _ends(interval: Interval) -> list[float | None]:
    return [_end(interval.low), _end(interval.high)]


def board_json(board: Board) -> dict[str, Any]:
    """Return the keys that describe the board as read: inputs, board, notes."""
    size = board.size
    return {
        "inputs": [{"path": f.path, "role": f.role, "sha256": f.sha256} for f in board.inputs],
        "board": {
            "name": board.name,
            "length_mm": _ends(size.length.value),
            "width_mm": _ends(size.width.value),
            "thickness_mm": _ends(size.thickness.value),
            "mass_g": _ends(size.mass.value),
            "placements": len(board.placements),
        },
        "decisions": [
            {
                "topic": d.topic,
                "choice": sentence(d.choice),
                "evidence": sentence(d.evidence),
                "runner_up": sentence(d.runner_up),
                "settle": sentence(d.settle),
                "open": bool(d.open),
                "file": d.place.file if d.place else None,
            }
            for d in board.decisions
        ],
        "set_aside": [
            {"file": s.place.file, "row": s.place.row, "reason": sentence(s.reason), "text": s.text}
            for s in board.set_aside
        ],
    }


def _note(note: Note) -> dict[str, Any]:
    place = note.place
    return {"message": sentence(note.said), "file": place.file if place else None, "row": place.row if place else None}


def _measure(measure: Measure) -> list[float | None]:
    return _ends(measure.value)


def _body(body: Body | None) -> dict[str, Any]:
    if body is None:
        body = Body()
    return {
        "lead_style": body.lead_style,
        "family": body.family,
        "mounting": body.mounting,
        "pins": body.pins,
        "pitch_mm": _measure(body.pitch),
        "body_mm": {
            "length": _measure(body.length),
            "width": _measure(body.width),
            "height": _measure(body.height),
        },
        "body_basis": {
            "length": str(body.length.basis),
            "width": str(body.width.basis),
            "height": str(body.height.basis),
        },
        "body_from": body.body_from,
    }


def parts_json(board: Board, results: list[PartResult] | None = None) -> list[dict[str, Any]]:
    """Return every row of the placement data; with *results* also outcome and heads of the parts to place."""
    placements = board.placements
    parts = []
    place = 0
    is_part = placements.is_part.tolist()
    bodies = [_body(body) for body in board.bodies]
    unknown = _body(None)
    for row, ref in enumerate(placements.ref):
        index = int(placements.part_type[row])
        name = board.types[index] if index >= 0 else None
        entry: dict[str, Any] = {
            "ref": ref,
            "kind": str(Kind(int(placements.kind[row]))),
            "side": None if placements.side[row] == Side.UNKNOWN else str(Side(int(placements.side[row]))),
            "x_mm": _end(float(placements.x_mm[row])),
            "y_mm": _end(float(placements.y_mm[row])),
            "rotation_deg": _end(float(placements.rotation_deg[row])),
            "fitted": bool(placements.fitted[row]),
            "part_number": name.part_number if name else "",
            "value": name.value if name else "",
            "footprint": name.footprint if name else "",
            **(bodies[index] if index >= 0 else unknown),
            "file": placements.files[int(placements.file[row])],
            "row": int(placements.row[row]),
        }
        if results is not None:
            result = results[place] if is_part[row] else None
            entry["outcome"] = result.outcome if result else "pass"
            entry["taken_by"] = list(result.taken_by) if result else []
        place += is_part[row]
        parts.append(entry)
    return parts


def _fact(value: FactValue) -> dict[str, Any]:
    if value.dimension is None:
        return {"value": value.text, "from": str(value.source)}
    return {"low": _end(value.low), "high": _end(value.high), "unit": value.unit, "from": str(value.source)}


def finding_json(finding: Finding) -> dict[str, Any]:
    """Return one finding."""
    subject = {
        key: value
        for key, value in (
            ("kind", finding.subject.kind),
            ("ref", finding.subject.ref),
            ("side", finding.subject.side),
            ("machine", finding.subject.machine),
            ("head", finding.subject.head),
        )
        if value is not None
    }
    margin = None
    if finding.margin is not None and _end(finding.margin.low) is not None:
        from capcheck.values import shown_unit

        margin = {"value": _end(finding.margin.low), "unit": shown_unit(finding.margin.dimension)}
    return {
        "rule": finding.rule,
        "title": finding.title,
        "outcome": finding.outcome,
        "undecided": finding.undecided,
        "waived": finding.waived,
        **({"waiver": finding.waiver} if finding.waived else {}),
        **({"baseline": finding.baseline} if finding.baseline else {}),
        "subject": subject,
        "group": finding.group,
        "facts": {value.name: _fact(value) for value in finding.facts},
        "missing": list(finding.missing),
        "margin": margin,
        "message": finding.message,
        "remedy": finding.remedy,
        "file": finding.place.file if finding.place else None,
        "row": finding.place.row if finding.place else None,
    }


def _gone(known: Known) -> dict[str, Any]:
    return {
        "rule": known.rule,
        "outcome": known.outcome,
        "subject": known.subject,
        "message": known.message,
        "file": known.file,
        "row": known.row,
    }


def report_json(report: Report) -> dict[str, Any]:
    """Return the whole report; two runs on the same inputs give the same bytes."""
    totals = report.totals
    line = report.line
    described = board_json(report.board)
    described["inputs"] = [{"path": f.path, "role": f.role, "sha256": f.sha256} for f in report.inputs]
    return {
        "schema": SCHEMA,
        "verdict": report.verdict,
        **described,
        "line": None if line is None else {"name": line.name, "machines": [m.name for m in line.machines]},
        "counts": {
            "pass": totals.passed,
            "warn": totals.warned,
            "fail": totals.failed,
            "undecided": totals.undecided,
            "waived": totals.waived,
            "known": totals.known,
        },
        "notes": [_note(note) for note in report.notes],
        "parts": parts_json(report.board, report.part_results()),
        "findings": [finding_json(finding) for finding in (*report.findings, *report.known)],
        **({"gone": [_gone(known) for known in report.gone]} if report.gone else {}),
    }


def read_json(board: Board) -> dict[str, Any]:
    """Return what was understood of the files, before any rule."""
    notes = [*(Note(sentence_of_decision(d), d.place) for d in board.decisions), *board.notes]
    notes += [Note(d.said, d.place) for d in board.discrepancies]
    return {
        "schema": SCHEMA,
        **board_json(board),
        "notes": [_note(note) for note in notes],
        "parts": parts_json(board),
    }


def dumps(data: dict[str, Any]) -> str:
    """Return JSON text, readable and without NaN."""
    return json.dumps(data, ensure_ascii=False, indent=1, allow_nan=False) + "\n"


def render_json(report: Report) -> str:
    """Return the whole report as JSON text."""
    return dumps(report_json(report))
