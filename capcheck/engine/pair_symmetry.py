"""Whether an expression on a pair says the same whichever of the two parts is called the first."""

from __future__ import annotations

from typing import Final

from capcheck.engine.nodes import And, Arithmetic, Comparison, FlagFact, Node, NumberFact, Or, SetNode, TextNode
from capcheck.engine.text_tests import SameText
from capcheck.engine.view import turned_name

_COMMUTE: Final = frozenset({"+", "*", "min", "max"})
_OPPOSITE: Final = {"<=": ">=", "<": ">"}


def is_symmetric(node: Node) -> bool:
    """Whether *node* is the same with the two members of each pair exchanged, as far as its form shows."""
    return _form(node, turned=False) == _form(node, turned=True)


def _form(node: Node, *, turned: bool) -> str:
    """Return the expression in one form: operands whose order does not matter are sorted."""
    if isinstance(node, NumberFact | FlagFact | TextNode | SetNode):
        return turned_name(node.name) if turned else node.name
    parts = [_form(child, turned=turned) for child in node.children()]
    kind = type(node).__name__
    match node:
        case And() | Or() | SameText():
            parts.sort()
        case Arithmetic(operation=operation):
            kind = operation
            parts = sorted(parts) if operation in _COMMUTE else parts
        case Comparison(operation=operation):
            kind = operation
            if operation in _OPPOSITE:
                kind, parts = _OPPOSITE[operation], parts[::-1]
            elif operation == "==":
                parts.sort()
        case _ if not parts:
            return node.text
        case _:
            # What else it holds, such as the texts of a test, does not change when the members are exchanged.
            kind += repr([getattr(node, name) for name in ("texts", "test", "values", "column") if hasattr(node, name)])
    return f"{kind}({', '.join(parts)})"
