"""Answers that are not a pass, put into findings: values, sources, margin, and what the message shows."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

import numpy as np

from capcheck.engine.aggregates import NumberAggregate, TruthAggregate, open_facts
from capcheck.engine.choices import NamedNumber, NamedTruth
from capcheck.engine.findings import FactValue, Finding, Margin
from capcheck.engine.limit_tables import LookedUp
from capcheck.engine.nodes import Comparison, Node, NumberNode, TruthNode, facts_of, walk_beside
from capcheck.engine.rules import Rule
from capcheck.engine.view import View
from capcheck.facts import Numbers, Truths, expected
from capcheck.model import Flags, Floats
from capcheck.values import NUMBER

WorkedOut = NumberAggregate | TruthAggregate | LookedUp | NamedNumber | NamedTruth
WORKED_OUT: Final = (NumberAggregate, TruthAggregate, LookedUp, NamedNumber, NamedTruth)
"""What a rule works out of facts and a reader wants to see as one value."""
_Measured = tuple[Numbers, Floats]
"""The margins of a comparison, and the sizes of what they are shares of."""
_Asked = tuple[list[str], list[WorkedOut], set[str]]
"""Names of facts; what is worked out beside them; the texts of what of that another one names."""


def findings_of(rule: Rule, view: View, *, undecided: bool) -> list[Finding]:
    """Return a finding for every row of *view*, all of which break the rule or leave it undecided."""
    count = len(view.rows) if view.rows is not None else 1
    conjuncts = [(c, c.evaluate(view)) for c in rule.conjuncts]
    margins = {c: (c.margin(view), c.size(view)) for c in rule.comparisons}
    when_open = None
    if undecided and rule.when is not None:
        when_open = ~np.broadcast_to(rule.when.evaluate(view).yes, (count,))
    found = []
    asked: dict[tuple[int, ...], _Asked] = {}  # rows that hang on the same conjuncts ask for the same
    for row in range(count):
        deciding = _deciding(conjuncts, row, undecided=undecided)
        trees = [*deciding, *([rule.when] if rule.when is not None and _at(when_open, row) else [])]
        key = tuple(map(id, trees))
        if key not in asked:
            asked[key] = _asked(trees)
        found.append(_finding(rule, view, row, deciding, asked[key], margins=margins, undecided=undecided))
    return found


def _asked(trees: Sequence[TruthNode]) -> _Asked:
    """Return the facts that trees ask for, what they work out beside facts, and of it what another one names."""
    names = list(dict.fromkeys(name for tree in trees for name in facts_of(tree)))
    nodes = {node.text: node for tree in trees for node in walk_beside(tree) if isinstance(node, WORKED_OUT)}
    named = {node.inner.text for node in nodes.values() if isinstance(node, NamedNumber | NamedTruth)}
    return names, list(nodes.values()), named


def _at(flags: Flags | None, row: int) -> bool:
    return flags is not None and bool(flags[row])


def _deciding(conjuncts: Sequence[tuple[TruthNode, Truths]], row: int, *, undecided: bool) -> list[TruthNode]:
    """Return the conjuncts that keep the row from passing: those disproved, or for an undecided row those open."""
    chosen = []
    for node, truth in conjuncts:
        at = row if len(truth) > 1 else 0
        if truth.no[at] if not undecided else not truth.yes[at]:
            chosen.append(node)
    return chosen or [node for node, _ in conjuncts]


def _finding(
    rule: Rule,
    view: View,
    row: int,
    deciding: Sequence[TruthNode],
    asked: _Asked,
    *,
    margins: Mapping[Comparison, _Measured],
    undecided: bool,
) -> Finding:
    names, nodes, named = asked
    facts = tuple(view.value(name, row) for name in names)
    worked_out = [(node, worked_out_value(node, view, row)) for node in nodes]
    results = tuple(value for node, value in worked_out if node.text not in named)
    missing = _missing(facts, worked_out, view) if undecided else ()
    return Finding(
        rule=rule.id,
        title=rule.title if undecided else rule.headline,
        outcome="warn" if undecided else rule.outcome,
        undecided=undecided,
        subject=view.name(row),
        facts=(*results, *facts),
        margin=_margin(deciding, margins, row),
        template=rule.message,
        shown=() if undecided else _shown(rule, view, row),
        remedy=rule.remedy,
        place=view.place(row),
        missing=missing,
        group=view.group(row, undecided=undecided),
        part_type=view.part_type(row),
    )


def _missing(
    facts: Sequence[FactValue], worked_out: Sequence[tuple[WorkedOut, FactValue]], view: View
) -> tuple[str, ...]:
    """Return what would decide the rule: what is unknown; where nothing is, what is known too widely.

    Of what is counted it is the facts of the members that leave the count open.
    """
    unknown = [f.name for f in facts if f.is_unknown]
    wide = [f.name for f in facts if not f.is_exact]
    for node, result in worked_out:
        if isinstance(node, NumberAggregate | TruthAggregate) and not result.is_exact:
            unknown += open_facts(node, view)
        elif isinstance(node, LookedUp) and result.is_unknown and not unknown:
            unknown.append(result.name)
    return tuple(dict.fromkeys(unknown or wide))


def worked_out_value(node: WorkedOut, view: View, row: int) -> FactValue:
    """Return what a rule works out beside facts, for the row of a view, with what it is made of."""
    column = node.evaluate(view)
    at = row if len(column) > 1 else 0
    inner = node.inner if isinstance(node, NamedNumber | NamedTruth) else node
    place, note = inner.found(view, row) if isinstance(inner, LookedUp) else (None, None)
    if isinstance(inner, NumberAggregate | TruthAggregate):
        note = inner.note(view, row)
    source = "" if place is None else place
    if isinstance(column, Truths):
        text = "yes" if column.yes[at] else "no" if column.no[at] else None
        return FactValue(node.text, text=text, note=note, source=source)
    low, high = float(column.low[at]), float(column.high[at])
    dimension = node.dimension if isinstance(node, NumberNode) else NUMBER
    return FactValue(node.text, low=low, high=high, dimension=dimension, note=note, source=source)


def _margin(deciding: Sequence[TruthNode], margins: Mapping[Comparison, _Measured], row: int) -> Margin | None:
    for node in deciding:
        if isinstance(node, Comparison):
            column, sizes = margins[node]
            at = row if len(column) > 1 else 0
            low, high = float(column.low[at]), float(column.high[at])
            return Margin(low, high, node.left.dimension, node.text, float(sizes[at]))
    return None


def _shown(rule: Rule, view: View, row: int) -> tuple[FactValue, ...]:
    """Return what the rule's message shows: the facts of one row, and the rule's limits."""
    limits = (
        FactValue(f"limits.{name}", low=limit.value, high=limit.value, dimension=limit.dimension)
        for name, limit in rule.limits.items()
    )
    values = (shown_value(name, node, view, row) for name, node in rule.shown_values.items())
    return (*(view.value(name, row) for name in rule.message_facts), *values, *limits)


def shown_value(name: str, node: Node, view: View, row: int) -> FactValue:
    """Return what a message shows of a value, a constant or a limit of a table."""
    if isinstance(node, WORKED_OUT):
        return worked_out_value(node, view, row)
    column = expected(node.evaluate(view), Numbers)
    at = row if len(column) > 1 else 0
    dimension = node.dimension if isinstance(node, NumberNode) else NUMBER
    return FactValue(name, low=float(column.low[at]), high=float(column.high[at]), dimension=dimension)
