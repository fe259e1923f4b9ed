"""What boards cost as a plan's page shows it: a row for each part of the cost, with its sum."""

from __future__ import annotations

from msgspec import Struct

from capcheck.planning import BoardCost, Plan
from capcheck.report.plan import NAMES, cost_besides, cost_head, money, sum_of_term


class CostView(Struct, frozen=True):
    """One board: what it costs in one line, the parts of that, and what else is said of it."""

    title: str
    rows: tuple[tuple[str, str, str], ...]
    lines: tuple[str, ...]


def cost_views(plan: Plan) -> list[CostView]:
    """Return a view of each board whose shop states costs."""
    return [_view(cost) for cost in plan.costs]


def _view(cost: BoardCost) -> CostView:
    rows = tuple((NAMES[t.kind], sum_of_term(t), money(t.amount, cost.currency)) for t in cost.terms)
    return CostView(cost_head(cost), rows, tuple(cost_besides(cost)))
