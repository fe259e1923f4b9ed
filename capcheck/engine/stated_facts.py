"""The facts that an example states, as what an expression is evaluated in; what it leaves out is unknown."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Final

import numpy as np

from capcheck.engine.aggregates import SCOPES
from capcheck.engine.limits import ExpressionError, read_limit
from capcheck.engine.nodes import Environment, Kept, Members, Node, NumberNode, TruthNode
from capcheck.engine.rule_entries import ExampleEntry
from capcheck.engine.text_tests import hardly_a_value
from capcheck.engine.view import NAMES, turned_name
from capcheck.engine.vocabulary import never_a_value
from capcheck.facts import Catalogue, Column, Fact, Numbers, Sets, Texts, Truths, UnknownFactError, expected
from capcheck.values import UNKNOWN, Interval, nearest

TIMES: Final = "times"
"""The key of a member that says how many are alike; no fact."""
_MOST: Final = 10_000


class ExampleError(ValueError):
    """An example states a fact that does not exist, or a value that does not fit its fact."""


def unknown_column(fact: Fact) -> Column:
    """Return one row of *fact* of which nothing is known."""
    match fact.kind:
        case "number":
            return Numbers.of([UNKNOWN])
        case "flag":
            return Truths.of([None])
        case "set":
            return Sets([None])
    return Texts.of([None])


def stated_column(fact: Fact, value: object) -> Column:
    """Return one row of *fact* with the value that an example states. Raises :class:`ExampleError`."""
    match fact.kind, value:
        case "flag", bool():
            return Truths.of([value])
        case "set", list():
            return Sets([frozenset(_possible(fact, str(v)) for v in value)])
        case "text", str():
            return Texts.of([_possible(fact, value)])
        case "number", list() if len(value) == 2:
            low, high = (_magnitude(fact, v) for v in value)
            if low > high:
                raise ExampleError(f"{fact.name}: the ends of {value} stand the wrong way round")
            return Numbers.of([Interval(low, high)])
        case "number", str() | int() | float() if not isinstance(value, bool):
            return Numbers.of([Interval.exactly(_magnitude(fact, value))])
    raise ExampleError(f"{fact.name} is {fact.kind_text}, {value!r} is not")


def _possible(fact: Fact, value: str) -> str:
    """Return a text that the fact can have. Raises :class:`ExampleError` for one that never occurs."""
    if fact.choices and value not in fact.choices:
        raise ExampleError(never_a_value(fact.name, fact.choices, value))
    return value


def _magnitude(fact: Fact, value: object) -> float:
    try:
        limit = read_limit(value)
    except ExpressionError as error:
        raise ExampleError(f"{fact.name}: {error}") from None
    if limit.dimension.exponents != fact.dimension.exponents:
        raise ExampleError(f"{fact.name} is a {fact.dimension}, {value!r} is a {limit.dimension}")
    return limit.value


class Stated:
    """Columns by name: of one row what the subject's facts are, or of a row for each member of a scope.

    What members do not state of their own *scope* is unknown; *outer* are the facts of all else that they see.
    """

    def __init__(
        self,
        catalogue: Catalogue,
        rows: Sequence[Mapping[str, object]],
        listed: Mapping[str, Sequence[Mapping[str, object]]],
        *,
        scope: str | None = None,
        outer: Stated | None = None,
        is_turned: bool = False,
    ) -> None:
        self.catalogue = catalogue
        self.rows = rows
        self.listed = listed
        self.scope = scope
        self.outer = outer
        self.is_turned = is_turned

    def get(self, name: str) -> Column:
        """Return the column of a fact; one that is made of others is worked out where it is not stated."""
        name = turned_name(name) if self.is_turned else name
        fact = self.catalogue[name]
        values = [row.get(name) for row in self.rows]
        is_stated = any(value is not None for value in values)
        if not is_stated and self.outer is not None and fact.scope != self.scope:
            return self.outer.get(name)
        if isinstance(fact.tree, NumberNode | TruthNode):
            return self._worked_out(fact, fact.tree, values)
        return _stacked(fact, [_column(fact, value) for value in values])

    def _worked_out(self, fact: Fact, tree: NumberNode | TruthNode, values: Sequence[object]) -> Column:
        found = tree.evaluate(self)
        if all(value is None for value in values):
            return found
        rows = range(len(values))
        each = [found.take(np.array([row if len(found) > 1 else 0])) for row in rows]
        return _stacked(
            fact, [each[row] if value is None else _column(fact, value) for row, value in enumerate(values)]
        )

    def keep(self, node: Node, work: Callable[[Environment], Kept]) -> Kept:  # noqa: ARG002  nothing is asked twice
        """Return the result of *work*."""
        return work(self)

    def turned(self) -> Stated:
        """Return the same with the two members of each pair exchanged."""
        turned = not self.is_turned
        return Stated(self.catalogue, self.rows, self.listed, scope=self.scope, outer=self.outer, is_turned=turned)

    def members(self, scope: str, of: str) -> Members:  # noqa: ARG002  all that are stated belong to the subject
        """Return the members that the example lists, which are all there are; where it lists none they are unknown."""
        rows = self.listed.get(scope)
        names = [str(row.get(NAMES[scope], f"{scope} {n}")) for n, row in enumerate(rows or (), 1)]
        return Members(
            env=Stated(self.catalogue, rows or (), {}, scope=scope, outer=self),
            count=len(names),
            sure=None,
            whole=None,
            more=np.array([np.inf if rows is None else 0.0]),
            rows=None,
            names=Texts.of(names),
        )


def _column(fact: Fact, value: object) -> Column:
    return unknown_column(fact) if value is None else stated_column(fact, value)


def _stacked(fact: Fact, columns: Sequence[Column]) -> Column:
    """Return columns of one row each as one."""
    match fact.kind:
        case "number":
            numbers = [expected(column, Numbers) for column in columns]
            low, high = (
                [float(ends[0]) for ends in of] for of in ([n.low for n in numbers], [n.high for n in numbers])
            )
            return Numbers.of_ends(low, high)
        case "flag":
            return Truths.of([expected(column, Truths).value(0) for column in columns])
        case "set":
            return Sets([expected(column, Sets).sets[0] for column in columns])
    return Texts.of([expected(column, Texts).value(0) for column in columns])


def stated(
    catalogue: Catalogue, example: ExampleEntry, is_own: Callable[[Fact, str], bool] = lambda _fact, _text: False
) -> Stated:
    """Return what an example states. Raises :class:`ExampleError` for a fact or value that cannot be.

    *is_own* tells which texts the rule takes for names that a shop's library gives.
    """
    for name, value in example.facts.items():
        _check(catalogue, name, value, is_own)
    listed: dict[str, list[Mapping[str, object]]] = {}
    for scope, rows in example.members.items():
        if scope not in SCOPES:
            hint = nearest(scope, SCOPES) or f"scopes are {', '.join(SCOPES)}"
            raise ExampleError(f'members lists "{scope}", of which there are no members; {hint}')
        listed[scope] = []
        for row in rows:
            facts = {name: value for name, value in row.items() if name != TIMES}
            for name, value in facts.items():
                _check(catalogue, name, value, is_own)
            listed[scope] += [facts] * _times(row.get(TIMES, 1))
    return Stated(catalogue, [example.facts], listed)


def _times(value: object) -> int:
    if not isinstance(value, int) or isinstance(value, bool) or not 1 <= value <= _MOST:
        raise ExampleError(f"times is how many members are alike, 1 to {_MOST}; {value!r} is not")
    return value


def _check(catalogue: Catalogue, name: str, value: object, is_own: Callable[[Fact, str], bool]) -> None:
    try:
        fact = catalogue[name]
    except UnknownFactError as error:
        raise ExampleError(str(error)) from None
    stated_column(fact, value)
    if fact.names is None or not isinstance(value, str) or is_own(fact, value):
        return
    if (likely := fact.names.meant(value)) is not None:
        own = "for a name that a library of yours gives, the rule itself says matches"
        raise ExampleError(hardly_a_value(name, value, likely, own))
