"""The examples in rule files, run as tests; and limits changed by a step, to show that the examples notice."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from msgspec import Struct
from msgspec.structs import replace

from capcheck.engine.limit_tables import EVERY, LookedUp, fits
from capcheck.engine.limits import Limit
from capcheck.engine.nodes import Comparison, Constant, Node, NumberNode, TruthNode, walk
from capcheck.engine.rule_entries import ExampleEntry
from capcheck.engine.rules import Rule, RuleError, build_rule
from capcheck.engine.shop_code import attempted
from capcheck.engine.stated_facts import TIMES, ExampleError, stated
from capcheck.engine.text_tests import TextTest, holds
from capcheck.engine.truth import truth_of
from capcheck.engine.view import NAMES, turned_name
from capcheck.facts import Catalogue, Fact
from capcheck.values import Dimension, pattern, show, show_number, shown_unit


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


def outcome_of(rule: Rule, catalogue: Catalogue, example: ExampleEntry) -> str:
    """Return what the rule says to the facts of an example. Raises :class:`ExampleError`."""
    truth = truth_of(rule, stated(catalogue, example, lambda fact, text: _is_own_name(rule, fact, text)), 1)
    if truth.off is not None and truth.off[0]:
        return "not applicable"
    if truth.no[0]:
        return rule.entry.outcome
    return "pass" if truth.yes[0] else "undecided"


def _is_own_name(rule: Rule, fact: Fact, text: str) -> bool:
    """Whether a test or a table of the rule takes *text* for a name that no table of packages gives."""
    trees = [tree for tree in (rule.require, rule.when) if tree is not None]
    for node in (n for tree in trees for n in walk(tree)):
        if isinstance(node, TextTest) and node.subject.names == fact.names:
            if holds(node.test, text, node.texts, fact.name):
                return True
        elif isinstance(node, LookedUp):
            of = [at for at, key in enumerate(node.keys) if key.names == fact.names]
            keys = {row.keys[at] for row in node.table.rows for at in of} - {EVERY}
            if any(fits(key, text, fact.name) for key in keys):
                return True
    return False


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
    return build_rule(
        rule.entry,
        catalogue,
        file=rule.file,
        row=rule.row,
        function=rule.function,
        takes=rule.takes,
        shared=rule.shared,
    )


def run_examples(rules: Sequence[Rule], catalogue: Catalogue) -> list[ExampleResult]:
    """Return the result of every example, in order; one that cannot be run has the error as its actual outcome."""
    results = []
    for rule in rules:
        for number, example in enumerate(rule.entry.example, 1):
            actual = _outcome_or_error(rule, catalogue, example)
            shown = ", ".join(f"{name} = {_plain(value)}" for name, value in example.facts.items())
            shown = ", ".join(filter(None, (shown, *(_listed(s, rows) for s, rows in example.members.items()))))
            of_members = [item for rows in example.members.values() for row in rows for item in row.items()]
            can_occur = all(_can_occur(catalogue, name, v) for name, v in (*example.facts.items(), *of_members))
            results.append(ExampleResult(rule.id, number, example.outcome, actual, shown or "nothing known", can_occur))
    return results


def _can_occur(catalogue: Catalogue, name: str, value: object) -> bool:
    if name not in catalogue or not catalogue[name].choices:
        return True
    return {str(text) for text in (value if isinstance(value, list) else [value])} <= set(catalogue[name].choices)


def _listed(scope: str, rows: Sequence[Mapping[str, object]]) -> str:
    told = (", ".join(f"{name.split('.', 1)[-1]} {_plain(value)}" for name, value in row.items()) for row in rows)
    return f"{scope}: {' | '.join(told) or 'none'}"


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

    A step is one in the last place in which the limit is written: 0.1 mm for 0.5 mm, 1 for 2. Constants of the file are
    limits too, and a column of a table is one: it is changed as a whole.
    """
    found = []
    for rule in rules:
        before = [_outcome_or_error(rule, catalogue, example) for example in rule.entry.example]

        def is_unnoticed(other: Rule | None, rule: Rule = rule, before: list[str] = before) -> bool:
            return other is None or [_outcome_or_error(other, catalogue, e) for e in rule.entry.example] == before

        found += [
            Unnoticed(rule.id, name, str(changed))
            for name, text in rule.entry.limits.items()
            for changed in _steps(text, rule.limits[name])
            if is_unnoticed(_with_limit(rule, catalogue, name, changed))
        ]
        found += [
            Unnoticed(rule.id, name, f"{'raised' if by > 0 else 'lowered'} by {show(abs(by), abs(by), dimension)}")
            for name, (step, dimension) in _shared_limits(rule).items()
            for by in (step, -step)
            if is_unnoticed(_with_shared(rule, catalogue, name, by))
        ]
    return found


def _shared_limits(rule: Rule) -> dict[str, tuple[float, Dimension]]:
    """Return the constants and columns of tables that a rule names, with the step by which each is changed."""
    trees = [tree for tree in (rule.require, rule.when) if tree is not None]
    found = {}
    for node in (n for tree in trees for n in walk(tree)):
        if isinstance(node, LookedUp):
            found[node.text] = min(_step_of(row.limits[node.column]) for row in node.table.rows), node.dimension
        elif isinstance(node, Constant) and node.text.startswith("constants."):
            found[node.text] = _step_of(node.value), node.dimension
    return found


def _step_of(value: float | None) -> float:
    """Return one in the last place in which a number is shown."""
    decimals = len(show_number(value or 0.0).partition(".")[2])
    return round(10.0**-decimals, decimals)


def _with_shared(rule: Rule, catalogue: Catalogue, name: str, by: float) -> Rule | None:
    try:
        shared = rule.shared.changed(name, by)
        return build_rule(rule.entry, catalogue, file=rule.file, row=rule.row, shared=shared)
    except RuleError:
        return None


def _with_limit(rule: Rule, catalogue: Catalogue, name: str, changed: str | float) -> Rule | None:
    try:
        return build_rule(
            rule.entry,
            catalogue,
            file=rule.file,
            row=rule.row,
            overrides={name: changed},
            function=rule.function,
            takes=rule.takes,
            shared=rule.shared,
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
        changed = [] if rule.function else [replace(rule, require=node) for node in flipped(rule.require)]
        changed += [replace(rule, when=node) for node in (flipped(rule.when) if rule.when is not None else ())]
        for other, text in zip(changed, _flipped_texts(rule), strict=True):
            if [_outcome_or_error(other, catalogue, e) for e in rule.entry.example] == before:
                found.append(Unnoticed(rule.id, text, "without its limit" if "=" in text else "with its limit"))
    return found


_OTHER = {"<=": "<", "<": "<=", ">=": ">", ">": ">="}


def flipped(node: Node) -> Iterator[Node]:
    """Yield *node* once for each of its comparisons of order, with that one made strict, or no longer strict."""
    if isinstance(node, Comparison) and node.operation in _OTHER:
        yield replace(node, operation=_OTHER[node.operation])
    for name in node.__struct_fields__:
        held = getattr(node, name)
        if isinstance(held, NumberNode | TruthNode):
            for other in flipped(held):
                yield replace(node, **{name: other})
        elif isinstance(held, tuple):
            for index, operand in enumerate(held):
                if isinstance(operand, NumberNode | TruthNode):
                    for other in flipped(operand):
                        yield replace(node, **{name: (*held[:index], other, *held[index + 1 :])})


def _flipped_texts(rule: Rule) -> list[str]:
    trees = [*([] if rule.function else [rule.require]), *([rule.when] if rule.when is not None else [])]
    nodes = [n for tree in trees for n in walk(tree)]
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
    faults += [fault for rule in rules for fault in _never_asked(rule, catalogue)]
    places = {rule.id: f"{rule.id} ({rule.file}:{rule.row})" for rule in rules}
    faults += [
        f"{places[item.rule]}: no example notices when {item.limit} is {item.changed_to}; "
        "add one that sits on the limit"
        for item in unnoticed_limits(rules, catalogue)
    ]
    faults += [
        f'{places[item.rule]}: no example notices when "{item.limit}" holds {item.changed_to}; add one exactly at it'
        for item in unnoticed_edges(rules, catalogue)
    ]
    return faults


def _never_asked(rule: Rule, catalogue: Catalogue) -> Iterator[str]:
    """Yield what each example states beside what the rule asks for or shows: its author means that it decides."""
    asked = {*rule.facts, *rule.message_facts}
    asked |= {turned_name(name) for name in asked} if rule.is_asked_both_ways else set()
    for number, example in enumerate(rule.entry.example, 1):
        names = {*example.facts} - asked
        for scope, rows in example.members.items():
            names |= {name for row in rows for name in row} - asked - {TIMES, NAMES.get(scope)}
        if others := sorted(name for name in names if name in catalogue):
            asks = ", ".join(name for name in rule.facts if not catalogue[name].text_of) or "none"
            yield (
                f"{rule.id} example {number} ({rule.file}:{rule.row}): states {', '.join(others)}, which the rule "
                f"never asks for: it decides nothing; remove it, or name it in when or require (it asks for {asks})"
            )


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
