"""A plan and a comparison as data for programs: units in the keys, intervals as their ends, always the same order."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

from capcheck.lexicon import cautions, sentence
from capcheck.planning import (
    CPK_CAPABLE,
    BoardFigures,
    Change,
    Comparison,
    Composed,
    Demand,
    Pass,
    Placing,
    Plan,
    Row,
    Shortage,
    on_two_lanes,
    on_two_lines,
)
from capcheck.report.plan.costs_as_json import costs_and_work_json
from capcheck.report.plan.set_up_as_json import set_up_json
from capcheck.report.plan.set_up_lists import hand_rows
from capcheck.report.plan.spans import reasons, what

PLAN_SCHEMA: Final = "capcheck-plan/1"
COMPARISON_SCHEMA: Final = "capcheck-comparison/1"
COMPOSITION_SCHEMA: Final = "capcheck-composition/1"

_ByHand = Mapping[tuple[str, str], Sequence[str]]

# Sums of nothing are whole numbers: what is counted in floats is written as one, whatever its value.


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
        "passes_per_year": demand.passes_per_year,
        "uptime": demand.uptime,
        "takt_s": demand.takt,
        "running_hours_needed": demand.needed_hours,
        "running_hours_available": demand.there_hours,
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


def plan_json(
    plan: Plan,
    changes: tuple[Change, ...] = (),
    *,
    by_hand: _ByHand | None = None,
    hand_seconds: float | None = None,
) -> dict[str, object]:
    """Return a plan as JSON data; *changes* are what would change it.

    *by_hand* are the references, by board and part number, that no placement head is asked about, *hand_seconds* the
    time for one of them.
    """
    return {**_plan(plan, changes, by_hand, hand_seconds), "cautions": cautions()}


def _line(plan: Plan) -> dict[str, object]:
    """Return the line with what its profiles state that the plan's figures are worked out from."""
    on = plan.devices
    return {
        "name": plan.line,
        "machines": plan.machines,
        "devices": [
            {
                "name": m.name,
                "uptime": m.timing.uptime,
                "length_mm": m.floor_width,
                "depth_mm": m.floor_depth,
                "rated_per_hour": m.rated_per_hour,
                "lanes": m.board.lanes,
                "heads": [
                    {"name": h.name, "gantry": h.gantry, "nozzles": h.nozzles, "rated_per_hour": h.rated}
                    for h in m.head
                ],
            }
            for m in (() if on is None else on.machines)
        ],
        "stations": [
            {"name": s.name, "cycle_s": s.cycle, "length_mm": s.length} for s in (() if on is None else on.stations)
        ],
        "benches": [
            {"name": b.name, "seconds_each": b.seconds, "people": b.people, "length_mm": b.length}
            for b in (() if on is None else on.benches)
        ],
    }


def _plan(
    plan: Plan, changes: tuple[Change, ...] = (), by_hand: _ByHand | None = None, hand_seconds: float | None = None
) -> dict[str, object]:
    return {
        "schema": PLAN_SCHEMA,
        "verdict": plan.verdict,
        "why": [sentence(said) for said in plan.why],
        "job": plan.job.name,
        "boards": [_pass(plan, b) for b in plan.job.passes],
        "finished_boards": [_board(b) for b in plan.board_figures()],
        "two_lanes": [
            {
                "board": one.board,
                "seconds_s": one.seconds,
                "planned_s": None if one.seconds is None else one.planned,
                "set_by": one.slowest or None,
                "machines_without": one.not_with,
                "lacks_common_set_up": one.no_set_up,
                "width_not_stated": one.open_with,
            }
            for one in on_two_lanes(plan)
        ],
        "line": _line(plan),
        "set_ups": [set_up_json(plan, s) for s in plan.set_ups],
        "shortage": _shortage(plan.shortage),
        "by_hand": [
            {
                "board": row.board,
                "part_number": row.part,
                "placements": row.count,
                "seconds_each": row.each,
                "refs": row.refs,
                "why": row.why,
            }
            for row in hand_rows(plan, by_hand, hand_seconds)
        ],
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
        "uptime_stated": plan.stated_uptime,
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
        "two_lines": [
            {
                "board": one.board,
                "top": one.top,
                "bottom": one.bottom,
                "boards_per_panel": one.pieces,
                "seconds_s": one.seconds,
                "planned_s": one.planned,
            }
            for one in on_two_lines([row.plan for row in comparison.rows])
        ],
        "cautions": cautions(),
    }


def composed_json(found: Composed, criterion: str) -> dict[str, object]:
    """Return the best line composed of a stock as JSON data: what was searched, and its plan."""
    return {
        "schema": COMPOSITION_SCHEMA,
        "search": {
            "criterion": criterion,
            "machines": None if found.row is None else found.row.machines,
            "lines": found.candidates,
            "planned": found.planned,
            "complete": found.complete,
            "proven_bound": found.bound,
        },
        "plan": None if found.row is None else _plan(found.row.plan),
        "cautions": cautions(),
    }
