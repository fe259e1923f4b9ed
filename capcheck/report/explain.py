"""One rule or one fact in full, as text and as data, from the same entry of the rule file."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Mapping, Sequence
from typing import Final

from capcheck.engine import SUBJECTS, Limit, LimitTable, Rule, Subject, as_written, run_examples
from capcheck.facts import FACTS, SCOPES, Catalogue, Fact
from capcheck.values import counted, few, show

_MOST_SHOWN: Final = 12
USUAL_NAMES: Final = (
    "pins and sizes may stand behind them, as in TQFP-100; a library may give others, for which a rule says matches"
)


def fact_json(fact: Fact) -> dict[str, object]:
    """Return a fact as data."""
    return {
        "name": fact.name,
        "kind": fact.kind,
        "dimension": fact.dimension.name if fact.kind == "number" else None,
        "unit": fact.dimension.unit if fact.kind == "number" else None,
        "choices": list(fact.choices),
        "names": None if fact.names is None else list(fact.names.every()),
        "needs": fact.needs,
        "help": fact.help,
        "expression": fact.text_of or None,
    }


def rule_json(rule: Rule) -> dict[str, object]:
    """Return a rule as data, with its limits as they are in force."""
    entry = rule.entry.model_dump(mode="json")
    entry["limits"] = {name: show(v.value, v.value, v.dimension) for name, v in rule.limits.items()}
    shared: dict[str, dict[str, object]] = {
        "constants": {name: show(v.value, v.value, v.dimension) for name, v in rule.shared.constants.items()},
        "sets": {name: list(values) for name, values in rule.shared.sets.items()},
        "tables": {name: _rows_of(table) for name, table in rule.shared.tables.items()},
    }
    cited = [
        {"number": g.number, "title": g.title, "publisher": g.publisher, "year": g.year, "where": g.where}
        for g in rule.guidelines
    ]
    return {
        **entry,
        "guidelines": cited,
        "shared": {kind: _named_in(rule, kind, items) for kind, items in shared.items()},
        "changed_limits": sorted(rule.changed_limits),
        "file": rule.file,
        "row": rule.row,
    }


def _named_in(rule: Rule, kind: str, items: Mapping[str, object]) -> dict[str, object]:
    """Return what of a rule file's constants, sets or tables the rule names."""
    entry = rule.entry
    text = " ".join((entry.when, entry.require, entry.message, *entry.values.values()))
    return {name: item for name, item in items.items() if f"{kind}.{name}" in text}


def _rows_of(table: LimitTable) -> list[dict[str, str]]:
    """Return a table's rows as they are asked: what is looked up, and the limits that stand there."""
    return [
        dict(zip(table.facts, row.keys, strict=True))
        | {
            name: "not stated" if (limit := row.limits[name]) is None else show(limit, limit, dimension)
            for name, dimension in table.dimensions.items()
        }
        for row in table.rows
    ]


def _shared_text(rule: Rule) -> str:
    """Return the lines on the constants, sets and tables that a rule names."""
    text = ""
    for name, constant in _named_in(rule, "constants", rule.shared.constants).items():
        assert isinstance(constant, Limit)  # noqa: S101  for the type checker
        text += _section("constant", f"{name} = {show(constant.value, constant.value, constant.dimension)}")
    for name in _named_in(rule, "sets", rule.shared.sets):
        text += _section("set", f"{name} = {few(list(map(str, rule.shared.sets[name])), _MOST_SHOWN)}")
    for name in _named_in(rule, "tables", rule.shared.tables):
        rows = _rows_of(rule.shared.tables[name])
        text += _section("table", f"{name}, the first row that fits counts ({counted(len(rows), 'row')})")
        for row in rows[:_MOST_SHOWN]:
            text += _section("", ", ".join(f"{key} {value}" for key, value in row.items()))
        text += _section("", f"and {len(rows) - _MOST_SHOWN} more") if len(rows) > _MOST_SHOWN else ""
    return text


def _section(title: str, text: str) -> str:
    # Addresses stay whole, so that they can be followed.
    lines = textwrap.wrap(
        text,
        100,
        initial_indent=f"{title:10}",
        subsequent_indent=" " * 10,
        break_long_words=False,
        break_on_hyphens=False,
    )
    return "\n".join(lines) + "\n"


def explain_rule(rule: Rule, catalogue: Catalogue = FACTS) -> str:
    """Return everything about a rule: what it checks, why, remedy, basis, limits, examples with their outcome."""
    entry = rule.entry
    text = f"{rule.id}: {rule.title}\n\n"
    text += _section("subject", rule.subject.name)
    if entry.when:
        text += _section("when", " ".join(entry.when.split()))
    text += _section("requires", " ".join(entry.require.split()))
    ships = "" if rule.outcome == entry.outcome else f" (changed; ships as {entry.outcome})"
    text += _section("otherwise", f"{rule.outcome}{ships}: {rule.headline}")
    text += _section("message", rule.message)
    for name, limit in rule.limits.items():
        changed = f" (changed; ships as {entry.limits[name]})" if name in rule.changed_limits else ""
        text += _section("limit", f"{name} = {show(limit.value, limit.value, limit.dimension)}{changed}")
    for name, expression in entry.values.items():
        text += _section("value", f"{name} = {' '.join(expression.split())}")
    text += _shared_text(rule)
    if rule.is_asked_both_ways:
        text += _section("asked", "both ways round: either part of a pair may be the first")
    if entry.settles:
        text += _section(
            "settles", f"{', '.join(entry.settles)}: where it is undecided, rules that lack these wait for it"
        )
    if rule.once_for_type:
        text += _section("asked", "once for all parts of a type")
    text += "\n" + _section("why", rule.why) + _section("remedy", rule.remedy) + _section("basis", rule.basis)
    for guideline in rule.guidelines:
        text += _section("", str(guideline))
    if rule.tags:
        text += _section("tags", ", ".join(rule.tags))
    text += _section("facts", "; ".join(f"{name}: {catalogue[name].help}" for name in rule.facts))
    text += f"\nexamples{', for the limits as written in the rule' if rule.changed_limits else ''}\n"
    for result in run_examples([as_written(rule, catalogue)], catalogue):
        verdict = result.expected if result.passed else f"{result.expected} expected, {result.actual} came out"
        text += textwrap.fill(f"{verdict}: {result.facts}", 100, initial_indent="  ", subsequent_indent="    ") + "\n"
    return text + f"\nfrom {rule.file}:{rule.row}\n"


def explain_fact(fact: Fact, rules: Iterable[Rule]) -> str:
    """Return everything about a fact, with the rules that ask for it."""
    text = f"{fact.name}: {fact.help}\n\n" + _section("kind", fact.kind_text)
    if fact.text_of:
        text += _section("made of", f"{fact.text_of}  ({fact.where})")
    if fact.choices:
        text += _section("values", ", ".join(fact.choices))
    elif fact.names is not None:
        text += _section("names", f"{', '.join(fact.names.every())}; {USUAL_NAMES}")
    elif fact.kind == "text":
        text += _section("values", "any text; capitals and spaces do not matter where it is compared")
    if fact.needs:
        text += _section("needs", f"the input: {fact.needs}")
    text += _section("subjects", ", ".join(_subjects_of(fact)))
    asking = [rule.id for rule in rules if fact.name in rule.facts or fact.name in rule.message_facts]
    return text + _section("asked by", ", ".join(asking) or "no rule")


def _subjects_of(fact: Fact) -> list[str]:
    """Return what a rule must be about to ask for a fact by its name."""
    return [subject.name for subject in SUBJECTS.values() if fact.scope in subject.scopes]


def explained(
    name: str, rules: Sequence[Rule], catalogue: Catalogue = FACTS
) -> tuple[str, list[dict[str, object]]] | None:
    """Return everything about a name, as text and as data; nothing where it names nothing.

    It is the id of a rule, a limit as ``RULE.NAME``, a fact, a subject of rules, or a value that facts may have.
    """
    by_id = {rule.id: rule for rule in rules}
    rule = by_id.get(name) or by_id.get(name.rpartition(".")[0])
    if rule is not None and (rule.id == name or name.rpartition(".")[2] in rule.limits):
        return explain_rule(rule, catalogue), [rule_json(rule)]
    if name in catalogue:
        return explain_fact(catalogue[name], rules), [fact_json(catalogue[name])]
    if name in SUBJECTS:
        return _explain_subject(SUBJECTS[name], rules, catalogue)
    having = [fact for fact in catalogue if name.casefold() in {choice.casefold() for choice in fact.choices}]
    return _explain_value(name, having, rules) if having else None


def names_explained(rules: Sequence[Rule], catalogue: Catalogue = FACTS) -> list[str]:
    """Return every name that :func:`explained` knows: rules and their limits, facts, subjects, values of facts."""
    limits = [f"{rule.id}.{limit}" for rule in rules for limit in rule.limits]
    values = [choice for fact in catalogue for choice in fact.choices]
    return [*(rule.id for rule in rules), *limits, *(fact.name for fact in catalogue), *SUBJECTS, *values]


def _explain_subject(
    subject: Subject, rules: Sequence[Rule], catalogue: Catalogue
) -> tuple[str, list[dict[str, object]]]:
    own = [SCOPES[scope] for scope in (subject.rows, subject.each) if scope is not None] or [SCOPES[subject.name]]
    asked = [rule for rule in rules if rule.subject.name == subject.name]
    facts = [fact for fact in catalogue if fact.scope in subject.scopes]
    text = f"{subject.name}: what a rule may be about\n\n" + _section("each", ", ".join(own))
    text += _section("rules", ", ".join(rule.id for rule in asked) or "none")
    text += _section("facts", "that such a rule may ask for")
    text += "".join(_section("", f"{fact.name}: {fact.help}") for fact in facts)
    return text, [
        {
            "name": subject.name,
            "each": own,
            "rules": [rule.id for rule in asked],
            "facts": [fact.name for fact in facts],
        }
    ]


def _explain_value(name: str, having: Sequence[Fact], rules: Sequence[Rule]) -> tuple[str, list[dict[str, object]]]:
    text = f"{name}: a value of {counted(len(having), 'fact')}\n"
    data: list[dict[str, object]] = []
    for fact in having:
        quoted = f"'{name}'".casefold()
        asking = [
            rule.id
            for rule in rules
            if fact.name in rule.facts
            and quoted in " ".join((rule.entry.when, rule.entry.require, *rule.entry.values.values())).casefold()
        ]
        text += f"\n{fact.name}: {fact.help}\n" + _section("values", ", ".join(fact.choices))
        text += _section("named by", ", ".join(asking) or "no rule")
        data.append({**fact_json(fact), "named_by": asking})
    return text, data
