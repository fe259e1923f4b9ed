"""A rule: a sentence about facts, checked when it is read."""

from __future__ import annotations

import string
from collections.abc import Mapping
from typing import Any, Final, Literal

from msgspec import Struct
from msgspec.structs import replace
from pydantic import BaseModel, ConfigDict, Field

from capcheck.engine.expression import ExpressionError, Limit, read_expression, read_limit
from capcheck.engine.guidelines import Guideline, cited_numbers, guidelines
from capcheck.engine.nodes import And, Comparison, TruthNode, facts_of
from capcheck.engine.python_rules import Function, truth_of_function
from capcheck.engine.subjects import SUBJECTS, Subject
from capcheck.facts import Catalogue, Fact, UnknownFactError
from capcheck.values import nearest, schema_of_any_quantity, schema_of_quantity

Level = Literal["fail", "warn"]

_STRICT: Final = ConfigDict(extra="forbid", frozen=True)


class ExampleEntry(BaseModel):
    """One example in a rule file: facts by name, and the outcome that the rule must give."""

    model_config = _STRICT

    facts: dict[str, str | bool | int | float | list[str]] = Field(
        description="facts by name; texts with units for quantities, two quantities in a list for an interval"
    )
    outcome: Literal["pass", "fail", "warn", "undecided", "not applicable"] = Field(description="what must come out")


class RuleEntry(BaseModel):
    """One ``[[rule]]`` of a rule file, as written."""

    model_config = _STRICT

    id: str = Field(pattern=r"^[a-z0-9]+(-[a-z0-9]+)*$", description="readable name in lower case with hyphens")
    title: str = Field(min_length=1, description="what holds where the rule passes")
    finding: str = Field("", description="the headline where it does not hold; the title if left out")
    subject: str = Field(description="what the rule is about")
    when: str = Field("", description="where the rule applies; everywhere if left out")
    require: str = Field(min_length=1, description="what must hold")
    outcome: Level = Field("fail", description="what a proved violation is")
    message: str = Field(min_length=1, description="the finding, with facts in braces")
    why: str = Field(min_length=1, description="what goes wrong on the floor")
    remedy: str = Field(min_length=1, description="what the designer or the engineer can do")
    basis: str = Field(min_length=1, description="where the limit comes from; [4] cites guideline 4 of those that ship")
    tags: tuple[str, ...] = Field((), description="words by which rules are chosen together")
    needs: tuple[Literal["bom", "line", "outline"], ...] = Field(
        (), description="what must be given for the rule to be asked, beside what its facts need"
    )
    settles: tuple[str, ...] = Field(
        (), description="facts that it asks for in the name of all: what lacks one of them waits for its answer"
    )
    for_others: bool = Field(
        False,
        description="whether it only asks: with no other answer that waits for it, an undecided one is no finding",
    )
    once_for_type: bool = Field(False, description="whether it is asked once for all parts of a type")
    limits: dict[str, str | int | float] = Field({}, description="named quantities that a configuration may change")
    example: tuple[ExampleEntry, ...] = Field((), description="examples that run as tests")


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
        known = guidelines()
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


def _tree(key: str, text: str, catalogue: Catalogue, limits: Mapping[str, Limit]) -> TruthNode:
    try:
        return read_expression(text, catalogue, limits)
    except ExpressionError as error:
        raise RuleError(key, str(error)) from None


def _check_citations(basis: str) -> None:
    for number in cited_numbers(basis):
        if number not in guidelines():
            raise RuleError(
                "basis",
                f"there is no guideline [{number}]; those that ship are 1 to {max(guidelines())}: "
                "cite one of them, or write title and publisher out",
            )


def _requirement(
    entry: RuleEntry, catalogue: Catalogue, limits: Mapping[str, Limit], function: Function | None
) -> TruthNode:
    if function is None:
        return _tree("require", entry.require, catalogue, limits)
    try:
        return truth_of_function(function, catalogue, limits, entry.require)
    except UnknownFactError as error:
        raise RuleError("require", str(error)) from None


def message_names(template: str) -> tuple[str, ...]:
    """Return the names in braces. Raises :class:`RuleError` for braces that do not pair or hold anything else."""
    try:
        pieces = list(string.Formatter().parse(template))
    except ValueError as error:
        raise RuleError("message", f"{error}; write facts in braces, like {{part.ref}}") from None
    if any(spec or conversion for _, _, spec, conversion in pieces):
        raise RuleError("message", "only names stand in braces, without a format")
    return tuple(dict.fromkeys(name for _, name, _, _ in pieces if name is not None))


def _visible(key: str, names: tuple[str, ...], subject: Subject, catalogue: Catalogue) -> None:
    for name in names:
        try:
            fact = catalogue[name]
        except UnknownFactError as error:
            raise RuleError(key, str(error)) from None
        if fact.scope not in subject.scopes:
            seen = ", ".join(sorted(subject.scopes))
            raise RuleError(key, f'a rule on "{subject.name}" does not see {name}; it sees the facts of: {seen}')


def build_rule(
    entry: RuleEntry,
    catalogue: Catalogue,
    *,
    file: str,
    row: int,
    overrides: Mapping[str, str | float] | None = None,
    function: Function | None = None,
) -> Rule:
    """Return the checked rule of an entry, with limits changed by *overrides* (limit name to quantity).

    With a *function* it decides, and the entry's ``require`` only names it. Raises :class:`RuleError` with the key at
    fault.
    """
    subject = _subject(entry.subject)
    _check_citations(entry.basis)
    limits = _limits(entry, overrides or {})
    require = _requirement(entry, catalogue, limits, function)
    when = _tree("when", entry.when, catalogue, limits) if entry.when else None
    _visible("require", facts_of(require), subject, catalogue)
    if when is not None:
        _visible("when", facts_of(when), subject, catalogue)
    names = message_names(entry.message)
    unknown = [n for n in names if n.startswith("limits.") and n[7:] not in limits]
    if unknown:
        raise RuleError("message", f'there is no limit "{unknown[0][7:]}"')
    message_facts = tuple(n for n in names if not n.startswith("limits."))
    _visible("message", message_facts, subject, catalogue)
    facts = tuple(dict.fromkeys((*(facts_of(when) if when else ()), *facts_of(require))))
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
        needs=frozenset(entry.needs).union(n for n in (catalogue[f].needs for f in facts) if n is not None),
        settles=_settled(entry, catalogue),
        for_others=entry.for_others,
        once_for_type=entry.once_for_type,
        function=function,
    )


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


def entry_schema() -> dict[str, Any]:
    """Return the JSON Schema of a rule file, for editors."""
    from capcheck.facts import FACTS

    entry = RuleEntry.model_json_schema(ref_template="#/$defs/{model}")
    shared = entry.pop("$defs")
    entry["properties"]["subject"]["enum"] = list(SUBJECTS)
    entry["properties"]["limits"]["additionalProperties"] = schema_of_any_quantity()
    # A shop may have facts of its own, so other names are not wrong.
    shared["ExampleEntry"]["properties"]["facts"]["properties"] = {fact.name: _fact_schema(fact) for fact in FACTS}
    return {
        "title": "capcheck rule file",
        "type": "object",
        "additionalProperties": False,
        "properties": {"rule": {"type": "array", "items": entry}},
        "$defs": shared,
    }


def _fact_schema(fact: Fact) -> dict[str, Any]:
    """Return the JSON Schema of what an example may state of *fact*."""
    text: dict[str, Any] = {"enum": list(fact.choices)} if fact.choices else {"type": "string"}
    kinds: dict[str, dict[str, Any]] = {
        "flag": {"type": "boolean"},
        "text": text,
        "set": {"type": "array", "items": text},
    }
    if fact.kind != "number":
        return {**kinds[fact.kind], "description": fact.help}
    one = schema_of_quantity(fact.dimension, minimum=None)
    ends = {"type": "array", "items": {"type": "string"}, "minItems": 2, "maxItems": 2}
    return {"anyOf": [*one.get("anyOf", [one]), ends], "description": fact.help}
