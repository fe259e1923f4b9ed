"""One rule or one fact in full, as text and as data, from the same entry of the rule file."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable

from capcheck.engine import Rule, as_written, run_examples
from capcheck.facts import FACTS, Catalogue, Fact
from capcheck.values import show


def fact_json(fact: Fact) -> dict[str, object]:
    """Return a fact as data."""
    return {
        "name": fact.name,
        "kind": fact.kind,
        "dimension": fact.dimension.name if fact.kind == "number" else None,
        "unit": fact.dimension.unit if fact.kind == "number" else None,
        "choices": list(fact.choices),
        "needs": fact.needs,
        "help": fact.help,
    }


def rule_json(rule: Rule) -> dict[str, object]:
    """Return a rule as data, with its limits as they are in force."""
    entry = rule.entry.model_dump(mode="json")
    entry["limits"] = {name: show(v.value, v.value, v.dimension) for name, v in rule.limits.items()}
    cited = [
        {"number": g.number, "title": g.title, "publisher": g.publisher, "year": g.year, "where": g.where}
        for g in rule.guidelines
    ]
    return {
        **entry,
        "guidelines": cited,
        "changed_limits": sorted(rule.changed_limits),
        "file": rule.file,
        "row": rule.row,
    }


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
    if fact.choices:
        text += _section("values", ", ".join(fact.choices))
    if fact.needs:
        text += _section("needs", f"the input: {fact.needs}")
    asking = [rule.id for rule in rules if fact.name in rule.facts or fact.name in rule.message_facts]
    return text + _section("asked by", ", ".join(asking) or "no rule")
