"""Rules that are Python functions, for what no expression can say.

A function asks for facts and limits by parameter name (``part_height`` is the fact ``part.height``, ``limits_most``
the limit ``most``) and gets whole columns; it returns :class:`~capcheck.facts.columns.Truths`. Everything else (title,
message, remedy, examples) is said in :func:`rule`, with the keys of a rule file. Files named ``*.rules.py`` in a folder
of rules are read like rule files.
"""

from __future__ import annotations

import inspect
from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING, Final

import numpy as np
from msgspec import Struct

from capcheck.engine.nodes import (
    Comparison,
    Constant,
    Environment,
    Kept,
    Members,
    Node,
    NumberFact,
    NumberNode,
    TruthNode as _TruthNode,
)
from capcheck.engine.vocabulary import fact_node
from capcheck.facts import Column, Numbers, Truths, UnknownFactError, fact_of_parameter, row_of, run_file
from capcheck.values import DIMENSIONS, Place, Problem, nearest

if TYPE_CHECKING:
    from pathlib import Path

    from capcheck.engine.limits import Limit
    from capcheck.facts import Catalogue

ENDING: Final = ".rules.py"

Function = Callable[..., Truths]


class UndeclaredError(LookupError):
    """A function does not declare what it takes, or something else than its facts and limits are."""


_recorded: list[PythonRule] = []


def rules_of_file(path: Path) -> tuple[list[PythonRule], list[Problem]]:
    """Return the rules of a file, and what is wrong with it: it has none, or one is hidden by another of its name.

    Raises :class:`InputError` with the line on which the file fails.
    """
    _recorded.clear()
    module = run_file(path, "rule file")
    found = [value for value in vars(module).values() if isinstance(value, PythonRule)]
    own = [made for made in _recorded if made.function.__code__.co_filename == str(path)]
    hidden = [made for made in own if not any(made is kept for kept in found)]
    _recorded.clear()
    problems = [] if found else [Problem(Place(str(path)), "holds no rule", remedy="decorate a function with @rule(…)")]
    return found, problems + [
        Problem(
            Place(str(path), row_of(made.function)),
            f"another {made.function.__name__} stands below",
            "this one would never be applied",
            "give each function a name of its own",
        )
        for made in hidden
    ]


class FunctionTruth(_TruthNode, frozen=True):
    """A truth that a Python function works out from columns, by parameter name."""

    function: Function
    operands: tuple[tuple[str, Node], ...]

    def evaluate(self, env: Environment) -> Truths:
        """Return what the function returns. Raises TypeError if that is no column of truths."""
        columns: dict[str, Column] = {name: node.evaluate(env) for name, node in self.operands}
        truths = self.function(**columns)
        if not isinstance(truths, Truths):
            raise TypeError(
                f"{self.function.__name__} returned {type(truths).__name__}, a rule returns Truths: what at_most(…), "
                "at_least(…), all_of(…) or any_of(…) give"
            )
        rows = {len(truths), *(len(c) for c in columns.values())} - {1}
        if len(rows) > 1:
            raise ValueError(f"{self.function.__name__} returned {len(truths)} rows, its facts have another number")
        return truths

    def children(self) -> tuple[Node, ...]:
        """Return the facts and limits that the function asks for."""
        return tuple(node for _, node in self.operands)


class PythonRule(Struct, frozen=True):
    """A function with the keys of a rule file, before its facts are looked up."""

    function: Function
    keys: Mapping[str, object]
    """Like a ``[[rule]]``, with ``require`` naming the function."""
    takes: Mapping[str, str] = {}
    """The dimensions that it declares, by parameter."""


def example(facts: Mapping[str, object], outcome: str) -> dict[str, object]:
    """Return an example, as ``[[rule.example]]`` would say it: facts by name, and the outcome that must come out."""
    return {"facts": dict(facts), "outcome": outcome}


def rule(
    *,
    id: str,  # noqa: A002  the key's name in a rule file
    title: str,
    finding: str = "",
    subject: str,
    message: str,
    why: str,
    remedy: str,
    basis: str,
    ask: str = "",
    when: str = "",
    outcome: str = "fail",
    tags: Sequence[str] = (),
    limits: Mapping[str, str | float] | None = None,
    examples: Sequence[Mapping[str, object]] = (),
    takes: Mapping[str, str] | None = None,
) -> Callable[[Function], PythonRule]:
    """Make a rule of a function; the keywords are the keys of a rule file, *when* is an expression.

    *takes* declares the dimension of every parameter that is a quantity: ``{"part_height": "length"}``. It is held to
    the facts and limits that the parameters ask for when the file is read.
    """

    def made(function: Function) -> PythonRule:
        asked = ", ".join(fact_of_parameter(name) for name in inspect.signature(function).parameters)
        keys: dict[str, object] = {
            "id": id,
            "title": title,
            "finding": finding,
            "subject": subject,
            "when": when,
            "outcome": outcome,
            "message": message,
            "why": why,
            "remedy": remedy,
            "basis": basis,
            "ask": ask,
            "tags": tags if isinstance(tags, str) else tuple(tags),
            "limits": {} if limits is None else limits,
            "example": examples,
            "require": f"{function.__name__}({asked})",
        }
        if not isinstance(takes or {}, dict):
            raise TypeError('takes names dimensions by parameter: takes={"part_height": "length"}')
        whole = PythonRule(function, keys, dict(takes or {}))
        _recorded.append(whole)
        return whole

    return made


def truth_of_function(
    function: Function, catalogue: Catalogue, limits: Mapping[str, Limit], text: str, takes: Mapping[str, str]
) -> FunctionTruth:
    """Return the node of a rule's function, whose parameters *takes* declares.

    Raises :class:`UnknownFactError` for a parameter that is neither fact nor limit, and :class:`UndeclaredError` for
    one whose dimension is not declared, or is another one.
    """
    operands = [
        (name, _node(fact_of_parameter(name), catalogue, limits)) for name in inspect.signature(function).parameters
    ]
    names = [name for name, _ in operands]
    for name in takes:
        if name not in names:
            raise UndeclaredError(
                f'takes declares "{name}", which {function.__name__} does not ask for; '
                f"{nearest(name, names) or f'it asks for: {chr(44).join(names)}'}"
            )
        if takes[name] not in DIMENSIONS:
            known = nearest(takes[name], DIMENSIONS) or f"dimensions are: {', '.join(DIMENSIONS)}"
            raise UndeclaredError(f'takes declares "{name}" as "{takes[name]}", which is no dimension; {known}')
    for name, node in operands:
        if isinstance(node, NumberNode):
            _check_dimension(name, node, takes)
    return FunctionTruth(text, function, tuple(operands))


def _check_dimension(name: str, node: NumberNode, takes: Mapping[str, str]) -> None:
    declared = takes.get(name)
    is_number = not any(node.dimension.exponents)
    if declared is None and not is_number:
        raise UndeclaredError(
            f"{name} is a {node.dimension} in {node.dimension.unit}, and the rule does not declare it (a function gets "
            f'bare numbers, which nobody can check); write takes={{"{name}": "{node.dimension}"}}'
        )
    if declared is not None and DIMENSIONS[declared].exponents != node.dimension.exponents:
        raise UndeclaredError(f"{name} is declared as a {declared}, {node.text} is a {node.dimension}")


def _node(name: str, catalogue: Catalogue, limits: Mapping[str, Limit]) -> Node:
    if name.startswith("limits."):
        limit = limits.get(name[7:])
        if limit is None:
            raise UnknownFactError(f'there is no limit "{name[7:]}"; add it to the rule\'s limits')
        return Constant(limit.dimension, name, limit.value)
    return fact_node(catalogue[name])


class _Fixed:
    """An environment of two columns, so that comparisons of columns are those of expressions."""

    def __init__(self, left: Numbers, right: Numbers) -> None:
        self.columns = {"left": left, "right": right}

    def get(self, name: str) -> Column:
        return self.columns[name]

    def members(self, scope: str, of: str) -> Members:
        raise LookupError(f"two columns have no {scope} of {of}")

    def keep(self, node: Node, work: Callable[[Environment], Kept]) -> Kept:  # noqa: ARG002  nothing is asked twice
        """Return the result of *work*."""
        return work(self)

    def turned(self) -> _Fixed:
        return self


def _compared(operation: str, left: Numbers, right: Numbers) -> Truths:
    from capcheck.values import NUMBER

    node = Comparison("", operation, NumberFact(NUMBER, "left", "left"), NumberFact(NUMBER, "right", "right"))
    return node.evaluate(_Fixed(left, right))


def at_most(left: Numbers, right: Numbers) -> Truths:
    """Return where *left* ≤ *right* is proved, and where it is disproved; both in the same unit."""
    return _compared("<=", left, right)


def at_least(left: Numbers, right: Numbers) -> Truths:
    """Return where *left* ≥ *right* is proved, and where it is disproved; both in the same unit."""
    return _compared(">=", left, right)


def all_of(*truths: Truths) -> Truths:
    """Return Kleene's *and* of columns of truths."""
    yes, no = truths[0].yes, truths[0].no
    for truth in truths[1:]:
        yes, no = np.logical_and(yes, truth.yes), np.logical_or(no, truth.no)
    return Truths(yes, no)


def any_of(*truths: Truths) -> Truths:
    """Return Kleene's *or* of columns of truths."""
    yes, no = truths[0].yes, truths[0].no
    for truth in truths[1:]:
        yes, no = np.logical_or(yes, truth.yes), np.logical_and(no, truth.no)
    return Truths(yes, no)
