"""How far a rule has to look for neighbours: no pair beyond that distance could break it.

A pair that is not found would pass for ever. So what a gap is compared with must have an upper bound, by the rule's
own figures or by a condition that leaves pairs farther apart out.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final

import numpy as np
from msgspec.structs import replace

from capcheck.engine.aggregates import NumberAggregate, TruthAggregate
from capcheck.engine.choices import NamedNumber, NumberIf, operands_of
from capcheck.engine.interval_columns import ARITHMETIC
from capcheck.engine.limit_tables import LookedUp
from capcheck.engine.limits import ExpressionError
from capcheck.engine.nodes import (
    And,
    Arithmetic,
    Comparison,
    Constant,
    Node,
    NumberFact,
    NumberNode,
    TruthNode,
    facts_of,
    walk,
    walk_beside,
)
from capcheck.facts import Numbers
from capcheck.values import LENGTH

GAPS: Final = frozenset({"pair.gap", "pair.gap_least", "pair.gap_most"})
_ONE_OF_PAIR: Final = ("pair.first.", "pair.second.")
_UNSAID: Final = (
    "and does not say how far apart they may be, so that what is found would be chance; name it: pair.gap < …"
)
_BELOW: Final = frozenset({"<", "<="})
_TURNED: Final = {"<": ">", "<=": ">=", ">": "<", ">=": "<=", "==": "=="}


def reach_of(when: TruthNode | None, require: TruthNode) -> float:
    """Return the distance in mm within which a rule needs all pairs; 0 where it compares no gap.

    Raises :class:`ExpressionError` for a gap that is compared with something that may be as large as it likes.
    """
    found = [_needed([when] if when is not None else [], [require])]
    trees = [tree for tree in (when, require) if tree is not None]
    found += [reach_of_members(tree) for tree in trees]
    if not any(found) and any(n.startswith(_ONE_OF_PAIR) for tree in trees for n in facts_of(tree)):
        raise ExpressionError(f"it is about two parts {_UNSAID} in when")
    return max(found)


def reach_of_members(tree: Node) -> float:
    """Return how far the pairs that an expression counts have to be known. Raises :class:`ExpressionError`."""
    counted = (node for node in walk(tree) if isinstance(node, NumberAggregate | TruthAggregate))
    return max(map(_of_aggregate, counted), default=0.0)


def _of_aggregate(node: NumberAggregate | TruthAggregate) -> float:
    """Return how far the members of an aggregate have to be known; of pairs it must say how far they go."""
    asked = [node.truth] if isinstance(node, TruthAggregate) else []
    conditions = [node.where] if node.where is not None else []
    if node.operation == "any":
        # Whether one there is that both holds for: a pair that what is asked leaves out counts as little.
        conditions, asked = [*conditions, *asked], []
    reach = _needed(conditions, asked)
    ends = any(True for tree in conditions for _ in _left_out_beyond(tree))
    ends = ends or _is_gap(node) or (node.operation == "all" and any(True for tree in asked for _ in _compared(tree)))
    if node.scope == "pair" and not ends:
        raise ExpressionError(f'"{node.text}" asks of pairs {_UNSAID} in where')
    return reach


def _needed(conditions: list[TruthNode], demands: list[TruthNode]) -> float:
    """Return how far pairs have to be known: as far as a condition lets them, else as far as anything asks."""
    limits = [high for tree in conditions for high in _left_out_beyond(tree)]
    if limits:
        return max(0.0, min(limits))
    reach = 0.0
    for comparison, high in (pair for tree in (*conditions, *demands) for pair in _compared(tree)):
        if math.isinf(high):
            raise ExpressionError(
                f'"{comparison.text}": neighbours are looked for within a distance that the rule names, and this names '
                "none: a pair farther apart would pass unseen; leave such pairs out, with pair.gap < limits.far in "
                "when (or where), or compare with min(…, limits.far)"
            )
        reach = max(reach, high)
    return reach


def _compared(tree: TruthNode) -> Iterator[tuple[Comparison, float]]:
    """Yield each comparison of a gap outside an aggregate, with the greatest gap that it can tell from a larger one."""
    for node in walk_beside(tree):
        if not isinstance(node, Comparison) or not any(_has_gap(side) for side in node.children()):
            continue
        turned = node if _is_gap(node.left) else replace(node, left=node.right, right=node.left)
        if _is_gap(turned.left) and not _has_gap(turned.right):
            yield node, _bounds(turned.right)[1]
            continue
        others = [n for n in walk(node) if isinstance(n, NumberFact | LookedUp) and not _is_gap(n)]
        lengths = [abs(n.value) for n in walk(node) if isinstance(n, Constant) and n.dimension == LENGTH]
        yield node, math.inf if any(n.dimension == LENGTH for n in others) else sum(lengths)


def _left_out_beyond(node: TruthNode) -> Iterator[float]:
    """Yield the gaps beyond which a condition is known not to hold."""
    for one in operands_of(node, And):
        if not isinstance(one, Comparison):
            continue
        turned = one if _is_gap(one.left) else _other_way(one)
        if _is_gap(turned.left) and turned.operation in _BELOW and math.isfinite(high := _bounds(turned.right)[1]):
            yield high


def _other_way(node: Comparison) -> Comparison:
    return replace(node, operation=_TURNED[node.operation], left=node.right, right=node.left)


def _is_gap(node: Node) -> bool:
    inner = node.inner if isinstance(node, NamedNumber) else node
    if isinstance(inner, NumberAggregate):
        return inner.operation == "least" and inner.value is not None and _is_gap(inner.value)
    return isinstance(inner, NumberFact) and inner.name in GAPS


def _has_gap(node: Node) -> bool:
    return any(_is_gap(one) for one in walk_beside(node))


def _bounds(node: NumberNode) -> tuple[float, float]:
    """Return between what a number lies whatever the facts are: sizes are not negative, and have no end."""
    match node:
        case Constant(value=value):
            return value, value
        case NamedNumber(inner=inner):
            return _bounds(inner)
        case LookedUp(table=table, column=column):
            limits = [limit for row in table.rows if (limit := row.limits[column]) is not None]
            return min(limits, default=0.0), max(limits, default=0.0)
        case NumberIf(then=then, other=other):
            (a, b), (c, d) = _bounds(then), _bounds(other)
            return min(a, c), max(b, d)
        case Arithmetic(operation=operation, left=left, right=right):
            result = ARITHMETIC[operation](_column(left), _column(right))
            return float(result.low[0]), float(result.high[0])
        case NumberFact(name=name) if name not in GAPS:
            return 0.0, math.inf
    return -math.inf, math.inf


def _column(node: NumberNode) -> Numbers:
    low, high = _bounds(node)
    return Numbers(np.array([low]), np.array([high]))
