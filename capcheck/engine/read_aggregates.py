"""Aggregates, read: ``count(part, where …)``, ``greatest(part.height of side, where …)``, ``all(part.located)``."""

from __future__ import annotations

import ast
from typing import TYPE_CHECKING, Final, Protocol, cast

from capcheck.engine.aggregates import (
    SCOPES,
    WITH_SIDES,
    NumberAggregate,
    NumberOperation,
    TruthAggregate,
    TruthOperation,
    names_members_of_a_pair,
)
from capcheck.engine.limits import ExpressionError
from capcheck.engine.nodes import Node, NumberNode, TruthNode, every_fact_of
from capcheck.values import NUMBER, nearest

if TYPE_CHECKING:
    from capcheck.engine.subjects import Subject

AGGREGATES: Final = ("count", "sum", "least", "greatest", "any", "all")
_EXAMPLES: Final = {
    "count": "count(part, where part.height > '5 mm')",
    "sum": "sum(part.mass_estimate, where part.mounting == 'surface')",
    "least": "least(pair.gap)",
    "greatest": "greatest(part.height, where part.mounting == 'surface')",
    "any": "any(part.height > '5 mm')",
    "all": "all(part.located, where part.mounting == 'surface')",
}
_SEEN: Final = frozenset({"board", "line"})


class _Known(Protocol):
    @property
    def subject(self) -> Subject | None: ...


class Reads(Protocol):
    """The reader of the expression that an aggregate stands in."""

    in_aggregate: bool

    @property
    def known(self) -> _Known:
        """What the expression may name."""

    def text(self, tree: ast.expr) -> str:
        """Return a piece as it was written."""

    def number(self, tree: ast.expr, depth: int) -> NumberNode:
        """Return a piece that must be a number."""

    def truth(self, tree: ast.expr, depth: int) -> TruthNode:
        """Return a piece that must be true or false."""


def aggregate_of(reader: Reads, name: str, tree: ast.Call, depth: int) -> Node:
    """Return the aggregate of a call. Raises :class:`ExpressionError`."""
    text = reader.text(tree)
    if reader.in_aggregate:
        raise ExpressionError(f'"{text[:80]}" stands in another count or sum; make it a fact of its own: [[fact]]')
    keys = {keyword.arg: keyword.value for keyword in tree.keywords}
    if len(tree.args) != 1 or not keys.keys() <= {"where", "of"} or len(keys) != len(tree.keywords):
        raise ExpressionError(f'"{text[:80]}" cannot be read; {name} is written like {_EXAMPLES[name]}')
    reader.in_aggregate = True
    try:
        where = reader.truth(keys["where"], depth) if "where" in keys else None
        (own,) = tree.args
        if name == "count":
            scope = _scope_named(own, text)
            of = _whole(reader, scope, keys.get("of"), text)
            node: NumberAggregate | TruthAggregate = NumberAggregate(NUMBER, text, "count", scope, of, None, where)
        elif isinstance(own, ast.Name) and own.id in SCOPES:
            told = "asks a condition of its members" if name in {"any", "all"} else "takes a number of its members"
            raise ExpressionError(f'"{text[:80]}": {name} {told}; write it like {_EXAMPLES[name]}')
        elif name in {"any", "all"}:
            truth = reader.truth(own, depth)
            scope = _scope_of(truth, where, text, name)
            of = _whole(reader, scope, keys.get("of"), text)
            node = TruthAggregate(text, cast("TruthOperation", name), scope, of, truth, where)
        else:
            value = reader.number(own, depth)
            scope = _scope_of(value, where, text, name)
            of = _whole(reader, scope, keys.get("of"), text)
            node = NumberAggregate(value.dimension, text, cast("NumberOperation", name), scope, of, value, where)
            if name == "sum" and names_members_of_a_pair(node):
                raise ExpressionError(
                    f'"{text[:80]}": which of a pair is the first does not matter; sum what both have'
                )
    finally:
        reader.in_aggregate = False
    _refuse_unseen(node, reader.known.subject, text)
    return node


def _scope_named(tree: ast.expr, text: str) -> str:
    name = tree.id if isinstance(tree, ast.Name) else ""
    if name in SCOPES:
        return name
    singular = next((s for s in SCOPES if name in {f"{s}s", f"{s}es"}), None)
    hint = f"write {singular}" if singular else nearest(name, SCOPES) if name else ""
    raise ExpressionError(f'"{text[:80]}": what can be counted is {", ".join(SCOPES)}' + (f"; {hint}" if hint else ""))


def _scope_of(value: Node, where: Node | None, text: str, name: str) -> str:
    """Return the scope whose members the facts of an aggregate are about."""
    for node in (value, where):
        names = [] if node is None else [fact.split(".", 1)[0] for fact in every_fact_of(node)]
        scopes = list(dict.fromkeys(s for s in names if s in SCOPES and s != "side"))
        if len(scopes) > 1 and not {"machine", "head"} & set(scopes):
            raise ExpressionError(f'"{text[:80]}" is about {" and ".join(scopes)} at once; one can be asked of many')
        members = [s for s in scopes if s not in {"machine", "head"}] or scopes or [s for s in names if s == "side"]
        if members:
            return members[0]
    raise ExpressionError(
        f'"{text[:80]}" is about nothing of which there are many: {", ".join(SCOPES)}; write like {_EXAMPLES[name]}'
    )


def _whole(reader: Reads, scope: str, of: ast.expr | None, text: str) -> str:
    """Return what the members belong to: the side that the rule is about, or the board."""
    subject = reader.known.subject
    rows = None if subject is None else subject.rows
    if of is None:
        return "side" if rows == "side" and scope in WITH_SIDES and scope != "side" else "board"
    name = of.id if isinstance(of, ast.Name) else ""
    if name not in {"side", "board"}:
        raise ExpressionError(f'"{text[:80]}": members are those "of side" or "of board", not of {name}')
    if name == "side" and scope not in WITH_SIDES:
        raise ExpressionError(f'"{text[:80]}": a {scope} lies on no side; leave "of side" out')
    if name == "side" and (subject is None or (rows not in WITH_SIDES)):
        about = "the board" if subject is None else f'"{subject.name}"'
        raise ExpressionError(f'"{text[:80]}": a rule on {about} is about no side; make it one on "side"')
    return name


def _refuse_unseen(node: NumberAggregate | TruthAggregate, subject: Subject | None, text: str) -> None:
    """Refuse facts of what is neither the members, their side, the board, nor the machine that the rule is about."""
    each = None if subject is None else subject.each
    seen = {node.scope, *_SEEN} | ({"side"} if node.scope in WITH_SIDES else set())
    seen |= {each, "machine", "transport"} if each is not None else set()
    seen |= {"passing"} if each == "machine" and node.scope == "part" else set()
    seen |= {"placing"} if each == "head" and node.scope == "part" else set()
    for fact in every_fact_of(node):
        if fact.split(".", 1)[0] not in seen:
            told = ", ".join(sorted(s for s in seen if s))
            raise ExpressionError(f'"{text[:80]}" does not see {fact}; among its members it sees the facts of: {told}')
