"""One common set-up against one for each pass: from which size of batch the faster cycles pay for the changes.

A common set-up shares the slots among all boards, so that each may run slower; set-ups of their own are changed with
each batch. Both are planned, and their sums compared.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

from msgspec.structs import replace

from capcheck.checking import Report
from capcheck.planning.hours_and_costs import BoardBreakEven, BreakEven
from capcheck.planning.kept_slots import put_on
from capcheck.planning.plan_data import CommonShortage, Plan
from capcheck.planning.set_up_work import by_place, carts_of, work_of


def with_break_even(found: Plan, reports: Sequence[Report], planned_as: Callable[[str], Plan]) -> Plan:
    """Return the plan with the break-even of its boards; *planned_as* plans them ``common`` or ``each``.

    Where one set-up does not hold what those of their own do, the plan says what that lacks instead.
    """
    if len(found.job.passes) < 2 or found.common_shortage is not None:
        return found
    is_common = len(found.set_ups) == 1 and len(found.set_ups[0].passes) == len(found.job.passes)
    common, own = found if is_common else planned_as("common"), planned_as("each")
    if common.shortage is not None and not _left_over(common) <= _left_over(own):
        short = common.shortage
        return replace(found, common_shortage=CommonShortage(short.slots_short, short.trays_short, short.order))
    boards = [_board(report, common, own) for report in reports]
    known = [one for one in boards if one is not None]
    if len(known) < len({p.board for p in found.job.passes}) or _left_over(common) != _left_over(own):
        return found
    return replace(found, break_even=BreakEven(tuple(known)))


def _left_over(plan: Plan) -> set[tuple[str, int]]:
    """Return the parts without a place and their number: only plans that place the same are compared."""
    return set() if plan.shortage is None else set(plan.shortage.take_off)


def _board(report: Report, common: Plan, own: Plan) -> BoardBreakEven | None:
    """Return a board in both plans; None where it is not planned in seconds."""
    name = report.board.name
    passes = [p for p, one in enumerate(own.job.passes) if one.board == name]
    seconds = [_seconds(plan, passes) for plan in (common, own)]
    if not passes or report.line is None or seconds[0] is None or seconds[1] is None:
        return None
    pieces = own.job.passes[passes[0]].boards
    yearly = [one.per_year for one in own.job.passes]
    weight = 1.0 if None in yearly else (yearly[passes[0]] or 0.0) * pieces
    carts = carts_of(report.line)
    moved = [
        by_place(put_on(own.set_ups[k - 1], one)) for k, one in enumerate(own.set_ups) if set(one.passes) & set(passes)
    ]
    return BoardBreakEven(
        board=name,
        weight=weight,
        common_s=seconds[0] / pieces,
        own_s=seconds[1] / pieces,
        common_stands=work_of(len(passes), [], report.costs, carts).stands,
        feeders_stand=work_of(0, [(one, one) for one in moved], report.costs, carts).stands,
    )


def _seconds(plan: Plan, passes: Sequence[int]) -> float | None:
    """Return the planned seconds of the line for a panel, all its passes; None without a plan in seconds."""
    planned = {p: f.planned for s in plan.set_ups if not s.by_count for p, f in zip(s.passes, s.figures, strict=True)}
    return sum(planned[p] for p in passes) if set(passes) <= planned.keys() else None
