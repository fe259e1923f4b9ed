"""A plan and a comparison as JSON data: units in the keys, open ends null, the same order every time."""

from __future__ import annotations

import math
from typing import Any, Final

from capcheck.lexicon import sentence
from capcheck.planning import (
    CPK_CAPABLE,
    BoardFigures,
    Change,
    Comparison,
    Composed,
    Demand,
    Feeder,
    MachineTime,
    PassFigures,
    Placing,
    Plan,
    Row,
    SetUp,
    Shortage,
    Term,
)
from capcheck.report.plan.words import reasons, what
from capcheck.values import Interval

PLAN_SCHEMA: Final = "capcheck-plan/1"
COMPARISON_SCHEMA: Final = "capcheck-comparison/1"

_DIGITS: Final = 6


def _number(value: float | None) -> float | None:
    return None if value is None or not math.isfinite(value) else round(float(value), _DIGITS)


def _ends(value: Interval | None) -> list[float | None] | None:
    return None if value is None else [_number(value.low), _number(value.high)]


def _term(term: Term) -> dict[str, Any]:
    return {
        "name": term.work,
        "count": term.count,
        "seconds_each": _number(term.seconds),
        "seconds": _number(term.total),
        "from": sentence(term.source),
    }


def _time(time: MachineTime) -> dict[str, Any]:
    return {
        "machine": time.machine,
        "placements": time.placements,
        "planned_s": _number(time.planned),
        "seconds_s": _ends(time.seconds),
        "rated_s": _number(time.rated),
        "basis": [str(b) for b in time.bases],
        "not_stated": list(time.missing),
        "transfer_hidden": time.hidden_transfer,
        "placing_s": _number(time.placing),
        "fast_placing_s": _number(time.fast_placing),
        "sum": [_term(time.transfer), _term(time.fiducials)],
        "gantries": [
            {
                "gantry": g.gantry,
                "seconds": _number(g.total),
                "over_board_s": _number(g.over_board),
                "heads": [{"head": head, "sum": [_term(t) for t in terms]} for head, terms in g.heads],
            }
            for g in time.gantries
        ],
    }


def _feeder(feeder: Feeder, boards: list[int]) -> dict[str, Any]:
    """Return a feeder; *boards* are those that each pass of its set-up delivers."""
    return {
        "machine": feeder.machine,
        "gantry": feeder.gantry,
        "heads": list(feeder.heads),
        "part_number": feeder.part,
        "supply": feeder.supply,
        "tape_width_mm": _ends(feeder.tape_width),
        "tape_pitch_mm": _ends(feeder.tape_pitch),
        "slots": _ends(feeder.slots),
        "first_slot": feeder.slot,
        "last_slot": None if feeder.slot is None else _number(feeder.slot + feeder.slots.high - 1),
        "placements": list(feeder.counts),
        "refs": [list(r) for r in feeder.refs],
        "boards_between_refills": [
            None if p is None else _number(p * b) for p, b in zip(feeder.passes_between_refills, boards, strict=True)
        ],
        "not_proved": reasons(feeder.undecided),
    }


def _figures(plan: Plan, figures: PassFigures) -> dict[str, Any]:
    return {
        "board": figures.board,
        "placements": figures.placements,
        "cycle_s": _ends(figures.cycle),
        "planned_s": _number(figures.planned),
        "bottleneck": figures.bottleneck,
        "balance_efficiency": _number(figures.efficiency),
        "takt_s": _number(figures.takt),
        "keeps_takt": figures.keeps_takt,
        "boards_per_hour": _ends(figures.boards_per_hour),
        "placements_per_hour": _ends(figures.placements_per_hour),
        "placements_per_hour_and_m2": _ends(plan.expected_per_hour_and_m2(figures)),
        "stations": [
            {"name": s.name, "planned_s": _number(s.planned), "seconds_s": _ends(s.seconds), "places": s.places}
            for s in figures.stations
        ],
        "untimed": list(figures.untimed),
    }


def _set_up(plan: Plan, set_up: SetUp) -> dict[str, Any]:
    unit = "placements" if set_up.by_count else "s"
    return {
        "name": sentence(set_up.name),
        "boards": [plan.job.passes[p].name for p in set_up.passes],
        "reading": set_up.strictness,
        "status": set_up.status,
        "objective": {"value": _number(set_up.seconds), "unit": unit},
        "proven_bound": {"value": _number(set_up.bound), "unit": unit},
        "gap": _number(set_up.gap),
        "feeders": [_feeder(f, [plan.job.passes[p].boards for p in set_up.passes]) for f in set_up.feeders],
        "places": [
            {
                "machine": o.machine,
                "slots_needed": _ends(o.slots_needed),
                "slots_needed_if_tapes_wider": _number(o.slots_if_wider),
                "slots": o.slots,
                "slots_free": _ends(o.slots_free),
                "tray_unit_slots": o.tray_unit_slots,
                "trays_needed": _ends(o.trays_needed),
                "tray_places": o.trays,
                "without_bound": list(o.without_bound),
                "fits": o.fits,
            }
            for o in set_up.occupied
        ],
        "figures": [_figures(plan, f) for f in set_up.figures],
        "times": [
            {"board": f.board, "machines": [_time(t) for t in times]}
            for f, times in zip(set_up.figures, set_up.times, strict=True)
        ],
    }


def _shortage(shortage: Shortage | None) -> dict[str, Any] | None:
    if shortage is None:
        return None
    return {
        "no_machine": [
            {
                "part_number": n.part,
                "placements": n.placements,
                "reasons": [{"head": head, "reason": "; ".join(reasons(takes))} for head, takes in n.reasons],
            }
            for n in shortage.nowhere
        ],
        "slots_short": [{"machine": m, "slots": _number(n)} for m, n in shortage.slots_short],
        "tray_places_short": [{"machine": m, "tray_places": _number(n)} for m, n in shortage.trays_short],
        "take_off": [{"part_number": p, "placements": n} for p, n in shortage.take_off],
        "fewest_proved": shortage.proved,
        "order_or_nozzles": shortage.order,
        "impossible_proved": shortage.impossible,
    }


def _demand(demand: Demand | None) -> dict[str, Any] | None:
    if demand is None:
        return None
    return {
        "scheduled_hours_per_year": demand.hours_per_year,
        "boards_per_year": demand.passes_per_year,
        "uptime": _ends(demand.uptime),
        "takt_s": _number(demand.takt),
        "running_hours_needed": _ends(demand.needed_hours),
        "running_hours_there": _ends(demand.there_hours),
        "met": demand.is_met,
    }


def _placing(placing: Placing) -> dict[str, Any]:
    found = placing.capability
    return {
        "part_number": placing.part,
        "machine": placing.machine,
        "head": placing.head,
        "used": placing.used,
        "allowed_mm": _ends(found.allowed),
        "allowed_from": sentence(placing.joint.formula),
        "rotation_mm": _ends(found.rotation),
        "sigma_mm": _ends(found.sigma),
        "cpk": _ends(found.cpk),
        "limit": CPK_CAPABLE,
        "reached": placing.reaches,
        "not_known": "; ".join(placing.missing),
        "assumed": sentence(placing.joint.assumed or ""),
    }


def _board(board: BoardFigures) -> dict[str, Any]:
    return {
        "board": board.board,
        "sides": board.sides,
        "boards_per_panel": board.pieces,
        "line_seconds_s": _ends(board.seconds),
        "boards_per_hour": _ends(board.per_hour),
    }


def _changes(changes: tuple[Change, ...]) -> list[dict[str, Any]]:
    return [
        {
            "kind": c.kind,
            "what": what(c),
            "cycle_s": _number(c.seconds),
            "saves_s": _number(c.saves),
            "solves": c.solves,
            "fewer_left_over": c.fewer_left,
            "hand_s": _number(c.hand_seconds),
        }
        for c in changes
    ]


def to_json(plan: Plan, changes: tuple[Change, ...] = ()) -> dict[str, Any]:
    """Return a plan as JSON data; *changes* are what would change it."""
    return {
        "schema": PLAN_SCHEMA,
        "verdict": plan.verdict,
        "why": [sentence(said) for said in plan.why],
        "job": plan.job.name,
        "boards": [{"board": b.board, "side": b.side, "per_year": _number(b.per_year)} for b in plan.job.passes],
        "finished_boards": [_board(b) for b in plan.board_figures()],
        "line": {"name": plan.line, "machines": list(plan.machines)},
        "set_ups": [_set_up(plan, s) for s in plan.set_ups],
        "shortage": _shortage(plan.shortage),
        "changeovers": [
            {
                "from": sentence(c.before),
                "to": sentence(c.after),
                "out": [{"machine": m, "part_number": p} for m, p in c.out],
                "in": [{"machine": m, "part_number": p} for m, p in c.into],
            }
            for c in plan.changeovers
        ],
        "floor": {
            "length_mm": _number(plan.floor.length_mm),
            "free_length_mm": _number(plan.floor.free_length_mm),
            "fits": plan.floor.fits,
            "machine_area_m2": _number(plan.floor.machine_area_m2),
        },
        "uptime": _ends(plan.uptime),
        "rated_per_hour": _number(plan.rated_per_hour),
        "rated_per_hour_and_m2": _number(plan.rated_per_hour_and_m2),
        "demand": _demand(plan.demand),
        "accuracy": [_placing(p) for p in plan.placings],
        "not_computed": [sentence(said) for said in plan.not_computed],
        "notes": [sentence(said) for said in plan.notes],
        "changes": _changes(changes),
    }


def _row(row: Row) -> dict[str, Any]:
    return {
        "line": row.line,
        "machines": list(row.machines),
        "verdict": row.verdict,
        "left_over": row.left_over,
        "not_proved": row.not_proved,
        "slots_needed": [_number(n) for n in row.slots_needed],
        "slots": row.slots,
        "cycle_s": _number(row.cycle),
        "cycle_is_at_least": row.at_least,
        "boards_per_hour": _number(row.boards_per_hour),
        "length_mm": _number(row.length),
        "machine_area_m2": _number(row.area),
        "placements_per_hour_and_m2": _number(row.per_hour_and_m2),
        "feeders_out": row.changeover_out,
        "feeders_in": row.changeover_in,
        "plan": to_json(row.plan),
    }


def comparison_to_json(comparison: Comparison) -> dict[str, Any]:
    """Return a comparison of lines as JSON data."""
    best = comparison.best
    return {
        "schema": COMPARISON_SCHEMA,
        "criterion": comparison.criterion,
        "best": None if best is None else comparison.rows[best].line,
        "lines": [_row(row) for row in comparison.rows],
    }


def composed_to_json(found: Composed, criterion: str) -> dict[str, Any]:
    """Return the best line composed of a stock as JSON data: its plan, with what was searched."""
    return {
        **({"schema": PLAN_SCHEMA} if found.row is None else to_json(found.row.plan)),
        "search": {
            "criterion": criterion,
            "machines": None if found.row is None else list(found.row.machines),
            "lines": found.candidates,
            "planned": found.planned,
            "complete": found.complete,
            "proven_bound": _number(found.bound),
        },
    }
