"""A set-up as data for programs: feeders, places, figures, and the seconds of each machine as sums."""

from __future__ import annotations

import math
from collections.abc import Sequence

from capcheck.lexicon import sentence
from capcheck.planning import Feeder, GantrySum, MachineTime, PartDemand, PassFigures, Plan, SetUp, Term
from capcheck.report.plan.spans import reasons

# Sums of nothing are whole numbers: what is counted in floats is written as one, whatever its value.


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
        "sum": [_term(term) for term in (time.transfer, time.fiducials, *([time.stop] if time.stop.count else []))],
        "placing_s": float(time.placing),
        "gantries": _gantries(time.gantries),
        "fast": {
            "transfer_hidden": time.fast_hides,
            "placing_s": float(time.fast_placing),
            "gantries": _gantries(time.fast),
            "transfer_s": float(time.fast_transfer),
            "second_stop_s": float(time.fast_stop),
        },
        "slow": {
            "transfer_hidden": time.hidden_transfer,
            "placing_s": float(time.most_placing),
            "gantries": _gantries(time.most),
        },
    }


def _gantries(gantries: Sequence[GantrySum]) -> list[dict[str, object]]:
    return [
        {
            "gantry": g.gantry,
            "seconds": float(g.total),
            "over_board_s": float(g.over_board),
            "heads": [{"head": head, "sum": [_term(t) for t in terms]} for head, terms in g.heads],
        }
        for g in gantries
    ]


def _feeder(feeder: Feeder, boards: list[int], part: PartDemand) -> dict[str, object]:
    """Return a feeder of a *part*; *boards* are those that each pass of its set-up delivers."""
    return {
        "machine": feeder.machine,
        "gantry": feeder.gantry,
        "bank": feeder.bank or None,
        "heads": feeder.heads,
        "part_number": feeder.part,
        "value": part.value,
        "package": part.package,
        "nozzle": part.nozzle,
        "supply": feeder.supply,
        "tape_width_mm": feeder.tape_width,
        "tape_pitch_mm": feeder.tape_pitch,
        "slots": feeder.slots,
        "first_slot": feeder.slot,
        "last_slot": None if feeder.slot is None else float(feeder.slot + feeder.slots.high - 1),
        "placements": feeder.counts,
        "refs": feeder.refs,
        "parts_per_container": part.per_container,
        "lost_per_thousand": part.lost_per_thousand,
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


def set_up_json(plan: Plan, set_up: SetUp) -> dict[str, object]:
    """Return a set-up of a plan."""
    unit = "placements" if set_up.by_count else "s"
    parts = {part.name: part for part in plan.job.parts}
    return {
        "name": sentence(set_up.name),
        "boards": [plan.job.passes[p].name for p in set_up.passes],
        "reading": set_up.strictness,
        "status": set_up.status,
        "weights": set_up.weights,
        "objective": {"value": float(set_up.seconds), "unit": unit},
        "proven_bound": {"value": float(set_up.bound), "unit": unit},
        "gap": float(set_up.gap),
        "simple_plan": set_up.begun_at if math.isfinite(set_up.begun_at) else None,
        "feeders_needed": set_up.feeders_needed,
        "slowest_machine_s": {
            "fastest_plan": None if set_up.by_count else set_up.first_cycle,
            "with_fewest_feeders": None if set_up.by_count else set_up.second_cycle,
            "balanced_again": None
            if set_up.by_count
            else [max((t.planned for t in times), default=0.0) for times in set_up.times],
        },
        "balance_brings_s": None if set_up.by_count else float(set_up.won_back),
        "feeders_price_s": None if set_up.by_count else float(set_up.price_of_feeders),
        "feeders": [
            _feeder(f, [plan.job.passes[p].boards for p in set_up.passes], parts[f.part]) for f in set_up.feeders
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
