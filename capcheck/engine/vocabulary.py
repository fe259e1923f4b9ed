"""What an expression may name, and how a message names what it found."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Final, TypeVar

from msgspec import Struct

from capcheck.engine.choices import NamedNumber, NamedTruth
from capcheck.engine.definitions import Definitions
from capcheck.engine.limit_tables import LookedUp
from capcheck.engine.limits import ExpressionError, Limit
from capcheck.engine.nodes import Constant, FlagFact, Node, NumberFact, NumberNode, SetNode, TextNode, TruthNode
from capcheck.facts import UnknownFactError
from capcheck.values import Dimension, nearest

if TYPE_CHECKING:
    from capcheck.engine.subjects import Subject
    from capcheck.facts import Catalogue, Fact

Of = TypeVar("Of")
FEW: Final = 16
"""So many values of a fact are listed where a text is none of them."""


class Vocabulary(Struct, frozen=True):
    """All that an expression may name."""

    catalogue: Catalogue
    limits: Mapping[str, Limit]
    shared: Definitions
    subject: Subject | None
    values: Mapping[str, Node]

    def named(self, name: str, *, in_aggregate: bool) -> Node:
        """Return what a dotted name stands for. Raises :class:`ExpressionError` with the nearest name there is."""
        scope, _, rest = name.partition(".")
        if scope == "limits":
            limit = defined("limit", rest, self.limits, "add it to the rule's limits")
            return Constant(limit.dimension, name, limit.value)
        if scope == "constants":
            limit = defined("constant", rest, self.shared.constants, "add it to the file's [constants]")
            return Constant(limit.dimension, name, limit.value)
        if scope == "values":
            if in_aggregate:
                raise ExpressionError(f"{name} is about what the rule is about: it cannot stand among what is counted")
            return self._value(name, rest)
        if scope == "tables":
            return self._looked_up(name, *rest.partition(".")[::2])
        if scope == "sets":
            raise ExpressionError(f'"{name}" is a set; it stands behind "in", "starts with", "matches" or the like')
        return self.fact(name)

    def _value(self, name: str, own: str) -> Node:
        node = defined("value", own, self.values, "add it to the rule's values, before what uses it")
        if isinstance(node, NumberNode):
            return NamedNumber(node.dimension, name, node)
        assert isinstance(node, TruthNode)  # noqa: S101  for the type checker: a rule's values are one or the other
        return NamedTruth(name, node)

    def fact(self, name: str) -> Node:
        """Return the node of a fact."""
        try:
            return fact_node(self.catalogue[name])
        except UnknownFactError as error:
            told = str(error)
        if name.count(".") > 1:
            if name.startswith("pair.") and not name.startswith(("pair.first.", "pair.second.")):
                told = f'there is no fact "{name}"; the two parts of a pair are pair.first and pair.second'
            elif not name.startswith("pair."):
                told = f'"{name}" is not allowed in a rule; facts are written scope.name'
        raise ExpressionError(told)

    def _looked_up(self, name: str, own: str, column: str) -> LookedUp:
        table = defined("table", own, self.shared.tables, "add it to the file's [tables]")
        if column not in table.dimensions:
            hint = nearest(column, table.dimensions) or f"its columns: {', '.join(table.dimensions)}"
            raise ExpressionError(f'tables.{own} has no column "{column}"; {hint}')
        keys = [self.fact(fact) for fact in table.facts]
        texts = tuple(key for key in keys if isinstance(key, TextNode))
        return LookedUp(table.dimensions[column], name, table, column, texts)


def defined(what: str, name: str, among: Mapping[str, Of], cure: str) -> Of:
    """Return what has a name *among* some. Raises :class:`ExpressionError` with the nearest, or the *cure*."""
    if name not in among:
        raise ExpressionError(f'there is no {what} "{name}"; {nearest(name, among) or cure}')
    return among[name]


def never_a_value(fact: str, choices: Sequence[str], value: str) -> str:
    """Return the sentence on a text that a fact never has: the nearest it has, else all of them where they are few."""
    every = f"it is one of: {', '.join(choices)}" if len(choices) <= FEW else f"its values: capcheck explain {fact}"
    return f'"{value}" is never a value of {fact}; {nearest(value, choices) or every}'


def fact_node(fact: Fact) -> Node:
    """Return the node that asks for *fact*."""
    match fact.kind:
        case "number":
            return NumberFact(fact.dimension, fact.name, fact.name)
        case "flag":
            return FlagFact(fact.name, fact.name)
        case "set":
            return SetNode(fact.name, fact.choices)
    return TextNode(fact.name, fact.choices, fact.names)


def with_article(dimension: Dimension) -> str:
    """Return a dimension as a sentence names it: ``a length``, ``an angle``."""
    return f"{'an' if dimension.name[0] in 'aeiou' else 'a'} {dimension}"


def kind_of(node: Node) -> str:
    """Return what *node* is, with its text: ``a length (part.height)``."""
    if isinstance(node, NumberNode):
        return f"{with_article(node.dimension)} ({node.text})"
    if isinstance(node, TruthNode):
        return f"true or false ({node.text})"
    return f"a text ({node.text})" if isinstance(node, TextNode) else f"a set of texts ({node.text})"
