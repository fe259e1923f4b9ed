"""What is said of a piece of an expression that stands where another kind is wanted, with what to write instead."""

from __future__ import annotations

from typing import Final

from capcheck.engine.limits import ExpressionError
from capcheck.engine.nodes import Constant, Node, NumberNode, TextNode, TruthNode
from capcheck.engine.vocabulary import kind_of, with_article
from capcheck.values import NUMBER, Dimension, show_number

_JOINS: Final = {"takes": "from", "adds": "and"}
_DONE: Final = {"takes": "subtracted", "adds": "added", "compares": "compared"}


def same_dimension(left: NumberNode, right: NumberNode, verb: str) -> None:
    """Refuse two numbers of different dimensions. Raises :class:`ExpressionError`, as all that follow."""
    if left.dimension.exponents != right.dimension.exponents:
        join, cure = _JOINS.get(verb, "with"), with_unit(left, right)
        cure = cure or f"; only what is of one dimension can be {_DONE[verb]}"
        raise ExpressionError(f"the rule {verb} {kind_of(left)} {join} {kind_of(right)}{cure}")


def with_unit(left: NumberNode, right: NumberNode) -> str:
    """Return how a number is written that stands for a quantity of another dimension; blank where neither is fixed."""
    for number, other in ((left, right), (right, left)):
        if not isinstance(number, Constant):
            continue
        unit = _unit_of(other.dimension)
        if number.dimension.exponents == NUMBER.exponents:
            return f"; write '{show_number(number.value)} {unit}'" if unit else ""
        return f"; write {with_article(other.dimension)}, such as '{other.dimension.example}'" if unit else ""
    return ""


def _unit_of(dimension: Dimension) -> str:
    return dimension.example.partition(" ")[2]


def expected_truth(node: Node) -> TruthNode:
    """Return a piece that must be true or false."""
    if isinstance(node, TruthNode):
        return node
    raise ExpressionError(f"{kind_of(node)} stands where true or false is expected; {compared(node)}")


def expected_number(node: Node) -> NumberNode:
    """Return a piece that must be a number."""
    if isinstance(node, NumberNode):
        return node
    cure = ""
    if isinstance(node, TextNode):
        cure = "; a text is compared by ==, in, starts with or the like"
    elif isinstance(node, TruthNode):
        cure = "; how often it holds is count(part, where …)"
    raise ExpressionError(f"{kind_of(node)} stands where a number is expected{cure}")


def compared(node: Node) -> str:
    """Return how a number or a text is made true or false."""
    other = "== 'text'" if isinstance(node, TextNode) else "<= limits.most"
    return f"compare it with something, such as {other}"


def no_comparison(text: str, subject: str) -> ExpressionError:
    """Return what is said of ``is`` and of a comparison with None."""
    return ExpressionError(
        f'"{text}" is not allowed in a rule; whether something is stated is asked by is_known({subject}), '
        "or not is_known(…)"
    )
