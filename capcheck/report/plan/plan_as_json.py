"""A plan and a comparison as data for programs: units in the keys, intervals as their ends, always the same order."""

from __future__ import annotations

import math
from typing import Final

from capcheck.lexicon import cautions, sentence
from capcheck.planning import (
    CPK_CAPABLE,
    BoardFigures,
    Change,
    Comparison,
    Composed,
    Demand,
    Feeder,
    MachineTime,
    Pass,
    PassFigures,
    Placing,
    Plan,
    Row,
    SetUp,
    Shortage,
    Term,
)
from capcheck.report.plan.costs_as_json import costs_and_work_json
from capcheck.report.plan.spans import reasons, what

# Sums of nothing are whole numbers: what is counted in floats is written as one, whatever its value.
PLAN_SCHEMA: Final = "capcheck-plan/1"
COMPARISON_SCHEMA: Final = "capcheck-comparison/1"


def _term(term: Term) -> dict[str, object]:
    return {
        "name": term.work,
        "count": term.count,
        "seconds_each": term.seconds,
        "seconds": float(term.total),
        "from": sentence(term.source),
    }


def _time(time: MachineTime) -> dict[str, object]:
    return {
        "machine": time.machine,
        "placements": time.placements,
        "planned_s": time.planned,
        "seconds_s": time.seconds,
        "rated_s": time.rated,
        "basis": time.bases,
        "not_stated": time.missing,
        "transfer_hidden": time.hidden_transfer,
        "placing_s": float(time.placing),
        "fast_placing_s": float(time.fast_placing),
        "sum": [_term(term) for term in (time.transfer, time.fiducials, *([time.stop] if time.stop.count else []))],
        "gantries": [
            {
                "gantry": g.gantry,
                "seconds": float(g.total),
                "over_board_s": float(g.over_board),
                "heads": [{"head": head, "sum": [_term(t) for t in terms]} for head, terms in g.heads],
            }
            for g in time.gantries
        ],
    }


def _feeder(feeder: Feeder, boards: list[int], lost: int) -> dict[str, object]:
    """Return a feeder; *boards* are those that each pass of its set-up delivers, *lost* is so much of a thousand."""
    return {
        "machine": feeder.machine,
        "gantry": feeder.gantry,
        "bank": feeder.bank or None,
        "heads": feeder.heads,
        "part_number": feeder.part,
        "supply": feeder.supply,
        "tape_width_mm": feeder.tape_width,
        "tape_pitch_mm": feeder.tape_pitch,
        "slots": feeder.slots,
        "first_slot": feeder.slot,
        "last_slot": None if feeder.slot is None else float(feeder.slot + feeder.slots.high - 1),
        "placements": feeder.counts,
        "refs": feeder.refs,
        "lost_per_thousand": lost,
        "boards_between_refills": [
            None if p is None else float(p * b) for p, b in zip(feeder.passes_between_refills, boards, strict=True)
        ],
        "not_proved": reasons(feeder.undecided),
    }


def _figures(plan: Plan, figures: PassFigures, pieces: int) -> dict[str, object]:
    """Return the figures of a pass, which delivers so many *pieces*."""
    return {
        "board": figures.board,
        "placements": figures.placements,
        "cycle_s": figures.cycle,
        "planned_s": figures.planned,
        "bottleneck": figures.bottleneck,
        "balance_efficiency": figures.efficiency,
        "takt_s": figures.takt,
        "keeps_takt": figures.keeps_takt,
        "boards_per_hour": figures.boards_per_hour.scaled(pieces),
        "placements_per_hour": figures.placements_per_hour,
        "placements_per_hour_and_m2": plan.expected_per_hour_and_m2(figures),
        "stations": [
            {"name": s.name, "planned_s": s.planned, "seconds_s": s.seconds, "places": s.places}
            for s in figures.stations
        ],
        "untimed": figures.untimed,
    }


def _set_up(plan: Plan, set_up: SetUp) -> dict[str, object]:
    unit = "placements" if set_up.by_count else "s"
    lost = {part.name: part.lost_per_thousand for part in plan.job.parts}
    return {
        "name": sentence(set_up.name),
        "boards": [plan.job.passes[p].name for p in set_up.passes],
        "reading": set_up.strictness,
        "status": set_up.status,
        "objective": {"value": float(set_up.seconds), "unit": unit},
        "proven_bound": {"value": float(set_up.bound), "unit": unit},
        "gap": float(set_up.gap),
        "simple_plan": set_up.begun_at if math.isfinite(set_up.begun_at) else None,
        "feeders_needed": set_up.feeders_needed,
        "balance_brings_s": None if set_up.by_count else float(set_up.won_back),
        "feeders_price_s": None if set_up.by_count else float(set_up.price_of_feeders),
        "feeders": [
            _feeder(f, [plan.job.passes[p].boards for p in set_up.passes], lost[f.part]) for f in set_up.feeders
        ],
        "places": [
            {
                "machine": o.machine,
                "bank": o.bank or None,
                "slots_needed": o.slots_needed,
                "slots_needed_if_tapes_wider": float(o.slots_if_wider),
                "slots": o.slots,
                "slots_free": o.slots_free,
                "tray_unit_slots": o.tray_unit_slots,
                "trays_needed": o.trays_needed,
                "tray_places": o.trays,
                "without_bound": o.without_bound,
                "fits": o.fits,
            }
            for o in set_up.occupied
        ],
        "figures": [
            _figures(plan, f, plan.job.passes[p].boards) for p, f in zip(set_up.passes, set_up.figures, strict=True)
        ],
        "times": [
            {"board": f.board, "machines": [_time(t) for t in times]}
            for f, times in zip(set_up.figures, set_up.times, strict=True)
        ],
    }


def _shortage(shortage: Shortage | None) -> dict[str, object] | None:
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
        "slots_short": [{"machine": m, "slots": float(n)} for m, n in shortage.slots_short],
        "tray_places_short": [{"machine": m, "tray_places": float(n)} for m, n in shortage.trays_short],
        "take_off": [{"part_number": p, "placements": n} for p, n in shortage.take_off],
        "displaced_by_trays": shortage.displaced,
        "fewest_proved": shortage.proved,
        "order_or_nozzles": shortage.order,
        "impossible_proved": shortage.impossible,
    }


def _demand(demand: Demand | None) -> dict[str, object] | None:
    if demand is None:
        return None
    return {
        "scheduled_hours_per_year": demand.hours_per_year,
        "boards_per_year": demand.passes_per_year,
        "uptime": demand.uptime,
        "takt_s": demand.takt,
        "running_hours_needed": demand.needed_hours,
        "running_hours_there": demand.there_hours,
        "set_up_hours": demand.set_up_hours if demand.set_ups else None,
        "set_ups": [
            {"board": one.board, "batches": one.batches, "seconds": one.seconds, "hours": one.hours}
            for one in demand.set_ups
        ],
        "met": demand.is_met,
    }


def _placing(placing: Placing) -> dict[str, object]:
    found = placing.capability
    return {
        "part_number": placing.part,
        "machine": placing.machine,
        "head": placing.head,
        "used": placing.used,
        "allowed_mm": found.allowed,
        "allowed_from": sentence(placing.joint.formula),
        "rotation_mm": found.rotation,
        "sigma_mm": found.sigma,
        "cpk": found.cpk,
        "limit": CPK_CAPABLE,
        "reached": placing.reaches,
        "not_known": "; ".join(placing.missing),
        "assumed": sentence(placing.joint.assumed or ""),
    }


def _pass(plan: Plan, board: Pass) -> dict[str, object]:
    """Return a pass; *per_year* counts what the conveyor carries."""
    panel = plan.panels.get(board.board)
    return {
        "board": board.board,
        "side": board.side,
        "per_year": board.per_year,
        "boards_per_panel": board.boards,
        "panel_to_order": None if panel is None else sentence(panel),
    }


def _board(board: BoardFigures) -> dict[str, object]:
    return {
        "board": board.board,
        "sides": board.sides,
        "boards_per_panel": board.pieces,
        "line_seconds_s": board.seconds,
        "line_seconds_per_board_s": board.seconds_a_board,
        "boards_per_hour": board.per_hour,
    }


def _changes(changes: tuple[Change, ...]) -> list[dict[str, object]]:
    return [
        {
            "kind": c.kind,
            "what": what(c),
            "cycle_s": c.seconds,
            "saves_s": c.saves,
            "solves": c.solves,
            "fewer_left_over": c.fewer_left,
            "hand_s": c.hand_seconds,
        }
        for c in changes
    ]


def plan_json(plan: Plan, changes: tuple[Change, ...] = ()) -> dict[str, object]:
    """Return a plan as JSON data; *changes* are what would change it."""
    return {**_plan(plan, changes), "cautions": cautions()}


def _plan(plan: Plan, changes: tuple[Change, ...] = ()) -> dict[str, object]:
    return {
        "schema": PLAN_SCHEMA,
        "verdict": plan.verdict,
        "why": [sentence(said) for said in plan.why],
        "job": plan.job.name,
        "boards": [_pass(plan, b) for b in plan.job.passes],
        "finished_boards": [_board(b) for b in plan.board_figures()],
        "line": {"name": plan.line, "machines": plan.machines},
        "set_ups": [_set_up(plan, s) for s in plan.set_ups],
        "shortage": _shortage(plan.shortage),
        "benches": [
            {
                "bench": one.bench,
                "board": one.board,
                "placements": one.placements,
                "seconds_each": one.each,
                "people": one.people,
                "seconds": one.seconds,
                "line_s": one.line,
                "slower_than_line": one.is_slower,
            }
            for one in plan.benches
        ],
        **costs_and_work_json(plan),
        "changeovers": [
            {
                "from": sentence(c.before),
                "to": sentence(c.after),
                "out": [{"machine": m, "part_number": p} for m, p in c.out],
                "in": [{"machine": m, "part_number": p} for m, p in c.into],
            }
            for c in plan.changeovers
        ],
        "set_up_order": None
        if plan.order is None or len(plan.set_ups) < 2
        else {
            "set_ups": [sentence(s.name) for s in plan.set_ups],
            "feeders_put_on_a_round": plan.order.moves,
            "in_the_order_given": plan.order.as_given,
            "at_least": plan.order.at_least,
            "feeders_in_other_slots": plan.order.in_other_slots,
        },
        "one_set_up_lacks": None
        if plan.common_shortage is None
        else {
            "slots": [{"machine": m, "slots": float(n)} for m, n in plan.common_shortage.slots_short],
            "tray_places": [{"machine": m, "tray_places": float(n)} for m, n in plan.common_shortage.trays_short],
            "order_or_nozzles": plan.common_shortage.order,
        },
        "floor": {
            "length_mm": plan.floor.length_mm,
            "free_length_mm": plan.floor.free_length_mm,
            "fits": plan.floor.fits,
            "machine_area_m2": plan.floor.machine_area_m2,
        },
        "uptime": plan.uptime,
        "rated_per_hour": plan.rated_per_hour,
        "rated_per_hour_and_m2": plan.rated_per_hour_and_m2,
        "demand": _demand(plan.demand),
        "accuracy": [_placing(p) for p in plan.placings],
        "not_computed": [sentence(said) for said in plan.not_computed],
        "notes": [sentence(said) for said in plan.notes],
        "changes": _changes(changes),
    }


def _row(row: Row) -> dict[str, object]:
    return {
        "line": row.line,
        "machines": row.machines,
        "verdict": row.verdict,
        "left_over": row.left_over,
        "not_proved": row.not_proved,
        "slots_needed": [float(number) for number in row.slots_needed],
        "slots": row.slots,
        "cycle_s": row.cycle,
        "cycle_is_at_least": row.at_least,
        "cycle_proved_share": row.reach,
        "boards_per_hour": row.boards_per_hour,
        "cycle_within_s": row.cycle_within,
        "boards_per_hour_within": row.boards_within,
        "placements_per_hour_and_m2_within": row.output_within,
        "length_mm": row.length,
        "machine_area_m2": row.area,
        "placements_per_hour_and_m2": row.per_hour_and_m2,
        "cost_of_board": row.cost,
        "feeders_out": row.changeover_out,
        "feeders_in": row.changeover_in,
        "plan": _plan(row.plan),
    }


def comparison_json(comparison: Comparison) -> dict[str, object]:
    """Return a comparison of lines as JSON data."""
    best = comparison.best
    return {
        "schema": COMPARISON_SCHEMA,
        "criterion": comparison.criterion,
        "best": None if best is None else comparison.rows[best].line,
        "not_told_from_best": [comparison.rows[k].line for k in comparison.rivals],
        "lines": [_row(row) for row in comparison.rows],
        "cautions": cautions(),
    }


def composed_json(found: Composed, criterion: str) -> dict[str, object]:
    """Return the best line composed of a stock as JSON data: its plan, with what was searched."""
    return {
        **({"schema": PLAN_SCHEMA} if found.row is None else _plan(found.row.plan)),
        "search": {
            "criterion": criterion,
            "machines": None if found.row is None else found.row.machines,
            "lines": found.candidates,
            "planned": found.planned,
            "complete": found.complete,
            "proven_bound": found.bound,
        },
        "cautions": cautions(),
    }
