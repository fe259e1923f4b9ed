"""``rules``, ``facts``, ``explain`` and ``test``: what can be asked, and whether the rules' own examples hold."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING, Final

from capcheck.commands.command import (
    Command,
    add_config,
    add_rules,
    choice_in_force,
)
from capcheck.commands.output import add_format, add_output, deliver, deliver_json, deliver_text, width_for

if TYPE_CHECKING:
    from collections.abc import Sequence

    from capcheck.facts import Catalogue
    from capcheck.shop import Choice


def _rules_arguments(parser: argparse.ArgumentParser) -> None:
    add_rules(parser)
    add_config(parser)
    add_format(parser)
    add_output(parser)


def _deliver_as_help(text: str, output: Path | None) -> None:
    """Print what is read as a help is, with what every help ends with."""
    import textwrap

    from capcheck.lexicon import cautions

    deliver_text(f"{text}\n{textwrap.fill(cautions(), 100)}\n", output)


def _rules(arguments: argparse.Namespace) -> int:
    from capcheck.report import json_text, rule_json
    from capcheck.shop import chosen_rules

    rules = chosen_rules(choice_in_force(arguments))
    if arguments.format == "json":
        deliver(json_text([rule_json(rule) for rule in rules]), arguments.output, [rule.file for rule in rules])
        return 0
    width = max(len(rule.id) for rule in rules)
    lines = [(f"{rule.id:{width}}  {rule.outcome}  {rule.subject.name:16}", rule.title) for rule in rules]
    _deliver_as_help(_listed(lines, width_for(arguments.output)), arguments.output)
    return 0


def _facts_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "prefix", nargs="?", default="", metavar="PREFIX", help='only facts whose names begin so: "part.", "pair.gap"'
    )
    parser.add_argument("--rules", action="append", default=[], type=Path, metavar="DIR", help="further rule files")
    add_config(parser)
    add_format(parser)
    add_output(parser)


def _facts(arguments: argparse.Namespace) -> int:
    from capcheck.report import fact_json
    from capcheck.values import InputError, nearest

    catalogue = _with_made_facts(choice_in_force(arguments))
    facts = [fact for fact in catalogue if fact.name.startswith(arguments.prefix)]
    made = [one for one in _MADE_ON_DEMAND if one[0].startswith(arguments.prefix)]
    if not facts and not made:
        raise InputError.at(
            "facts",
            f'no fact\'s name begins with "{arguments.prefix}"',
            remedy=nearest(arguments.prefix, [fact.name for fact in catalogue]) or "see: capcheck facts",
        )
    if arguments.format == "json":
        deliver_json([fact_json(fact) for fact in facts], arguments.output)
        return 0
    width = max(len(name) for name in [*(fact.name for fact in facts), *(name for name, _ in made)])
    lines = [(f"{fact.name:{width}}  {fact.kind_text:20}", fact.help) for fact in facts]
    lines += [(f"{name:{width}}", text) for name, text in made]
    _deliver_as_help(_listed(lines, width_for(arguments.output)), arguments.output)
    return 0


def _listed(lines: Sequence[tuple[str, str]], width: int) -> str:
    """Return what is listed, a line each; what does not fit behind its beginning goes on below, further in."""
    from capcheck.report import wrapped

    return "".join(f"{line}\n" for first, text in lines for line in wrapped(text, width, f"{first}  ", _BELOW))


_BELOW: Final = " " * 8


_MADE_ON_DEMAND: Final = (
    ("pair.first.NAME", "any fact part.NAME of one part of a pair; pair.second.NAME of the other"),
    ("part.column('TITLE')", "text below that title of the BOM; bom.column('TITLE') in rules on its lines"),
)
"""Facts that are too many to list."""


def _with_made_facts(choice: Choice) -> Catalogue:
    """Return the catalogue of a choice with the facts that its rule files make of others."""
    from capcheck.engine import catalogue_of, rule_files

    return catalogue_of(rule_files(choice.folders), choice.catalogue) if choice.folders else choice.catalogue


def _explain_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "name",
        metavar="NAME",
        help='a rule, a limit (RULE.NAME), a fact, what rules are about ("part on head"), or a value of a fact',
    )
    add_rules(parser)
    add_config(parser)
    add_format(parser)
    add_output(parser)


def _explain(arguments: argparse.Namespace) -> int:
    from msgspec.structs import replace

    from capcheck.report import explained, names_explained
    from capcheck.shop import chosen_rules
    from capcheck.values import InputError, nearest

    choice = replace(
        choice_in_force(arguments), select=(), ignore=()
    )  # a rule that is left out can be read all the same
    rules, catalogue = chosen_rules(choice), _with_made_facts(choice)
    found = explained(arguments.name, rules, catalogue)
    if found is None:
        raise InputError.at(
            "explain",
            f'"{arguments.name}" is neither a rule nor a fact, nor what rules are about, nor a value of a fact',
            remedy=nearest(arguments.name, names_explained(rules, catalogue)) or "see: capcheck rules, facts",
        )
    text, data = found
    if arguments.format == "json":
        deliver_json(data, arguments.output)
    else:
        _deliver_as_help(text, arguments.output)
    return 0


def _test_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "files",
        nargs="*",
        type=Path,
        metavar="RULEFILE",
        help="rule files or folders; default: those of the configuration, else those that ship",
    )
    parser.add_argument("--quiet", action="store_true", help="print only faults")
    add_config(parser)


def _test(arguments: argparse.Namespace) -> int:
    from capcheck.engine import faults_of, load_rules, rule_files, run_examples, shipped_rules

    choice = choice_in_force(arguments, arguments.files)
    catalogue = choice.catalogue
    shipped = rule_files([shipped_rules()])
    files = rule_files(choice.folders) if choice.folders else shipped
    rules = load_rules(files, catalogue)
    catalogue = _with_made_facts(choice)
    if not {f.resolve() for f in files} & {f.resolve() for f in shipped}:
        load_rules([*shipped, *files], choice.catalogue)  # refuses an id that ships already, as every check would
    results = run_examples(rules, catalogue)
    faults = faults_of(rules, results, catalogue)
    for fault in faults:
        deliver_text(f"{fault}\n")
    passed = sum(result.passed for result in results)
    told = f"{_count(len(rules), 'rule')}, {_count(len(results), 'example')}: {passed} as expected, "
    told += _count(len(faults), "fault") if faults else "and a step of any limit is noticed"
    if not arguments.quiet:
        deliver_text(f"{told}\n")
    return 1 if faults else 0


def _count(number: int, word: str) -> str:
    return f"{number} {word}{'' if number == 1 else 's'}"


COMMANDS: Final = (
    Command("rules", "list the rules", _rules_arguments, _rules),
    Command("facts", "list the facts that rules may ask for", _facts_arguments, _facts),
    Command("explain", "show one rule or fact in full", _explain_arguments, _explain),
    Command("test", "run the examples in rule files", _test_arguments, _test),
)
