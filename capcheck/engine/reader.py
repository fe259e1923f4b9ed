"""A tree of ``ast`` to nodes: every name and dimension is checked, and a message shows the piece that is wrong."""

from __future__ import annotations

import ast
import math
from collections.abc import Sequence
from functools import reduce
from typing import Final

from capcheck.engine.choices import NumberIf, NumberIn, TruthIf
from capcheck.engine.limits import ExpressionError, Limit, read_limit
from capcheck.engine.nodes import (
    Absolute,
    And,
    Arithmetic,
    Comparison,
    Constant,
    Known,
    Node,
    Not,
    NumberNode,
    Or,
    SetNode,
    TextNode,
    TruthNode,
)
from capcheck.engine.read_aggregates import AGGREGATES, aggregate_of
from capcheck.engine.read_texts import same_text, text_is, text_test
from capcheck.engine.refusals import expected_number, expected_truth, no_comparison, same_dimension, with_unit
from capcheck.engine.text_tests import InSet
from capcheck.engine.vocabulary import Vocabulary, defined, kind_of, never_a_value, with_article
from capcheck.engine.wording import WORDS
from capcheck.values import dimension_of, nearest

MAX_DEPTH: Final = 40
_SIGNS: Final = "0123456789.+-− "
"""What a quantity begins with."""
FUNCTIONS: Final = ("min", "max", "abs", "is_known")
_ALIKE: Final = {
    "average": "sum(…) / count(…)",
    "mean": "sum(…) / count(…)",
    "len": "count(part, where …)",
    "number": "count(part, where …)",
    "total": "sum(…)",
    "some": "any(…)",
    "every": "all(…)",
    "none": "not any(…)",
    "known": "is_known(part.height)",
    "lower": "texts are compared whatever their capitals",
    "upper": "texts are compared whatever their capitals",
}
_ARITHMETIC: Final = {ast.Add: "+", ast.Sub: "-", ast.Mult: "*", ast.Div: "/"}
_TEST_SIGNS: Final = {ast.MatMult: "@", ast.LShift: "<<", ast.RShift: ">>", ast.BitXor: "^"}
_ORDER: Final = {ast.LtE: "<=", ast.Lt: "<", ast.GtE: ">=", ast.Gt: ">"}
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


class Reader:
    """Reads a tree of ``ast`` into nodes; every method names the text it objects to."""

    def __init__(self, text: str, known: Vocabulary) -> None:
        self.bytes = text.encode()
        self.known = known
        self.in_aggregate = False

    def text(self, tree: ast.expr) -> str:
        """Return the piece of the expression that *tree* was read from; its offsets count bytes."""
        return self.bytes[tree.col_offset : tree.end_col_offset].decode()

    def node(self, tree: ast.expr, depth: int) -> Node:
        """Return the node of any piece. Raises :class:`ExpressionError`, as all that follow."""
        if depth > MAX_DEPTH:
            raise ExpressionError(f"an expression is nested at most {MAX_DEPTH} deep")
        below = depth + 1
        match tree:
            case ast.BoolOp() | ast.UnaryOp() | ast.BinOp():
                return self.joined(tree, below)
            case ast.IfExp():
                return self.either(tree, below)
            case ast.Compare():
                return self.comparisons(tree, below)
            case ast.Call():
                return self.call(tree, below)
            case ast.Attribute(value=ast.Name() | ast.Attribute()):
                return self.known.named(self.text(tree), in_aggregate=self.in_aggregate)
            case ast.Constant(value=value) if isinstance(value, int | float | str) and not isinstance(value, bool):
                return self.constant(tree, value)
        raise self.refusal(tree)

    def joined(self, tree: ast.BoolOp | ast.UnaryOp | ast.BinOp, below: int) -> Node:
        """Return what signs and the words *and*, *or*, *not* join; and the tests of texts, which stand as signs."""
        text = self.text(tree)
        match tree:
            case ast.BoolOp(op=op, values=values):
                operands = tuple(self.truth(v, below) for v in values)
                return And(text, operands) if isinstance(op, ast.And) else Or(text, operands)
            case ast.UnaryOp(op=ast.Not(), operand=operand):
                return Not(text, self.truth(operand, below))
            case ast.UnaryOp(op=ast.USub(), operand=operand):
                zero = self.number(operand, below)
                return Arithmetic(zero.dimension, text, "-", Constant(zero.dimension, "0", 0.0), zero)
            case ast.BinOp(left=left, op=operation, right=right) if type(operation) in _ARITHMETIC:
                sign = _ARITHMETIC[type(operation)]
                return self.arithmetic(sign, self.number(left, below), self.number(right, below), tree)
            case ast.BinOp(left=left, op=operation, right=right) if type(operation) in _TEST_SIGNS:
                return self.tested(left, WORDS[_TEST_SIGNS[type(operation)]], right, below, text)
        raise self.refusal(tree)

    def refusal(self, tree: ast.expr) -> ExpressionError:
        """Return what is said of a piece that a rule may not hold."""
        match tree:
            case ast.Name(id="true" | "false" | "yes" | "no" as name):
                told = f'"{name}" is no fact; a yes-or-no fact stands alone: part.located, or not part.located'
            case ast.Name(id=name):
                told = f'"{name}" is not a fact; facts are written scope.name, like part.height'
            case ast.Tuple():
                told = f'"{self.text(tree)[:80]}" is a list; a decimal has a point: 1.2, and a list stands behind "in"'
            case _:
                told = f'"{self.text(tree)[:80]}" is not allowed in a rule'
        return ExpressionError(told)

    def constant(self, tree: ast.expr, value: float | str) -> NumberNode:
        """Return the number or quantity that is written out."""
        if isinstance(value, float) and math.isinf(value):
            raise ExpressionError(f"{self.text(tree)[:40]} is too large; nothing that a rule compares is near it")
        limit = read_limit(value)
        return Constant(limit.dimension, self.text(tree), limit.value)

    def truth(self, tree: ast.expr, depth: int) -> TruthNode:
        """Return a piece that must be true or false."""
        if _is_text(tree):
            raise ExpressionError(
                f"{self.text(tree)[:80]} alone is neither true nor false; several texts stand in a list: ('x', 'y')"
            )
        return expected_truth(self.node(tree, depth))

    def number(self, tree: ast.expr, depth: int) -> NumberNode:
        """Return a piece that must be a number."""
        return expected_number(self.node(tree, depth))

    def arithmetic(self, sign: str, left: NumberNode, right: NumberNode, tree: ast.expr) -> NumberNode:
        """Return two numbers joined; their dimensions must fit."""
        if sign == "/" and isinstance(right, Constant) and right.value == 0:
            raise ExpressionError(f'"{self.text(tree)[:80]}" divides by zero, so that nothing could ever be decided')
        if sign in {"*", "/"}:
            factor = 1 if sign == "*" else -1
            a, b = left.dimension.exponents, right.dimension.exponents
            powers = (a[0] + factor * b[0], a[1] + factor * b[1], a[2] + factor * b[2], a[3] + factor * b[3])
            return Arithmetic(dimension_of(powers), self.text(tree), sign, left, right)
        verb = {"+": "adds", "-": "takes"}.get(sign, "compares")
        same_dimension(left, right, verb)
        return Arithmetic(left.dimension, self.text(tree), sign, left, right)

    def either(self, tree: ast.IfExp, depth: int) -> Node:
        """Return ``x if c else y``, of two numbers or two truths."""
        condition = self.truth(tree.test, depth)
        then, other, text = self.node(tree.body, depth), self.node(tree.orelse, depth), self.text(tree)
        if isinstance(then, NumberNode) and isinstance(other, NumberNode):
            same_dimension(then, other, "compares")
            return NumberIf(then.dimension, text, condition, then, other)
        if isinstance(then, TruthNode) and isinstance(other, TruthNode):
            return TruthIf(text, condition, then, other)
        raise ExpressionError(
            f"the rule chooses between {kind_of(then)} and {kind_of(other)}: two numbers or two truths"
        )

    def call(self, tree: ast.Call, depth: int) -> Node:
        """Return a call of one of the few functions, or a column of the BOM."""
        if isinstance(tree.func, ast.Attribute) and tree.func.attr == "column":
            if len(tree.args) != 1 or not _is_text(tree.args[0]) or tree.keywords:
                raise ExpressionError("a column is named by its title: part.column('Moisture level')")
            return self.known.fact(self.text(tree))
        name = tree.func.id if isinstance(tree.func, ast.Name) else ""
        if name in AGGREGATES:
            return aggregate_of(self, name, tree, depth)
        if name not in FUNCTIONS or tree.keywords:
            cure = nearest(name, (*FUNCTIONS, *AGGREGATES)) if name else ""
            cure = f"write {_ALIKE[name]}" if name in _ALIKE else cure
            every = ", ".join((*FUNCTIONS, *AGGREGATES))
            told = f"a rule may call {every} and nothing else"
            raise ExpressionError(f'"{self.text(tree)[:80]}" is not allowed; {cure or told}')
        if name == "is_known":
            return self.is_known(tree, depth)
        operands = [self.number(argument, depth) for argument in tree.args]
        if name == "abs":
            if len(operands) != 1:
                raise ExpressionError("abs takes one number")
            return Absolute(operands[0].dimension, self.text(tree), operands[0])
        if len(operands) < 2:
            over = {"min": "least", "max": "greatest"}[name]
            of = operands[0].text if operands else "part.height"
            raise ExpressionError(
                f"{name} takes at least two numbers; the {over} of all parts, pairs or fiducials is {over}({of})"
            )
        return reduce(lambda a, b: self.arithmetic(name, a, b, tree), operands)

    def is_known(self, tree: ast.Call, depth: int) -> TruthNode:
        """Return ``is_known(fact)``; not among what is counted, where the unknown would pass."""
        if len(tree.args) != 1 or not isinstance(tree.args[0], ast.Attribute | ast.Call):
            raise ExpressionError("is_known asks about one fact, like is_known(part.height)")
        if self.in_aggregate:
            raise ExpressionError(
                f"{self.text(tree)} cannot stand among what is counted: what is unknown would drop out and pass. "
                "An unknown member makes the result an interval by itself; ask is_known of the subject in when"
            )
        return Known(self.text(tree), self.node(tree.args[0], depth))

    def comparisons(self, tree: ast.Compare, depth: int) -> TruthNode:
        """Return one comparison, or a chain of them."""
        sides = [tree.left, *tree.comparators]
        truths = [
            self.comparison(left, operation, right, depth)
            for left, operation, right in zip(sides, tree.ops, sides[1:], strict=False)
        ]
        return truths[0] if len(truths) == 1 else And(self.text(tree), tuple(truths))

    def comparison(self, left: ast.expr, operation: ast.cmpop, right: ast.expr, depth: int) -> TruthNode:
        """Return one comparison."""
        text = f"{self.text(left)} {_WORDS.get(type(operation), '?')} {self.text(right)}"
        if isinstance(right, ast.Constant) and right.value is None:
            raise no_comparison(text, self.text(left))
        if isinstance(operation, ast.Eq | ast.NotEq | ast.In | ast.NotIn) and (
            chosen := self.one_or_another(left, operation, right, text, depth)
        ):
            return chosen
        if isinstance(operation, ast.In | ast.NotIn):
            truth = self.membership(left, right, text, depth)
            return Not(text, truth) if isinstance(operation, ast.NotIn) else truth
        if isinstance(operation, ast.Eq | ast.NotEq):
            truth = self.equality(left, right, text, depth)
            return Not(text, truth) if isinstance(operation, ast.NotEq) else truth
        if type(operation) not in _ORDER:
            raise no_comparison(text, self.text(left))
        first, second = self.number(left, depth), self.number(right, depth)
        same_dimension(first, second, "compares")
        if first.text == second.text:
            raise ExpressionError(f'"{text}" compares {first.text} with itself: it comes out the same everywhere')
        return Comparison(text, _ORDER[type(operation)], first, second)

    def one_or_another(
        self, left: ast.expr, operation: ast.cmpop, right: ast.expr, text: str, depth: int
    ) -> TruthNode | None:
        """Return the comparison of a text with one or another, by a condition; None where nothing is chosen so."""
        if isinstance(left, ast.IfExp) and isinstance(operation, ast.Eq | ast.NotEq):
            left, right = right, left
        if not isinstance(right, ast.IfExp) or not isinstance(self.node(left, depth), TextNode):
            return None
        condition = self.truth(right.test, depth)
        then, other = (self.comparison(left, operation, either, depth) for either in (right.body, right.orelse))
        return TruthIf(text, condition, then, other)

    def tested(self, left: ast.expr, test: str, right: ast.expr, depth: int, text: str) -> TruthNode:
        """Return a test of a text, by one text or another where a condition chooses."""
        if isinstance(right, ast.IfExp):
            then, other = (self.tested(left, test, either, depth, text) for either in (right.body, right.orelse))
            return TruthIf(text, self.truth(right.test, depth), then, other)
        return text_test(self.node(left, depth), test, self.texts(right), text)

    def equality(self, left: ast.expr, right: ast.expr, text: str, depth: int) -> TruthNode:
        """Return whether two numbers or two texts are the same."""
        if _is_text(left):
            left, right = right, left
        first = self.node(left, depth)
        if isinstance(first, TextNode):
            if isinstance(right, ast.Attribute | ast.Call):
                return same_text(first, self.node(right, depth), text, kind_of)
            return text_is(first, self.texts_of([right], first, text), text, never_a_value)
        if isinstance(first, TruthNode) and isinstance(right, ast.Constant) and isinstance(right.value, bool):
            raise ExpressionError(f'"{text}": write {first.text if right.value else f"not {first.text}"} alone')
        if isinstance(first, TruthNode) and _is_text(right):
            raise ExpressionError(f'"{text}": write {first.text} alone, or not {first.text}')
        second = self.node(right, depth)
        if isinstance(first, NumberNode) and isinstance(second, NumberNode):
            same_dimension(first, second, "compares")
            return Comparison(text, "==", first, second)
        raise ExpressionError(f"the rule compares {kind_of(first)} with {kind_of(second)}")

    def membership(self, left: ast.expr, right: ast.expr, text: str, depth: int) -> TruthNode:
        """Return whether a text or number is one of a list or named set, or a text a member of a set fact."""
        listed = right.elts if isinstance(right, ast.Tuple | ast.List) else None
        if listed == []:
            raise ExpressionError(f'"{text}": the list is empty, so that nothing is ever in it')
        if listed is not None or self.is_set(right):
            first = self.node(left, depth)
            if isinstance(first, TextNode):
                texts = self.texts(right) if listed is None else self.texts_of(listed, first, text)
                return text_is(first, texts, text, never_a_value)
            if isinstance(first, NumberNode):
                return NumberIn(text, first, self.numbers(right, first, text, depth))
            raise ExpressionError(f'"{text}": {kind_of(first)} cannot be one of a list')
        if _is_text(right):
            raise ExpressionError(f"\"{text}\": after \"in\" comes a list, such as ('a', 'b'); for one text write ==")
        container = self.node(right, depth)
        if isinstance(container, NumberNode):
            raise ExpressionError(f'"{text}": after "in" comes a list, such as (2, 3); for one number write ==')
        if not isinstance(container, SetNode):
            raise ExpressionError(f'"{text}": after "in" comes a list of texts or a set fact, not {kind_of(container)}')
        if isinstance(left, ast.Constant) and isinstance(left.value, str):
            if container.choices and left.value not in container.choices:
                raise ExpressionError(never_a_value(container.name, container.choices, left.value))
            return InSet(text, left.value, container)
        member = self.node(left, depth)
        if not isinstance(member, TextNode):
            raise ExpressionError(f'"{text}": {kind_of(member)} cannot be a member of a set of texts')
        return InSet(text, member, container)

    @staticmethod
    def is_set(tree: ast.expr) -> bool:
        """Whether *tree* names a set of the file."""
        return isinstance(tree, ast.Attribute) and isinstance(tree.value, ast.Name) and tree.value.id == "sets"

    def set_named(self, tree: ast.expr) -> tuple[str | float, ...]:
        """Return a set of the file."""
        name = self.text(tree).partition(".")[2]
        return defined("set", name, self.known.shared.sets, "add it to the file's [sets]")

    def texts(self, tree: ast.expr) -> tuple[str, ...]:
        """Return a text, a list of texts or a named set of them."""
        if self.is_set(tree):
            return tuple(map(str, self.set_named(tree)))
        items = tree.elts if isinstance(tree, ast.Tuple | ast.List) else [tree]
        if not items or not all(_is_text(item) for item in items):
            raise ExpressionError(f'"{self.text(tree)[:80]}" is no text in quotes, list of them or set')
        return tuple(item.value for item in items if isinstance(item, ast.Constant) and isinstance(item.value, str))

    def texts_of(self, trees: Sequence[ast.expr], subject: TextNode, text: str) -> tuple[str, ...]:
        """Return the texts that a fact is compared with."""
        if not all(_is_text(tree) for tree in trees):
            raise ExpressionError(f'"{text}": {subject.name} is a text and is compared with texts in quotes')
        return tuple(t for tree in trees for t in self.texts(tree))

    def quantity_of_set(self, value: str | float, tree: ast.expr, subject: NumberNode) -> Limit:
        """Return a member of a named set as a quantity."""
        try:
            return read_limit(value)
        except ExpressionError as error:
            name = self.text(tree)
            raise ExpressionError(f"{kind_of(subject)} is compared with {name}, which holds texts: {error}") from None

    def numbers(self, tree: ast.expr, subject: NumberNode, text: str, depth: int) -> tuple[float, ...]:
        """Return the numbers of a list or of a named set, of the dimension of what is compared with them."""
        if self.is_set(tree):
            limits = [self.quantity_of_set(value, tree, subject) for value in self.set_named(tree)]
        else:
            items = tree.elts if isinstance(tree, ast.Tuple | ast.List) else []
            for item in items:
                if isinstance(item, ast.Constant) and isinstance(item.value, str) and not item.value[:1].strip(_SIGNS):
                    continue
                if _is_text(item):
                    raise ExpressionError(f'"{text}": {kind_of(subject)} cannot be one of some texts')
            nodes = [self.number(item, depth) for item in items]
            if not all(isinstance(node, Constant) for node in nodes):
                raise ExpressionError(f'"{text}": a list holds numbers, quantities, limits and constants')
            limits = [Limit(node.value, node.dimension) for node in nodes if isinstance(node, Constant)]
        for limit in limits:
            if limit.dimension.exponents != subject.dimension.exponents:
                own, other = with_article(subject.dimension), with_article(limit.dimension)
                cure = with_unit(subject, Constant(limit.dimension, "", limit.value))
                raise ExpressionError(f'"{text}": {subject.text} is {own}, the list holds {other}{cure}')
        return tuple(limit.value for limit in limits)


def _is_text(tree: ast.expr) -> bool:
    return isinstance(tree, ast.Constant) and isinstance(tree.value, str)
