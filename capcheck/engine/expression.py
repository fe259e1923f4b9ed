"""Expressions of rules: text to a checked tree. A small subset of Python, read with ``ast``; nothing is ever run.

Allowed are comparisons, ``and``/``or``/``not``, ``+ - * /``, ``min``, ``max``, ``abs``, ``in``, ``is_known(fact)``,
facts (``part.height``), limits (``limits.NAME``), numbers, and texts. A text that begins with a number is a quantity
(``'3 mm'``). Names and dimensions are checked here, before any board is read.
"""

from __future__ import annotations

import ast
import warnings
from collections.abc import Mapping, Sequence
from functools import reduce
from typing import TYPE_CHECKING, Final

from msgspec import Struct

from capcheck.engine.nodes import (
    Absolute,
    And,
    Arithmetic,
    Comparison,
    Constant,
    FlagFact,
    InSet,
    Known,
    Node,
    Not,
    NumberFact,
    NumberNode,
    Or,
    SetNode,
    TextIs,
    TextNode,
    TruthNode,
)
from capcheck.facts import UnknownFactError
from capcheck.values import NUMBER, UnitError, dimension_of, nearest, pattern, read_any_quantity

if TYPE_CHECKING:
    from capcheck.facts import Catalogue, Fact
    from capcheck.values import Dimension

_BARE_UNIT: Final = pattern(r"""(?<!['"\w.])\d+(?:\.\d+)? ?(?:mm|cm|inch|mil|thou|g|kg|s|deg|N)\b""")
MAX_LENGTH: Final = 2000
MAX_DEPTH: Final = 40
_FEW: Final = 16
"""So many values of a fact are listed where a text is none of them."""
FUNCTIONS: Final = ("min", "max", "abs", "is_known")

_ARITHMETIC: Final = {ast.Add: "+", ast.Sub: "-", ast.Mult: "*", ast.Div: "/"}
_ORDER: Final = {ast.LtE: "<=", ast.Lt: "<", ast.GtE: ">=", ast.Gt: ">"}


class ExpressionError(ValueError):
    """An expression is not allowed, or does not fit together. The message quotes the part that is wrong."""


class Limit(Struct, frozen=True):
    """A named limit of a rule: its canonical magnitude and its dimension."""

    value: float
    dimension: Dimension


_LARGEST: Final = 1e30


def read_limit(text: object) -> Limit:
    """Return a limit from ``"3 mm"`` or a bare number. Raises :class:`ExpressionError`."""
    if isinstance(text, int | float) and not isinstance(text, bool):
        if not abs(text) <= _LARGEST:
            raise ExpressionError("the number is too large, or none; nothing that a rule compares is near it")
        return Limit(float(text), NUMBER)
    if not isinstance(text, str):
        raise ExpressionError(f"{text!r} is not a quantity; write a number or a text with a unit, like '3 mm'")
    try:
        value, exponents = read_any_quantity(text)
    except UnitError as error:
        raise ExpressionError(str(error)) from None
    if not abs(value) <= _LARGEST:
        raise ExpressionError(f"{text[:40]!r} is too large; nothing that a rule compares is near it")
    return Limit(value, dimension_of(exponents))


def read_expression(text: str, catalogue: Catalogue, limits: Mapping[str, Limit]) -> TruthNode:
    """Return the checked tree of an expression that must be true or false.

    Raises :class:`ExpressionError` for a construct that is not allowed, a fact or limit that does not exist (with
    the nearest name), and for operands whose dimensions do not fit (with both dimensions).
    """
    if len(text) > MAX_LENGTH:
        raise ExpressionError(f"an expression has at most {MAX_LENGTH} characters, this one has {len(text)}")
    text = " ".join(text.split())
    try:
        with warnings.catch_warnings(action="ignore", category=SyntaxWarning):  # on 1and: the error says more
            tree = ast.parse(text, mode="eval")
    except SyntaxError as error:
        hint = "; quantities stand in quotes, like '2 mm', or among the limits" if _BARE_UNIT.search(text) else ""
        raise ExpressionError(f'"{text}" is not an expression: {error.msg}{hint}') from None
    except (MemoryError, RecursionError, ValueError):
        raise ExpressionError("this expression cannot be read: it is nested too deep or holds a NUL") from None
    node = _Reader(text, catalogue, limits).node(tree.body, 0)
    if not isinstance(node, TruthNode):
        raise ExpressionError(f'"{text}" is not true or false; compare it with something')
    return node


def never_a_value(fact: str, choices: Sequence[str], value: str) -> str:
    """Return the sentence on a text that a fact never has: the nearest it has, else all of them where they are few."""
    every = f"it is one of: {', '.join(choices)}" if len(choices) <= _FEW else f"its values: capcheck explain {fact}"
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
    return TextNode(fact.name, fact.choices)


def _kind(node: Node) -> str:
    if isinstance(node, NumberNode):
        return f"a {node.dimension} ({node.text})"
    if isinstance(node, TruthNode):
        return f"true or false ({node.text})"
    return f"a text ({node.text})" if isinstance(node, TextNode) else f"a set of texts ({node.text})"


class _Reader:
    """Reads a tree of ``ast`` into nodes; every method names the text it objects to."""

    def __init__(self, text: str, catalogue: Catalogue, limits: Mapping[str, Limit]) -> None:
        self.bytes = text.encode()
        self.catalogue = catalogue
        self.limits = limits

    def text(self, tree: ast.expr) -> str:
        """Return the piece of the expression that *tree* was read from; its offsets count bytes."""
        return self.bytes[tree.col_offset : tree.end_col_offset].decode()

    def node(self, tree: ast.expr, depth: int) -> Node:
        if depth > MAX_DEPTH:
            raise ExpressionError(f"an expression is nested at most {MAX_DEPTH} deep")
        below = depth + 1
        match tree:
            case ast.BoolOp(op=op, values=values):
                operands = tuple(self.truth(v, below) for v in values)
                text = self.text(tree)
                return And(text, operands) if isinstance(op, ast.And) else Or(text, operands)
            case ast.UnaryOp(op=ast.Not(), operand=operand):
                return Not(self.text(tree), self.truth(operand, below))
            case ast.UnaryOp(op=ast.USub(), operand=operand):
                zero = self.number(operand, below)
                return Arithmetic(zero.dimension, self.text(tree), "-", Constant(zero.dimension, "0", 0.0), zero)
            case ast.BinOp(left=left, op=operation, right=right) if type(operation) in _ARITHMETIC:
                sign = _ARITHMETIC[type(operation)]
                return self.arithmetic(sign, self.number(left, below), self.number(right, below), tree)
            case ast.Compare():
                return self.comparisons(tree, below)
            case ast.Call():
                return self.call(tree, below)
            case ast.Attribute(value=ast.Name(id=scope), attr=attribute):
                return self.name(scope, attribute)
            case ast.Constant(value=value) if isinstance(value, int | float | str) and not isinstance(value, bool):
                limit = read_limit(value)
                return Constant(limit.dimension, self.text(tree), limit.value)
            case ast.Name(id=name):
                raise ExpressionError(f'"{name}" is not a fact; facts are written scope.name, like part.height')
        raise ExpressionError(f'"{self.text(tree)[:80]}" is not allowed in a rule')

    def truth(self, tree: ast.expr, depth: int) -> TruthNode:
        node = self.node(tree, depth)
        if not isinstance(node, TruthNode):
            raise ExpressionError(f"{_kind(node)} stands where true or false is expected")
        return node

    def number(self, tree: ast.expr, depth: int) -> NumberNode:
        node = self.node(tree, depth)
        if not isinstance(node, NumberNode):
            raise ExpressionError(f"{_kind(node)} stands where a number is expected")
        return node

    def name(self, scope: str, attribute: str) -> Node:
        if scope == "limits":
            if attribute not in self.limits:
                hint = nearest(attribute, self.limits) or "add it to the rule's limits"
                raise ExpressionError(f'there is no limit "{attribute}"; {hint}')
            limit = self.limits[attribute]
            return Constant(limit.dimension, f"limits.{attribute}", limit.value)
        try:
            return fact_node(self.catalogue[f"{scope}.{attribute}"])
        except UnknownFactError as error:
            raise ExpressionError(str(error)) from None

    def arithmetic(self, sign: str, left: NumberNode, right: NumberNode, tree: ast.expr) -> NumberNode:
        if sign == "/" and isinstance(right, Constant) and right.value == 0:
            raise ExpressionError(f'"{self.text(tree)[:80]}" divides by zero, so that nothing could ever be decided')
        if sign in {"*", "/"}:
            factor = 1 if sign == "*" else -1
            a, b = left.dimension.exponents, right.dimension.exponents
            powers = (a[0] + factor * b[0], a[1] + factor * b[1], a[2] + factor * b[2], a[3] + factor * b[3])
            return Arithmetic(dimension_of(powers), self.text(tree), sign, left, right)
        verb = {"+": "adds", "-": "takes"}.get(sign, "compares")
        self.same_dimension(left, right, verb)
        return Arithmetic(left.dimension, self.text(tree), sign, left, right)

    @staticmethod
    def same_dimension(left: NumberNode, right: NumberNode, verb: str) -> None:
        if left.dimension.exponents != right.dimension.exponents:
            join = "from" if verb == "takes" else "and" if verb == "adds" else "with"
            raise ExpressionError(f"the rule {verb} {_kind(left)} {join} {_kind(right)}")

    def call(self, tree: ast.Call, depth: int) -> Node:
        if not isinstance(tree.func, ast.Name) or tree.func.id not in FUNCTIONS or tree.keywords:
            raise ExpressionError(
                f'"{self.text(tree)[:80]}" is not allowed; a rule may call {", ".join(FUNCTIONS)} and nothing else'
            )
        name = tree.func.id
        if name == "is_known":
            if len(tree.args) != 1 or not isinstance(tree.args[0], ast.Attribute):
                raise ExpressionError("is_known asks about one fact, like is_known(part.height)")
            return Known(self.text(tree), self.node(tree.args[0], depth))
        operands = [self.number(argument, depth) for argument in tree.args]
        if name == "abs":
            if len(operands) != 1:
                raise ExpressionError("abs takes one number")
            return Absolute(operands[0].dimension, self.text(tree), operands[0])
        if not operands:
            raise ExpressionError(f"{name} takes at least one number")
        return reduce(lambda a, b: self.arithmetic(name, a, b, tree), operands)

    def comparisons(self, tree: ast.Compare, depth: int) -> TruthNode:
        sides = [tree.left, *tree.comparators]
        truths = [
            self.comparison(left, operation, right, depth)
            for left, operation, right in zip(sides, tree.ops, sides[1:], strict=False)
        ]
        return truths[0] if len(truths) == 1 else And(self.text(tree), tuple(truths))

    def comparison(self, left: ast.expr, operation: ast.cmpop, right: ast.expr, depth: int) -> TruthNode:
        text = f"{self.text(left)} {_WORDS.get(type(operation), '?')} {self.text(right)}"
        if isinstance(operation, ast.In | ast.NotIn):
            truth = self.membership(left, right, text, depth)
            return Not(text, truth) if isinstance(operation, ast.NotIn) else truth
        if isinstance(operation, ast.Eq | ast.NotEq):
            truth = self.equality(left, right, text, depth)
            return Not(text, truth) if isinstance(operation, ast.NotEq) else truth
        if type(operation) not in _ORDER:
            raise ExpressionError(f'"{text}" is not allowed in a rule')
        first, second = self.number(left, depth), self.number(right, depth)
        self.same_dimension(first, second, "compares")
        return Comparison(text, _ORDER[type(operation)], first, second)

    def equality(self, left: ast.expr, right: ast.expr, text: str, depth: int) -> TruthNode:
        if isinstance(left, ast.Constant) and isinstance(left.value, str):
            left, right = right, left
        first = self.node(left, depth)
        if isinstance(first, TextNode):
            return self.text_is(first, [right], text)
        second = self.node(right, depth)
        if isinstance(first, NumberNode) and isinstance(second, NumberNode):
            self.same_dimension(first, second, "compares")
            return Comparison(text, "==", first, second)
        raise ExpressionError(f"the rule compares {_kind(first)} with {_kind(second)}")

    def membership(self, left: ast.expr, right: ast.expr, text: str, depth: int) -> TruthNode:
        if isinstance(right, ast.Tuple | ast.List):
            first = self.node(left, depth)
            if not isinstance(first, TextNode):
                raise ExpressionError(f'"{text}": {_kind(first)} cannot be one of some texts')
            return self.text_is(first, right.elts, text)
        container = self.node(right, depth)
        if not isinstance(container, SetNode):
            raise ExpressionError(f'"{text}": after "in" comes a list of texts or a set fact, not {_kind(container)}')
        if isinstance(left, ast.Constant) and isinstance(left.value, str):
            self.check_choice(left.value, container)
            return InSet(text, left.value, container)
        member = self.node(left, depth)
        if not isinstance(member, TextNode):
            raise ExpressionError(f'"{text}": {_kind(member)} cannot be a member of a set of texts')
        return InSet(text, member, container)

    def text_is(self, subject: TextNode, trees: list[ast.expr], text: str) -> TruthNode:
        texts = []
        for tree in trees:
            if not isinstance(tree, ast.Constant) or not isinstance(tree.value, str):
                raise ExpressionError(f'"{text}": {subject.name} is a text and is compared with texts in quotes')
            self.check_choice(tree.value, subject)
            texts.append(tree.value)
        return TextIs(text, subject, tuple(texts))

    @staticmethod
    def check_choice(value: str, node: TextNode | SetNode) -> None:
        if node.choices and value not in node.choices:
            raise ExpressionError(never_a_value(node.name, node.choices, value))


_WORDS: Final = {
    ast.LtE: "<=",
    ast.Lt: "<",
    ast.GtE: ">=",
    ast.Gt: ">",
    ast.Eq: "==",
    ast.NotEq: "!=",
    ast.In: "in",
    ast.NotIn: "not in",
    ast.Is: "is",
    ast.IsNot: "is not",
}
