"""One of two, and one of several: ``x if c else y``, numbers in a list, and a rule's own names for parts of it."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from capcheck.engine.nodes import And, Environment, Node, NumberNode, Or, TruthNode
from capcheck.facts import Numbers, Truths
from capcheck.model import Flags

_SAME: float = 1e-9
"""Two numbers that units made of one are the same: 25 mil and 0.635 mm."""


class NumberIf(NumberNode, frozen=True, eq=False):
    """One number where a condition holds, another where it does not; either where that is undecided."""

    condition: TruthNode
    then: NumberNode
    other: NumberNode

    def evaluate(self, env: Environment) -> Numbers:
        """Return the intervals of all results possible."""
        truth, a, b = self.condition.evaluate(env), self.then.evaluate(env), self.other.evaluate(env)
        low = np.where(truth.yes, a.low, np.where(truth.no, b.low, np.minimum(a.low, b.low)))
        return Numbers(low, np.where(truth.yes, a.high, np.where(truth.no, b.high, np.maximum(a.high, b.high))))

    def children(self) -> tuple[Node, ...]:
        """Return the condition and both numbers."""
        return self.condition, self.then, self.other


class TruthIf(TruthNode, frozen=True, eq=False):
    """One truth where a condition holds, another where it does not; proved too where both are."""

    condition: TruthNode
    then: TruthNode
    other: TruthNode

    def evaluate(self, env: Environment) -> Truths:
        """Return the truths."""
        truth, a, b = self.condition.evaluate(env), self.then.evaluate(env), self.other.evaluate(env)

        def joined(of_a: Flags, of_b: Flags) -> Flags:
            found: Flags = (truth.yes & of_a) | (truth.no & of_b) | (of_a & of_b)
            return found

        return Truths(joined(a.yes, b.yes), joined(a.no, b.no))

    def children(self) -> tuple[Node, ...]:
        """Return the condition and both truths."""
        return self.condition, self.then, self.other


class NumberIn(TruthNode, frozen=True, eq=False):
    """A number is one of some numbers."""

    subject: NumberNode
    values: tuple[float, ...]

    def evaluate(self, env: Environment) -> Truths:
        """Return the truths: proved for an exact number alone, disproved where none lies within its bounds."""
        found = self.subject.evaluate(env)
        yes = np.zeros(len(found), dtype=np.bool_)
        no = ~yes
        for value in self.values:
            above, below = found.low > value + _SAME, found.high < value - _SAME
            no &= above | below
            yes |= (found.low >= value - _SAME) & (found.high <= value + _SAME)
        return Truths(yes, no)

    def children(self) -> tuple[Node, ...]:
        """Return the number."""
        return (self.subject,)


class NamedNumber(NumberNode, frozen=True, eq=False):
    """A number that the rule has a name for."""

    inner: NumberNode

    def evaluate(self, env: Environment) -> Numbers:
        """Return the intervals."""
        return self.inner.evaluate(env)

    def children(self) -> tuple[Node, ...]:
        """Return what it stands for."""
        return (self.inner,)


class NamedTruth(TruthNode, frozen=True, eq=False):
    """A condition that the rule has a name for."""

    inner: TruthNode

    def evaluate(self, env: Environment) -> Truths:
        """Return the truths."""
        return self.inner.evaluate(env)

    def children(self) -> tuple[Node, ...]:
        """Return what it stands for."""
        return (self.inner,)


def operands_of(node: TruthNode, joined: type[And | Or]) -> Iterator[TruthNode]:
    """Yield what *joined* joins in *node*, through conditions that have a name; the node itself where it joins none."""
    if isinstance(node, NamedTruth):
        yield from operands_of(node.inner, joined)
    elif isinstance(node, joined):
        for operand in node.operands:
            yield from operands_of(operand, joined)
    else:
        yield node
