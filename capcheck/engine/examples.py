"""The examples in rule files, run as tests; and limits changed by a step, to show that the examples notice."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from msgspec import Struct
from msgspec.structs import replace

from capcheck.engine.expression import ExpressionError, Limit, never_a_value, read_limit
from capcheck.engine.nodes import And, Comparison, Not, Or, TruthNode, walk
from capcheck.engine.rules import ExampleEntry, Rule, RuleError, build_rule
from capcheck.engine.shop_code import attempted
from capcheck.engine.truth import truth_of
from capcheck.facts import Catalogue, Column, Fact, Numbers, Sets, Texts, Truths, UnknownFactError
from capcheck.values import UNKNOWN, Interval, pattern, show, show_number, shown_unit


class ExampleError(ValueError):
    """An example states a fact that does not exist, or a value that does not fit its fact."""


class ExampleResult(Struct, frozen=True):
    """What came out of one example; *number* counts from 1 within its rule."""

    rule: str
    number: int
    expected: str
    actual: str
    facts: str
    can_occur: bool = True
    """Whether each text that it states is one that its fact can have."""

    @property
    def passed(self) -> bool:
        """Whether the rule gave the outcome expected."""
        return self.expected == self.actual


class Unnoticed(Struct, frozen=True):
    """A limit that can be changed by a step without any example giving another outcome."""

    rule: str
    limit: str
    changed_to: str


class _Stated:
    """The facts of one example; what it leaves out is unknown."""

    def __init__(self, catalogue: Catalogue, values: Mapping[str, Column]) -> None:
        self.catalogue = catalogue
        self.values = values

    def get(self, name: str) -> Column:
        return self.values.get(name) or unknown_column(self.catalogue[name])


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


def outcome_of(rule: Rule, catalogue: Catalogue, example: ExampleEntry) -> str:
    """Return what the rule says to the facts of an example. Raises :class:`ExampleError`."""
    values: dict[str, Column] = {}
    for name, value in example.facts.items():
        try:
            values[name] = stated_column(catalogue[name], value)
        except UnknownFactError as error:
            raise ExampleError(str(error)) from None
    truth = truth_of(rule, _Stated(catalogue, values), 1)
    if truth.off is not None and truth.off[0]:
        return "not applicable"
    if truth.no[0]:
        return rule.entry.outcome
    return "pass" if truth.yes[0] else "undecided"


def _outcome_or_error(rule: Rule, catalogue: Catalogue, example: ExampleEntry) -> str:
    """Return what the rule says to an example, or the error: what a rule in Python raises is its result."""

    def outcome() -> str:
        try:
            return outcome_of(rule, catalogue, example)
        except ExampleError as error:
            return f"error: {error}"

    found, error = attempted(outcome)
    return f"error: {error}" if found is None else found


def as_written(rule: Rule, catalogue: Catalogue) -> Rule:
    """Return the rule with the limits of its own file, which its examples are about."""
    if not rule.changed_limits:
        return rule
    return build_rule(rule.entry, catalogue, file=rule.file, row=rule.row, function=rule.function)


def run_examples(rules: Sequence[Rule], catalogue: Catalogue) -> list[ExampleResult]:
    """Return the result of every example, in order; one that cannot be run has the error as its actual outcome."""
    results = []
    for rule in rules:
        for number, example in enumerate(rule.entry.example, 1):
            actual = _outcome_or_error(rule, catalogue, example)
            shown = ", ".join(f"{name} = {_plain(value)}" for name, value in example.facts.items())
            can_occur = all(_can_occur(catalogue, name, value) for name, value in example.facts.items())
            results.append(ExampleResult(rule.id, number, example.outcome, actual, shown or "nothing known", can_occur))
    return results


def _can_occur(catalogue: Catalogue, name: str, value: object) -> bool:
    if name not in catalogue or not catalogue[name].choices:
        return True
    return {str(text) for text in (value if isinstance(value, list) else [value])} <= set(catalogue[name].choices)


def _plain(value: object) -> str:
    if isinstance(value, list):
        return " to ".join(map(str, value))
    return {True: "yes", False: "no"}.get(value, str(value)) if isinstance(value, bool) else str(value)


def missing_kinds(rule: Rule) -> list[str]:
    """Return which kinds of example the rule lacks: one that passes, one that is violated, one that is undecided.

    A rule that only asks for others has no violation.
    """
    there = {example.outcome for example in rule.entry.example}
    wanted = {"pass": {"pass"}, "undecided": {"undecided"}}
    wanted |= {} if rule.settles else {rule.entry.outcome: {"fail", "warn"}}
    return [kind for kind, any_of in wanted.items() if not there & any_of]


def unnoticed_limits(rules: Sequence[Rule], catalogue: Catalogue) -> list[Unnoticed]:
    """Return the limits that can be raised or lowered by one step without an example noticing.

    A step is one in the last place in which the limit is written: 0.1 mm for 0.5 mm, 1 for 2.
    """
    found = []
    for rule in rules:
        before = [_outcome_or_error(rule, catalogue, example) for example in rule.entry.example]
        for name, text in rule.entry.limits.items():
            for changed in _steps(text, rule.limits[name]):
                other = _with_limit(rule, catalogue, name, changed)
                if other is None or [_outcome_or_error(other, catalogue, e) for e in rule.entry.example] == before:
                    found.append(Unnoticed(rule.id, name, str(changed)))
    return found


def _with_limit(rule: Rule, catalogue: Catalogue, name: str, changed: str | float) -> Rule | None:
    try:
        return build_rule(
            rule.entry, catalogue, file=rule.file, row=rule.row, overrides={name: changed}, function=rule.function
        )
    except RuleError:
        return None


_WRITTEN = pattern(r"\s*([+-]?\d*\.?\d+)\s*(.*?)\s*")


def _steps(written: str | float, limit: Limit) -> list[str | float]:
    match = _WRITTEN.fullmatch(str(written))
    if match is None:
        digits, unit = show_number(limit.value), shown_unit(limit.dimension)
    else:
        digits, unit = match[1], match[2]
    decimals = len(digits.partition(".")[2])
    values = [float(digits) - 10.0**-decimals, float(digits) + 10.0**-decimals]
    return [f"{v:.{decimals}f} {unit}" if unit else round(v, decimals) for v in values]


def unnoticed_edges(rules: Sequence[Rule], catalogue: Catalogue) -> list[Unnoticed]:
    """Return the comparisons that can gain or lose the limit itself (``<=`` for ``<``) without an example noticing.

    Only rules that are expressions are tried.
    """
    found = []
    for rule in rules:
        before = [_outcome_or_error(rule, catalogue, example) for example in rule.entry.example]
        changed = [replace(rule, require=node) for node in flipped(rule.require)]
        changed += [replace(rule, when=node) for node in (flipped(rule.when) if rule.when is not None else ())]
        for other, text in zip(changed, _flipped_texts(rule), strict=True):
            if [_outcome_or_error(other, catalogue, e) for e in rule.entry.example] == before:
                found.append(Unnoticed(rule.id, text, "without its limit" if "=" in text else "with its limit"))
    return found


_OTHER = {"<=": "<", "<": "<=", ">=": ">", ">": ">="}


def flipped(node: TruthNode) -> Iterator[TruthNode]:
    """Yield *node* once for each of its comparisons of order, with that one made strict, or no longer strict."""
    match node:
        case Comparison(operation=operation) if operation in _OTHER:
            yield replace(node, operation=_OTHER[operation])
        case And(operands=operands) | Or(operands=operands):
            for index, operand in enumerate(operands):
                for other in flipped(operand):
                    yield replace(node, operands=(*operands[:index], other, *operands[index + 1 :]))
        case Not(operand=operand):
            for other in flipped(operand):
                yield replace(node, operand=other)


def _flipped_texts(rule: Rule) -> list[str]:
    nodes = [n for tree in (rule.require, rule.when) if tree is not None for n in walk(tree)]
    return [n.text for n in nodes if isinstance(n, Comparison) and n.operation in _OTHER]


def faults_of(rules: Sequence[Rule], results: Sequence[ExampleResult], catalogue: Catalogue) -> list[str]:
    """Return what is wrong with the examples, a text each: outcomes, kinds that lack, limits that nobody guards."""
    by_id = {rule.id: rule for rule in rules}
    faults = [_unexpected(by_id[result.rule], result) for result in results if not result.passed]
    occurring = {result.rule for result in results if result.can_occur}
    faults += [
        f"{rule.id} ({rule.file}:{rule.row}): none of its examples can occur on a board: it would never be applied"
        for rule in rules
        if rule.entry.example and rule.id not in occurring
    ]
    faults += [
        f"{rule.id} ({rule.file}:{rule.row}): has no example that comes out {kind}"
        for rule in rules
        for kind in missing_kinds(rule)
    ]
    faults += [
        f"{item.rule}: no example notices when {item.limit} is {item.changed_to}; add one that sits on the limit"
        for item in unnoticed_limits(rules, catalogue)
    ]
    faults += [
        f'{item.rule}: no example notices when "{item.limit}" holds {item.changed_to}; add one exactly at it'
        for item in unnoticed_edges(rules, catalogue)
    ]
    return faults


def _unexpected(rule: Rule, result: ExampleResult) -> str:
    limits = ", ".join(f"{n} = {show(v.value, v.value, v.dimension)}" for n, v in rule.limits.items())
    lines = [
        f"{rule.id} example {result.number} ({rule.file}:{rule.row})",
        f"  facts     {result.facts}",
        *([f"  limits    {limits}"] if limits else []),
        f"  requires  {' '.join(rule.entry.require.split())}",
        f"  expected  {result.expected}",
        f"  actual    {result.actual}",
    ]
    return "\n".join(lines)
