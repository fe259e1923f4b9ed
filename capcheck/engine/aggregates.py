"""What is asked of many things at once: how many there are, what they add up to, the least, the greatest, any, all.

A thing may be a member or not, since its own facts leave that undecided, and there may be more than are listed. So a
count is an interval, and a sum is one of all the sums that are possible: whatever the truth of each member is, the
result lies within. Conditions that name the two members of a pair hold where they do either way round.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from typing import Final, Literal

import numpy as np
from msgspec.structs import replace

from capcheck.engine.nodes import (
    Environment,
    Members,
    Node,
    NumberNode,
    TruthNode,
    every_fact_of,
)
from capcheck.facts import Numbers, Truths, expected
from capcheck.model import Flags, Floats, Said, say

SCOPES: Final = ("part", "pair", "fiducial", "bom", "data", "side", "machine", "head")
"""What has members that can be counted."""
WITH_SIDES: Final = ("part", "pair", "fiducial", "side")
_OF_PAIRS: Final = ("pair.first.", "pair.second.")
_NANOMETRE: Final = 9
"""Digits that are kept of a sum: what lies on a limit must not miss it by the last digit of a float."""

NumberOperation = Literal["count", "sum", "least", "greatest"]
TruthOperation = Literal["any", "all"]


def names_members_of_a_pair(node: Node) -> bool:
    """Whether an expression asks for what only one of the two members of a pair has."""
    return any(name.startswith(_OF_PAIRS) for name in every_fact_of(node))


def _ways(members: Members, *nodes: Node | None) -> Iterator[Environment]:
    """Yield what the members are asked in: both ways round where that makes a difference."""
    yield members.env
    if any(node is not None and names_members_of_a_pair(node) for node in nodes):
        yield members.env.turned()


def _spread(truth: Truths, count: int) -> tuple[Flags, Flags]:
    return np.broadcast_to(truth.yes, (count,)), np.broadcast_to(truth.no, (count,))


def _where(members: Members, condition: Callable[[Environment], Truths | None], ways: Iterable[Environment]) -> Truths:
    """Return which members a condition holds for, either way round, of those that are members at all."""
    found = []
    for env in ways:
        truth = condition(env)
        if truth is None:
            found = [(np.ones(members.count, dtype=np.bool_), np.zeros(members.count, dtype=np.bool_))]
            break
        found.append(_spread(truth, members.count))
    (yes, no), *others = found
    for other_yes, other_no in others:
        yes, no = yes | other_yes, no & other_no
    if members.sure is not None:
        yes, no = yes & members.sure.yes, no | members.sure.no
    return Truths(yes, no)


def _of_each_whole(members: Members, chosen: Truths) -> Iterator[tuple[Flags, Flags]]:
    """Yield for each whole which of the members are proved to count there, and which may."""
    if members.whole is None:
        yield chosen.yes, ~chosen.no
        return
    for number in range(len(members.more)):
        yield chosen.yes & (members.whole == number), ~chosen.no & ((members.whole == number) | (members.whole < 0))


def _asked(members: Members, low: list[float], high: list[float]) -> Numbers:
    """Return the numbers of the wholes for the rows that ask for them; a row whose whole is open has their hull."""
    lows, highs = np.array(low, dtype=np.float64), np.array(high, dtype=np.float64)
    if members.rows is None:
        return Numbers(lows, highs)
    known, at = members.rows >= 0, np.maximum(members.rows, 0)
    return Numbers(np.where(known, lows[at], lows.min()), np.where(known, highs[at], highs.max()))


class NumberAggregate(NumberNode, frozen=True, eq=False):
    """A count, sum, least or greatest over the members of a scope."""

    operation: NumberOperation
    scope: str
    of: str
    value: NumberNode | None
    where: TruthNode | None

    def children(self) -> tuple[Node, ...]:
        """Return what is asked of the members."""
        return tuple(node for node in (self.value, self.where) if node is not None)

    def beside(self) -> tuple[Node, ...]:
        """Return nothing: all of it is about the members."""
        return ()

    def evaluate(self, env: Environment) -> Numbers:
        """Return the intervals of all results possible, one for each row that asks, or one for all."""
        return expected(env.keep(self, self._evaluated), Numbers)

    def _evaluated(self, env: Environment) -> Numbers:
        members = env.members(self.scope, self.of)
        members, chosen, value = self._chosen(members)
        low, high = [], []
        for (sure, maybe), more in zip(_of_each_whole(members, chosen), members.more.tolist(), strict=True):
            ends = self._counted(sure, maybe, more) if value is None else self._worked_out(value, sure, maybe, more)
            low.append(ends[0])
            high.append(ends[1])
        return _asked(members, low, high)

    def _chosen(self, members: Members) -> tuple[Members, Truths, Numbers | None]:
        """Return which members count, and the value of each; a pair of which both ways round are asked stands twice."""

        def where(env: Environment) -> Truths | None:
            return None if self.where is None else self.where.evaluate(env)

        ways = list(_ways(members, self.where, self.value))
        if self.value is None:
            return members, _where(members, where, ways), None
        each = [(_where(members, where, (env,)), self.value.evaluate(env)) for env in ways]
        if len(each) == 1:
            (truth, value), shape = each[0], (members.count,)
            return members, truth, Numbers(np.broadcast_to(value.low, shape), np.broadcast_to(value.high, shape))
        truths = Truths(np.concatenate([t.yes for t, _ in each]), np.concatenate([t.no for t, _ in each]))
        low, high = (
            np.concatenate([np.broadcast_to(ends, (members.count,)) for ends in of_ways])
            for of_ways in ([v.low for _, v in each], [v.high for _, v in each])
        )
        twice = np.tile(np.arange(members.count), 2)
        whole = None if members.whole is None else members.whole[twice]
        members = replace(members, count=len(twice), sure=None, whole=whole, names=members.names.take(twice))
        return members, truths, Numbers(low, high)

    @staticmethod
    def _counted(sure: Flags, maybe: Flags, more: float) -> tuple[float, float]:
        return float(np.count_nonzero(sure)), float(np.count_nonzero(maybe)) + more

    def _worked_out(self, value: Numbers, sure: Flags, maybe: Flags, more: float) -> tuple[float, float]:
        low, high = np.broadcast_to(value.low, sure.shape), np.broadcast_to(value.high, sure.shape)
        if self.operation == "sum":
            return _sum(low, high, sure, maybe, more)
        if self.operation == "least":
            return (-np.inf if more else _min(low, maybe)), _min(high, sure)
        return _max(low, sure), (np.inf if more else _max(high, maybe))

    def note(self, env: Environment, row: int) -> Said | None:
        """Return which members make the number what it is, and which leave it open."""
        members = env.members(self.scope, self.of)
        members, chosen, value = self._chosen(members)
        sure, maybe = _of_row(members, chosen, row)
        if value is not None and self.operation in {"least", "greatest"}:
            low, high = np.broadcast_to(value.low, sure.shape), np.broadcast_to(value.high, sure.shape)
            ends = np.where(maybe, low, np.inf) if self.operation == "least" else np.where(maybe, -high, np.inf)
            sure = np.zeros_like(sure)
            if maybe.any() and np.isfinite(ends.min()):
                sure[int(ends.argmin())] = True
            return _note(members, ("engine.members", sure))
        doubtful = maybe & ~sure
        if value is not None:
            doubtful |= maybe & np.broadcast_to(value.low != value.high, sure.shape)
        counted = sure & ~doubtful if self.operation == "count" else np.zeros_like(sure)
        return _note(members, ("engine.members", counted), ("engine.members open", doubtful))


def _min(values: Floats, among: Flags) -> float:
    return float(values[among].min(initial=np.inf))


def _max(values: Floats, among: Flags) -> float:
    return float(values[among].max(initial=-np.inf))


def _sum(low: Floats, high: Floats, sure: Flags, maybe: Flags, more: float) -> tuple[float, float]:
    perhaps = maybe & ~sure
    least = low[sure].sum() + np.minimum(low[perhaps], 0.0).sum()
    most = high[sure].sum() + np.maximum(high[perhaps], 0.0).sum()
    if more or np.isnan(least) or np.isnan(most):
        return (-np.inf if more or np.isnan(least) else float(least)), np.inf
    return round(float(least), _NANOMETRE), round(float(most), _NANOMETRE)


class TruthAggregate(TruthNode, frozen=True, eq=False):
    """Whether something holds for any, or for all, of the members of a scope."""

    operation: TruthOperation
    scope: str
    of: str
    truth: TruthNode
    where: TruthNode | None

    def children(self) -> tuple[Node, ...]:
        """Return what is asked of the members."""
        return (self.truth,) if self.where is None else (self.truth, self.where)

    def beside(self) -> tuple[Node, ...]:
        """Return nothing: all of it is about the members."""
        return ()

    def evaluate(self, env: Environment) -> Truths:
        """Return the truths, one for each row that asks, or one for all."""
        return expected(env.keep(self, self._evaluated), Truths)

    def _evaluated(self, env: Environment) -> Truths:
        members = env.members(self.scope, self.of)
        found = self._deciding(members)
        low, high = [], []
        for (sure, maybe), more in zip(_of_each_whole(members, found), members.more.tolist(), strict=True):
            low.append(float(sure.any()))
            high.append(float(maybe.any() or more > 0))
        there = _asked(members, low, high)
        yes, no = there.low > 0, there.high < 1
        return Truths(yes, no) if self.operation == "any" else Truths(no, yes)

    def _deciding(self, members: Members) -> Truths:
        """Return the members for which it holds (*any*), or for which it does not (*all*)."""

        def deciding(env: Environment) -> Truths:
            truth = self.truth.evaluate(env)
            truth = truth if self.operation == "any" else truth.negated()
            if self.where is None:
                return truth
            where = self.where.evaluate(env)
            return Truths(truth.yes & where.yes, truth.no | where.no)

        return _where(members, deciding, _ways(members, self.truth, self.where))

    def note(self, env: Environment, row: int) -> Said | None:
        """Return which members decide it, and which leave it open."""
        members = env.members(self.scope, self.of)
        sure, maybe = _of_row(members, self._deciding(members), row)
        kind = "engine.members that hold" if self.operation == "any" else "engine.members that do not"
        return _note(members, (kind, sure), ("engine.members open", maybe & ~sure))


Aggregate = NumberAggregate | TruthAggregate


def _of_row(members: Members, chosen: Truths, row: int) -> tuple[Flags, Flags]:
    wholes = list(_of_each_whole(members, chosen))
    at = row if members.rows is None else int(members.rows[row if len(members.rows) > 1 else 0])
    return wholes[at if at < len(wholes) else 0]


def _note(members: Members, *told: tuple[str, Flags]) -> Said | None:
    """Return what is said of the members chosen, each time by a key of the catalogue; None where there are none."""
    pieces = [
        Said(key, {"names": [members.names.value(int(at)) or "?" for at in np.flatnonzero(chosen)]})
        for key, chosen in told
        if chosen.any()
    ]
    return say("engine.made of", pieces=pieces) if pieces else None


def open_facts(node: Node, env: Environment) -> tuple[str, ...]:
    """Return the facts of members that leave an aggregate open: those unknown somewhere, else the wide ones."""
    assert isinstance(node, NumberAggregate | TruthAggregate)  # noqa: S101  for the type checker
    members = env.members(node.scope, node.of)
    unknown, wide = [], []
    for name in every_fact_of(node):
        column = members.env.get(name)
        if isinstance(column, Numbers):
            open_ends = np.isinf(column.high) & (column.low <= 0)
            unknown += [name] if open_ends.any() else []
            wide += [name] if (column.low != column.high).any() else []
        elif isinstance(column, Truths):
            unknown += [name] if (~(column.yes | column.no)).any() else []
        elif any(column.value(at) is None for at in range(len(column))):
            unknown += [name]
    return tuple(unknown or wide)
