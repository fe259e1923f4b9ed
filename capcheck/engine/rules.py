"""A rule: a sentence about facts, checked when it is read."""

from __future__ import annotations

import inspect
import re
import string
from collections.abc import Iterator, Mapping
from typing import Final

from msgspec import Struct, field
from msgspec.structs import replace

from capcheck.engine.aggregates import NumberAggregate, TruthAggregate
from capcheck.engine.choices import NamedNumber, NamedTruth
from capcheck.engine.definitions import NOTHING_SHARED, Definitions
from capcheck.engine.expression import read_expression, read_value
from capcheck.engine.guidelines import Guideline, all_guidelines, cited_numbers
from capcheck.engine.limits import ExpressionError, Limit, read_limit
from capcheck.engine.nodes import And, Comparison, Node, TruthNode, every_fact_of, facts_of, walk
from capcheck.engine.python_rules import Function, UndeclaredError, truth_of_function
from capcheck.engine.reachable import why_never
from capcheck.engine.rule_entries import Level, RuleEntry
from capcheck.engine.subjects import SUBJECTS, Subject
from capcheck.facts import Catalogue, Fact, UnknownFactError
from capcheck.values import nearest


class RuleError(ValueError):
    """A rule does not fit together. *key* is the key of the rule file that is at fault."""

    def __init__(self, key: str, message: str) -> None:
        super().__init__(message)
        self.key = key


class ChangedLimitError(RuleError):
    """A configuration changes a limit to what it cannot be, or one that the rule does not have."""

    def __init__(self, limit: str, message: str) -> None:
        super().__init__("limits", message)
        self.limit = limit


class Rule(Struct, frozen=True):
    """A checked rule.

    *require* and *when* are trees of :mod:`capcheck.engine.nodes`; *facts* are all the facts that they ask for and
    *message_facts* those that the message prints. *file* and *row* say where the rule stands.
    """

    id: str
    title: str
    headline: str
    """What is wrong where the rule does not hold."""
    subject: Subject
    when: TruthNode | None
    require: TruthNode
    outcome: Level
    message: str
    why: str
    remedy: str
    basis: str
    tags: tuple[str, ...]
    limits: Mapping[str, Limit]
    changed_limits: frozenset[str]
    entry: RuleEntry
    file: str
    row: int
    facts: tuple[str, ...]
    message_facts: tuple[str, ...]
    needs: frozenset[str]
    settles: frozenset[str] = frozenset()
    for_others: bool = False
    """Whether it demands nothing of its own: what it asks is needed, accepted and known as its askers are."""
    once_for_type: bool = False
    function: Function | None = None
    """The function of a rule in Python; None for one that is an expression."""
    reach: float = 0.0
    """How far in mm it needs all neighbours."""
    takes: Mapping[str, str] = {}
    """The dimensions that the function declares, by parameter."""
    shared: Definitions = NOTHING_SHARED
    shown_values: Mapping[str, Node] = {}
    """What the message shows beside facts and limits, by name: values, constants, limits of tables."""
    derived: tuple[Fact, ...] = ()
    """The facts that its file makes of others."""
    is_asked_both_ways: bool = False
    """Whether it asks for what one of the two members of a pair has: which is the first must not matter."""

    @property
    def conjuncts(self) -> tuple[TruthNode, ...]:
        """The truths that *require* joins by *and*; just itself where it joins nothing."""
        return _conjuncts(self.require)

    @property
    def comparisons(self) -> tuple[Comparison, ...]:
        """The conjuncts that have a margin."""
        return tuple(c for c in self.conjuncts if isinstance(c, Comparison))

    @property
    def guidelines(self) -> tuple[Guideline, ...]:
        """The guidelines that the basis cites, in the order in which it does."""
        known = all_guidelines()
        return tuple(known[number] for number in cited_numbers(self.basis))

    @property
    def basis_in_full(self) -> str:
        """The basis with the guidelines that it cites written out behind it."""
        return "; ".join((self.basis, *map(str, self.guidelines)))

    def with_outcome(self, outcome: Level) -> Rule:
        """Return the rule with another level."""
        return replace(self, outcome=outcome)


def _conjuncts(node: TruthNode) -> tuple[TruthNode, ...]:
    if isinstance(node, And):
        return tuple(c for operand in node.operands for c in _conjuncts(operand))
    return (node,)


def _subject(name: str) -> Subject:
    if name not in SUBJECTS:
        hint = nearest(name, SUBJECTS) or f"subjects are: {', '.join(SUBJECTS)}"
        raise RuleError("subject", f'"{name}" is not a subject of rules; {hint}')
    return SUBJECTS[name]


def _limits(entry: RuleEntry, overrides: Mapping[str, str | float]) -> dict[str, Limit]:
    limits = {}
    for name, text in entry.limits.items():
        try:
            limits[name] = read_limit(text)
        except ExpressionError as error:
            raise RuleError("limits", f"limits.{name}: {error}") from None
    for name, text in overrides.items():
        if name not in limits:
            hint = nearest(name, limits) or f"it has: {', '.join(limits) or 'none'}"
            raise ChangedLimitError(name, f'rule "{entry.id}" has no limit "{name}"; {hint}')
        try:
            changed = read_limit(text)
        except ExpressionError as error:
            raise ChangedLimitError(name, str(error)) from None
        if changed.dimension.exponents != limits[name].dimension.exponents:
            raise ChangedLimitError(
                name,
                f'"{text}" is a {changed.dimension}, the limit is a {limits[name].dimension}; '
                f'write it like "{limits[name].dimension.example}"',
            )
        limits[name] = changed
    return limits


class _Names(Struct, frozen=True):
    """What the expressions of one rule may name."""

    catalogue: Catalogue
    limits: Mapping[str, Limit]
    shared: Definitions
    subject: Subject
    values: dict[str, Node] = field(default_factory=dict)

    def tree(self, key: str, text: str) -> TruthNode:
        """Return the tree of an expression that must be true or false. Raises :class:`RuleError`."""
        try:
            return read_expression(
                text, self.catalogue, self.limits, shared=self.shared, subject=self.subject, values=self.values
            )
        except ExpressionError as error:
            raise RuleError(key, str(error)) from None

    def value(self, key: str, text: str) -> Node:
        """Return the tree of an expression that is a number, or true or false. Raises :class:`RuleError`."""
        try:
            return read_value(
                text, self.catalogue, self.limits, shared=self.shared, subject=self.subject, values=self.values
            )
        except ExpressionError as error:
            raise RuleError(key, str(error)) from None


def _check_citations(basis: str) -> None:
    for number in cited_numbers(basis):
        if number not in all_guidelines():
            raise RuleError(
                "basis",
                f"there is no guideline [{number}]; those that ship are 1 to {max(all_guidelines())}: "
                "cite one of them, or write title and publisher out",
            )


def _requirement(entry: RuleEntry, known: _Names, function: Function | None, takes: Mapping[str, str]) -> TruthNode:
    if function is None:
        return known.tree("require", entry.require)
    try:
        return truth_of_function(function, known.catalogue, known.limits, entry.require, takes)
    except (UnknownFactError, UndeclaredError) as error:
        raise RuleError("require", str(error)) from None


def message_names(template: str) -> tuple[str, ...]:
    """Return the names in braces. Raises :class:`RuleError` for braces that do not pair or hold anything else."""
    try:
        pieces = list(string.Formatter().parse(template))
    except ValueError as error:
        raise RuleError("message", f"{error}; write facts in braces, like {{part.ref}}") from None
    if any(name is not None and not name.strip() for _, name, _, _ in pieces):
        raise RuleError("message", "{} names nothing; write facts in braces, like {part.ref}")
    if any(spec or conversion for _, _, spec, conversion in pieces):
        raise RuleError("message", "only names stand in braces, without a format")
    return tuple(dict.fromkeys(name for _, name, _, _ in pieces if name is not None))


def _scope(name: str) -> str:
    return name.partition(".")[0]


def _visible(key: str, names: tuple[str, ...], subject: Subject, catalogue: Catalogue) -> None:
    for name in names:
        try:
            fact = catalogue[name]
        except UnknownFactError as error:
            raise RuleError(key, str(error)) from None
        if fact.scope not in subject.scopes:
            seen = ", ".join(sorted(subject.scopes))
            told = f'a rule on "{subject.name}" does not see {name}; it sees the facts of: {seen}'
            other = next((s.name for s in SUBJECTS.values() if {*map(_scope, names)} <= s.scopes), None)
            raise RuleError(key, told if other is None else f'{told}; one on "{other}" sees it')


def build_rule(
    entry: RuleEntry,
    catalogue: Catalogue,
    *,
    file: str,
    row: int,
    overrides: Mapping[str, str | float] | None = None,
    function: Function | None = None,
    takes: Mapping[str, str] | None = None,
    shared: Definitions = NOTHING_SHARED,
) -> Rule:
    """Return the checked rule of an entry, with limits changed by *overrides* (limit name to quantity).

    With a *function* it decides, and the entry's ``require`` only names it; *takes* are the dimensions that it declares
    by parameter. *shared* is what the rule's file defines. Raises :class:`RuleError` with the key at fault.
    """
    subject = _subject(entry.subject)
    _check_citations(entry.basis)
    limits = _limits(entry, overrides or {})
    known = _Names(catalogue, limits, shared, subject)
    for name, text in entry.values.items():
        known.values[name] = known.value("values", text)
        _visible("values", facts_of(known.values[name]), subject, catalogue)
    require = _requirement(entry, known, function, takes or {})
    when = known.tree("when", entry.when) if entry.when else None
    trees = [("require", require)] if when is None else [("when", when), ("require", require)]
    own = {key: facts_of(tree) for key, tree in trees}
    for key, seen in own.items():
        _visible(key, seen, subject, catalogue)
    if when is not None and (never := why_never(when)):
        raise RuleError("when", never)
    _all_used(entry, when, require, function)
    names = message_names(entry.message)
    unknown = [n for n in names if n.startswith("limits.") and n[7:] not in limits]
    if unknown:
        raise RuleError("message", f'there is no limit "{unknown[0][7:]}"; {nearest(unknown[0][7:], limits) or ""}')
    shown_values = {n: known.value("message", n) for n in names if n.startswith(("values.", "constants.", "tables."))}
    message_facts = tuple(n for n in names if not n.startswith("limits.") and n not in shown_values)
    _visible("message", message_facts, subject, catalogue)
    asked = dict.fromkeys(name for _, tree in trees for name in every_fact_of(tree))
    asked |= dict.fromkeys(name for tree in shown_values.values() for name in every_fact_of(tree))
    facts = tuple(dict.fromkeys(n for name in asked for n in (name, *catalogue[name].uses)))
    counted = [node for _, tree in trees for node in walk(tree) if isinstance(node, NumberAggregate | TruthAggregate)]
    if not function and not counted and not own["require"]:
        raise RuleError("require", f'"{require.text}" names no fact: it comes out the same on every board')
    of_pairs = any(name.startswith("pair.") for name in facts) or any(node.scope == "pair" for node in counted)
    return Rule(
        id=entry.id,
        title=entry.title,
        headline=entry.finding or entry.title,
        subject=subject,
        when=when,
        require=require,
        outcome=entry.outcome,
        message=entry.message,
        why=entry.why,
        remedy=entry.remedy,
        basis=entry.basis,
        tags=entry.tags,
        limits=limits,
        changed_limits=frozenset(overrides or {}),
        entry=entry,
        file=file,
        row=row,
        facts=facts,
        message_facts=message_facts,
        needs=frozenset(entry.needs).union(
            (n for n in (catalogue[f].needs for f in facts) if n is not None),
            (need for _, tree in trees for need in needs_of_members(tree)),
        ),
        settles=_settled(entry, catalogue),
        for_others=entry.for_others,
        once_for_type=entry.once_for_type,
        function=function,
        reach=_reach(when, require) if of_pairs else 0.0,
        takes=takes or {},
        shared=shared,
        shown_values=shown_values,
        derived=tuple(catalogue[n] for n in (*facts, *message_facts) if catalogue[n].text_of),
        is_asked_both_ways=any(n.startswith(_ONE_OF_PAIR) for seen in own.values() for n in seen),
    )


_ONE_OF_PAIR: Final = ("pair.first.", "pair.second.")
_COUNTED_NEEDS: Final = {"bom": "bom", "machine": "line", "head": "line"}
"""What must be given so that the members of a scope can be counted."""


def _reach(when: TruthNode | None, require: TruthNode) -> float:
    """Return how far a rule on pairs needs its neighbours."""
    from capcheck.engine.gap_reach import reach_of

    try:
        return reach_of(when, require)
    except ExpressionError as error:
        raise RuleError("require", str(error)) from None


def needs_of_members(tree: Node) -> Iterator[str]:
    """Yield what must be given so that the things that an expression counts are there."""
    counted = (n.scope for n in walk(tree) if isinstance(n, NumberAggregate | TruthAggregate))
    yield from (_COUNTED_NEEDS[scope] for scope in counted if scope in _COUNTED_NEEDS)


_USE_IT: Final = "use it in when, require or message, or remove it"


def _names_limit(text: str, name: str) -> bool:
    return re.search(rf"\blimits\.{name}\b", text) is not None


def _all_used(entry: RuleEntry, when: TruthNode | None, require: TruthNode, function: Function | None) -> None:
    """Refuse a limit or value of the rule's own that neither it nor its message uses: it was meant for something."""
    beside = (entry.when, entry.require, entry.message, *entry.values.values())
    asked = () if function is None else inspect.signature(function).parameters
    for name in entry.limits:
        if f"limits_{name}" not in asked and not any(_names_limit(text, name) for text in beside):
            raise RuleError("limits", f"limits.{name} is used nowhere; {_USE_IT}")
    if not entry.values:
        return
    trees = [tree for tree in (when, require) if tree is not None]
    named = {node.text for tree in trees for node in walk(tree) if isinstance(node, NamedNumber | NamedTruth)}
    used = named | set(message_names(entry.message))
    for name in entry.values:
        if f"values.{name}" not in used and not any(f"values.{name}" in text for text in entry.values.values()):
            raise RuleError("values", f"values.{name} is used nowhere; {_USE_IT}")


def _settled(entry: RuleEntry, catalogue: Catalogue) -> frozenset[str]:
    if entry.for_others and not entry.settles:
        raise RuleError("for_others", "it asks for others only with the facts that it settles: settles = [...]")
    if entry.settles and entry.subject not in {"board", "part"}:
        raise RuleError(
            "settles", f'only a rule on "board" or "part" asks for others; this is one on "{entry.subject}"'
        )
    try:
        return frozenset(catalogue[name].name for name in entry.settles)
    except UnknownFactError as error:
        raise RuleError("settles", str(error)) from None
