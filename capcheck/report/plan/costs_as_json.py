"""Costs, refills, feeders to own and the bottleneck of a plan as data for programs."""

from __future__ import annotations

from capcheck.planning import BoardCost, BreakEven, Plan, feeders_to_own, on_bottleneck, refills_an_hour


def _cost(cost: BoardCost) -> dict[str, object]:
    work = cost.set_up
    return {
        "board": cost.board,
        "currency": cost.currency,
        "per_good_board": cost.total,
        "per_board_made": cost.made,
        "terms": [{"kind": t.kind, "amount": t.amount, "figures": dict(t.figures)} for t in cost.terms],
        "not_counted": cost.not_counted,
        "open_because": cost.open_because,
        "good": cost.good,
        "hourly_rates": [{"name": name, "rate": rate} for name, rate in cost.hourly.items()],
        "refill_minutes": cost.refill_minutes,
        "line_s": cost.seconds,
        "uptime": cost.uptime,
        "occupied_s": cost.occupied,
        "batch": cost.batch,
        "set_up": {
            "sides": work.sides,
            "feeders": work.feeders,
            "people": work.people,
            "board_s": work.board_seconds,
            "feeder_s": work.feeder_seconds,
            "feeders_beside": work.beside,
            "feeders_one_by_one": work.one_by_one,
            "carts": work.carts,
            "cart_s": work.cart_seconds,
            "line_stands_s": work.stands,
            "at_best": _way(work.at_best),
            "at_worst": _way(work.at_worst),
            "work_s": work.work,
        },
        "shift_hours": cost.shift_hours,
        "boards_per_shift": cost.per_shift,
        "good_share_of_time": cost.good_share,
    }


def _way(way: tuple[int, int] | None) -> dict[str, int] | None:
    return None if way is None else {"carts": way[0], "feeders_one_by_one": way[1]}


def _break_even(found: BreakEven | None) -> dict[str, object] | None:
    if found is None:
        return None
    return {
        "boards": [
            {
                "board": one.board,
                "weight": float(one.weight),
                "common_s": float(one.common_s),
                "own_s": float(one.own_s),
                "common_stands_s": one.common_stands,
                "own_stands_s": one.own_stands,
            }
            for one in found.boards
        ],
        "slower_s": float(found.slower),
        "saved_s": found.saved,
        "batch": found.batch,
    }


def costs_and_work_json(plan: Plan) -> dict[str, object]:
    """Return the keys of a plan's data on costs and on what it asks of people and shelf."""
    return {
        "costs": [_cost(cost) for cost in plan.costs],
        "break_even": _break_even(plan.break_even),
        "refills": [
            {
                "board": one.board,
                "per_hour": one.per_hour,
                "per_hour_of_known_containers": one.known,
                "containers_not_known": one.unknown,
                "people": one.people,
            }
            for one in refills_an_hour(plan)
        ],
        "feeders_to_own": [
            {"supply": o.kind or None, "tape_width_mm": o.width, "at_once": o.at_once, "with_next_beside": o.beside}
            for o in feeders_to_own(plan)
        ],
        "on_bottleneck": [
            {
                "board": one.board,
                "machine": one.machine,
                "sets_cycle": one.sets_cycle,
                "parts": [
                    {"part_number": row.part, "placements": row.placements, "seconds": row.seconds} for row in one.parts
                ],
            }
            for one in on_bottleneck(plan)
        ],
    }
