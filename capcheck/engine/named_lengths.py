"""What a session takes from its rules: the facts that they bring, and the lengths that they name."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from msgspec.structs import replace

from capcheck.engine.choices import NumberIn
from capcheck.engine.limit_tables import LookedUp
from capcheck.engine.nodes import Constant, Node, walk
from capcheck.engine.rules import Rule
from capcheck.facts import Catalogue, Fact
from capcheck.values import LENGTH


def lengths_named(rule: Rule) -> Iterator[float]:
    """Yield the lengths in mm that a rule and the facts made for it name: so far neighbours have to be looked for."""
    for tree in (rule.require, rule.when):
        yield from lengths_of(tree) if tree is not None else ()
    yield rule.reach
    for fact in rule.derived:
        yield from fact.lengths


def lengths_of(node: Node) -> Iterator[float]:
    """Yield the lengths in mm that an expression names, itself or in a table."""
    for one in walk(node):
        if not isinstance(one, Constant | LookedUp | NumberIn):
            continue
        dimension = one.subject.dimension if isinstance(one, NumberIn) else one.dimension
        if dimension.exponents != LENGTH.exponents:
            continue
        match one:
            case Constant(value=value):
                yield value
            case LookedUp(table=table, column=column):
                yield from (limit for row in table.rows if (limit := row.limits[column]) is not None)
            case NumberIn(values=values):
                yield from values


def with_derived(catalogue: Catalogue, derived: Iterable[Sequence[Fact]]) -> Catalogue:
    """Return *catalogue* with the facts that rules bring, or itself where they bring none that it lacks."""
    lacking = {fact.name: fact for facts in derived for fact in facts if fact.name not in catalogue}
    if not lacking:
        return catalogue
    whole = catalogue.copy()
    for fact in lacking.values():
        whole.add(replace(fact))
    return whole
