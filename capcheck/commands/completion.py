"""``completion``: a script that lets a shell complete commands, options, rules, facts and files."""

from __future__ import annotations

import argparse
from typing import Final

from capcheck.commands.command import Command
from capcheck.commands.output import add_output, deliver

_SHELLS: Final = ("bash", "zsh", "fish", "tcsh", "powershell")
_FILES: Final = frozenset({"FILE", "PATH", "RULEFILE", "PATH[=N]", "OLD", "NEW"})
_FOLDERS: Final = frozenset({"DIR", "FOLDER"})


def _arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("shell", choices=_SHELLS, help="whose script is printed")
    add_output(parser)


def _completion(arguments: argparse.Namespace) -> int:
    from capcheck.values import InputError

    try:
        import shtab
    except ImportError:
        raise InputError.at(
            "completion", "needs a library that is not installed", remedy="pip install 'capcheck[completion]'"
        ) from None
    parser = arguments.of_all()
    for command in _each_command(parser):
        for action in command._actions:  # noqa: SLF001 - argparse has no other way to its arguments, nor has shtab
            if isinstance(action.choices, dict):
                action.choices = list(action.choices)  # shtab takes a dictionary for commands
            if action.metavar in _FILES:
                action.complete = shtab.FILE  # type: ignore[attr-defined]
            elif action.metavar in _FOLDERS:
                action.complete = shtab.DIRECTORY  # type: ignore[attr-defined]
            elif action.metavar == "IDS":
                action.choices = _rules()
            elif action.metavar == "NAME" and action.dest == "name":
                action.choices = [*_rules(), *_facts()]
            elif action.metavar == "PREFIX":
                action.choices = _facts()
    deliver(shtab.complete(parser, arguments.shell), arguments.output)
    return 0


def _each_command(parser: argparse.ArgumentParser) -> list[argparse.ArgumentParser]:
    """Return the parser of every command, each once."""
    return [
        command
        for action in parser._actions  # noqa: SLF001
        if isinstance(action, argparse._SubParsersAction)  # noqa: SLF001
        for command in action.choices.values()
    ]


def _rules() -> list[str]:
    from capcheck.shop import Choice, all_rules

    return [rule.id for rule in all_rules(Choice())]


def _facts() -> list[str]:
    from capcheck.facts import FACTS

    return [fact.name for fact in FACTS]


COMMANDS: Final = (
    Command("completion", "print the script by which a shell completes commands and options", _arguments, _completion),
)
