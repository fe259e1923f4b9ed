"""The operations that an expression is made of, each on whole columns of intervals or three-valued truths.

A node is checked when it is made and evaluated many times; it is equal to itself alone. ``a <= b`` is proved where
even the greatest *a* is at most the least *b*, disproved where even the least *a* exceeds the greatest *b*, and
undecided otherwise.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Final, Protocol, TypeVar

import numpy as np
from msgspec import Struct

from capcheck.engine.interval_columns import ARITHMETIC
from capcheck.facts import Column, Numbers, Sets, Texts, Truths, UsualNames, expected
from capcheck.model import Flags, Floats, Ints
from capcheck.values import Dimension

Kept = TypeVar("Kept")


class Environment(Protocol):
    """What an expression is evaluated in: columns by the name of their fact, one row (or just one) a subject."""

    def get(self, name: str) -> Column:
        """Return the column of the fact *name*."""
        ...

    def members(self, scope: str, of: str) -> Members:
        """Return the things of *scope* that belong to the subject, to its side or to the board."""
        ...

    def keep(self, node: Node, work: Callable[[Environment], Kept]) -> Kept:
        """Return the result of *work* for a *node*, worked out once for all that ask in this environment."""
        ...

    def turned(self) -> Environment:
        """Return the same with the two members of each pair exchanged."""
        ...


class Members(Struct, frozen=True):
    """The things of one scope, *count* of them, as what belongs to one or several wholes (the board; its sides)."""

    env: Environment
    """What a condition on the members is evaluated in: a row a member."""
    count: int
    sure: Truths | None
    """Which of them are sure to be members at all; None where all are."""
    whole: Ints | None
    """The whole that each belongs to, -1 where that is open; None where there is one whole."""
    more: Floats
    """How many more of each whole there may be, beyond those that are listed."""
    rows: Ints | None
    """For each row of the subject the whole that it asks about; None where the wholes are its rows."""
    names: Texts


class NumberNode(Struct, frozen=True, eq=False):
    """Anything that evaluates to intervals of *dimension*."""

    dimension: Dimension
    text: str

    def evaluate(self, env: Environment) -> Numbers:
        """Return the intervals."""
        raise NotImplementedError

    def children(self) -> tuple[Node, ...]:
        """Return the operands."""
        return ()

    def beside(self) -> tuple[Node, ...]:
        """Return the operands that are about the subject itself, as those of an aggregate are not."""
        return self.children()


class TruthNode(Struct, frozen=True, eq=False):
    """Anything that evaluates to three-valued truths."""

    text: str

    def evaluate(self, env: Environment) -> Truths:
        """Return the truths."""
        raise NotImplementedError

    def children(self) -> tuple[Node, ...]:
        """Return the operands."""
        return ()

    def beside(self) -> tuple[Node, ...]:
        """Return the operands that are about the subject itself, as those of an aggregate are not."""
        return self.children()


class TextNode(Struct, frozen=True, eq=False):
    """A text fact."""

    name: str
    choices: tuple[str, ...]
    names: UsualNames | None = None

    @property
    def text(self) -> str:
        """The name, as written."""
        return self.name

    def evaluate(self, env: Environment) -> Texts:
        """Return the texts."""
        return expected(env.get(self.name), Texts)

    def children(self) -> tuple[Node, ...]:
        """Return the operands: none."""
        return ()

    def beside(self) -> tuple[Node, ...]:
        """Return the operands: none."""
        return ()


class SetNode(Struct, frozen=True, eq=False):
    """A set fact."""

    name: str
    choices: tuple[str, ...]

    @property
    def text(self) -> str:
        """The name, as written."""
        return self.name

    def evaluate(self, env: Environment) -> Sets:
        """Return the sets."""
        return expected(env.get(self.name), Sets)

    def children(self) -> tuple[Node, ...]:
        """Return the operands: none."""
        return ()

    def beside(self) -> tuple[Node, ...]:
        """Return the operands: none."""
        return ()


Node = NumberNode | TruthNode | TextNode | SetNode


class Constant(NumberNode, frozen=True, eq=False):
    """A number written in the rule, in the canonical unit."""

    value: float

    def evaluate(self, env: Environment) -> Numbers:  # noqa: ARG002
        """Return the number as an interval."""
        array = np.array([self.value])
        return Numbers(array, array)


class NumberFact(NumberNode, frozen=True, eq=False):
    """A numeric fact."""

    name: str

    def evaluate(self, env: Environment) -> Numbers:
        """Return the fact's intervals."""
        return expected(env.get(self.name), Numbers)


class FlagFact(TruthNode, frozen=True, eq=False):
    """A yes-or-no fact."""

    name: str

    def evaluate(self, env: Environment) -> Truths:
        """Return the fact's truths."""
        return expected(env.get(self.name), Truths)


class Arithmetic(NumberNode, frozen=True, eq=False):
    """Two intervals joined by an operation of :data:`ARITHMETIC`."""

    operation: str
    left: NumberNode
    right: NumberNode

    def evaluate(self, env: Environment) -> Numbers:
        """Return the intervals of all results possible."""
        return ARITHMETIC[self.operation](self.left.evaluate(env), self.right.evaluate(env))

    def children(self) -> tuple[Node, ...]:
        """Return both operands."""
        return self.left, self.right


class Absolute(NumberNode, frozen=True, eq=False):
    """The size of a number without its sign."""

    operand: NumberNode

    def evaluate(self, env: Environment) -> Numbers:
        """Return the intervals of all results possible."""
        value = self.operand.evaluate(env)
        low = np.maximum(0.0, np.maximum(value.low, -value.high))
        return Numbers(low, np.maximum(np.abs(value.low), np.abs(value.high)))

    def children(self) -> tuple[Node, ...]:
        """Return the operand."""
        return (self.operand,)


_ORDER: Final[dict[str, Callable[[Floats, Floats], Flags]]] = {
    "<=": np.less_equal,
    "<": np.less,
    ">=": np.greater_equal,
    ">": np.greater,
}
_OPPOSITE: Final = {"<=": ">", "<": ">=", ">=": "<", ">": "<="}


class Comparison(TruthNode, frozen=True, eq=False):
    """Two numbers compared; *margin* says by how much the comparison holds (negative: by how much it fails)."""

    operation: str
    left: NumberNode
    right: NumberNode

    def sides(self, env: Environment) -> tuple[Numbers, Numbers]:
        """Return both sides, worked out once for a truth, its margin and how large they are."""
        return env.keep(self, lambda env: (self.left.evaluate(env), self.right.evaluate(env)))

    def evaluate(self, env: Environment) -> Truths:
        """Return the truths."""
        left, right = self.sides(env)
        if self.operation == "==":
            apart = (left.low > right.high) | (left.high < right.low)
            same = (left.low == left.high) & (right.low == right.high) & (left.low == right.low)
            return Truths(same, apart)
        if self.operation in {"<=", "<"}:
            worst, best = (left.high, right.low), (left.low, right.high)
        else:
            worst, best = (left.low, right.high), (left.high, right.low)
        return Truths(_ORDER[self.operation](*worst), _ORDER[_OPPOSITE[self.operation]](*best))

    def margin(self, env: Environment) -> Numbers:
        """Return the distance to the limit, in the operands' dimension: at least 0 where the comparison holds."""
        left, right = self.sides(env)
        if self.operation in {">=", ">"}:
            left, right = right, left
        if self.operation == "==":
            apart = np.maximum(left.high, right.high) - np.minimum(left.low, right.low)
            return Numbers(-apart, np.zeros_like(apart))
        return ARITHMETIC["-"](right, left)

    def nearest_ends(self, env: Environment) -> tuple[Floats, Floats]:
        """Return the ends of the greater and the lesser side between which the least margin lies."""
        left, right = self.sides(env)
        return (left.low, right.high) if self.operation in {">=", ">"} else (right.low, left.high)

    def least_margin(self, env: Environment) -> Floats:
        """Return the low end of :meth:`margin` alone; not for ``==``."""
        greater, lesser = self.nearest_ends(env)
        with np.errstate(invalid="ignore"):
            margin: Floats = greater - lesser
        return np.where(np.isnan(margin), np.inf, margin)

    def size(self, env: Environment) -> Floats:
        """Return how large the larger of the two sides is, of which a margin is a share; 0 where it has no end."""
        sizes = (np.where(np.isfinite(end), np.abs(end), 0.0) for end in self.nearest_ends(env))
        return np.maximum(*sizes)

    def children(self) -> tuple[Node, ...]:
        """Return both sides."""
        return self.left, self.right


class Known(TruthNode, frozen=True, eq=False):
    """Whether a fact is known: a number with both ends, a text, a yes or no. Never undecided."""

    subject: Node

    def evaluate(self, env: Environment) -> Truths:
        """Return the truths."""
        column = self.subject.evaluate(env)
        if isinstance(column, Numbers):
            return Truths.known(np.isfinite(column.low) & np.isfinite(column.high))
        if isinstance(column, Texts):
            return Truths.known(column.codes >= 0)
        if isinstance(column, Truths):
            return Truths.known(column.yes | column.no)
        return Truths.known(np.array([members is not None for members in column.sets]))

    def children(self) -> tuple[Node, ...]:
        """Return the fact."""
        return (self.subject,)


class Not(TruthNode, frozen=True, eq=False):
    """Kleene's *not*."""

    operand: TruthNode

    def evaluate(self, env: Environment) -> Truths:
        """Return the truths."""
        return self.operand.evaluate(env).negated()

    def children(self) -> tuple[Node, ...]:
        """Return the operand."""
        return (self.operand,)


class And(TruthNode, frozen=True, eq=False):
    """Kleene's *and*: proved where all are, disproved where one is."""

    operands: tuple[TruthNode, ...]

    def evaluate(self, env: Environment) -> Truths:
        """Return the truths."""
        first, *rest = (operand.evaluate(env) for operand in self.operands)
        yes, no = first.yes, first.no
        for truth in rest:
            yes, no = yes & truth.yes, no | truth.no
        return Truths(yes, no)

    def children(self) -> tuple[Node, ...]:
        """Return the operands."""
        return self.operands


class Or(TruthNode, frozen=True, eq=False):
    """Kleene's *or*: proved where one is, disproved where all are."""

    operands: tuple[TruthNode, ...]

    def evaluate(self, env: Environment) -> Truths:
        """Return the truths."""
        first, *rest = (operand.evaluate(env) for operand in self.operands)
        yes, no = first.yes, first.no
        for truth in rest:
            yes, no = yes | truth.yes, no & truth.no
        return Truths(yes, no)

    def children(self) -> tuple[Node, ...]:
        """Return the operands."""
        return self.operands


def walk(node: Node) -> Iterator[Node]:
    """Yield *node* and all below it, each before its operands."""
    yield node
    for child in node.children():
        yield from walk(child)


def walk_beside(node: Node) -> Iterator[Node]:
    """Yield *node* and all below it that is about the subject itself: nothing below an aggregate."""
    yield node
    for child in node.beside():
        yield from walk_beside(child)


def _collect(node: Node, names: dict[str, None], *, beside: bool) -> dict[str, None]:
    if isinstance(node, NumberFact | FlagFact | TextNode | SetNode):
        names[node.name] = None
    for child in node.beside() if beside else node.children():
        _collect(child, names, beside=beside)
    return names


def facts_of(node: Node) -> tuple[str, ...]:
    """Return the names of the facts of the subject that the expression asks for, in order of their first mention."""
    return tuple(_collect(node, {}, beside=True))


def every_fact_of(node: Node) -> tuple[str, ...]:
    """Return the same with the facts that aggregates ask of their members."""
    return tuple(_collect(node, {}, beside=False))
