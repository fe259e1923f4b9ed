"""``rules``, ``facts``, ``explain`` and ``test``: what can be asked, and whether the rules' own examples hold."""

from __future__ import annotations

import argparse
import json
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from capcheck.commands.command import Command, add_rules, names

if TYPE_CHECKING:
    from capcheck.engine.rule import Rule


def _rules_arguments(parser: argparse.ArgumentParser) -> None:
    add_rules(parser)
    parser.add_argument("--format", choices=("text", "json"), default="text")


def _chosen(arguments: argparse.Namespace) -> list[Rule]:
    from capcheck.checking import Choice, chosen_rules

    return chosen_rules(Choice(arguments.rules, names(arguments.select), names(arguments.ignore)))


def _rules(arguments: argparse.Namespace) -> int:
    from capcheck.report.catalogue import rule_json

    rules = _chosen(arguments)
    if arguments.format == "json":
        _print_json([rule_json(rule) for rule in rules])
        return 0
    width = max(len(rule.id) for rule in rules)
    for rule in rules:
        sys.stdout.write(f"{rule.id:{width}}  {rule.outcome}  {rule.subject.name:16}  {rule.title}\n")
    return 0


def _facts_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--format", choices=("text", "json"), default="text")


def _facts(arguments: argparse.Namespace) -> int:
    from capcheck.facts import FACTS
    from capcheck.report.catalogue import fact_json

    if arguments.format == "json":
        _print_json([fact_json(fact) for fact in FACTS])
        return 0
    width = max(len(fact.name) for fact in FACTS)
    for fact in FACTS:
        sys.stdout.write(f"{fact.name:{width}}  {fact.kind_text:20}  {fact.help}\n")
    return 0


def _print_json(data: list[dict[str, Any]]) -> None:
    sys.stdout.write(json.dumps(data, ensure_ascii=False, indent=1) + "\n")


def _explain_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("name", metavar="NAME", help="id of a rule, or name of a fact")
    add_rules(parser)
    parser.add_argument("--format", choices=("text", "json"), default="text")


def _explain(arguments: argparse.Namespace) -> int:
    from capcheck.errors import InputError, Problem, Where, nearest
    from capcheck.facts import FACTS
    from capcheck.report.catalogue import explain_fact, explain_rule, fact_json, rule_json

    rules = {rule.id: rule for rule in _chosen(arguments)}
    name = arguments.name
    if name in rules:
        text, data = explain_rule(rules[name]), rule_json(rules[name])
    elif name in FACTS:
        text, data = explain_fact(FACTS[name], rules.values()), fact_json(FACTS[name])
    else:
        hint = nearest(name, [*rules, *(fact.name for fact in FACTS)])
        raise InputError(
            Problem(
                Where("explain"), f'"{name}" is neither a rule nor a fact', remedy=hint or "see: capcheck rules, facts"
            )
        )
    if arguments.format == "json":
        _print_json([data])
    else:
        sys.stdout.write(text)
    return 0


def _test_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "files", nargs="*", type=Path, metavar="RULEFILE", help="rule files or folders; default: those that ship"
    )


def _test(arguments: argparse.Namespace) -> int:
    from capcheck.engine.collect import load_rules, rule_files, shipped_rules
    from capcheck.engine.examples import missing_kinds, run_examples, unnoticed_limits
    from capcheck.facts import FACTS

    files = rule_files(arguments.files or [shipped_rules()])
    rules = load_rules(files, FACTS)
    results = run_examples(rules, FACTS)
    bad = 0
    for result in results:
        if not result.passed:
            bad += 1
            sys.stdout.write(
                f"{result.rule} example {result.number}: expected {result.expected}, got {result.actual}\n  {result.facts}\n"
            )
    for rule in rules:
        for kind in missing_kinds(rule):
            bad += 1
            sys.stdout.write(f"{rule.id}: has no example that comes out {kind}\n")
    for item in unnoticed_limits(rules, FACTS):
        bad += 1
        sys.stdout.write(f"{item.rule}: no example notices when {item.limit} is {item.changed_to}\n")
    passed = sum(result.passed for result in results)
    sys.stdout.write(f"{len(rules)} rules, {len(results)} examples: {passed} as expected, {bad} faults\n")
    return 1 if bad else 0


COMMANDS: Final = (
    Command("rules", "list the rules", _rules_arguments, _rules),
    Command("facts", "list the facts that rules may ask for", _facts_arguments, _facts),
    Command("explain", "show one rule or fact in full", _explain_arguments, _explain),
    Command("test", "run the examples in rule files", _test_arguments, _test),
)
