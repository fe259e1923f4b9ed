"""Answers that are not a pass, put into findings: values, sources, margin, and what the message shows."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from capcheck.engine.findings import FactValue, Finding, Margin
from capcheck.engine.nodes import Comparison, TruthNode, facts_of
from capcheck.engine.rules import Rule
from capcheck.engine.view import View
from capcheck.facts import Numbers, Truths
from capcheck.model import Flags


def findings_of(rule: Rule, view: View, *, undecided: bool) -> list[Finding]:
    """Return a finding for every row of *view*, all of which break the rule or leave it undecided."""
    count = len(view.rows) if view.rows is not None else 1
    conjuncts = [(c, c.evaluate(view)) for c in rule.conjuncts]
    margins = {c: c.margin(view) for c in rule.comparisons}
    when_open = None
    if undecided and rule.when is not None:
        when_open = ~np.broadcast_to(rule.when.evaluate(view).yes, (count,))
    found = []
    for row in range(count):
        deciding = _deciding(conjuncts, row, undecided=undecided)
        found.append(_finding(rule, view, row, deciding, margins, undecided=undecided, when_open=_at(when_open, row)))
    return found


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
    margins: Mapping[Comparison, Numbers],
    *,
    undecided: bool,
    when_open: bool,
) -> Finding:
    names = list(dict.fromkeys(name for node in deciding for name in facts_of(node)))
    if when_open and rule.when is not None:
        names += [name for name in facts_of(rule.when) if name not in names]
    facts = tuple(view.value(name, row) for name in names)
    return Finding(
        rule=rule.id,
        title=rule.title if undecided else rule.headline,
        outcome="warn" if undecided else rule.outcome,
        undecided=undecided,
        subject=view.name(row),
        facts=facts,
        margin=_margin(deciding, margins, row),
        template=rule.message,
        shown=() if undecided else _shown(rule, view, row),
        remedy=rule.remedy,
        place=view.place(row),
        missing=_missing(facts) if undecided else (),
        group=view.group(row, undecided=undecided),
        part_type=view.part_type(row),
    )


def _missing(facts: Sequence[FactValue]) -> tuple[str, ...]:
    """Return what would decide the rule: what is unknown; where nothing is, what is known too widely."""
    unknown = tuple(f.name for f in facts if f.is_unknown)
    return unknown or tuple(f.name for f in facts if not f.is_exact)


def _margin(deciding: Sequence[TruthNode], margins: Mapping[Comparison, Numbers], row: int) -> Margin | None:
    for node in deciding:
        if isinstance(node, Comparison):
            column = margins[node]
            at = row if len(column) > 1 else 0
            return Margin(float(column.low[at]), float(column.high[at]), node.left.dimension, node.text)
    return None


def _shown(rule: Rule, view: View, row: int) -> tuple[FactValue, ...]:
    """Return what the rule's message shows: the facts of one row, and the rule's limits."""
    limits = (
        FactValue(f"limits.{name}", low=limit.value, high=limit.value, dimension=limit.dimension)
        for name, limit in rule.limits.items()
    )
    return (*(view.value(name, row) for name in rule.message_facts), *limits)
