"""Whether an expression on a pair says the same whichever of the two parts is called the first."""

from __future__ import annotations

from typing import Final

from capcheck.engine.aggregates import NumberAggregate, TruthAggregate
from capcheck.engine.limit_tables import LimitTable
from capcheck.engine.nodes import (
    Absolute,
    And,
    Arithmetic,
    Comparison,
    FlagFact,
    Node,
    NumberFact,
    NumberNode,
    Or,
    SetNode,
    TextNode,
    TruthNode,
)
from capcheck.engine.text_tests import SameText
from capcheck.engine.view import turned_name

_COMMUTE: Final = frozenset({"+", "*", "min", "max"})
_OPPOSITE: Final = {"<=": ">=", "<": ">"}
_ANY_NODE: Final = (NumberNode, TruthNode, TextNode, SetNode)


def is_symmetric(node: Node) -> bool:
    """Whether *node* is the same with the two members of each pair exchanged, as far as its form shows."""
    return _form(node, turned=False) == _form(node, turned=True)


def _form(node: Node, *, turned: bool) -> str:
    """Return the expression in one form: operands whose order does not matter are sorted."""
    if isinstance(node, NumberFact | FlagFact | TextNode | SetNode):
        return turned_name(node.name) if turned else node.name
    if isinstance(node, NumberAggregate | TruthAggregate):
        return node.text  # about members of its own, of which it asks both ways round itself
    parts = [_form(child, turned=turned) for child in node.children()]
    if not parts:
        return node.text
    kind = type(node).__name__ + repr(_held(node))
    match node:
        case And() | Or() | SameText() | Comparison(operation="=="):
            parts.sort()
        case Arithmetic(operation=operation) if operation in _COMMUTE:
            parts.sort()
        case Absolute(operand=Arithmetic(operation="-", left=left, right=right)):
            parts = sorted(_form(side, turned=turned) for side in (left, right))
            kind = "distance"
        case Comparison(operation=operation) if operation in _OPPOSITE:
            kind, parts = f"Comparison['{_OPPOSITE[operation]}']", parts[::-1]
    return f"{kind}({', '.join(parts)})"


def _held(node: Node) -> list[object]:
    """Return what a node holds beside its operands, such as an operation or the texts of a test."""
    held = [getattr(node, name) for name in node.__struct_fields__ if name not in {"text", "dimension"}]
    plain = [one for one in held if not isinstance(one[0] if isinstance(one, tuple) and one else one, _ANY_NODE)]
    return [one.name if isinstance(one, LimitTable) else one for one in plain]
